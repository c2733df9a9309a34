// SPDX-License-Identifier: MIT
#include "procedure/align/template_marks.h"

#include "chart/template/strobe_disc.h"

#include <math.h>
#include <string.h>

DwTemplatePaper dw_template_sheet_of(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "template.paper");
    return strcmp(word, "letter") == 0 ? DW_TEMPLATE_LETTER : strcmp(word, "a3") == 0 ? DW_TEMPLATE_A3 : DW_TEMPLATE_A4;
}

bool dw_template_marks_read(const DwInputs *inputs, DwMarksPaper *paper)
{
    const char *word = dw_inputs_word(inputs, "template.kind");
    bool is_disc = strcmp(word, "disc") == 0;
    if (!is_disc && strcmp(word, "card") != 0)
        return false;
    DwTemplatePaper sheet = dw_template_sheet_of(inputs);
    bool is_large = sheet == DW_TEMPLATE_A3;
    *paper = (DwMarksPaper){
        .paper = is_disc ? (is_large ? DW_MARKED_DISC_LARGE : DW_MARKED_DISC)
                         : (is_large ? DW_MARKED_CARD_LARGE : DW_MARKED_CARD),
        .sheet = sheet,
        .printer_x_mm = dw_inputs_in(inputs, "printer.x", "mm"),
        .printer_y_mm = dw_inputs_in(inputs, "printer.y", "mm"),
    };
    return true;
}

static void tell_disc(const DwMarksPaper *paper, DwSheet *sheet)
{
    DwPaperMark first = dw_paper_mark(paper->paper, 0);
    dw_sheet_add_reading(sheet, "template.radius", "Radius to cut", dw_paper_disc_radius(paper->paper), "mm", 1);
    dw_sheet_add_reading(sheet, "template.marks_radius", "Radius of the marks' middles", hypot(first.x_mm, first.y_mm),
                         "mm", 1);
    dw_sheet_remark(sheet, "Cut out, its hole tight on the spindle, the disc lies on the platter and is filmed: "
                           "deckwright film FILE.");
    dw_sheet_caution(sheet, "%s", DW_STROBE_CAUTION);
}

static void tell_card(const DwMarksPaper *paper, DwSheet *sheet)
{
    double half_width, half_height;
    dw_paper_card_reach(paper->paper, &half_width, &half_height);
    dw_sheet_add_reading(sheet, "template.width", "Width of the card", 2 * half_width, "mm", 1);
    dw_sheet_add_reading(sheet, "template.height", "Height of the card", 2 * half_height, "mm", 1);
    dw_sheet_remark(sheet, "It lies flat under what is photographed: deckwright belt PHOTO, deckwright pose PHOTO "
                           "PHOTO.");
}

void dw_template_marks_tell(const DwMarksPaper *paper, DwSheet *sheet)
{
    dw_sheet_add_reading(sheet, "template.pages", "Pages", 1, "", 0);
    dw_sheet_add_reading(sheet, "template.marks", "Marks", (double)dw_paper_marks_count(paper->paper), "", 0);
    dw_sheet_add_reading(sheet, "template.mark_size", "Edge of a mark", dw_paper_mark(paper->paper, 0).size_mm, "mm",
                         1);
    if (dw_marked_paper_has_spindle(paper->paper))
        tell_disc(paper, sheet);
    else
        tell_card(paper, sheet);
    dw_sheet_remark(sheet, "Print it at 100 %% without fitting (on the command line --out FILE.pdf writes it), and "
                           "measure both 100 mm rulers: a picture cannot see a print that is too small. If they are "
                           "off, give printer.x and printer.y and draw it again.");
}
