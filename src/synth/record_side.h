// SPDX-License-Identifier: MIT
// A planned side as the described deck, arm, cartridge and chain play it.
#ifndef DW_SYNTH_RECORD_SIDE_H
#define DW_SYNTH_RECORD_SIDE_H

#include "synth/side_inputs.h"

// What is true of a planned band. Seconds are of the recording.
typedef struct {
    const DwBandPlanBand *band;
    double start_s, end_s;     // where it is first heard and last left; NAN: it is not played
    double radius_mm;          // at its middle; NAN: not known
    double tracking_error_deg; // there; NAN: not known
    // Second harmonic that the angles make of the loudest of a tone or of steps,
    // over the fundamental, before any replay curve [%]; NAN for other kinds.
    double second_percent;
    // Of a two-tone band: √(d₂² + d₃²) of the higher tone's side tones that the
    // angles make [%]; NAN for other kinds.
    double intermod_percent;
    double held_um[2];   // lateral swing [µm peak] that the left and right walls hold the stylus up to; INFINITY
    double passed_um[2]; // the highest of the steps up to which none exceeds that; 0 none, NAN for other kinds
} DwRecordSideBand;

typedef struct {
    const DwRecordSideBand *bands; // as in the plan
    size_t count;
    double rotation_deg;     // the pickup's top leans so far towards the spindle
    double balance_db;       // right over left, each by its own wall
    double separation_db[2]; // of the left and of the right wall's leak under the other channel's own output
    double resonance_hz[DW_PICKUP_DIRECTIONS], resonance_q; // hz NAN: none
    double reference_peak; // a lateral tone of 1 kHz at the record's reference, in each channel; full scale is 1
} DwRecordSideTruth;

typedef struct DwRecordSide DwRecordSide;

// COURSE is that of SETTINGS, whose lines must outlive the side. GROOVE_S is when
// in the recording the stylus is set down. Takes ownership of what INPUTS hold.
DwRecordSide *dw_record_side_new(DwSideInputs *inputs, const DwSettings *settings, double groove_s);
void dw_record_side_free(DwRecordSide *side);

// From the first groove to the last, as played [s].
double dw_record_side_length_s(const DwRecordSide *side);
// The highest frequency engraved [Hz].
double dw_record_side_highest_hz(const DwSideInputs *inputs);
// The next frame of the two channels, without rumble, hum, noise and ticks.
void dw_record_side_next(DwRecordSide *side, double channels[2]);

// Valid until the side is freed.
const DwRecordSideTruth *dw_record_side_truth(const DwRecordSide *side);
const DwBandPlan *dw_record_side_plan(const DwRecordSide *side);
// Output for equal groove velocity at FREQUENCY_HZ, relative to 1 kHz, of coil,
// load, stylus and preamplifier, without the arm's resonance [dB].
double dw_record_side_response_db(const DwRecordSide *side, double frequency_hz);
// The true deviation of speed [ratio] at SECONDS of the recording, but for random flutter.
double dw_record_side_deviation(const DwRecordSide *side, double seconds);

#endif
