// SPDX-License-Identifier: MIT
#include "measure/band/noise_analysis.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double SEGMENT_S = 4;
static const double SHORTEST_S = 1;
static const double LOWEST_HZ = 1; // under it the window's own foot lies
static const double HISS_LOW_HZ = 1000, HISS_HIGH_HZ = 20000;
static const double MIDDLE_LOW_HZ = 300, MIDDLE_HIGH_HZ = 10000; // where surface noise tells grooves apart
static const double TONAL = 0.2;                      // one line with this share of the middle band is a tone
static const double HUM_ORDERS = 30, HUM_WIDE_HZ = 2; // how far hum reaches up, and what a line takes of a spectrum
static const double STEADY_DB = 4;                    // of a stretch's level
static const double QUIETER_DB = 12;                  // a stretch this much quieter may win though it is shorter
static const double SILENCE = 1e-13;                  // digital silence: no groove is at −130 dBFS
static const double SAME_TICK_S = 0.01;               // between what two segments have of one tick
static const double BUZZ = 0.12;                      // of a segment: more than this is not bridged over
static const double HANN = 1.0 / 3; // from a sine's amplitude squared, summed over bins, to its mean square

enum { TICKS_MOST = 4096 };

static DwNoiseRun new_run(size_t bins)
{
    return (DwNoiseRun){
        .left = dw_memory_new(bins, sizeof(double)),
        .right = dw_memory_new(bins, sizeof(double)),
        .common = dw_memory_new(bins, sizeof(double)),
    };
}

static void free_run(DwNoiseRun *run)
{
    free(run->left);
    free(run->right);
    free(run->common);
    free(run->segments);
    free(run->tick_s);
}

static void empty_run(DwNoiseRun *run, size_t bins)
{
    memset(run->left, 0, bins * sizeof(double));
    memset(run->right, 0, bins * sizeof(double));
    memset(run->common, 0, bins * sizeof(double));
    run->segment_count = run->tick_count = 0;
}

static void swap_runs(DwNoiseRun *a, DwNoiseRun *b)
{
    DwNoiseRun swap = *a;
    *a = *b;
    *b = swap;
}

// A curve whose file is missing weighs all alike; what it would have read is not shown.
static double gain_of(const DwNoiseCurve *curve, double hz)
{
    return curve->points.count < 2 ? 1 : pow(10, dw_weighting_curve_db(&curve->points, hz) / 10);
}

// Prepares for segments of SIZE samples.
static void set_size(DwNoise *noise, size_t size)
{
    const DwNoiseSettings *settings = &noise->settings;
    dw_fft_free(noise->fft);
    noise->size = size;
    noise->bins = size / 2 + 1;
    noise->fft = dw_fft_new(size);
    noise->step_hz = settings->rate_hz / (double)size;
    size_t lowest = (size_t)ceil(LOWEST_HZ / noise->step_hz);
    lowest = lowest < 3 ? 3 : lowest;
    for (size_t k = 0; k < noise->bins; k++) {
        double hz = (double)k * noise->step_hz;
        bool counts = k >= lowest;
        noise->gain[k] = counts && settings->equalise ? pow(10, dw_riaa_replay_db(hz, false) / 10) : 1;
        noise->unweighted[k] = counts ? gain_of(&settings->unweighted, hz) : 0;
        noise->weighted[k] = counts ? gain_of(&settings->weighted, hz) : 0;
    }
}

DwNoise *dw_noise_new(const DwNoiseSettings *settings)
{
    DwNoise *noise = dw_memory_new(1, sizeof *noise);
    noise->settings = *settings;
    const double weight[2] = {pow(10, -settings->raised_db[0] / 10), pow(10, -settings->raised_db[1] / 10)};
    for (size_t c = 0; c < 2; c++)
        noise->share[c] = weight[c] / (weight[0] + weight[1]);
    size_t size = (size_t)lround(SEGMENT_S * settings->rate_hz) & ~(size_t)1, bins = size / 2 + 1;
    for (size_t c = 0; c < 2; c++) {
        noise->sample[c] = dw_memory_new(size, sizeof(double));
        noise->spectrum[c] = dw_memory_new(bins, sizeof *noise->spectrum[c]);
    }
    noise->bridged = dw_memory_new(size, sizeof(double));
    noise->gain = dw_memory_new(bins, sizeof(double));
    noise->unweighted = dw_memory_new(bins, sizeof(double));
    noise->weighted = dw_memory_new(bins, sizeof(double));
    noise->held = new_run(bins);
    noise->run = new_run(bins);
    noise->best = new_run(bins);
    set_size(noise, size);
    return noise;
}

