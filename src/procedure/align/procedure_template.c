// SPDX-License-Identifier: MIT
#include "base/arm_key.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/template/template.h"
#include "procedure/align/arm_setup.h"
#include "procedure/align/template_marks.h"
#include "procedure/registry/procedures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {
    "template.kind",
    "template.paper",
    "template.pillar",
    "cartridge.cantilever_skew",
    "printer.x",
    "printer.y",
    "deck.name",
    "arm.name",
    "arm.kind",
    "arm.pivot_to_spindle",
    "arm.effective_length",
    "arm.overhang",
    "arm.offset",
    "align.method",
    "align.null_inner",
    "align.null_outer",
    "record.groove",
    "record.inner_radius",
    "record.outer_radius",
    NULL,
};

// What the figures on paper and printer count on.
static const double paper_mm = 0.1;
static const double bearing_height_mm = 20; // of the arm's bearing above the stylus; common practice
static const double printer_error = 0.01;
static const double nine_inches_mm = 228.6;
static const double beyond_mm = 20; // of the grooves: a point of tangency farther off is no use on the sheet

static DwTemplateKind read_kind(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "template.kind");
    return strcmp(word, "grid") == 0       ? DW_TEMPLATE_GRID
           : strcmp(word, "overhang") == 0 ? DW_TEMPLATE_OVERHANG
           : strcmp(word, "strip") == 0    ? DW_TEMPLATE_STRIP
                                           : DW_TEMPLATE_ARC;
}

// The two-point grid fits every arm, so it needs none; the others do.
static DwStatus read_setup(const DwInputs *inputs, DwTemplateKind kind, DwArmSetup *setup, DwMessage *message)
{
    static const char *const measures[] = {"arm.pivot_to_spindle", "arm.effective_length", "arm.overhang",
                                           "arm.offset"};
    bool known = false;
    for (size_t i = 0; i < sizeof measures / sizeof *measures; i++)
        known = known || dw_inputs_given(inputs, measures[i]);
    DwStatus status = kind == DW_TEMPLATE_GRID && !known ? dw_arm_setup_read_record(inputs, setup, message)
                                                         : dw_arm_setup_read(inputs, setup, message);
    if (status != DW_OK || setup->kind != DW_ARM_LINEAR)
        return status;
    if (kind != DW_TEMPLATE_GRID)
        return dw_fail(message, DW_BAD_INPUT,
                       "A linear arm has neither arc nor overhang: use template.kind=grid, on which it must be tangent "
                       "at both points.");
    // It must be tangent everywhere: the ends of the grooves show it best.
    setup->nulls = (DwNulls){setup->groove.inner_mm, setup->groove.outer_mm};
    return DW_OK;
}

// The arm as its maker states it is what is drawn, unless an alignment is asked
// for by name; a sheet that says nothing of the one left out would mislead.
static DwStatus take_stated(const DwInputs *inputs, DwArmSetup *setup, bool *as_stated, DwMessage *message)
{
    DwArm drawn = dw_arm_setup_drawn(inputs, setup, as_stated);
    if (!*as_stated)
        return DW_OK;
    DwNulls nulls;
    if (!dw_arm_nulls(&setup->stated, &nulls) || (setup->kind == DW_ARM_PIVOTED && isnan(nulls.outer_mm)))
        return dw_fail(message, DW_BAD_INPUT,
                       "The arm as stated stands tangent at fewer than two radii: check arm.effective_length, "
                       "arm.overhang and arm.offset, or give align.method for the alignment to draw.");
    if (nulls.outer_mm > setup->groove.outer_mm + beyond_mm || nulls.inner_mm < setup->groove.inner_mm - beyond_mm)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The arm as stated stands tangent at %.1f and %.1f mm, off the grooves: check arm.effective_length, "
            "arm.overhang and arm.offset, or give align.method for the alignment to draw.",
            nulls.inner_mm, nulls.outer_mm);
    setup->ideal = drawn;
    setup->nulls = nulls;
    return DW_OK;
}

