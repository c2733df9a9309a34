// SPDX-License-Identifier: MIT
#include "measure/live/live_level.h"

#include <math.h>

static const float FULL_SCALE = 0.99996f; // the last step of 16 bits counts

void dw_live_level_start(DwLiveLevelMeter *meter)
{
    *meter = (DwLiveLevelMeter){.level = {-INFINITY, -INFINITY, false, -INFINITY, 0}};
}

void dw_live_level_push(DwLiveLevelMeter *meter, const float *samples, size_t count, size_t stride)
{
    float peak = 0;
    double squares = 0;
    uint64_t clipped = 0;
    for (size_t n = 0; n < count; n++) {
        float magnitude = fabsf(samples[n * stride]);
        peak = magnitude > peak ? magnitude : peak;
        squares += (double)magnitude * (double)magnitude;
        clipped += magnitude >= FULL_SCALE;
    }
    meter->square[meter->frames++ % DW_LIVE_LEVEL_FRAMES] = squares / (double)count;
    size_t held = meter->frames < DW_LIVE_LEVEL_FRAMES ? meter->frames : DW_LIVE_LEVEL_FRAMES;
    double mean = 0;
    for (size_t i = 0; i < held; i++)
        mean += meter->square[i] / (double)held;
    DwLiveLevel *level = &meter->level;
    level->peak_db = 20 * log10((double)peak);
    level->rms_db = 10 * log10(2 * mean);
    level->clipping = clipped > 0;
    level->clipped += clipped;
    level->held_peak_db = fmax(level->held_peak_db, level->peak_db);
}

void dw_live_level_reset_marks(DwLiveLevelMeter *meter)
{
    meter->level.held_peak_db = -INFINITY;
    meter->level.clipped = 0;
}