void dw_noise_free(DwNoise *noise)
{
    if (!noise)
        return;
    dw_fft_free(noise->fft);
    for (size_t c = 0; c < 2; c++) {
        free(noise->sample[c]);
        free(noise->spectrum[c]);
    }
    free(noise->bridged);
    free(noise->gain);
    free(noise->unweighted);
    free(noise->weighted);
    free_run(&noise->held);
    free_run(&noise->run);
    free_run(&noise->best);
    free(noise);
}

// A plain sum: of hundreds of thousands of samples every four seconds.
static double mean_of(const double *samples, size_t count)
{
    double sum = 0;
    for (size_t n = 0; n < count; n++)
        sum += samples[n];
    return sum / (double)count;
}

// Transforms the samples that are there and puts them into the held segment; CUT: their
// ticks bridged over, and what the bridges leave out made up for.
static void transform(DwNoise *noise, bool cut)
{
    for (unsigned c = 0; c < noise->settings.channels; c++) {
        double *samples = noise->bridged, mean;
        memcpy(samples, noise->sample[c], noise->size * sizeof *samples);
        if (cut)
            dw_ticks_bridge(samples, noise->size, noise->settings.rate_hz, noise->tick, noise->tick_count);
        mean = mean_of(samples, noise->size);
        for (size_t n = 0; n < noise->size; n++)
            samples[n] -= mean;
        dw_fft_bins_double(noise->fft, samples, noise->spectrum[c]);
    }
    DwNoiseRun *held = &noise->held;
    double made_up = cut ? 1 / (1 - noise->spoilt) : 1;
    for (size_t k = 0; k < noise->bins; k++) {
        const double *left = noise->spectrum[0][k], *right = noise->spectrum[1][k];
        double gain = made_up * noise->gain[k];
        held->left[k] = gain * (left[0] * left[0] + left[1] * left[1]);
        held->right[k] = gain * (right[0] * right[0] + right[1] * right[1]);
        held->common[k] = gain * (left[0] * right[0] + left[1] * right[1]);
    }
    held->start_s = (double)noise->start / noise->settings.rate_hz;
    held->end_s = (double)(noise->start + noise->size) / noise->settings.rate_hz;
}

void dw_noise_directions(const DwNoise *noise, const DwNoiseRun *run, size_t bin, double power[DW_NOISE_DIRECTIONS])
{
    if (noise->settings.channels == 1) {
        power[DW_NOISE_BOTH] = power[DW_NOISE_LATERAL] = run->left[bin];
        power[DW_NOISE_VERTICAL] = 0;
        return;
    }
    const double *share = noise->share;
    double mean = 0.5 * (run->left[bin] + run->right[bin]);
    double cross = (noise->settings.reversed ? -0.5 : 0.5) * run->common[bin];
    power[DW_NOISE_LATERAL] = 0.5 * mean + cross;
    power[DW_NOISE_VERTICAL] = 0.5 * mean - cross;
    power[DW_NOISE_BOTH] = share[0] * run->left[bin] + share[1] * run->right[bin];
}

static DwNoisePowers sum_held(const DwNoise *noise)
{
    DwNoisePowers sum = {0};
    for (size_t k = 1; k < noise->bins; k++) {
        double power[DW_NOISE_DIRECTIONS], hz = (double)k * noise->step_hz;
        dw_noise_directions(noise, &noise->held, k, power);
        for (size_t d = 0; d < DW_NOISE_DIRECTIONS; d++) {
            sum.unweighted[d] += HANN * noise->unweighted[k] * power[d];
            sum.weighted[d] += HANN * noise->weighted[k] * power[d];
        }
        if (hz >= HISS_LOW_HZ && hz <= HISS_HIGH_HZ)
            sum.hiss += HANN * power[DW_NOISE_BOTH];
    }
    return sum;
}

