// SPDX-License-Identifier: MIT
#include "measure/speed/speed_analysis.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { HARMONICS = 2 };

static const double BLOCK_S = 0.05; // pieces whose means the slow fit works on

double dw_speed_analysis_turn_hz(const DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings)
{
    return settings->speed_rpm / 60 * analysis->mean_hz / run->engraved_hz;
}

// Means of short pieces of the series, with their times and weights.
typedef struct {
    double *time, *value, *weight;
    size_t count;
} Blocks;

static Blocks blocks_of(const DwSpeedAnalysis *analysis)
{
    size_t size = (size_t)(BLOCK_S * analysis->rate_hz), most = analysis->count / size;
    Blocks blocks = {
        .time = dw_memory_new(most, sizeof(double)),
        .value = dw_memory_new(most, sizeof(double)),
        .weight = dw_memory_new(most, sizeof(double)),
    };
    for (size_t b = 0; b < most; b++) {
        double sum = 0, moment = 0;
        size_t kept = 0;
        for (size_t n = b * size; n < (b + 1) * size; n++)
            if (analysis->used[n]) {
                sum += analysis->deviation[n];
                moment += (double)n;
                kept++;
            }
        if (!kept)
            continue;
        // A Hann window over the whole: what is no whole number of turns of a
        // belt or the like then hardly bends the mean.
        double place = ((double)b + 0.5) / (double)most;
        blocks.time[blocks.count] = analysis->start_s + moment / (double)kept / analysis->rate_hz;
        blocks.value[blocks.count] = sum / (double)kept;
        blocks.weight[blocks.count] = (double)kept * (1 - cos(2 * M_PI * place));
        blocks.count++;
    }
    return blocks;
}

static void blocks_clear(Blocks *blocks)
{
    free(blocks->time);
    free(blocks->value);
    free(blocks->weight);
}

// The mean of a piece shows a harmonic smaller by this much.
static double block_droop(double frequency_hz)
{
    double x = M_PI * frequency_hz * BLOCK_S;
    return x > 0 ? sin(x) / x : 1;
}

// Half-widths of the mean's and the drift's 95 % intervals, from how far the
// means of whole revolutions stray from the fit. Hz and Hz/s.
static void stray(const Blocks *blocks, const DwHarmonicFit *fit, double turn_hz, double *mean_off, double *slope_off)
{
    double start = blocks->time[0], span = blocks->time[blocks->count - 1] - start;
    size_t turns = (size_t)(span * turn_hz);
    double *means = dw_memory_new(turns + 1, sizeof *means), *counts = dw_memory_new(turns + 1, sizeof *counts);
    for (size_t i = 0; i < blocks->count; i++) {
        size_t turn = (size_t)((blocks->time[i] - start) * turn_hz);
        double t = blocks->time[i];
        if (turn >= turns)
            continue;
        means[turn] += blocks->value[i] - fit->level - fit->slope * (t - fit->centre) - dw_fit_periodic(fit, t);
        counts[turn]++;
    }
    size_t kept = 0;
    for (size_t i = 0; i < turns; i++)
        if (counts[i] > 0)
            means[kept++] = means[i] / counts[i];
    // The Hann window makes the mean stray √1.5 and the slope about twice as much as even weights would.
    double even = dw_statistics_mean_uncertainty(means, kept);
    *mean_off = kept >= 3 ? sqrt(1.5) * even : NAN;
    *slope_off = kept >= 3 ? 2 * sqrt(12) * even / span : NAN;
    free(means);
    free(counts);
}

// How far the once- and twice-per-revolution vectors stray between stretches of
// four turns: OFF, half-widths of the 95 % intervals of each part.
static void turn_stray(const Blocks *blocks, double turn_hz, double off[HARMONICS])
{
    double start = blocks->time[0], span = blocks->time[blocks->count - 1] - start;
    size_t stretches = (size_t)(span * turn_hz / 4);
    for (size_t k = 0; k < HARMONICS; k++)
        off[k] = NAN;
    if (stretches < 3)
        return;
    double *parts = dw_memory_new(2 * HARMONICS * stretches, sizeof *parts);
    for (size_t i = 0, at = 0; i < stretches; i++) {
        double end = start + (double)(i + 1) * 4 / turn_hz;
        size_t from = at;
        while (at < blocks->count && blocks->time[at] < end)
            at++;
        DwHarmonicFit fit = dw_fit_harmonics(blocks->time + from, blocks->value + from, blocks->weight + from,
                                             at - from, turn_hz, HARMONICS);
        for (size_t k = 0; k < HARMONICS; k++) {
            parts[2 * k * stretches + i] = fit.cosine[k];
            parts[(2 * k + 1) * stretches + i] = fit.sine[k];
        }
    }
    for (size_t k = 0; k < HARMONICS; k++)
        off[k] = hypot(dw_statistics_mean_uncertainty(parts + 2 * k * stretches, stretches),
                       dw_statistics_mean_uncertainty(parts + (2 * k + 1) * stretches, stretches)) /
                 sqrt(2);
    free(parts);
}

// Fits level, drift and revolution, twice: the revolution's rate follows from the level.
static void fit_slow(DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings)
{
    Blocks blocks = blocks_of(analysis);
    DwHarmonicFit fit = {0};
    analysis->mean_hz = run->centre_hz;
    double turn_hz = 0;
    for (int pass = 0; pass < 2; pass++) {
        turn_hz = dw_speed_analysis_turn_hz(analysis, run, settings);
        fit = dw_fit_harmonics(blocks.time, blocks.value, blocks.weight, blocks.count, turn_hz, HARMONICS);
        analysis->mean_hz = run->centre_hz + fit.level;
    }
    double slope_off = NAN, percent = 100 / analysis->mean_hz;
    stray(&blocks, &fit, turn_hz, &analysis->mean_off_hz, &slope_off);
    turn_stray(&blocks, turn_hz, analysis->turn_off);
    for (size_t k = 0; k < HARMONICS; k++)
        analysis->turn_off[k] *= percent / block_droop((double)(k + 1) * turn_hz);
    analysis->drift = fit.slope * percent * 60;
    analysis->drift_off = slope_off * percent * 60;
    blocks_clear(&blocks);
    for (size_t n = 0; n < analysis->count; n++)
        analysis->deviation[n] = (analysis->deviation[n] - fit.level) * percent;
    for (size_t k = 0; k < fit.harmonics; k++) {
        double scale = percent / block_droop((double)(k + 1) * turn_hz);
        fit.cosine[k] *= scale;
        fit.sine[k] *= scale;
    }
    fit.slope *= percent;
    fit.level = 0;
    analysis->fit = fit;
}

bool dw_speed_analyse(const DwDemodulator *demodulator, const DwToneRun *run, const DwSpeedSettings *settings,
                      DwSpeedAnalysis *analysis)
{
    if (!dw_speed_mask(demodulator, run, analysis))
        return false;
    fit_slow(analysis, run, settings);
    dw_speed_fluctuation(settings, analysis);
    dw_speed_lines(analysis);
    return true;
}

void dw_speed_analysis_clear(DwSpeedAnalysis *analysis)
{
    free(analysis->deviation);
    free(analysis->used);
    free(analysis->work);
    dw_spectrum_clear(&analysis->spectrum);
    *analysis = (DwSpeedAnalysis){0};
}
