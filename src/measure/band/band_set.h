// SPDX-License-Identifier: MIT
// What is fed to the measurements of tone bands: one or several recordings, one
// after another, each through its own synchronous detector. Bands may be named
// by their seconds; otherwise they are found by content. Feed, then ask.
#ifndef DW_MEASURE_BAND_SET_H
#define DW_MEASURE_BAND_SET_H

#include "base/status.h"
#include "measure/band/tone_band.h"

// What makes a band of its own.
typedef struct {
    double split_db; // a change of level by more than this
    double least_s;
    bool moments; // distortion is wanted moment by moment as well
} DwBandRule;

typedef struct DwBandSet DwBandSet;

// LIKE is how to detect; its rate and channels are each recording's own.
DwBandSet *dw_band_set_new(DwSynchronousSettings like, DwBandRule rule);
// For bands of two tones, the one between HIGH_HZ, the other between LOW_HZ, and what comes at the COUNT COMPONENTS.
DwBandSet *dw_band_set_new_two_tone(const DwComponent *components, size_t count, const double high_hz[2],
                                    const double low_hz[2]);
void dw_band_set_free(DwBandSet *set);

// Begins the next recording; START_S is the time of its first sample.
void dw_band_set_begin(DwBandSet *set, double rate_hz, unsigned channels, double start_s);
void dw_band_set_push(DwBandSet *set, const float *interleaved, size_t frames);
// Ends the recording begun last.
void dw_band_set_end(DwBandSet *set);

// From now on bands of SET end where the level changes by more than SPLIT_DB. Returned: what it was.
double dw_band_set_split(DwBandSet *set, double split_db);

// How many recordings were begun.
size_t dw_band_set_recordings(const DwBandSet *set);
// The fewest channels of all recordings: 1 when any is mono.
unsigned dw_band_set_channels(const DwBandSet *set);
// A sample that was not a number is DW_BAD_INPUT with one line.
DwStatus dw_band_set_check(const DwBandSet *set, DwMessage *message);
// All bands by content, recording after recording. Valid until the next call on SET.
const DwToneBand *dw_band_set_bands(DwBandSet *set, size_t *count);
// The longest band of RECORDING between two seconds; false without one.
bool dw_band_set_between(DwBandSet *set, size_t recording, double from_s, double to_s, DwToneBand *band);
// The distortion of CHANNEL in the worst moments of BAND, a share; NAN where the rule wants none.
double dw_band_set_worst(const DwBandSet *set, const DwToneBand *band, size_t channel);
// Which channels come and go, in any recording, while the other plays on.
void dw_band_set_breaks(DwBandSet *set, bool breaks[2]);

#endif
