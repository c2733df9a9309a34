// SPDX-License-Identifier: MIT
// Tracking ability from bands of one tone at rising levels: the distortion of
// each channel at each step, the highest step passed, and what to change.
#ifndef DW_MEASURE_TRACKING_H
#define DW_MEASURE_TRACKING_H

#include "base/sheet.h"
#include "measure/band/band_set.h"

typedef struct {
    double level;   // as engraved
    double start_s; // into each recording
} DwTrackingStep;

// What is known of left and right: an advice on anti-skating hangs on it.
typedef enum {
    DW_TRACKING_SIDES_TAKEN,   // as recorded: nothing shows whether the leads are swapped
    DW_TRACKING_SIDES_KNOWN,   // by one-sided bands of the same side
    DW_TRACKING_SIDES_SWAPPED, // put back by them; but it may be the plan that has them exchanged
} DwTrackingSides;

// Which channel a recording of one is.
typedef enum {
    DW_TRACKING_HEARD_ANY, // not known
    DW_TRACKING_HEARD_LEFT,
    DW_TRACKING_HEARD_RIGHT,
} DwTrackingHeard;

typedef struct {
    const DwTrackingStep *steps; // steps by their seconds …
    size_t step_count;
    const double *levels; // … or the levels engraved, steps found by level
    size_t level_count;
    bool in_decibels;        // levels are dB; otherwise µm
    bool equalised;          // the recording was made behind RIAA replay equalisation
    double limit_percent;    // more distortion than this is a step failed
    const double *radius_mm; // of each recording
    size_t radius_count;
    DwTrackingSides sides;
    DwTrackingHeard heard;        // the sound one, where the other comes and goes
    double force_g, force_high_g; // now, and the most that the maker allows; NAN when not stated
} DwTrackingSettings;

// The detector and the rule that suit these bands. TONE_HZ NAN: any from 200 Hz.
// TIMED: the steps will be given by their seconds.
DwBandSet *dw_tracking_new_set(double tone_hz, bool timed);
// Adds readings, table and remarks to SHEET from what was fed to SET, one
// recording for each radius.
DwStatus dw_tracking_read(DwBandSet *set, const DwTrackingSettings *settings, DwSheet *sheet, DwMessage *message);

#endif
