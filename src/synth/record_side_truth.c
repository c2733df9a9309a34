// SPDX-License-Identifier: MIT
#include "synth/record_side_truth.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static void find_times(const DwSideInputs *inputs, const DwTravel *travel, double groove_s, DwRecordSideBand *truth)
{
    truth->start_s = truth->end_s = NAN;
    for (size_t i = 0; i < travel->count; i++) {
        const DwTravelLeg *leg = &travel->legs[i];
        if (inputs->engraving.parts[leg->part].band != truth->band)
            continue;
        if (isnan(truth->start_s))
            truth->start_s = groove_s + leg->from_s;
        truth->end_s = groove_s + (i + 1 < travel->count ? travel->legs[i + 1].from_s : travel->end_s);
        truth->radius_mm = leg->radius_mm;
    }
}

// The nth side tone above (or below) the higher tone, over what the tone was cut with.
static double side_tone(double index, double ratio, int n)
{
    double place = 1 + n * ratio; // of its frequency, over the higher tone's
    return fabs(place * jn(abs(n), index * place));
}

// The higher tone f₂ is read through the swing V₁/(2πf₁) of the lower one, ahead
// by shift times that. Derived: y = X(s + shift · y) has the velocity spectrum
// ∫X'(u)·exp(−iω(u − shift·X(u)))du, which to first order in the higher tone is
// (ω/ω₂)·Jₙ(shift·ω·A₁) at ω = ω₂ + nω₁.
static double intermod_percent(const DwBandPlanBand *band, double shift_s_cm)
{
    double ratio = band->from_hz / band->frequency_hz, index = fabs(shift_s_cm) * band->velocity_cm_s / ratio;
    double second = side_tone(index, ratio, 1) + side_tone(index, ratio, -1);
    double third = side_tone(index, ratio, 2) + side_tone(index, ratio, -2);
    return 100 * hypot(second, third) / fabs(side_tone(index, ratio, 0));
}

static void find_passed(DwRecordSideBand *truth)
{
    for (int side = 0; side < 2; side++) {
        truth->passed_um[side] = 0;
        double lowest_lost = INFINITY;
        for (size_t i = 0; i < truth->band->step_count; i++)
            if (truth->band->steps_um[i] > truth->held_um[side])
                lowest_lost = fmin(lowest_lost, truth->band->steps_um[i]);
        for (size_t i = 0; i < truth->band->step_count; i++)
            if (truth->band->steps_um[i] < lowest_lost)
                truth->passed_um[side] = fmax(truth->passed_um[side], truth->band->steps_um[i]);
    }
}

static DwRecordSideBand band_truth(const DwSideInputs *inputs, const DwTravel *travel, double groove_s,
                                   const DwBandPlanBand *band)
{
    DwRecordSideBand truth = {
        .band = band, .radius_mm = NAN, .second_percent = NAN, .intermod_percent = NAN, .passed_um = {NAN, NAN}};
    find_times(inputs, travel, groove_s, &truth);
    DwPickupPlace place = dw_pickup_place(&inputs->pickup, truth.radius_mm);
    truth.tracking_error_deg = place.tracking_error_deg;
    for (int side = 0; side < 2; side++) // a lateral swing moves each wall by 1/√2 of it
        truth.held_um[side] = place.held_um[side] * M_SQRT2;
    double shift = dw_engraving_shift_s_cm(band->channel, &place.tracing);
    if (band->kind == DW_PLAN_TONE || band->kind == DW_PLAN_STEPS)
        truth.second_percent = 100 * fabs(shift) * band->velocity_cm_s;
    if (band->kind == DW_PLAN_TWO_TONE)
        truth.intermod_percent = intermod_percent(band, shift);
    if (band->kind == DW_PLAN_STEPS)
        find_passed(&truth);
    return truth;
}

DwRecordSideBand *dw_record_side_bands(const DwSideInputs *inputs, const DwTravel *travel, double groove_s)
{
    DwRecordSideBand *bands = dw_memory_new(inputs->plan.count, sizeof *bands);
    for (size_t i = 0; i < inputs->plan.count; i++)
        bands[i] = band_truth(inputs, travel, groove_s, &inputs->plan.bands[i]);
    return bands;
}

DwRecordSideTruth dw_record_side_overall(const DwSideInputs *inputs)
{
    double m[2][2];
    dw_pickup_matrix(&inputs->pickup, m);
    DwRecordSideTruth truth = {
        .rotation_deg = inputs->pickup.rotation_deg,
        .balance_db = 20 * log10(fabs(m[1][1] / m[0][0])),
        .separation_db = {20 * log10(fabs(m[1][1] / m[1][0])), 20 * log10(fabs(m[0][0] / m[0][1]))},
        .resonance_q = inputs->pickup.resonance_q,
    };
    for (int i = 0; i < DW_PICKUP_DIRECTIONS; i++)
        truth.resonance_hz[i] = inputs->pickup.resonance_hz[i];
    return truth;
}
