// SPDX-License-Identifier: MIT
// From samples to the speed of the tone in them: finds stretches of a steady
// tone in a recording of any length, joins the channels, and demodulates its
// frequency and amplitude to about a thousand values a second. Streaming, in
// bounded memory; block size changes nothing.
#ifndef DW_MEASURE_CARRIER_H
#define DW_MEASURE_CARRIER_H

#include "measure/tone/demodulator.h"
#include "measure/tone/tone_fit.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double rate_hz;    // 6000 or more
    unsigned channels; // 1 or 2
    double tone_hz;    // as engraved; NAN when it is not stated
    double keep_s;     // the longest stretch kept; of a longer one, its last part
} DwCarrierSettings;

// A stretch of one steady tone. Sample n stands at start_s + n / rate_hz.
typedef struct {
    double centre_hz; // deviations count from here
    double rate_hz;
    double start_s;
    size_t count;
    size_t dropped; // values that fell out at the front because the stretch was too long
    float *deviation_hz;
    float *amplitude; // of the joined channels, peak
    double share[2];  // each channel's amplitude as a share of the joined one
    bool reversed;    // the channels were in opposite phase
    DwToneFit fit;
    double engraved_hz; // the tone it was taken for; NAN for a foreign one
    double late_hz;     // mean frequency of its latter half
    size_t blocks, clipped_blocks;
} DwToneRun;

// A tone of a second or more that was heard, kept or not.
typedef struct {
    double start_s, end_s;
    double mean_hz; // of its latter half
} DwTonePassage;

typedef struct DwCarrier DwCarrier;

// The caller frees it with dw_carrier_free().
DwCarrier *dw_carrier_new(DwCarrierSettings settings);
void dw_carrier_free(DwCarrier *carrier);
// Takes FRAMES interleaved frames. After a sample that is not finite nothing more is taken.
void dw_carrier_push(DwCarrier *carrier, const float *interleaved, size_t frames);
// Whether an infinite sample or NaN was met, and at which second.
bool dw_carrier_met_bad_sample(const DwCarrier *carrier, double *second);
// Seconds taken so far.
double dw_carrier_length_s(const DwCarrier *carrier);
// The stretch that fits best so far, the longer of equals, also while it still
// goes on; false without one. Its arrays are valid until the next push.
bool dw_carrier_best(const DwCarrier *carrier, DwToneRun *view);
// Every tone heard so far that has ended, in order of time, the first few dozen.
// Valid until the next push.
size_t dw_carrier_passages(const DwCarrier *carrier, const DwTonePassage **passages);
// At the end of a recording: takes what does not fill a block. Nothing may be
// pushed after it.
void dw_carrier_finish(DwCarrier *carrier);
// What it demodulates with. Valid until the carrier is freed.
const DwDemodulator *dw_carrier_demodulator(const DwCarrier *carrier);

#endif