static DwNoiseSegment describe_segment(const DwNoise *noise)
{
    bool buzz = noise->spoilt > BUZZ;
    DwNoiseSegment segment = {.groove = sum_held(noise), .spoilt = buzz ? 0 : noise->spoilt, .buzz = buzz};
    segment.with_ticks = noise->tick_count && !buzz ? noise->with_ticks : segment.groove;
    for (size_t i = 0; i < noise->tick_count; i++) {
        size_t from = noise->tick[i].from;
        if (from == 0 && noise->run.segment_count > 0)
            continue; // it began in the segment before, which counted it
        ++*(from <= noise->size / 2 ? &segment.ticks : &segment.ticks_after);
    }
    return segment;
}

// Adds the ticks of the held segment that the one before it, which it overlaps, has not brought.
static void take_ticks(DwNoise *noise)
{
    DwNoiseRun *run = &noise->run;
    for (size_t i = 0; i < noise->tick_count; i++) {
        double at_s = (double)(noise->start + noise->tick[i].from) / noise->settings.rate_hz;
        if ((run->tick_count && at_s < run->tick_s[run->tick_count - 1] + SAME_TICK_S) || run->tick_count == TICKS_MOST)
            continue;
        if (run->tick_count == run->tick_room) {
            run->tick_room = run->tick_room ? 2 * run->tick_room : 64;
            run->tick_s = dw_memory_resize(run->tick_s, run->tick_room, sizeof *run->tick_s);
        }
        run->tick_s[run->tick_count++] = at_s;
    }
}

// Adds the held segment to the run.
static void accept(DwNoise *noise)
{
    DwNoiseRun *run = &noise->run, *held = &noise->held;
    if (run->segment_count == run->segment_room) {
        run->segment_room = run->segment_room ? 2 * run->segment_room : 16;
        run->segments = dw_memory_resize(run->segments, run->segment_room, sizeof *run->segments);
    }
    if (run->segment_count == 0)
        run->start_s = held->start_s;
    run->end_s = held->end_s;
    run->segments[run->segment_count++] = describe_segment(noise);
    take_ticks(noise);
    for (size_t k = 0; k < noise->bins; k++) {
        run->left[k] += held->left[k];
        run->right[k] += held->right[k];
        run->common[k] += held->common[k];
    }
}

// The level of the middle band of the held segment, and whether one line carries it. Hum reaches into it, and is no
// tone: what stands at a multiple of its fundamental is passed over.
static double middle_level_db(const DwNoise *noise, bool *tonal)
{
    double sum = 0, most = 0, hum_power, hum_hz = dw_noise_fundamental(noise, &noise->held, &hum_power);
    for (size_t k = (size_t)(MIDDLE_LOW_HZ / noise->step_hz);
         k + 3 < noise->bins && (double)k * noise->step_hz < MIDDLE_HIGH_HZ; k++) {
        double peak = 0, hz = (double)k * noise->step_hz, order = round(hz / hum_hz);
        for (size_t i = k - 1; i <= k + 1; i++)
            peak += noise->held.left[i] + noise->held.right[i];
        if (order <= HUM_ORDERS && fabs(hz - order * hum_hz) < HUM_WIDE_HZ && peak <= hum_power)
            continue;
        sum += noise->held.left[k] + noise->held.right[k];
        most = fmax(most, peak);
    }
    *tonal = most > TONAL * sum;
    return 10 * log10(HANN * sum + SILENCE / 1e3);
}

static double run_length_s(const DwNoiseRun *run)
{
    return run->segment_count ? run->end_s - run->start_s : 0;
}

// Ends the run: it is kept when it is the better stretch of silent groove.
static void end_run(DwNoise *noise)
{
    DwNoiseRun *run = &noise->run, *best = &noise->best;
    double length = run_length_s(run), best_length = run_length_s(best);
    bool quieter = run->level_db<best->level_db - QUIETER_DB, louder = run->level_db> best->level_db + QUIETER_DB;
    bool better = best_length == 0 ? length > 0
                  : quieter        ? length > 0.6 * best_length
                  : louder         ? 0.6 * length > best_length
                                   : length > best_length;
    if (better)
        swap_runs(run, best);
    empty_run(run, noise->bins);
}

// A stretch goes on while its middle band keeps its level and holds no tone.
static void judge(DwNoise *noise)
{
    bool tonal;
    double level = middle_level_db(noise, &tonal);
    bool silent = level > 10 * log10(SILENCE) && !tonal;
    if (noise->run.segment_count && (!silent || fabs(level - noise->run.level_db) > STEADY_DB))
        end_run(noise);
    if (!silent)
        return;
    if (noise->run.segment_count == 0)
        noise->run.level_db = level;
    accept(noise);
}

