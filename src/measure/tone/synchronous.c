// SPDX-License-Identifier: MIT
#include "measure/tone/synchronous.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/spectrum.h"
#include "measure/tone/front_end.h"
#include "measure/tone/window.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK = 4096, // a tenth to a fifth of a second
    HOP = BLOCK / 2,
    PIECE = 64, // the phase is taken to run straight within one
    POINTS = BLOCK / PIECE + 1,
};

static const double LEAST_RATE_HZ = 20000;  // so that fifth harmonics and side tones of 4 kHz pass
static const double RATE_OVER_TONE = 2.5;   // and what lies just above a high pair
static const double SPREAD_HZ = 25;         // a tone with wow, under the window
static const double LEAST_DOMINANCE = 0.4;  // share of the power in its range that the tone must carry
static const double QUIETEST_POWER = 1e-7;  // of a tone at −70 dBFS
static const double LEAST_COMPANION = 0.05; // of the tone's amplitude

struct DwSynchronous {
    DwSynchronousSettings settings;
    DwFrontEnd *front_end;
    double rate_hz; // of the front end
    DwFft *fft;
    double *power[2], *joint;
    double *hann;   // of a block, sum 2, so that a sine gives its peak
    double *smooth; // of the phase
    size_t smooth_half;
    DwWindow samples[2]; // those still needed
    size_t next;         // stream place of the next block
    double complex *mixed;
    double phase[POINTS];
    double last_hz;       // for the clipping check; NAN before a tone is met
    size_t clipped_to[2]; // stream place up to which a clipped stretch of each channel reaches
    float *pending;
    size_t pending_count;
    DwToneBlock *blocks;
    size_t block_count, block_room;
    size_t frames;
    bool met_bad_sample;
    double bad_second;
};

static unsigned channels_of(const DwSynchronous *s)
{
    return s->settings.channels > 1 ? 2 : 1;
}

static double *new_hann(size_t count, double sum)
{
    double *window = dw_memory_new(count, sizeof *window);
    for (size_t n = 0; n < count; n++)
        window[n] = sum / (double)count * (1 - cos(2 * M_PI * (double)n / (double)count));
    return window;
}

DwSynchronous *dw_synchronous_new(DwSynchronousSettings settings)
{
    assert(settings.rate_hz >= 6000 && settings.channels >= 1);
    assert(settings.component_count <= DW_SYNCHRONOUS_COMPONENTS_MOST);
    DwSynchronous *s = dw_memory_new(1, sizeof *s);
    s->settings = settings;
    double least_hz = fmax(LEAST_RATE_HZ, RATE_OVER_TONE * settings.highest_hz);
    s->front_end = dw_front_end_new_above(settings.rate_hz, settings.channels, least_hz);
    s->rate_hz = dw_front_end_rate_hz(s->front_end);
    s->fft = dw_fft_new(BLOCK);
    for (size_t c = 0; c < 2; c++)
        s->power[c] = dw_memory_new(BLOCK / 2 + 1, sizeof(double));
    s->joint = dw_memory_new(BLOCK / 2 + 1, sizeof(double));
    s->hann = new_hann(BLOCK, 2);
    s->smooth_half = 2 * (size_t)lround(0.25 * settings.smoothing_s * s->rate_hz);
    s->smooth = new_hann(2 * s->smooth_half, 2);
    s->mixed = dw_memory_new(BLOCK + 2 * s->smooth_half, sizeof *s->mixed);
    s->pending = dw_memory_new((size_t)DW_FRONT_END_BLOCK * channels_of(s), sizeof(float));
    s->next = s->smooth_half;
    s->last_hz = NAN;
    return s;
}

void dw_synchronous_free(DwSynchronous *s)
{
    if (!s)
        return;
    dw_front_end_free(s->front_end);
    dw_fft_free(s->fft);
    for (size_t c = 0; c < 2; c++) {
        free(s->power[c]);
        free(s->samples[c].values);
    }
    free(s->joint);
    free(s->hann);
    free(s->smooth);
    free(s->mixed);
    free(s->pending);
    free(s->blocks);
    free(s);
}

