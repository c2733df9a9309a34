// SPDX-License-Identifier: MIT
#include "measure/music/music_take.h"

#include "base/memory.h"
#include "measure/tone/front_end.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double MOST_S = 1800, DECIDE_S = 20;
static const double REVERSED = 4; // difference over sum, of power
static const float SOUND = 1e-6F; // of a block's mean square: louder counts as sound

struct DwMusicTake {
    DwFrontEnd *front_end;
    double rate_hz;
    unsigned channels;
    float *samples; // the sum
    float *other;   // the difference, while it is open which of the two it is to be
    size_t count, room, most;
    double sum, difference; // energies
    size_t heard;           // samples with sound that they were counted over
    bool decided, reversed, finite, shortened;
};

DwMusicTake *dw_music_take_new(double rate_hz, unsigned channels)
{
    DwMusicTake *take = dw_memory_new(1, sizeof *take);
    take->front_end = dw_front_end_new(rate_hz, channels);
    take->rate_hz = dw_front_end_rate_hz(take->front_end);
    take->channels = channels;
    take->most = (size_t)(MOST_S * take->rate_hz);
    take->finite = true;
    take->decided = channels < 2;
    return take;
}

void dw_music_take_free(DwMusicTake *take)
{
    if (!take)
        return;
    dw_front_end_free(take->front_end);
    free(take->samples);
    free(take->other);
    free(take);
}

// Settles for sum or difference: what was kept of the other is let go.
static void decide(DwMusicTake *take)
{
    if (take->decided)
        return;
    take->decided = true;
    take->reversed = take->difference > REVERSED * take->sum;
    if (take->reversed) {
        float *sum = take->samples;
        take->samples = take->other;
        take->other = sum;
    }
    free(take->other);
    take->other = NULL;
}

static void make_room(DwMusicTake *take, size_t count)
{
    if (take->count + count <= take->room)
        return;
    take->room = take->count + count + take->room / 4 + 4096;
    take->samples = dw_memory_resize(take->samples, take->room, sizeof(float));
    if (!take->decided)
        take->other = dw_memory_resize(take->other, take->room, sizeof(float));
}

static void count_energy(DwMusicTake *take, const DwFrontBlock *block)
{
    double sum = 0, difference = 0;
    for (size_t i = 0; i < block->count; i++) {
        double a = block->channel[0][i], b = block->channel[1][i];
        sum += (a + b) * (a + b);
        difference += (a - b) * (a - b);
    }
    if (sum + difference < SOUND * (double)block->count)
        return;
    take->sum += sum;
    take->difference += difference;
    take->heard += block->count;
}

static void keep(DwMusicTake *take, const DwFrontBlock *block, size_t count)
{
    const float *left = block->channel[0], *right = block->channel[1];
    float *to = take->samples + take->count;
    if (!right) {
        memcpy(to, left, count * sizeof *to);
    } else {
        float sign = take->decided && take->reversed ? -0.5F : 0.5F;
        for (size_t i = 0; i < count; i++)
            to[i] = 0.5F * left[i] + sign * right[i];
        if (!take->decided)
            for (size_t i = 0; i < count; i++)
                take->other[take->count + i] = 0.5F * left[i] - 0.5F * right[i];
    }
    take->count += count;
}

static void push_block(DwMusicTake *take, const float *interleaved, size_t frames)
{
    DwFrontBlock block = dw_front_end_push(take->front_end, interleaved, frames, NAN);
    take->finite &= block.finite;
    size_t count = block.count < take->most - take->count ? block.count : take->most - take->count;
    take->shortened |= count < block.count;
    if (count == 0)
        return;
    make_room(take, count);
    if (!take->decided)
        count_energy(take, &block);
    keep(take, &block, count);
    if ((double)take->heard > DECIDE_S * take->rate_hz)
        decide(take);
}

void dw_music_take_push(DwMusicTake *take, const float *interleaved, size_t frames)
{
    while (frames > 0) {
        size_t count = frames < DW_FRONT_END_BLOCK ? frames : (size_t)DW_FRONT_END_BLOCK;
        push_block(take, interleaved, count);
        interleaved += count * take->channels;
        frames -= count;
    }
}

void dw_music_take_set_reversed(DwMusicTake *take, bool reversed)
{
    take->decided = true;
    take->reversed = reversed && take->channels > 1;
}

void dw_music_take_finish(DwMusicTake *take)
{
    decide(take);
}

const float *dw_music_take_samples(const DwMusicTake *take)
{
    return take->samples;
}

size_t dw_music_take_count(const DwMusicTake *take)
{
    return take->count;
}

double dw_music_take_rate_hz(const DwMusicTake *take)
{
    return take->rate_hz;
}

bool dw_music_take_reversed(const DwMusicTake *take)
{
    return take->reversed;
}

bool dw_music_take_finite(const DwMusicTake *take)
{
    return take->finite;
}

bool dw_music_take_shortened(const DwMusicTake *take)
{
    return take->shortened;
}
