// SPDX-License-Identifier: MIT
// Parts the channels of an interleaved stream and halves the sampling rate
// until it lies between 10 and 20 kHz, with no delay.
#ifndef DW_MEASURE_FRONT_END_H
#define DW_MEASURE_FRONT_END_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_FRONT_END_BLOCK = 4096 };

typedef struct DwFrontEnd DwFrontEnd;

// What one block holds: up to two channels of COUNT samples at the lower rate.
typedef struct {
    const float *channel[2]; // the second is NULL in mono
    size_t count;
    bool finite;     // false: a sample was NaN or infinite
    bool clipped[2]; // the channel is flat at its top or stands at full scale
} DwFrontBlock;

// Halves RATE_HZ [Hz] of 1 or 2 CHANNELS until it lies between 10 and 20 kHz. The caller frees it with
// dw_front_end_free().
DwFrontEnd *dw_front_end_new(double rate_hz, unsigned channels);
// The same, halving only while LOWEST_HZ or more is left: a rate from there to twice it.
DwFrontEnd *dw_front_end_new_above(double rate_hz, unsigned channels, double lowest_hz);
// The same, halving only while a tone up to TOP_HZ is left with its sidebands; what lies above may fold.
DwFrontEnd *dw_front_end_new_for(double rate_hz, unsigned channels, double top_hz);
void dw_front_end_free(DwFrontEnd *front_end);
double dw_front_end_rate_hz(const DwFrontEnd *front_end);
// Takes at most DW_FRONT_END_BLOCK frames. With TONE_HZ (not NAN) it also looks
// whether that tone is clipped. Valid until the next push.
DwFrontBlock dw_front_end_push(DwFrontEnd *front_end, const float *interleaved, size_t frames, double tone_hz);

#endif