static void remark_stated(DwSheet *sheet, const DwArmSetup *setup, bool as_stated)
{
    if (as_stated)
        dw_sheet_remark(sheet,
                        "Drawn for the arm as stated: overhang %.2f mm, offset %.2f°%s. For an alignment of the "
                        "literature on the same mounting give align.method.",
                        dw_arm_overhang(&setup->stated), setup->stated.offset_deg,
                        setup->stated_completed ? " (what was not stated is taken as makes its worst distortion least)"
                                                : "");
    else if (setup->has_stated)
        dw_sheet_remark(
            sheet,
            "The overhang %.2f mm and offset %.2f° of the arm as stated are not what is drawn: the alignment "
            "asked for has %.2f mm and %.2f°. Leave align.method out to draw the arm as stated.",
            dw_arm_overhang(&setup->stated), setup->stated.offset_deg, dw_arm_overhang(&setup->ideal),
            setup->ideal.offset_deg);
}

// What a template printed too large sets wrong: a grid whose radii are all
// larger by the printer's error, followed on the arm as it is mounted.
static DwArm arm_from_wrong_print(const DwArmSetup *setup)
{
    double scale = 1 + printer_error;
    DwNulls wrong = {setup->nulls.inner_mm * scale, setup->nulls.outer_mm * scale};
    return dw_arm_setup_at_distance(setup->kind, wrong, setup->ideal.pivot_to_spindle_mm);
}

// What a printer that is off does to the points, and to the arm where one is known.
static void remark_printer(const DwArmSetup *setup, DwSheet *sheet)
{
    bool known = !isnan(setup->ideal.pivot_to_spindle_mm), two = !isnan(setup->nulls.outer_mm);
    double inner = setup->nulls.inner_mm * printer_error, outer = setup->nulls.outer_mm * printer_error;
    if (!known && two)
        dw_sheet_remark(sheet, "A printer 1 %% too large moves the points by %.1f and %.1f mm: measure both rulers.",
                        inner, outer);
    else if (!known)
        dw_sheet_remark(sheet, "A printer 1 %% too large moves the point by %.1f mm: measure both rulers.", inner);
    if (!known)
        return;
    DwArm wrong = arm_from_wrong_print(setup);
    double overhang = fabs(dw_arm_overhang(&wrong) - dw_arm_overhang(&setup->ideal));
    if (two)
        dw_sheet_remark(sheet,
                        "A printer 1 %% too large moves the points by %.1f and %.1f mm and sets the overhang %.2f mm "
                        "and the offset %.2f° wrong: measure both rulers.",
                        inner, outer, overhang, fabs(wrong.offset_deg - setup->ideal.offset_deg));
    else
        dw_sheet_remark(sheet,
                        "A printer 1 %% too large moves the point by %.1f mm and sets the overhang %.2f mm wrong: "
                        "measure both rulers.",
                        inner, overhang);
}

// Where no arm is known the paper's part is told for a 9-inch one.
static void remark_accuracy(const DwArmSetup *setup, DwSheet *sheet)
{
    bool known = !isnan(setup->ideal.pivot_to_spindle_mm);
    double moved = dw_arm_length_when_lifted(known ? setup->ideal.effective_length_mm : nine_inches_mm,
                                             bearing_height_mm, paper_mm);
    if (setup->kind != DW_ARM_LINEAR && known)
        dw_sheet_remark(sheet, "%.1f mm of paper moves the stylus by %.3f mm: that changes nothing.", paper_mm, moved);
    else if (setup->kind != DW_ARM_LINEAR)
        dw_sheet_remark(sheet, "%.1f mm of paper moves the stylus by %.3f mm on a 9-inch arm: that changes nothing.",
                        paper_mm, moved);
    remark_printer(setup, sheet);
}

// The same to be drawn, in the language that is written in.
static char *accuracy_of(const DwArmSetup *setup)
{
    DwText text = {0};
    DwSheet *sheet = dw_sheet_new("template", "");
    remark_accuracy(setup, sheet);
    for (size_t i = 0; i < sheet->remark_count; i++) {
        char *said = dw_say_saying(&sheet->remarks[i]);
        dw_text_add(&text, "%s%s", i ? " " : "", said);
        free(said);
    }
    dw_sheet_free(sheet);
    return dw_text_take(&text);
}

