// SPDX-License-Identifier: MIT
// The distortion of a tone moment by moment: short frames, so that a burst is not averaged away.
#ifndef DW_MEASURE_SHORT_FRAMES_H
#define DW_MEASURE_SHORT_FRAMES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double start_s;
    float tone[2];      // power of each channel's tone; 0 where none stands out
    float harmonics[2]; // power of its harmonics 2 to 5, the noise between them taken off
    float between[2];   // that noise
} DwShortFrame;

typedef struct DwShortFrames DwShortFrames;

// A tone between LOWEST_HZ (150 or more) and HIGHEST_HZ. The caller frees it with dw_short_frames_free().
DwShortFrames *dw_short_frames_new(double rate_hz, unsigned channels, double lowest_hz, double highest_hz);
void dw_short_frames_free(DwShortFrames *frames);
// Takes COUNT interleaved frames.
void dw_short_frames_push(DwShortFrames *frames, const float *interleaved, size_t count);
// The share of distortion of CHANNEL in the worst moments between two seconds, NAN with fewer than 20 of them: what one
// moment in ten exceeds, or one in a hundred where it is the tone that distorts (its harmonics stand out of what lies
// between them, which a tick's do not) and does so again and again. Accuracy: frames of 40 ms, every 20 ms; harmonics
// in any phase. A burst shorter than a frame is averaged over it: of 2 % of the time, once a turn, at least half is
// seen.
double dw_short_frames_worst(const DwShortFrames *frames, size_t channel, double from_s, double to_s);

#endif
