// SPDX-License-Identifier: MIT
// Draws the templates that template.py measures, into the folder it is given,
// and says for each page where its marks are meant to be.
#include "chart/template/template.h"

#include <math.h>
#include <stdio.h>

// Source (worked apart): Löfgren A on 60.325–146.05 mm by NumPy; a 9-inch arm, a 12-inch arm, an underhung one.
static const DwTemplate nine = {.pivot_to_spindle_mm = 222,
                                .effective_length_mm = 239.2961,
                                .offset_deg = 22.9855,
                                .null_inner_mm = 65.998,
                                .null_outer_mm = 120.891,
                                .groove_inner_mm = 60.325,
                                .groove_outer_mm = 146.05,
                                .printer_x_mm = 100,
                                .printer_y_mm = 100,
                                .alignment = "Löfgren A (Baerwald)",
                                .record = "",
                                .deck = "",
                                .accuracy = "Measure both rulers."};

static DwTemplate with(DwTemplate template, DwTemplateKind kind, DwTemplatePaper paper)
{
    template.kind = kind;
    template.paper = paper;
    return template;
}

static int draw(const char *folder, const char *name, DwTemplate template)
{
    char path[1000];
    DwMessage message;
    snprintf(path, sizeof path, "%s/%s.pdf", folder, name);
    if (dw_template_write(&template, path, &message) != DW_OK) {
        fprintf(stderr, "%s\n", message.text);
        return 1;
    }
    printf("pages %s %u\n", name, dw_template_pages(&template));
    for (unsigned page = 0; page < dw_template_pages(&template); page++)
        for (int mark = 0; mark < DW_TEMPLATE_MARK_COUNT; mark++) {
            double x, y;
            if (dw_template_locate(&template, (DwTemplateMark)mark, page, &x, &y))
                printf("mark %s %u %d %.4f %.4f\n", name, page, mark, x, y);
        }
    return 0;
}

static DwSheet *sheet_of(const DwTemplate *template)
{
    DwSheet *sheet = dw_sheet_new("template", "");
    dw_sheet_add_reading(sheet, "align.pivot_to_spindle", "", template->pivot_to_spindle_mm, "mm", 2);
    dw_sheet_add_reading(sheet, "align.effective_length", "", template->effective_length_mm, "mm", 2);
    dw_sheet_add_reading(sheet, "align.offset", "", template->offset_deg, "deg", 2);
    dw_sheet_add_reading(sheet, "align.null_inner", "", template->null_inner_mm, "mm", 2);
    dw_sheet_add_reading(sheet, "align.null_outer", "", template->null_outer_mm, "mm", 2);
    return sheet;
}

// Grooves and null radii (Löfgren A) of a record's size. Source (worked apart): the null radii by NumPy.
typedef struct {
    const char *name, *record;
    double groove_inner_mm, groove_outer_mm, null_inner_mm, null_outer_mm;
} Size;

static int draw_size(const char *folder, const Size *size, const char *name, DwTemplatePaper paper, int distance)
{
    DwTemplate template = with(nine, DW_TEMPLATE_ARC, paper);
    double product = size->null_inner_mm * size->null_outer_mm;
    template.record = size->record;
    template.groove_inner_mm = size->groove_inner_mm;
    template.groove_outer_mm = size->groove_outer_mm;
    template.null_inner_mm = size->null_inner_mm;
    template.null_outer_mm = size->null_outer_mm;
    template.pivot_to_spindle_mm = distance;
    template.effective_length_mm = sqrt(distance * distance + product);
    template.offset_deg =
        asin((size->null_inner_mm + size->null_outer_mm) / 2 / template.effective_length_mm) * 180 / M_PI;
    return draw(folder, name, template);
}