// What the paper is for, where it is not the usual record.
static const char *record_of(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "record.groove");
    return strcmp(word, "ten_inch") == 0     ? "10-inch records"
           : strcmp(word, "seven_inch") == 0 ? "7-inch records; a large hole takes its adapter first"
                                             : "";
}

// What a template is made of: the arm, and the words and the picture that the drawing points to.
typedef struct {
    DwArmSetup setup;
    bool as_stated;
    char *accuracy, *deck;
    DwSheet *plan; // what the picture of the arm from above is drawn from; NULL where there is no such arm
    DwTemplate drawn;
} Paper;

static void clear_paper(Paper *paper)
{
    free(paper->accuracy);
    free(paper->deck);
    dw_sheet_free(paper->plan);
}

static DwTemplate template_of(const DwInputs *inputs, DwTemplateKind kind, const Paper *paper)
{
    const DwArmSetup *setup = &paper->setup;
    double pillar = dw_inputs_in(inputs, "template.pillar", "mm");
    return (DwTemplate){
        .kind = kind,
        .paper = dw_template_sheet_of(inputs),
        .printer_x_mm = dw_inputs_in(inputs, "printer.x", "mm"),
        .printer_y_mm = dw_inputs_in(inputs, "printer.y", "mm"),
        .pivot_to_spindle_mm = setup->ideal.pivot_to_spindle_mm,
        .effective_length_mm = setup->ideal.effective_length_mm,
        .offset_deg = setup->ideal.offset_deg,
        .null_inner_mm = setup->nulls.inner_mm,
        .null_outer_mm = setup->nulls.outer_mm,
        .groove_inner_mm = setup->groove.inner_mm,
        .groove_outer_mm = setup->groove.outer_mm,
        .pillar_mm = isnan(pillar) ? 0 : pillar,
        .skew_deg = setup->skew_deg,
        .is_linear = setup->kind == DW_ARM_LINEAR,
        .alignment = setup->kind == DW_ARM_LINEAR ? "linear arm, tangent everywhere"
                     : paper->as_stated           ? "the arm as its maker states it"
                                        : dw_arm_setup_method_name(setup->kind, dw_inputs_word(inputs, "align.method")),
        .record = record_of(inputs),
        .deck = paper->deck,
        .accuracy = paper->accuracy,
        .plan = paper->plan,
    };
}

static void add(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits)
{
    if (!isnan(value))
        dw_sheet_add_reading(sheet, key, label, value, unit, digits);
}

// The arm that is drawn, as readings.
static void add_arm(DwSheet *sheet, const DwArmSetup *setup)
{
    add(sheet, "align.null_inner", "Inner point", setup->nulls.inner_mm, "mm", 3);
    add(sheet, "align.null_outer", "Outer point", setup->nulls.outer_mm, "mm", 3);
    add(sheet, "align.pivot_to_spindle", "Pivot to spindle", setup->ideal.pivot_to_spindle_mm, "mm", 3);
    add(sheet, "align.effective_length", "Radius of the arc", setup->ideal.effective_length_mm, "mm", 3);
    add(sheet, "align.overhang", "Overhang", dw_arm_overhang(&setup->ideal), "mm", 3);
    add(sheet, "align.offset", "Offset angle", setup->ideal.offset_deg, "deg", 3);
}

// The picture beside the template shows this very arm; one that is not known, or that has no arc, has none.
static DwSheet *plan_of(const DwInputs *inputs, const DwArmSetup *setup)
{
    if (setup->kind == DW_ARM_LINEAR || isnan(setup->ideal.pivot_to_spindle_mm))
        return NULL;
    DwSheet *sheet = dw_sheet_new("template", "");
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("cartridge.cantilever_skew"));
    add_arm(sheet, setup);
    return sheet;
}

