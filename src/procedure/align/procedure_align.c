// SPDX-License-Identifier: MIT
#include "procedure/align/align_sheet.h"
#include "procedure/registry/procedures.h"

#include <string.h>
#include <math.h>

static const char *const quantities[] = {
    "arm.name",
    "arm.kind",
    "arm.pivot_to_spindle",
    "arm.effective_length",
    "arm.overhang",
    "arm.offset",
    "arm.headshell",
    "arm.slot_length",
    "arm.hole_clearance",
    "cartridge.cantilever_skew",
    "cartridge.cantilever_skew_uncertainty",
    "align.method",
    "align.null_inner",
    "align.null_outer",
    "align.compare",
    "align.velocity",
    "record.groove",
    "record.inner_radius",
    "record.outer_radius",
    "deck.speed",
    "found.pivot_to_spindle",
    "found.null_inner",
    "found.null_outer",
    "found.error_at",
    "found.overhang",
    "found.arc_at",
    "found.line",
    "found.slip",
    "found.twist",
    "found.slot_forward",
    "found.radius_uncertainty",
    "found.angle_uncertainty",
    "found.pivot_uncertainty",
    "found.overhang_uncertainty",
    "found.arc_uncertainty",
    "found.overhang_before",
    "found.offset_before",
    "found.overhang_expected",
    NULL,
};

// The second alignment that the first is to be held against, and in which the
// two differ at the bench.
static DwStatus add_compared(const DwInputs *inputs, const DwArmSetup *setup, DwAlignArms *arms, DwSheet *sheet,
                             DwMessage *message)
{
    if (!dw_inputs_given(inputs, "align.compare"))
        return DW_OK;
    const char *method = dw_inputs_word(inputs, "align.compare");
    DwNulls nulls;
    DwStatus status = dw_arm_setup_nulls(inputs, method, setup->kind, setup->groove, &nulls, message);
    if (status != DW_OK)
        return status;
    const DwArm *ideal = &setup->ideal;
    DwArm other = dw_arm_setup_at_distance(setup->kind, nulls, ideal->pivot_to_spindle_mm);
    if (setup->kind == DW_ARM_UNDERHUNG)
        dw_arm_setup_refine(method, DW_OPTIMUM_LENGTH, setup->groove, &other);
    size_t before = arms->count;
    dw_align_arms_add(arms, setup, "compare", dw_arm_setup_method_name(setup->kind, method), &other);
    if (arms->count == before)
        return dw_fail(message, DW_BAD_INPUT, "align.compare: that alignment does not reach the grooves on this arm.");
    const DwTrackingCost *mine = &arms->arms[0].cost, *its = &arms->arms[before].cost;
    dw_sheet_remark(
        sheet,
        "Beside it, %s: overhang %+.2f mm, offset %+.2f°, worst distortion %.2f %% instead of %.2f %%, mean "
        "%.2f %% instead of %.2f %%, at the last groove %.2f %% instead of %.2f %%.",
        arms->arms[before].name, dw_arm_overhang(&other) - dw_arm_overhang(ideal), other.offset_deg - ideal->offset_deg,
        its->distortion_percent.value, mine->distortion_percent.value, its->distortion_rms_percent,
        mine->distortion_rms_percent,
        dw_tracking_distortion(setup->signal, setup->groove.inner_mm,
                               dw_arm_tracking_error(&other, setup->groove.inner_mm)),
        dw_tracking_distortion(setup->signal, setup->groove.inner_mm,
                               dw_arm_tracking_error(ideal, setup->groove.inner_mm)));
    return DW_OK;
}

static void remark_stated(DwSheet *sheet, const DwArmSetup *setup)
{
    if (!setup->has_stated)
        return;
    const DwArm *stated = &setup->stated, *ideal = &setup->ideal;
    double overhang = dw_arm_overhang(stated) - dw_arm_overhang(ideal);
    double offset = stated->offset_deg - ideal->offset_deg;
    if (fabs(overhang) < 0.05 && fabs(offset) < 0.05)
        dw_sheet_remark(sheet, "The arm as stated is made for this alignment.");
    else
        dw_sheet_remark(
            sheet,
            "The arm as stated is not made for this alignment: its overhang is %.2f mm %s and its offset %.2f° "
            "%s%s.",
            fabs(overhang), overhang < 0 ? "less" : "more", fabs(offset), offset < 0 ? "less" : "more",
            setup->stated_completed ? " (what was not stated is taken as makes its worst distortion least)" : "");
}

