// SPDX-License-Identifier: MIT
// Synchronous detection of a recorded tone: follows the tone's actual, wowing
// phase and gives, block by block, the complex amplitudes of both channels at
// chosen multiples of it. Wow smears nothing, and what is not locked to the tone
// (rumble, hum, noise) averages out. Streaming; block size changes nothing.
#ifndef DW_MEASURE_SYNCHRONOUS_H
#define DW_MEASURE_SYNCHRONOUS_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

enum { DW_SYNCHRONOUS_COMPONENTS_MOST = 12 };

// What is detected: this many times the tone and this many times its companion.
typedef struct {
    double of_tone;
    double of_companion;
} DwComponent;

typedef struct {
    double rate_hz; // 6000 or more
    unsigned channels;
    double lowest_hz, highest_hz;                     // where the tone may lie
    double companion_lowest_hz, companion_highest_hz; // of a second, lower tone; {0, 0}: there is none
    double smoothing_s;                               // length of the window that the phase is followed with
    const DwComponent *components;                    // must outlive the detector
    size_t component_count;
} DwSynchronousSettings;

// What one block holds. Half of it is shared with the next.
typedef struct {
    double start_s, end_s;
    bool heard; // one tone stands out
    bool clipped[2];
    double frequency_hz; // mean within the block
    double companion_hz;
    double purity; // share of the power in the tone's range that is the tone's and its harmonics', of the purer channel
    // Peak values; the phase is counted from the tone's own in the stronger channel.
    double complex amplitude[2][DW_SYNCHRONOUS_COMPONENTS_MOST];
} DwToneBlock;

typedef struct DwSynchronous DwSynchronous;

// The caller frees it with dw_synchronous_free().
DwSynchronous *dw_synchronous_new(DwSynchronousSettings settings);
void dw_synchronous_free(DwSynchronous *synchronous);
// Takes FRAMES interleaved frames. After a sample that is not finite nothing more is taken.
void dw_synchronous_push(DwSynchronous *synchronous, const float *interleaved, size_t frames);
// At the end of a recording: takes what does not fill a block.
void dw_synchronous_finish(DwSynchronous *synchronous);
// The blocks so far. Valid until the next push.
const DwToneBlock *dw_synchronous_blocks(const DwSynchronous *synchronous, size_t *count);
// Drops the first COUNT of them, so that a live input can go on for ever.
void dw_synchronous_forget(DwSynchronous *synchronous, size_t count);
// Whether an infinite sample or NaN was met, and at which second.
bool dw_synchronous_met_bad_sample(const DwSynchronous *synchronous, double *second);
double dw_synchronous_length_s(const DwSynchronous *synchronous);

#endif
