// SPDX-License-Identifier: MIT
// Leaves out of a demodulated tone what a tick, a dropout or its own ends spoil.
#include "measure/speed/speed_noise.h"

#include "base/memory.h"
#include "dsp/fir.h"
#include "dsp/statistics.h"
#include "measure/tone/jolt.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double DROPOUT = 0.6, SURGE = 1.6; // of the level around
static const double TICK_SIGMAS = 8;
// A tick jolts amplitude and frequency together; a deck jolts the frequency
// alone, and never by as much as HARD_TICK of it within a millisecond.
static const double LEAST_TICK = 2e-6;  // of the tone's frequency: below it nothing is a tick
static const double LEAST_JOLT = 0.005; // of the tone's amplitude
static const double HARD_TICK = 0.005;  // of the tone's frequency
// A tone that is cut into pieces jolts so often that its jolts hide one another: they reach farther beyond the usual
// one than noise does (3.2, in 0.3 s never above 4.3), or jolt the frequency by more than the noise in the amplitude
// says (0.27 of the rate times as much, within a half) and more than any swing (1.4, of several together 2.6).
static const double TORN_REACH = 5, SWUNG_REACH = 2.6, NOISE_MOST = 0.42;
static const double EDGE_S = 0.1; // left out at both ends, where the tone comes and goes

// The median amplitude of each second, by every fourth value.
static float *levels_of(const DwToneRun *run, size_t second, size_t seconds)
{
    enum { EVERY = 4 };
    float *levels = dw_memory_new(seconds, sizeof *levels);
    float *scratch = dw_memory_new(2 * second, sizeof *scratch);
    for (size_t i = 0; i < seconds; i++) {
        size_t to = i + 1 == seconds ? run->count : (i + 1) * second, count = 0;
        for (size_t n = i * second; n < to; n += EVERY)
            scratch[count++] = run->amplitude[n];
        levels[i] = (float)dw_statistics_quantile(scratch, count, 0.5);
    }
    free(scratch);
    return levels;
}

static void leave_out(unsigned char *used, size_t count, size_t centre, size_t reach)
{
    size_t from = centre > reach ? centre - reach : 0, to = centre + reach < count ? centre + reach + 1 : count;
    memset(used + from, 0, to - from);
}

static void mark_by_level(const DwDemodulator *demodulator, const DwToneRun *run, const float *levels, size_t second,
                          size_t seconds, unsigned char *used)
{
    size_t smear = (size_t)ceil(dw_demodulator_smear_s(demodulator) * run->rate_hz);
    double tick =
        fmax(TICK_SIGMAS * dw_jolt_roughness(run->deviation_hz, NULL, run->count), LEAST_TICK * run->centre_hz);
    double jolt = TICK_SIGMAS * dw_jolt_roughness(run->amplitude, NULL, run->count);
    double hard = fmax(tick, HARD_TICK * run->centre_hz);
    memset(used, 1, run->count);
    for (size_t n = 1; n + 1 < run->count; n++) {
        size_t i = n / second < seconds ? n / second : seconds - 1;
        double level = (double)levels[i], amplitude = (double)run->amplitude[n];
        if (amplitude < DROPOUT * level || amplitude > SURGE * level)
            leave_out(used, run->count, n, smear);
        else {
            double jump = dw_jolt_at(run->deviation_hz + n);
            double jolted = dw_jolt_at(run->amplitude + n);
            if (jump > hard || (jump > tick && jolted > fmax(jolt, LEAST_JOLT * level)))
                leave_out(used, run->count, n, smear);
        }
    }
}

bool dw_speed_is_torn(const DwToneRun *run)
{
    double rough = dw_jolt_roughness(run->deviation_hz, NULL, run->count);
    if (TICK_SIGMAS * rough <= HARD_TICK * run->centre_hz)
        return false;
    double level = 0;
    for (size_t n = 0; n < run->count; n++)
        level += (double)run->amplitude[n] / (double)run->count;
    double swing = level > 0 ? dw_jolt_roughness(run->amplitude, NULL, run->count) / level : 0;
    double reach = dw_jolt_reach(run->deviation_hz, run->count);
    return reach > TORN_REACH || (reach > SWUNG_REACH && rough > NOISE_MOST * run->rate_hz * swing);
}

void dw_speed_mark(const DwDemodulator *demodulator, const DwToneRun *run, unsigned char *used)
{
    size_t second = (size_t)run->rate_hz < run->count ? (size_t)run->rate_hz : run->count;
    float *levels = levels_of(run, second, run->count / second);
    mark_by_level(demodulator, run, levels, second, run->count / second, used);
    free(levels);
}

