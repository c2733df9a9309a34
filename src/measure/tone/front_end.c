// SPDX-License-Identifier: MIT
#include "measure/tone/front_end.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/halfband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { STAGES_MOST = 6 };

static const double STOP_DB = 95;
static const double LEAST_TURN = 0.15;  // of a wave, radians, between samples held against one another
static const float STEP = 1.5f / 32768; // of a sixteen-bit file
static const double PASS = 0.42;        // of the rate, that a halving leaves flat

struct DwFrontEnd {
    double rate_hz, low_rate_hz;
    unsigned channels;
    size_t stages;
    DwHalfband *halfband[2][STAGES_MOST];
    float *planar[2], *spare[2];
};

DwFrontEnd *dw_front_end_new(double rate_hz, unsigned channels)
{
    return dw_front_end_new_above(rate_hz, channels, 10000);
}

// Halves while LOWEST_HZ is left; up to KEEP_HZ, or a share of the rate where that is 0, nothing is lost.
static DwFrontEnd *new_keeping(double rate_hz, unsigned channels, double lowest_hz, double keep_hz)
{
    DwFrontEnd *front_end = dw_memory_new(1, sizeof *front_end);
    front_end->rate_hz = front_end->low_rate_hz = rate_hz;
    front_end->channels = channels > 2 ? 2 : channels;
    while (front_end->low_rate_hz >= 2 * lowest_hz && front_end->stages < STAGES_MOST) {
        front_end->low_rate_hz /= 2;
        front_end->stages++;
    }
    if (keep_hz <= 0)
        keep_hz = PASS * front_end->low_rate_hz;
    for (unsigned c = 0; c < front_end->channels; c++) {
        front_end->planar[c] = dw_memory_new(DW_FRONT_END_BLOCK + 256, sizeof(float));
        front_end->spare[c] = dw_memory_new(DW_FRONT_END_BLOCK + 256, sizeof(float));
        double stage_rate = rate_hz;
        for (size_t i = 0; i < front_end->stages; i++, stage_rate /= 2)
            front_end->halfband[c][i] = dw_halfband_new(keep_hz / stage_rate, STOP_DB);
    }
    return front_end;
}

DwFrontEnd *dw_front_end_new_above(double rate_hz, unsigned channels, double lowest_hz)
{
    return new_keeping(rate_hz, channels, lowest_hz, 0);
}

DwFrontEnd *dw_front_end_new_for(double rate_hz, unsigned channels, double top_hz)
{
    static const double least_hz = 10000, sidebands_hz = 300;
    double lowest_hz = fmax(least_hz, (top_hz + sidebands_hz) / PASS);
    return new_keeping(rate_hz, channels, lowest_hz, PASS * lowest_hz);
}

void dw_front_end_free(DwFrontEnd *front_end)
{
    if (!front_end)
        return;
    for (unsigned c = 0; c < 2; c++) {
        for (size_t i = 0; i < STAGES_MOST; i++)
            dw_halfband_free(front_end->halfband[c][i]);
        free(front_end->planar[c]);
        free(front_end->spare[c]);
    }
    free(front_end);
}

double dw_front_end_rate_hz(const DwFrontEnd *front_end)
{
    return front_end->low_rate_hz;
}

// The largest magnitude, kept in lanes so that the loop vectorises.
DW_WIDE static float largest(const float *samples, size_t count)
{
    enum { LANES = 16 };
    float top[LANES] = {0}, most = 0;
    size_t n = 0;
    for (; n + LANES <= count; n += LANES)
        for (size_t i = 0; i < LANES; i++) {
            float magnitude = fabsf(samples[n + i]);
            top[i] = magnitude > top[i] ? magnitude : top[i];
        }
    for (size_t i = 0; i < LANES; i++)
        most = top[i] > most ? top[i] : most;
    for (; n < count; n++)
        most = fabsf(samples[n]) > most ? fabsf(samples[n]) : most;
    return most;
}

