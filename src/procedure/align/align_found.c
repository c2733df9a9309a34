// SPDX-License-Identifier: MIT
// What was found, what it costs, and the move that mends it.
#include "procedure/align/align_sheet.h"

#include "physics/chance.h"

#include <math.h>

static const char *way_name(DwFoundWay way)
{
    switch (way) {
    case DW_FOUND_TANGENCIES:
        return "from the radii of tangency and pivot to spindle";
    case DW_FOUND_READINGS:
        return "least squares of all that was read, and pivot to spindle";
    case DW_FOUND_STATED:
    case DW_FOUND_NOTHING:
        return "as stated";
    }
    return "";
}

// Readings that do not agree make all that hangs on them doubtful.
static unsigned flags_of(const DwFoundSetup *found)
{
    return found->doubt.doubtful ? DW_FLAG_UNSTEADY : 0;
}

typedef struct {
    const char *key, *label, *unit;
    int digits;
    double value, half_width;
} Row;

static void add_rows(DwSheet *sheet, const Row *rows, size_t count, const char *method, unsigned flags)
{
    for (size_t i = 0; i < count; i++)
        dw_sheet_add_estimate(sheet, rows[i].key, rows[i].label, rows[i].value, rows[i].unit, rows[i].digits,
                              rows[i].half_width, method)
            ->flags = flags;
}

static void add_found(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found, const DwTrackingCost *cost)
{
    const DwFoundSpread *spread = &found->spread;
    const Row rows[] = {
        {"found.overhang", "Overhang as found", "mm", 2, dw_arm_overhang(&found->arm), spread->overhang_mm},
        {"found.offset", "Offset as found", "deg", 2, found->arm.offset_deg, spread->offset_deg},
        {"found.effective_length", "Effective length as found", "mm", 2, found->arm.effective_length_mm,
         spread->length_mm},
        {"found.error_max", "Worst tracking error as found", "deg", 2, cost->error_deg.value, spread->error_deg},
        {"found.distortion_max", "Worst distortion as found", "%", 3, cost->distortion_percent.value,
         spread->distortion_percent},
        {"found.distortion_rms", "Mean distortion as found (rms)", "%", 3, cost->distortion_rms_percent,
         spread->rms_percent},
    };
    add_rows(sheet, rows, sizeof rows / sizeof *rows, way_name(found->readings.way), flags_of(found));
    if (found->mounted_elsewhere)
        dw_sheet_add_estimate(sheet, "found.pivot_error", "Pivot out of place",
                              found->readings.distance_mm - setup->ideal.pivot_to_spindle_mm, "mm", 2,
                              found->pivot_uncertainty_mm, "distance as mounted less the one stated");
}

// What is left of the readings about the arm, against what their uncertainty may leave.
static void add_residual(DwSheet *sheet, const DwFoundSetup *found)
{
    const DwArmFit *fit = &found->fit;
    if (found->readings.way == DW_FOUND_STATED)
        return;
    if (fit->freedom < 1) {
        dw_sheet_not_measured(sheet, "align.residual",
                              "two readings fit some arm always: read the angle at a third radius (found.error_at) or "
                              "the overhang (found.overhang) to see whether they are right");
        return;
    }
    DwReading *reading = dw_sheet_add_estimate(sheet, "align.residual", "Misfit of the readings", fit->residual_deg,
                                               "deg", 2, NAN, "rms over what is read twice");
    double freedom = fit->freedom, deviation = fit->residual_deg / sqrt(fit->chi_square / freedom);
    double most = deviation * sqrt(dw_chance_chi_square(0.99, freedom) / freedom);
    reading->flags = flags_of(found);
    if (fit->chi_square > 0)
        dw_reading_set_limit(reading, (DwRange){NAN, most}, (DwRange){NAN, NAN},
                             "what the readings' own uncertainty leaves in 99 of 100");
}

static void add_move(DwSheet *sheet, const DwFoundSetup *found, const DwTrackingCost *after)
{
    const DwFoundSpread *spread = &found->spread;
    const Row moves[] = {
        {"move.slide", dw_shell_slide_label(found->shell.kind), "mm", 2, found->move.slide_mm, spread->slide_mm},
        {"move.twist", dw_shell_twist_label(found->shell.kind), "deg", 2, found->move.twist_deg, spread->twist_deg},
    };
    const double good[] = {dw_align_good_slide_mm, dw_align_good_twist_deg};
    add_rows(sheet, moves, 2, "first the slide, then the twist", flags_of(found));
    // Beyond it the arm still serves; whether it needs the move, its distortion says.
    int judged = found->shell.allows.twist_deg > 0 ? 2 : 1;
    for (int i = 0; i < judged && !found->doubt.doubtful && found->move.helps; i++)
        dw_reading_set_limit(dw_sheet_reading(sheet, moves[i].key), (DwRange){NAN, NAN}, (DwRange){-good[i], good[i]},
                             "common practice");
    const Row then[] = {
        {"move.distortion_max", "Worst distortion after the move", "%", 3, after->distortion_percent.value,
         spread->after_percent},
        {"move.distortion_rms", "Mean distortion after the move (rms)", "%", 3, after->distortion_rms_percent,
         spread->after_rms_percent},
        {"move.overhang", "Overhang after the move", "mm", 2, dw_arm_overhang(&found->move.after),
         spread->after_overhang_mm},
        {"move.offset", "Offset after the move", "deg", 2, found->move.after.offset_deg, spread->after_offset_deg},
    };
    add_rows(sheet, then, sizeof then / sizeof *then, "the move done exactly as told", flags_of(found));
    if (found->shell.travel_known)
        dw_reading_set_method(
            dw_sheet_add_word(sheet, "move.allowed", "The headshell allows it", found->move.allowed ? "yes" : "no"),
            "what its slots, slide, holes or collet allow");
    else
        dw_sheet_not_measured(sheet, "move.allowed", "the travel was not given: add arm.slot_length");
}

void dw_align_sheet_found(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, const DwFoundSetup *found)
{
    DwTrackingCost before, after;
    if (!dw_tracking_cost(&found->arm, setup->groove, setup->signal, &before) ||
        !dw_tracking_cost(&found->move.after, setup->groove, setup->signal, &after))
        return; // dw_found_setup_read() refused such arms
    add_found(sheet, setup, found, &before);
    add_residual(sheet, found);
    add_move(sheet, found, &after);
    DwNulls nulls;
    if (!dw_arm_nulls(&found->arm, &nulls))
        dw_sheet_remark(sheet, "As found the cartridge is tangent at no radius.");
    dw_align_remark_found(sheet, setup, found, &before, &after);
    dw_align_sheet_headshells(sheet, inputs, setup, found);
}

void dw_align_sheet_not_found(DwSheet *sheet)
{
    dw_sheet_not_measured(
        sheet, "found.overhang",
        "nothing was read as found: give found.null_inner and found.null_outer, found.error_at twice, "
        "or found.slip and found.twist");
}