// --- finding the tone in a block ------------------------------------------------

// The frequency of the strongest line of the joint spectrum between LOW and HIGH
// and its power; NAN when the strongest place is no peak.
static double strongest(const DwSynchronous *s, double low_hz, double high_hz, double *power, double *share)
{
    double step = s->rate_hz / BLOCK, total = 0, tone = 0;
    size_t low = (size_t)fmax(1, low_hz / step), high = (size_t)fmin(high_hz / step, 0.42 * BLOCK), peak = low;
    for (size_t k = low; k <= high; k++) {
        total += s->joint[k];
        if (s->joint[k] > s->joint[peak])
            peak = k;
    }
    size_t reach = (size_t)ceil(SPREAD_HZ / step);
    for (size_t k = peak > low + reach ? peak - reach : low; k <= peak + reach && k <= high; k++)
        tone += s->joint[k];
    *power = s->joint[peak];
    *share = total > 0 ? tone / total : 0;
    return peak > low && peak < high ? dw_spectrum_peak_bin(s->joint, peak) * step : NAN;
}

// Of the power of CHANNEL in the range where the tone may lie, the share that is the tone's of FREQUENCY_HZ and its
// harmonics'.
static double purity_of(const DwSynchronous *s, size_t channel, double frequency_hz)
{
    double step = s->rate_hz / BLOCK, total = 0, tone = 0;
    size_t low = (size_t)fmax(1, s->settings.lowest_hz / step),
           high = (size_t)fmin(s->settings.highest_hz / step, 0.42 * BLOCK);
    for (size_t k = low; k <= high; k++) {
        double order = fmax(1, round((double)k * step / frequency_hz));
        total += s->power[channel][k];
        if (fabs((double)k * step - order * frequency_hz) <= order * SPREAD_HZ)
            tone += s->power[channel][k];
    }
    return total > 0 ? tone / total : 0;
}

// Looks for the tone in the block at BLOCK's samples; writes what it finds.
// Returned: the stronger channel.
static size_t look(DwSynchronous *s, const float *const channel[2], DwToneBlock *block)
{
    memset(s->joint, 0, (BLOCK / 2 + 1) * sizeof *s->joint);
    for (size_t c = 0; c < channels_of(s); c++) {
        dw_fft_power(s->fft, channel[c], s->power[c]);
        for (size_t k = 0; k <= BLOCK / 2; k++)
            s->joint[k] += s->power[c][k];
    }
    const DwSynchronousSettings *settings = &s->settings;
    double power, share, companion_power = 0, companion_share;
    block->frequency_hz = strongest(s, settings->lowest_hz, settings->highest_hz, &power, &share);
    block->heard = isfinite(block->frequency_hz) && power > QUIETEST_POWER && share >= LEAST_DOMINANCE;
    block->companion_hz = NAN;
    if (settings->companion_highest_hz > 0) {
        block->companion_hz = strongest(s, settings->companion_lowest_hz, settings->companion_highest_hz,
                                        &companion_power, &companion_share);
        block->heard = block->heard && isfinite(block->companion_hz) &&
                       companion_power > LEAST_COMPANION * LEAST_COMPANION * power;
    }
    if (!block->heard)
        return 0;
    for (size_t c = 0; c < channels_of(s); c++)
        block->purity = fmax(block->purity, purity_of(s, c, block->frequency_hz));
    size_t bin = (size_t)lround(block->frequency_hz * BLOCK / s->rate_hz);
    return channels_of(s) > 1 && s->power[1][bin] > s->power[0][bin] ? 1 : 0;
}

// --- following its phase --------------------------------------------------------

// The mean of COUNT (a multiple of 4) values MIXED under WEIGHTS. Four sums side by
// side: none waits for the one before.
DW_WIDE static double complex smoothed(const double *weights, const double complex *mixed, size_t count)
{
    double re[4] = {0}, im[4] = {0};
    const double *parts = (const double *)mixed;
    for (size_t n = 0; n < count; n += 4)
        for (size_t k = 0; k < 4; k++) {
            re[k] += weights[n + k] * parts[2 * (n + k)];
            im[k] += weights[n + k] * parts[2 * (n + k) + 1];
        }
    return re[0] + re[1] + re[2] + re[3] + I * (im[0] + im[1] + im[2] + im[3]);
}