// Every arm from 180 to 320 mm on every paper, for 12-, 10- and 7-inch records: L = √(d² + n₁n₂).
static int draw_all(const char *folder)
{
    static const char *const papers[] = {"a4", "letter", "a3"};
    static const Size sizes[] = {{"all", "", 60.325, 146.05, 65.998, 120.891},
                                 {"ten", "10-inch records", 57.6, 121, 62.387, 104.202},
                                 {"seven", "7-inch records", 53, 84, 56.028, 77.372}};
    int wrong = 0;
    for (size_t size = 0; size < sizeof sizes / sizeof *sizes; size++)
        for (int paper = 0; paper < 3; paper++)
            for (int distance = 180; distance <= 320; distance += size ? 35 : 10) {
                char name[40];
                snprintf(name, sizeof name, "%s-%s-%d", sizes[size].name, papers[paper], distance);
                wrong |= draw_size(folder, &sizes[size], name, (DwTemplatePaper)paper, distance);
            }
    return wrong;
}

// The same with the arm from above beside it: on a page of its own, below the drawing, above the pivot.
static int draw_beside(const char *folder, const DwTemplate *short_arm, const DwTemplate *long_arm)
{
    DwTemplate one = with(*short_arm, DW_TEMPLATE_ARC, DW_TEMPLATE_A4),
               below = with(*short_arm, DW_TEMPLATE_ARC, DW_TEMPLATE_A3),
               over = with(*long_arm, DW_TEMPLATE_ARC, DW_TEMPLATE_A4);
    DwSheet *sheets[] = {sheet_of(short_arm), sheet_of(short_arm), sheet_of(long_arm)};
    one.plan = sheets[0];
    below.plan = sheets[1];
    over.plan = sheets[2];
    int wrong =
        draw(folder, "beside-own-page", one) | draw(folder, "beside-below", below) | draw(folder, "beside-over", over);
    for (size_t i = 0; i < 3; i++)
        dw_sheet_free(sheets[i]);
    return wrong;
}

int main(int count, char **arguments)
{
    if (count != 2)
        return 2;
    const char *folder = arguments[1];
    DwTemplate twelve = nine, underhung = nine, corrected = nine;
    twelve.pivot_to_spindle_mm = 295;
    twelve.effective_length_mm = 308.2270;
    twelve.offset_deg = 17.648;
    underhung.pivot_to_spindle_mm = 241.8171;
    underhung.effective_length_mm = 228.6;
    underhung.offset_deg = 0;
    underhung.null_inner_mm = 78.851;
    underhung.null_outer_mm = NAN;
    corrected.printer_x_mm = 99;
    corrected.printer_y_mm = 101.5;
    DwTemplate pillar = nine, askew = nine;
    pillar.pillar_mm = 30;
    askew.skew_deg = 2;
    return draw_all(folder) | draw_beside(folder, &nine, &twelve) |
           draw(folder, "arc-pillar", with(pillar, DW_TEMPLATE_ARC, DW_TEMPLATE_A4)) |
           draw(folder, "grid-askew", with(askew, DW_TEMPLATE_GRID, DW_TEMPLATE_A4)) |
           draw(folder, "arc-a4", with(nine, DW_TEMPLATE_ARC, DW_TEMPLATE_A4)) |
           draw(folder, "arc-letter", with(nine, DW_TEMPLATE_ARC, DW_TEMPLATE_LETTER)) |
           draw(folder, "arc-twelve-a3", with(twelve, DW_TEMPLATE_ARC, DW_TEMPLATE_A3)) |
           draw(folder, "arc-twelve-a4", with(twelve, DW_TEMPLATE_ARC, DW_TEMPLATE_A4)) |
           draw(folder, "arc-underhung", with(underhung, DW_TEMPLATE_ARC, DW_TEMPLATE_A4)) |
           draw(folder, "arc-corrected", with(corrected, DW_TEMPLATE_ARC, DW_TEMPLATE_A3)) |
           draw(folder, "grid-a4", with(nine, DW_TEMPLATE_GRID, DW_TEMPLATE_A4)) |
           draw(folder, "overhang-a4", with(nine, DW_TEMPLATE_OVERHANG, DW_TEMPLATE_A4)) |
           draw(folder, "strip-a4", with(nine, DW_TEMPLATE_STRIP, DW_TEMPLATE_A4)) |
           draw(folder, "strip-twelve-letter", with(twelve, DW_TEMPLATE_STRIP, DW_TEMPLATE_LETTER));
}