// Every finite sample times zero is zero; a sum keeps what is not.
DW_WIDE static bool all_finite(const float *samples, size_t count)
{
    enum { LANES = 16 };
    float zero[LANES] = {0}, sum = 0;
    size_t n = 0;
    for (; n + LANES <= count; n += LANES)
        for (size_t i = 0; i < LANES; i++)
            zero[i] += samples[n + i] * 0.0f;
    for (; n < count; n++)
        sum += samples[n] * 0.0f;
    for (size_t i = 0; i < LANES; i++)
        sum += zero[i];
    return sum == 0.0f;
}

// Counts samples that stand level with those FAR from them on either side at the
// top of the wave. A clean sine differs there by 1 − cos(far · step), so a
// quarter of that marks a flat top at any sampling rate. Neighbours of a low tone are level
// anyway, to the step of a sixteen-bit file, so they stand LEAST_TURN of the wave apart.
DW_WIDE static size_t flat_tops(const float *samples, size_t count, float top, size_t far, float close)
{
    float level = 0.9f * top;
    int flat = 0;
    for (size_t n = far; n + far < count; n++)
        flat += (fabsf(samples[n]) >= level) & (fabsf(samples[n] - samples[n - far]) <= close) &
                (fabsf(samples[n] - samples[n + far]) <= close);
    return (size_t)flat;
}

DW_WIDE static size_t at_full_scale(const float *samples, size_t count)
{
    int full = 0;
    for (size_t n = 0; n < count; n++)
        full += fabsf(samples[n]) >= 0.99996f;
    return (size_t)full;
}

static bool is_clipped(const DwFrontEnd *front_end, const float *samples, size_t count, double tone_hz)
{
    float top = largest(samples, count);
    if (top < 1e-3f || count < 64)
        return false;
    double step = 2 * M_PI * tone_hz / front_end->rate_hz;
    size_t far = step < LEAST_TURN ? (size_t)ceil(LEAST_TURN / step) : 1;
    float close = top * (float)(0.25 * (1 - cos((double)far * step)));
    // A wave too quiet for its steps shows nothing by its shape.
    if (close > STEP && flat_tops(samples, count, top, far, close) * 100 > count)
        return true;
    return top >= 0.99996f && at_full_scale(samples, count) * 200 > count;
}

DW_WIDE static void part_channels(DwFrontEnd *front_end, const float *interleaved, size_t frames)
{
    if (front_end->channels == 1) {
        memcpy(front_end->planar[0], interleaved, frames * sizeof(float));
        return;
    }
    float *restrict left = front_end->planar[0], *restrict right = front_end->planar[1];
    for (size_t n = 0; n < frames; n++) {
        left[n] = interleaved[2 * n];
        right[n] = interleaved[2 * n + 1];
    }
}

// The first halving. Returned: how many samples are left of FRAMES in `spare`.
static size_t halve_first(DwFrontEnd *front_end, const float *interleaved, size_t frames)
{
    if (front_end->channels == 1)
        return dw_halfband_push(front_end->halfband[0][0], interleaved, frames, front_end->spare[0]);
    DwHalfband *const two[2] = {front_end->halfband[0][0], front_end->halfband[1][0]};
    return dw_halfband_push_two(two, interleaved, frames, front_end->spare);
}

DwFrontBlock dw_front_end_push(DwFrontEnd *front_end, const float *interleaved, size_t frames, double tone_hz)
{
    DwFrontBlock block = {.finite = true};
    bool look = isfinite(tone_hz);
    if (look || !front_end->stages)
        part_channels(front_end, interleaved, frames);
    for (unsigned c = 0; look && c < front_end->channels; c++)
        block.clipped[c] = is_clipped(front_end, front_end->planar[c], frames, tone_hz);
    size_t halved = front_end->stages ? halve_first(front_end, interleaved, frames) : frames;
    for (unsigned c = 0; c < front_end->channels; c++) {
        float *from = front_end->stages ? front_end->spare[c] : front_end->planar[c];
        float *to = front_end->stages ? front_end->planar[c] : front_end->spare[c];
        size_t count = halved;
        for (size_t i = 1; i < front_end->stages; i++) {
            count = dw_halfband_push(front_end->halfband[c][i], from, count, to);
            float *swap = from;
            from = to;
            to = swap;
        }
        block.channel[c] = from;
        block.count = count;
        // The filters hand on what is not a number, at a fraction of the samples to look at.
        block.finite = block.finite && all_finite(from, count);
    }
    return block;
}