// Where the tone has come up, and where it goes: [FROM, TO).
static void find_ends(const DwToneRun *run, const float *levels, size_t seconds, size_t *from, size_t *to)
{
    float *sorted = dw_memory_new(seconds, sizeof *sorted);
    memcpy(sorted, levels, seconds * sizeof *sorted);
    float there = (float)(0.7 * dw_statistics_quantile(sorted, seconds, 0.5));
    free(sorted);
    size_t edge = (size_t)(EDGE_S * run->rate_hz), stay = edge, seen = 0;
    *from = 0;
    for (size_t n = 0; n < run->count && seen < stay; n++) {
        seen = run->amplitude[n] >= there ? seen + 1 : 0;
        *from = n + 1 - seen;
    }
    *to = run->count;
    seen = 0;
    for (size_t n = run->count; n-- > 0 && seen < stay;) {
        seen = run->amplitude[n] >= there ? seen + 1 : 0;
        *to = n + seen;
    }
    *from += edge;
    *to = *to > edge ? *to - edge : 0;
}

// Bridges what is left out by a straight line between the means of the values beside it.
static void bridge(double *x, const unsigned char *used, size_t count)
{
    enum { BESIDE = 5 };
    for (size_t n = 0; n < count;) {
        if (used[n]) {
            n++;
            continue;
        }
        size_t from = n;
        while (n < count && !used[n])
            n++;
        double before = 0, after = 0;
        size_t before_count = 0, after_count = 0;
        for (size_t i = from; i-- > 0 && before_count < BESIDE && used[i]; before_count++)
            before += x[i];
        for (size_t i = n; i < count && after_count < BESIDE && used[i]; i++, after_count++)
            after += x[i];
        before = before_count ? before / (double)before_count : after_count ? after / (double)after_count : 0;
        after = after_count ? after / (double)after_count : before;
        for (size_t i = from; i < n; i++)
            x[i] = before + (after - before) * (double)(i - from + 1) / (double)(n - from + 1);
    }
}

// What the low-pass to 200 Hz must have as gain: flat, undoing the droop of
// differencing the phase over one value and of the demodulator.
typedef struct {
    const DwDemodulator *demodulator;
    double rate_hz;
} Droop;

static double wanted_gain(double frequency, const void *user)
{
    const Droop *droop = user;
    double f = frequency * droop->rate_hz, x = M_PI * frequency;
    if (f > 236)
        return 0;
    double taper = f < 208 ? 1 : 0.5 + 0.5 * cos(M_PI * (f - 208) / (236 - 208));
    return taper * (x > 0 ? x / sin(x) : 1) / dw_demodulator_gain(droop->demodulator, f);
}

size_t dw_speed_gaps(const DwSpeedAnalysis *analysis)
{
    size_t gaps = 0;
    for (size_t n = 0; n < analysis->count; n++)
        gaps += !analysis->used[n] && (n == 0 || analysis->used[n - 1]);
    return gaps;
}

bool dw_speed_mask(const DwDemodulator *demodulator, const DwToneRun *run, DwSpeedAnalysis *analysis)
{
    size_t second = (size_t)run->rate_hz, seconds = run->count / second;
    if (seconds < 1)
        return false;
    float *levels = levels_of(run, second, seconds);
    unsigned char *used = dw_memory_new(run->count, 1);
    if (analysis->marked)
        memcpy(used, analysis->marked, run->count);
    else
        mark_by_level(demodulator, run, levels, second, seconds, used);
    size_t from = 0, to = 0;
    find_ends(run, levels, seconds, &from, &to);
    float *sorted = levels; // no longer needed in order
    analysis->amplitude = dw_statistics_quantile(sorted, seconds, 0.5);
    free(levels);
    if (to <= from + second) {
        analysis->excluded = 1;
        free(used);
        return false;
    }
    analysis->noise_density = dw_speed_noise_density(demodulator, run, used, from, to, analysis->amplitude);
    double *raw = dw_memory_new(run->count, sizeof *raw);
    for (size_t n = 0; n < run->count; n++)
        raw[n] = (double)run->deviation_hz[n];
    memset(used, 0, from); // the ends are bridged level, so that they do not ring into what is used
    memset(used + to, 0, run->count - to);
    bridge(raw, used, run->count);
    DwFir lowpass =
        dw_fir_follow(wanted_gain, &(Droop){demodulator, run->rate_hz}, (size_t)(0.257 * run->rate_hz), 7.5);
    analysis->deviation = dw_memory_new(run->count, sizeof *raw);
    dw_fir_run(&lowpass, raw, analysis->deviation, run->count);
    dw_fir_clear(&lowpass);
    analysis->work = raw;
    analysis->count = to - from;
    memmove(analysis->deviation, analysis->deviation + from, analysis->count * sizeof *raw);
    memmove(used, used + from, analysis->count);
    analysis->used = used;
    analysis->rate_hz = run->rate_hz;
    // A phase difference stands halfway between its two samples.
    analysis->start_s = run->start_s + ((double)from - 0.5) / run->rate_hz;
    size_t kept = 0;
    for (size_t n = 0; n < analysis->count; n++)
        kept += analysis->used[n];
    analysis->excluded = 1 - (double)kept / (double)analysis->count;
    return kept > second;
}
