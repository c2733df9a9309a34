// SPDX-License-Identifier: MIT
// The steps of a recording of rising levels and the distortion in each.
#ifndef DW_MEASURE_TRACKING_STEPS_H
#define DW_MEASURE_TRACKING_STEPS_H

#include "measure/band/tracking.h"

enum { DW_TRACKING_COMPONENTS = 9, DW_TRACKING_STEPS_MOST = 16 };

// What parts one step from the next where their seconds are known, or gaps lie between: mistracking moves the level
// less.
#define DW_TRACKING_WHOLE_SPLIT_DB 3.0

// The tone, its harmonics 2 to 5, and the places half-way between, which hold noise only.
extern const DwComponent dw_tracking_components[DW_TRACKING_COMPONENTS];

typedef struct {
    double level; // as engraved, or dB above the quietest step
    bool found;
    double start_s, end_s, tone_level;
    double distortion[2];  // share of the tone
    double uncertainty[2]; // 95 %
    double worst[2];       // share of the worst moments: what a step is judged by
    double side[2];        // of the displacement's wave that is flattened: 1 upper, −1 lower, 0 both or none
    double frequency_hz;
    double channel_level[2]; // of the tone
    double floor[2];         // what noise alone would give
    bool clipped[2];
} DwTrackingResult;

// What one recording says, steps by rising level.
typedef struct {
    DwTrackingResult step[DW_TRACKING_STEPS_MOST];
    size_t count;
    bool matched_by_level; // some bands were missing and levels decided which
    bool too_many;         // more stretches than levels: the shorter ones, which may be what mistracks, were left out
    bool unplaced;         // which step is which is not known: levels are NAN, steps in order of time
    size_t left_over;
} DwTrackingRun;

// The steps of the RECORDINGth recording of SET, matched with the levels that SETTINGS state.
DwTrackingRun dw_tracking_steps_of(DwBandSet *set, size_t recording, const DwTrackingSettings *settings);
// Whether CHANNEL gives next to nothing in STEP, beside the other.
bool dw_tracking_steps_is_quiet(const DwTrackingResult *step, size_t channel);
// How many steps from the lowest up CHANNEL passes with no more than LIMIT (a share) of distortion.
size_t dw_tracking_steps_passed(const DwTrackingRun *run, size_t channel, double limit);

#endif
