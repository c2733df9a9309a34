// SPDX-License-Identifier: MIT
#include "measure/sweep/lowsweep_analysis.h"

#include "base/memory.h"
#include "dsp/halfband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK = 4096, BLOCK_ROOM = BLOCK + 512, STAGES_MOST = 12 };
static const double LOW_RATE_HZ = 400; // halved until it is below
static const double STOP_DB = 95;      // pilot tones stand above the sweep
static const double KEEP_S = 1800;     // longer recordings are looked at as far as this

DwLowsweep *dw_lowsweep_new(const DwLowsweepSettings *settings)
{
    DwLowsweep *lowsweep = dw_memory_new(1, sizeof *lowsweep);
    lowsweep->settings = *settings;
    for (size_t c = 0; c < 2; c++) {
        lowsweep->block[c] = dw_memory_new(BLOCK_ROOM, sizeof(float));
        lowsweep->spare[c] = dw_memory_new(BLOCK_ROOM, sizeof(float));
    }
    return lowsweep;
}

static void free_stages(DwLowsweep *lowsweep)
{
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < STAGES_MOST; i++) {
            dw_halfband_free(lowsweep->halfband[c][i]);
            lowsweep->halfband[c][i] = NULL;
        }
    lowsweep->stages = 0;
}

void dw_lowsweep_free(DwLowsweep *lowsweep)
{
    if (!lowsweep)
        return;
    free_stages(lowsweep);
    for (size_t c = 0; c < 2; c++) {
        free(lowsweep->block[c]);
        free(lowsweep->spare[c]);
        free(lowsweep->series[c]);
    }
    for (size_t d = 0; d < DW_LOWSWEEP_DIRECTIONS; d++)
        free(lowsweep->sweep[d].points);
    free(lowsweep);
}

void dw_lowsweep_begin(DwLowsweep *lowsweep, double rate_hz, unsigned channels, double start_s)
{
    free_stages(lowsweep);
    lowsweep->rate_hz = lowsweep->low_rate_hz = rate_hz;
    lowsweep->channels = channels;
    lowsweep->start_s = start_s;
    lowsweep->has_stereo = lowsweep->has_stereo || channels > 1;
    lowsweep->count = 0;
    lowsweep->recordings++;
    lowsweep->directed = channels == 1;
    lowsweep->direction = DW_LOWSWEEP_EITHER;
    while (lowsweep->low_rate_hz >= LOW_RATE_HZ && lowsweep->stages < STAGES_MOST) {
        lowsweep->low_rate_hz /= 2;
        lowsweep->stages++;
    }
    double keep_hz = 0.42 * lowsweep->low_rate_hz, stage_rate_hz = rate_hz;
    for (size_t i = 0; i < lowsweep->stages; i++, stage_rate_hz /= 2)
        for (unsigned c = 0; c < channels; c++)
            lowsweep->halfband[c][i] = dw_halfband_new(keep_hz / stage_rate_hz, STOP_DB);
}

void dw_lowsweep_direct(DwLowsweep *lowsweep, DwLowsweepDirection direction)
{
    lowsweep->directed = true;
    lowsweep->direction = direction;
}

static void make_room(DwLowsweep *lowsweep, size_t more)
{
    if (lowsweep->count + more <= lowsweep->room)
        return;
    lowsweep->room = 2 * (lowsweep->count + more);
    for (size_t c = 0; c < 2; c++)
        lowsweep->series[c] = dw_memory_resize(lowsweep->series[c], lowsweep->room, sizeof(float));
}

static void take_block(DwLowsweep *lowsweep, const float *interleaved, size_t frames)
{
    unsigned channels = lowsweep->channels;
    size_t count = 0;
    make_room(lowsweep, BLOCK_ROOM);
    for (unsigned c = 0; c < channels; c++) {
        float *from = lowsweep->block[c], *to = lowsweep->spare[c];
        for (size_t n = 0; n < frames; n++) {
            from[n] = interleaved[n * channels + c];
            lowsweep->bad += !isfinite(from[n]);
        }
        count = frames;
        for (size_t i = 0; i < lowsweep->stages; i++) {
            count = dw_halfband_push(lowsweep->halfband[c][i], from, count, to);
            float *swap = from;
            from = to;
            to = swap;
        }
        memcpy(lowsweep->series[c] + lowsweep->count, from, count * sizeof(float));
    }
    lowsweep->count += count;
}

void dw_lowsweep_push(DwLowsweep *lowsweep, const float *interleaved, size_t frames)
{
    for (size_t n = 0; n < frames && (double)lowsweep->count < KEEP_S * lowsweep->low_rate_hz; n += BLOCK)
        take_block(lowsweep, interleaved + n * lowsweep->channels, frames - n < BLOCK ? frames - n : BLOCK);
}

void dw_lowsweep_end(DwLowsweep *lowsweep)
{
    if (!lowsweep->bad)
        dw_lowsweep_find(lowsweep);
}