static DwStatus run_pivoted(const DwInputs *inputs, const DwArmSetup *setup, DwSheet *sheet, DwMessage *message)
{
    DwFoundSetup found;
    DwStatus status = dw_found_setup_read(inputs, setup, &found, message);
    if (status != DW_OK)
        return status;
    DwAlignArms arms = {.count = 0};
    dw_align_arms_add(&arms, setup, "align",
                      dw_arm_setup_method_name(setup->kind, dw_inputs_word(inputs, "align.method")), &setup->ideal);
    dw_align_sheet_ideal(sheet, inputs, setup, &found, &arms.arms[0]);
    status = add_compared(inputs, setup, &arms, sheet, message);
    if (status != DW_OK)
        return status;
    remark_stated(sheet, setup);
    if (setup->has_stated)
        dw_align_arms_add(&arms, setup, "stated", "the arm as stated", &setup->stated);
    if (found.readings.way == DW_FOUND_NOTHING)
        dw_align_sheet_not_found(sheet);
    else {
        dw_align_sheet_found(sheet, inputs, setup, &found);
        dw_align_arms_add(&arms, setup, "found", "as found", &found.arm);
        // A move that the slots allow ends at the alignment itself.
        if (found.move.helps && (!found.move.allowed || found.mounted_elsewhere))
            dw_align_arms_add(&arms, setup, "move", "after the move", &found.move.after);
    }
    status = dw_align_sheet_rounds(sheet, inputs, setup, &found, &arms, message);
    if (status != DW_OK)
        return status;
    dw_align_sheet_tables(sheet, setup, &found, &arms);
    dw_align_sheet_curves(sheet, setup, &arms);
    return DW_OK;
}

// A linear arm has none of what these describe.
static DwStatus refuse_pivoted(const DwInputs *inputs, DwMessage *message)
{
    static const char *const pivoted[] = {
        "arm.overhang",          "arm.offset",         "align.compare",      "found.null_inner",
        "found.null_outer",      "found.error_at",     "found.slip",         "found.pivot_to_spindle",
        "found.overhang",        "found.arc_at",       "found.slot_forward", "found.overhang_expected",
        "found.overhang_before", "found.offset_before"};
    for (size_t i = 0; i < sizeof pivoted / sizeof *pivoted; i++)
        if (dw_inputs_given(inputs, pivoted[i]))
            return dw_fail(
                message, DW_BAD_INPUT,
                "%s says nothing of a linear arm, which has one error at every radius: give that as found.twist.",
                pivoted[i]);
    return DW_OK;
}

// Chosen null radii count only where they are asked for.
static void remark_unused(DwSheet *sheet, const DwInputs *inputs, DwArmKind kind)
{
    const char *method = dw_inputs_word(inputs, "align.method"), *compare = dw_inputs_word(inputs, "align.compare");
    bool chosen = dw_inputs_given(inputs, "align.null_inner") || dw_inputs_given(inputs, "align.null_outer");
    if (chosen && strcmp(method, "own") != 0 && strcmp(compare, "own") != 0)
        dw_sheet_remark(sheet,
                        "The chosen null radii (align.null_inner, align.null_outer) are not used: the alignment is %s. "
                        "To set the arm by them give align.method=own.",
                        dw_arm_setup_method_name(kind, method));
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwArmSetup setup;
    DwStatus status = dw_arm_setup_read(request->inputs, &setup, message);
    if (status != DW_OK)
        return status;
    if (setup.kind == DW_ARM_LINEAR) {
        status = refuse_pivoted(request->inputs, message);
        if (status != DW_OK)
            return status;
        status = dw_align_sheet_linear(sheet, request->inputs, &setup, message);
    } else
        status = run_pivoted(request->inputs, &setup, sheet, message);
    remark_unused(sheet, request->inputs, setup.kind);
    dw_sheet_caution(sheet, "Put the stylus guard on before the screws are touched, and take the deck's plug out.");
    return status;
}

const DwProcedure dw_procedure_align = {
    .name = "align",
    .title = "Alignment of arm and cartridge",
    .summary = "Find null radii, overhang and offset: what was found, what it costs, the move that mends it.",
    .quantities = quantities,
    .run = run,
};
