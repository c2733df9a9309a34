// SPDX-License-Identifier: MIT
// Which step of rising levels each band is, where no seconds are given: what mistracks loses level, and may be quieter
// than steps cut lower.
#ifndef DW_MEASURE_TRACKING_PLACES_H
#define DW_MEASURE_TRACKING_PLACES_H

#include "measure/band/tracking_steps.h"

typedef struct {
    const DwTrackingResult *heard; // in order of time
    size_t count;
    const double *levels_db; // as engraved, rising; NULL where none were stated
    size_t level_count;
    bool sound[2]; // the channels whose level tells
    double limit;  // of distortion, a share: what has more may have lost level
} DwTrackingHeardSteps;

// Given: NUMBER[count], which step each band is by loudness alone.
// Returned: whether the places are known; NUMBER is then put right. Where loudness goes with the order on the record it
// is right as it stands. Where it does not, a placing is possible when the bands of a channel that track keep to the
// levels engraved, those that do not are no louder than that, and no band that tracks lies over one that is far from
// it; the placings tried are that by loudness and those by time, upwards and downwards. One alone has to be possible.
// Accuracy: levels of a record are taken to be right within 0.6 dB of each other.
bool dw_tracking_places_find(const DwTrackingHeardSteps *steps, size_t *number);

#endif
