// SPDX-License-Identifier: MIT
// Level and overdrive of each channel, frame by frame, with marks that hold.
#ifndef DW_MEASURE_LIVE_LEVEL_H
#define DW_MEASURE_LIVE_LEVEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { DW_LIVE_LEVEL_FRAMES = 6 }; // that the rms runs over

// Levels in dB of a full-scale sine, whose rms level is 0 too (AES17-2015, clause
// 3.12; value from memory); −INFINITY for silence.
typedef struct {
    double peak_db; // of the last frame
    double rms_db;  // over the last 0.3 s
    bool clipping;  // the last frame reached full scale
    double held_peak_db;
    uint64_t clipped; // samples at full scale since the marks were reset
} DwLiveLevel;

typedef struct {
    DwLiveLevel level;
    double square[DW_LIVE_LEVEL_FRAMES]; // means of the last frames
    size_t frames;
} DwLiveLevelMeter;

// Makes a meter ready: nothing heard yet.
void dw_live_level_start(DwLiveLevelMeter *meter);
// Takes the next frame of COUNT finite samples, each STRIDE after the one before.
void dw_live_level_push(DwLiveLevelMeter *meter, const float *samples, size_t count, size_t stride);
void dw_live_level_reset_marks(DwLiveLevelMeter *meter);

#endif
