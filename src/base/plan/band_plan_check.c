// SPDX-License-Identifier: MIT
#include "base/plan/band_plan.h"

#include "base/plan/band_plan_private.h"

#include <math.h>

// Turns of a groove lie from 0.04 mm (a quiet long side) to 0.6 mm (a wide
// spiral) apart on average; common practice, no source.
static const double pitch_least_mm = 0.04, pitch_most_mm = 0.6;
// No side is longer than this at the least pitch over the widest recorded band.
static const double side_most_s = 45 * 60;
// More lateral swing than this runs into the next turn of the widest pitch in use
// for tracking bands; common practice, no source.
static const double swing_most_um = 200;
// Where no radius is stated, the level is held against the innermost groove.
static const double innermost_mm = 60;
// A detector needs this much of a band, and of each step.
static const double band_least_s = 4, step_least_s = 2;

static void check_numbers(const DwBandPlan *plan, DwPlanTroubles *troubles)
{
    unsigned expected = 1;
    for (size_t i = 0; i < plan->count; i++) {
        const DwBandPlanBand *band = &plan->bands[i];
        if (band->number != expected && expected == 1)
            dw_plan_trouble_add(troubles, band->line, band->number, true,
                                "[band %u] is the first: number 1 is missing. Add it or close the gap.", band->number);
        else if (band->number != expected)
            dw_plan_trouble_add(troubles, band->line, band->number, true,
                                "[band %u] follows %u: number %u is missing. Add it or close the gap.", band->number,
                                expected - 1, expected);
        expected = band->number + 1;
    }
}

// Speed of the groove under the stylus, cm/s.
static double groove_speed_cm_s(const DwBandPlan *plan, double radius_mm)
{
    return 2 * M_PI * radius_mm / 10 * plan->speed_rpm / 60;
}

// The frequency at which a band's velocity is stated.
static double level_hz(const DwBandPlanBand *band)
{
    switch (band->kind) {
    case DW_PLAN_SWEEP:
        return dw_band_plan_sweep_level_hz(band->from_hz, band->to_hz);
    case DW_PLAN_TWO_TONE:
        return band->from_hz;
    case DW_PLAN_TONE:
    case DW_PLAN_STEPS:
        return band->frequency_hz;
    case DW_PLAN_SILENCE:
    case DW_PLAN_KINDS:
        break;
    }
    return NAN;
}

// A stylus cannot follow, nor a cutter cut, a groove that runs at more than 45°
// to its own course; and it must not swing into the next turn.
static void check_level(const DwBandPlan *plan, const DwBandPlanBand *band, DwPlanTroubles *troubles)
{
    double radius_mm = isnan(band->radius_mm) ? innermost_mm : band->radius_mm;
    double most_cm_s = groove_speed_cm_s(plan, radius_mm);
    double swing_um = band->velocity_cm_s / (2 * M_PI * level_hz(band)) * 1e4;
    if (band->velocity_cm_s > most_cm_s)
        dw_plan_trouble_add(troubles, band->line, band->number, false,
                            "[band %u] level of %.3g cm/s is more than a groove holds at %.0f mm (%.3g cm/s). Correct "
                            "the level or its unit.",
                            band->number, band->velocity_cm_s, radius_mm, most_cm_s);
    else if (swing_um > swing_most_um)
        dw_plan_trouble_add(
            troubles, band->line, band->number, true,
            "[band %u] level of %.3g cm/s at %.3g Hz swings %.0f µm, into the next turn. Check the level and its unit.",
            band->number, band->velocity_cm_s, level_hz(band), swing_um);
}

static void check_length(const DwBandPlanBand *band, DwPlanTroubles *troubles)
{
    if (band->kind == DW_PLAN_STEPS && band->length_s < step_least_s * (double)band->step_count)
        dw_plan_trouble_add(
            troubles, band->line, band->number, true,
            "[band %u] %zu steps in %.3g s leave less than %.0f s for each, too short to measure. Check length.",
            band->number, band->step_count, band->length_s, step_least_s);
    else if (band->length_s < band_least_s)
        dw_plan_trouble_add(
            troubles, band->line, band->number, true,
            "[band %u] %.3g s are too short to measure. Check length, which is in s unless a unit says else.",
            band->number, band->length_s);
}

// Whether the lengths of the bands from FIRST up to LAST fit between their radii.
static void check_pitch(const DwBandPlan *plan, size_t first, size_t last, DwPlanTroubles *troubles)
{
    const DwBandPlanBand *outer = &plan->bands[first], *inner = &plan->bands[last];
    double travel_mm = outer->radius_mm - inner->radius_mm;
    double length_s = dw_band_plan_start_s(plan, last) - dw_band_plan_start_s(plan, first);
    if (travel_mm <= 0) {
        dw_plan_trouble_add(
            troubles, inner->line, inner->number, false,
            "[band %u] begins at %.4g mm, not inside [band %u] at %.4g mm. Radii must fall from band to band.",
            inner->number, inner->radius_mm, outer->number, outer->radius_mm);
        return;
    }
    double pitch_mm = travel_mm / (length_s * plan->speed_rpm / 60);
    if (isnan(pitch_mm) || (pitch_mm >= pitch_least_mm && pitch_mm <= pitch_most_mm))
        return;
    dw_plan_trouble_add(troubles, inner->line, inner->number, pitch_mm > pitch_most_mm,
                        "[band %u] begins %.3g mm inside [band %u], %.4g s after it: a groove pitch of %.2g mm, and "
                        "%.2g to %.2g are plausible. "
                        "Check length, gap and radius.",
                        inner->number, travel_mm, outer->number, length_s, pitch_mm, pitch_least_mm, pitch_most_mm);
}

static void check_places(const DwBandPlan *plan, DwPlanTroubles *troubles)
{
    size_t known = plan->count;
    for (size_t i = 0; i < plan->count; i++) {
        if (plan->bands[i].broken)
            known = plan->count; // its length is not sure
        if (plan->bands[i].broken || isnan(plan->bands[i].radius_mm))
            continue;
        if (known < plan->count)
            check_pitch(plan, known, i, troubles);
        known = i;
    }
    double length_s = dw_band_plan_start_s(plan, plan->count);
    if (length_s > side_most_s)
        dw_plan_trouble_add(troubles, 0, 0, false,
                            "The bands add up to %.0f min, more than a side holds. Check the lengths and their units.",
                            length_s / 60);
}

void dw_band_plan_check(const DwBandPlan *plan, DwPlanTroubles *troubles)
{
    if (plan->count == 0)
        dw_plan_trouble_add(troubles, 0, 0, false,
                            "There is no band in it. Add [band 1] with kind, channel, frequency, level and length.");
    check_numbers(plan, troubles);
    for (size_t i = 0; i < plan->count; i++)
        if (!plan->bands[i].broken) {
            check_level(plan, &plan->bands[i], troubles);
            check_length(&plan->bands[i], troubles);
        }
    check_places(plan, troubles);
}
