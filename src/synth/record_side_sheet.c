// SPDX-License-Identifier: MIT
#include "synth/record_side_sheet.h"

#include <math.h>

static const char described[] = "as described, not measured";

static void add(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits)
{
    dw_reading_set_method(dw_sheet_add_reading(sheet, key, label, value, unit, digits), described);
}

// A level, where there is anything.
static void add_level(DwSheet *sheet, const char *key, const char *label, double ratio)
{
    if (ratio > 0 && isfinite(ratio))
        add(sheet, key, label, 20 * log10(ratio), "dB", 2);
}

static void add_pickup(DwSheet *sheet, const DwRecordSideTruth *side)
{
    add_level(sheet, "truth.reference", "Lateral 1 kHz at the record's reference, against full scale",
              side->reference_peak);
    add(sheet, "truth.balance", "Right over left", side->balance_db, "dB", 2);
    // As `channels` names them, by the channel that is driven.
    if (isfinite(side->separation_db[0]))
        add(sheet, "truth.separation_left", "Left band's leak into the right, under the right's own",
            side->separation_db[0], "dB", 2);
    if (isfinite(side->separation_db[1]))
        add(sheet, "truth.separation_right", "Right band's leak into the left, under the left's own",
            side->separation_db[1], "dB", 2);
    add(sheet, "truth.rotation", "Lean of the pickup towards the spindle", side->rotation_deg, "deg", 3);
    if (isnan(side->resonance_hz[DW_PICKUP_LATERAL]))
        return;
    add(sheet, "truth.lateral", "Lateral resonance", side->resonance_hz[DW_PICKUP_LATERAL], "Hz", 3);
    add(sheet, "truth.vertical", "Vertical resonance", side->resonance_hz[DW_PICKUP_VERTICAL], "Hz", 3);
    add(sheet, "truth.q", "Q of both", side->resonance_q, "", 2);
}

// Against the reference tone in a channel; rumble before any weighting.
static void add_disturbances(DwSheet *sheet, const DwSynthTruth *truth, double reference_peak)
{
    double reference_rms = reference_peak * M_SQRT1_2;
    add(sheet, "truth.speed_error", "Mean speed error", truth->mean_error_percent, "%", 4);
    add_level(sheet, "truth.rumble_lateral", "Lateral rumble", truth->rumble_lateral_rms / reference_rms);
    add_level(sheet, "truth.rumble_vertical", "Vertical rumble", truth->rumble_vertical_rms / reference_rms);
    add_level(sheet, "truth.hum", "Fundamental of the hum", truth->hum_peak / reference_peak);
    add_level(sheet, "truth.noise", "White noise to half the rate", truth->noise_rms / reference_rms);
    add(sheet, "truth.ticks", "Ticks", (double)truth->ticks, "", 0);
    add(sheet, "truth.dropouts", "Drop-outs", (double)truth->dropouts, "", 0);
}

static void add_bands(DwSheet *sheet, const DwRecordSideTruth *side)
{
    static const char *const columns[] = {"band|Band||0",
                                          "kind|Kind||",
                                          "channel|Channel||",
                                          "start|From|s|3",
                                          "end|To|s|3",
                                          "radius|Radius|mm|1",
                                          "error|Tracking error|deg|3",
                                          "second|Second harmonic of the angles|%|3",
                                          "intermod|Modulation of the higher tone|%|3",
                                          "held_left|Left holds|um|1",
                                          "held_right|Right holds|um|1",
                                          "passed_left|Left passes|um|0",
                                          "passed_right|Right passes|um|0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "truth.bands", "Bands as played", columns);
    for (size_t i = 0; i < side->count; i++) {
        const DwRecordSideBand *played = &side->bands[i];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, played->band->number);
        dw_table_set_word(table, row, 1, dw_band_plan_kind_word(played->band->kind));
        dw_table_set_word(table, row, 2, dw_band_plan_channel_word(played->band->channel));
        const double numbers[] = {played->start_s,        played->end_s,
                                  played->radius_mm,      played->tracking_error_deg,
                                  played->second_percent, played->intermod_percent,
                                  played->held_um[0],     played->held_um[1],
                                  played->passed_um[0],   played->passed_um[1]};
        for (size_t k = 0; k < sizeof numbers / sizeof *numbers; k++)
            if (isfinite(numbers[k])) // what is not so is undefined, and shown as such
                dw_table_set_number(table, row, 3 + k, numbers[k]);
    }
}

static void add_response(DwSheet *sheet, const DwRecordSide *side)
{
    enum { LOWEST = -34, HIGHEST = 26, COUNT = HIGHEST - LOWEST + 1 }; // sixths of an octave about 1 kHz
    DwCurve *curve = dw_sheet_add_curve(sheet, "truth.response", "Output for equal velocity, preamplifier and all",
                                        (DwAxis){"Frequency", "Hz"}, (DwAxis){"Output re 1 kHz", "dB"}, COUNT);
    for (int i = 0; i < COUNT; i++) {
        curve->x_values[i] = 1000 * exp2((LOWEST + i) / 6.0);
        curve->y_values[i] = dw_record_side_response_db(side, curve->x_values[i]);
    }
}

DwSheet *dw_record_side_sheet(const DwSynth *synth)
{
    const DwRecordSide *side = dw_synth_side(synth);
    const DwRecordSideTruth *truth = dw_record_side_truth(side);
    DwSheet *sheet = dw_sheet_new("synth", "What is true of a planned side");
    dw_sheet_set_subject(sheet, dw_record_side_plan(side)->name);
    add_pickup(sheet, truth);
    add_disturbances(sheet, dw_synth_truth(synth), truth->reference_peak);
    add_bands(sheet, truth);
    add_response(sheet, side);
    return sheet;
}