// The phase of the tone at the ends of the pieces: mixed down by the mean
// frequency, smoothed, and the turns of the mean put back.
static void follow(DwSynchronous *s, const float *samples, double frequency_hz)
{
    double angle = 2 * M_PI * frequency_hz / s->rate_hz;
    size_t half = s->smooth_half, length = BLOCK + 2 * half;
    double complex turn = cexp(-I * angle), oscillator = cexp(I * angle * (double)half);
    for (size_t n = 0; n < length; n++, oscillator *= turn)
        s->mixed[n] = (double)samples[n] * oscillator;
    double last = 0;
    for (size_t p = 0; p < POINTS; p++) {
        double phase = carg(smoothed(s->smooth, s->mixed + p * PIECE, 2 * half));
        if (p > 0)
            phase -= 2 * M_PI * round((phase - last) / (2 * M_PI));
        last = phase;
        s->phase[p] = phase + angle * (double)(p * PIECE);
    }
}

// Several samples side by side, each with an oscillator of its own that turns on
// by all of them at a time: no step waits for the one before.
enum { LANES = 8 };

typedef struct {
    double re[LANES], im[LANES];
} Oscillators;

// Oscillators from START on, each a sample's TURN after the one before.
static Oscillators oscillators_from(double complex start, double complex turn)
{
    Oscillators made;
    for (size_t k = 0; k < LANES; k++, start *= turn) {
        made.re[k] = creal(start);
        made.im[k] = cimag(start);
    }
    return made;
}

// The sums of a piece of both channels under the window HANN against the oscillators.
DW_WIDE static void sum_piece(const float *left, const float *right, const double *hann, Oscillators *oscillators,
                              double turn_re, double turn_im, double sums[4])
{
    double lr[LANES] = {0}, li[LANES] = {0}, rr[LANES] = {0}, ri[LANES] = {0};
    for (size_t n = 0; n < PIECE; n += LANES)
        for (size_t k = 0; k < LANES; k++) {
            double re = oscillators->re[k], im = oscillators->im[k];
            double wr = hann[n + k] * re, wi = hann[n + k] * im;
            lr[k] += (double)left[n + k] * wr;
            li[k] += (double)left[n + k] * wi;
            rr[k] += (double)right[n + k] * wr;
            ri[k] += (double)right[n + k] * wi;
            oscillators->re[k] = re * turn_re - im * turn_im;
            oscillators->im[k] = re * turn_im + im * turn_re;
        }
    for (size_t k = 0; k < LANES; k++) {
        sums[0] += lr[k];
        sums[1] += li[k];
        sums[2] += rr[k];
        sums[3] += ri[k];
    }
}

// Sums the channels against one component in the followed phase.
static void detect(const DwSynchronous *s, const float *const channel[2], double multiple, double complex sum[2])
{
    bool stereo = channels_of(s) > 1;
    const float *right = stereo ? channel[1] : channel[0];
    double sums[4] = {0};
    for (size_t p = 0; p + 1 < POINTS; p++) {
        double complex turn = cexp(-I * multiple * (s->phase[p + 1] - s->phase[p]) / PIECE);
        double complex two = turn * turn, four = two * two, eight = four * four;
        Oscillators oscillators = oscillators_from(cexp(-I * multiple * s->phase[p]), turn);
        sum_piece(channel[0] + p * PIECE, right + p * PIECE, s->hann + p * PIECE, &oscillators, creal(eight),
                  cimag(eight), sums);
    }
    sum[0] = sums[0] + I * sums[1];
    sum[1] = stereo ? sums[2] + I * sums[3] : 0;
}