static void take_segment(DwNoise *noise)
{
    const double *const samples[2] = {noise->sample[0], noise->sample[1]};
    noise->tick_count =
        dw_ticks_find(samples, noise->settings.channels, noise->size, noise->settings.rate_hz, noise->tick);
    noise->spoilt = dw_ticks_share(noise->tick, noise->tick_count, noise->size);
    bool cut = noise->tick_count > 0 && noise->spoilt <= BUZZ;
    if (cut) {
        transform(noise, false);
        noise->with_ticks = sum_held(noise);
    }
    transform(noise, cut);
    if (noise->settings.find)
        judge(noise);
    else
        accept(noise);
}

void dw_noise_push(DwNoise *noise, const float *interleaved, size_t frames)
{
    unsigned channels = noise->settings.channels;
    for (size_t n = 0; n < frames && !noise->bad; n++) {
        for (unsigned c = 0; c < channels; c++) {
            float sample = interleaved[n * channels + c];
            if (!isfinite(sample)) {
                noise->bad = true;
                noise->bad_s = (double)(noise->start + noise->filled) / noise->settings.rate_hz;
            }
            noise->sample[c][noise->filled] = sample;
        }
        if (++noise->filled < noise->size)
            continue;
        if (!noise->bad)
            take_segment(noise);
        size_t half = noise->size / 2;
        for (unsigned c = 0; c < channels; c++)
            memmove(noise->sample[c], noise->sample[c] + half, half * sizeof(double));
        noise->filled = noise->size - half;
        noise->start += half;
    }
}

void dw_noise_finish(DwNoise *noise)
{
    size_t even = noise->filled & ~(size_t)1;
    bool nothing_yet = noise->start == 0 && !noise->bad;
    if (nothing_yet && (double)even >= SHORTEST_S * noise->settings.rate_hz) {
        set_size(noise, even);
        take_segment(noise);
    }
    if (noise->settings.find)
        end_run(noise);
}

const DwNoiseRun *dw_noise_stretch(const DwNoise *noise)
{
    // While a recording still goes on, the run under way may be the best there is.
    bool best = noise->settings.find && run_length_s(&noise->best) >= run_length_s(&noise->run);
    const DwNoiseRun *run = best ? &noise->best : &noise->run;
    return run->segment_count ? run : NULL;
}

DwNoiseTicks dw_noise_ticks(const DwNoiseRun *run)
{
    DwNoiseTicks ticks = {0};
    for (size_t i = 0; i < run->segment_count; i++) {
        const DwNoiseSegment *segment = &run->segments[i];
        ticks.count += segment->ticks + (i + 1 == run->segment_count ? segment->ticks_after : 0);
        ticks.spoilt += segment->spoilt / (double)run->segment_count;
        ticks.buzz |= segment->buzz;
    }
    return ticks;
}

double dw_noise_mean(const DwNoiseRun *run, size_t offset, double *relative_off)
{
    double *values = dw_memory_new(run->segment_count, sizeof *values);
    for (size_t i = 0; i < run->segment_count; i++)
        memcpy(&values[i], (const char *)&run->segments[i] + offset, sizeof *values);
    double mean = dw_statistics_mean(values, run->segment_count);
    *relative_off = mean > 0 ? dw_statistics_mean_uncertainty(values, run->segment_count) / mean : NAN;
    free(values);
    return mean;
}

DwStatus dw_noise_check(const DwNoise *noise, DwMessage *message)
{
    double skip = noise->settings.skip_s;
    double length = (double)(noise->start + noise->filled) / noise->settings.rate_hz;
    if (noise->bad)
        return dw_fail(message, DW_BAD_INPUT,
                       "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                       noise->bad_s + skip);
    if (dw_noise_stretch(noise))
        return DW_OK;
    if (length < SHORTEST_S)
        return dw_fail(message, DW_BAD_INPUT, "Only %.2f s were recorded; a silent groove wants 10 s or more.", length);
    return dw_fail(message, DW_BAD_INPUT,
                   "No quiet, steady stretch was found between %.1f and %.1f s. Give record.start and record.end of "
                   "the silent groove.",
                   skip, skip + length);
}