// Reads the arm and describes its template. The caller clears PAPER, on success.
static DwStatus read_paper_of(const DwInputs *inputs, Paper *paper, DwMessage *message)
{
    *paper = (Paper){.accuracy = NULL};
    DwTemplateKind kind = read_kind(inputs);
    DwStatus status = read_setup(inputs, kind, &paper->setup, message);
    if (status == DW_OK && kind != DW_TEMPLATE_ARC && dw_inputs_given(inputs, "template.pillar"))
        status =
            dw_fail(message, DW_BAD_INPUT, "template.pillar: only template.kind=arc reaches the pivot with a notch.");
    if (status == DW_OK)
        status = take_stated(inputs, &paper->setup, &paper->as_stated, message);
    if (status != DW_OK)
        return status;
    paper->accuracy = accuracy_of(&paper->setup);
    paper->deck = dw_arm_key_label(dw_inputs_word(inputs, "deck.name"), dw_inputs_word(inputs, "arm.name"));
    paper->plan = plan_of(inputs, &paper->setup);
    paper->drawn = template_of(inputs, kind, paper);
    return DW_OK;
}

static void add_errors(DwSheet *sheet, const DwArmSetup *setup)
{
    if (isnan(setup->ideal.pivot_to_spindle_mm))
        return;
    DwArm wrong = arm_from_wrong_print(setup);
    add(sheet, "template.paper_shift", "Stylus moved by 0.1 mm of paper",
        dw_arm_length_when_lifted(setup->ideal.effective_length_mm, bearing_height_mm, paper_mm), "mm", 3);
    add(sheet, "template.printer_overhang", "Overhang wrong by a printer 1 % too large",
        dw_arm_overhang(&wrong) - dw_arm_overhang(&setup->ideal), "mm", 2);
    add(sheet, "template.printer_offset", "Offset wrong by a printer 1 % too large",
        wrong.offset_deg - setup->ideal.offset_deg, "deg", 2);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwMarksPaper marks;
    if (dw_template_marks_read(request->inputs, &marks)) {
        dw_template_marks_tell(&marks, sheet);
        return DW_OK;
    }
    Paper paper;
    DwStatus status = read_paper_of(request->inputs, &paper, message);
    if (status != DW_OK)
        return status;
    unsigned pages = dw_template_pages(&paper.drawn), joined = dw_template_joined(&paper.drawn);
    add(sheet, "template.pages", "Pages", pages, "", 0);
    add_arm(sheet, &paper.setup);
    add_errors(sheet, &paper.setup);
    remark_stated(sheet, &paper.setup, paper.as_stated);
    dw_sheet_remark(
        sheet,
        "Print the paper at 100 %% without fitting (on the command line --out FILE.pdf writes it), and measure both "
        "100 mm rulers; if they are off, give printer.x and printer.y and draw it again.");
    remark_accuracy(&paper.setup, sheet);
    if (joined > 1)
        dw_sheet_remark(
            sheet,
            "It takes %u sheets: cut along the dots and lay the lettered crosses on each other. Spindle, arc and "
            "points of tangency are on one of them.",
            joined);
    if (pages > joined)
        dw_sheet_remark(sheet, "The last page shows this arm from above, smaller: to look at, not to set by.");
    dw_sheet_caution(sheet,
                     "Motor off and plug out. Keep the stylus guard on while screws are worked at, and never let "
                     "the stylus drag over the paper.");
    clear_paper(&paper);
    return DW_OK;
}

static DwStatus print(const DwRequest *request, const char *path, DwMessage *message)
{
    DwMarksPaper marks;
    if (dw_template_marks_read(request->inputs, &marks))
        return dw_marks_paper_write(&marks, path, message);
    Paper paper;
    DwStatus status = read_paper_of(request->inputs, &paper, message);
    if (status != DW_OK)
        return status;
    status = dw_template_write(&paper.drawn, path, message);
    clear_paper(&paper);
    return status;
}

const DwProcedure dw_procedure_template = {
    .name = "template",
    .title = "Template for arm and cartridge",
    .summary = "Print true-scale paper to set an arm by: arc, two-point grid, overhang gauge, strips; disc and card "
               "with marks for a camera.",
    .quantities = quantities,
    .bare_word = "template.kind",
    .run = run,
    .print = print,
};