static void take_block(DwSynchronous *s)
{
    size_t at = s->next - s->samples[0].start;
    const float *channel[2] = {s->samples[0].values + at, s->samples[1].values ? s->samples[1].values + at : NULL};
    DwToneBlock block = {.start_s = (double)s->next / s->rate_hz, .end_s = (double)(s->next + BLOCK) / s->rate_hz};
    size_t stronger = look(s, channel, &block);
    if (block.heard) {
        follow(s, channel[stronger] - s->smooth_half, block.frequency_hz);
        double turned = s->phase[POINTS - 1] - s->phase[0];
        for (size_t c = 0; c < 2; c++)
            block.clipped[c] = s->next < s->clipped_to[c];
        double companion = isfinite(block.companion_hz) ? block.companion_hz / block.frequency_hz : 0;
        block.frequency_hz = turned / (2 * M_PI) * s->rate_hz / BLOCK;
        for (size_t i = 0; i < s->settings.component_count; i++) {
            const DwComponent *component = &s->settings.components[i];
            double complex sum[2];
            detect(s, channel, component->of_tone + component->of_companion * companion, sum);
            block.amplitude[0][i] = sum[0];
            block.amplitude[1][i] = sum[1];
        }
        // The top of a wave of two tones is as flat as the lower one's.
        s->last_hz = isfinite(block.companion_hz) ? block.companion_hz : block.frequency_hz;
    }
    if (s->block_count == s->block_room) {
        s->block_room = s->block_room * 2 + 64;
        s->blocks = dw_memory_resize(s->blocks, s->block_room, sizeof *s->blocks);
    }
    s->blocks[s->block_count++] = block;
}

// --- the stream -------------------------------------------------------------------

static void keep_samples(DwSynchronous *s, const DwFrontBlock *front)
{
    for (unsigned c = 0; c < channels_of(s); c++) {
        dw_window_forget(&s->samples[c], s->next - s->smooth_half);
        dw_window_append(&s->samples[c], front->channel[c], front->count);
    }
}

static void push_block(DwSynchronous *s, const float *interleaved, size_t frames)
{
    DwFrontBlock front = dw_front_end_push(s->front_end, interleaved, frames, s->last_hz);
    s->frames += frames;
    if (!front.finite) {
        s->met_bad_sample = true;
        s->bad_second = (double)s->frames / s->settings.rate_hz;
        return;
    }
    keep_samples(s, &front);
    for (size_t c = 0; c < 2; c++)
        if (front.clipped[c])
            s->clipped_to[c] = dw_window_end(&s->samples[0]);
    while (dw_window_end(&s->samples[0]) >= s->next + BLOCK + s->smooth_half) {
        take_block(s);
        s->next += HOP;
    }
}

void dw_synchronous_push(DwSynchronous *s, const float *interleaved, size_t frames)
{
    // Blocks of one size, whatever the caller's: what is found never depends on it.
    unsigned channels = channels_of(s);
    while (frames > 0 && !s->met_bad_sample) {
        size_t count = DW_FRONT_END_BLOCK - s->pending_count;
        count = frames < count ? frames : count;
        memcpy(s->pending + s->pending_count * channels, interleaved, count * channels * sizeof(float));
        s->pending_count += count;
        if (s->pending_count == DW_FRONT_END_BLOCK) {
            push_block(s, s->pending, s->pending_count);
            s->pending_count = 0;
        }
        interleaved += count * channels;
        frames -= count;
    }
}

void dw_synchronous_finish(DwSynchronous *s)
{
    if (s->pending_count && !s->met_bad_sample)
        push_block(s, s->pending, s->pending_count);
    s->pending_count = 0;
}

const DwToneBlock *dw_synchronous_blocks(const DwSynchronous *s, size_t *count)
{
    *count = s->block_count;
    return s->blocks;
}

void dw_synchronous_forget(DwSynchronous *s, size_t count)
{
    assert(count <= s->block_count);
    s->block_count -= count;
    memmove(s->blocks, s->blocks + count, s->block_count * sizeof *s->blocks);
}

bool dw_synchronous_met_bad_sample(const DwSynchronous *s, double *second)
{
    if (s->met_bad_sample)
        *second = s->bad_second;
    return s->met_bad_sample;
}

double dw_synchronous_length_s(const DwSynchronous *s)
{
    return (double)s->frames / s->settings.rate_hz;
}
