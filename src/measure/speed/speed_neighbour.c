// SPDX-License-Identifier: MIT
#include "measure/speed/speed_neighbour.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { PASSES = 40, BESIDE = 3, AROUND = 8 };

static const double CLEAR = 0.9;                      // over the span: from there on a line is found by its peak
static const double LEFT_OVER = 4;                    // what one line leaves about itself, over the noise around it
static const double EXPLAINED = 0.1;                  // of what one line leaves, what two may leave
static const double ANEW = 0.9;                       // of what is left, by which two fitted anew are better
static const double FOUND = 20;                       // of chi-square over its three degrees of freedom
static const double PARTED = 0.2;                     // over the span
static const double LEAST_OTHER = 0.1;                // of the platter's amplitude, the other line's
static const double LEAST_GAIN = 0.004;               // likewise, peak, of what only two lines account for
static const double KNOWN = 0.1;                      // of the platter's amplitude: how well both are to be known
static const double GROWS = 0.85;                     // of what two lines gain: then one that grows is what is heard
static const double RECORD_GROWS = 0.008;             // a turn: pitched 0.3 mm at a radius of 50 mm, with some room
static const double STARTS[] = {0.15, 0.3, 0.5, 0.7}; // over the span: how far apart two lines are tried at first

// What FIT leaves about the platter's line: mean and most of the bins there, and what the bins farther off lead to
// expect.
typedef struct {
    double mean, most, noise;
} Left;

static Left left_about(const DwSlowSeries *series, const DwLineFit *fit)
{
    DwSlowRest rest = dw_slow_rest_of(series, fit);
    float around[2 * AROUND];
    double sum = 0, most = 0, place = round(fit->line[0].rate_hz / rest.step_hz);
    size_t near = 0, far = 0;
    for (double bin = fmax(1, place - BESIDE - AROUND); bin <= place + BESIDE + AROUND; bin++) {
        double power = bin < (double)rest.bins ? rest.power[(size_t)bin] : 0;
        if (fabs(bin - place) > BESIDE) {
            around[far++] = (float)power;
            continue;
        }
        sum += power;
        most = fmax(most, power);
        near++;
    }
    dw_slow_rest_clear(&rest);
    double middle = far ? dw_statistics_quantile(around, far, 0.5) / log(2) : 0; // of squares of noise
    return (Left){near ? sum / (double)near : 0, most, fmax(1e-12, middle)};
}

// Whether line L lies beside the platter's or its second harmonic.
static bool is_beside(const DwLineFit *fit, size_t l, size_t harmonics)
{
    for (size_t k = 1; k <= harmonics; k++)
        if (fabs(fit->line[l].rate_hz - (double)k * fit->line[0].rate_hz) * fit->span < CLEAR)
            return true;
    return false;
}

static bool has_neighbour(const DwLineFit *fit)
{
    for (size_t l = 1; l < fit->count; l++)
        if (is_beside(fit, l, 1))
            return true;
    return false;
}

// Two lines about MIDDLE, APART from each other (over the span; below 0: the platter is the slower one) for what is one
// in FIT.
static bool try_two(const DwLineSamples *samples, double middle, double apart, const DwLineFit *fit, DwLineFit *two)
{
    *two = *fit;
    DwLine *platter = &two->line[0], *other = &two->line[two->count++];
    *other = (DwLine){
        .clock = 1, .harmonics = 1, .rate_hz = middle - apart / 2 / fit->span, .prior_hz = NAN, .prior_off_hz = NAN};
    platter->rate_hz = middle + apart / 2 / fit->span;
    return dw_line_fit_run(two, samples, PASSES) && other->rate_hz > 0 &&
           fabs(other->rate_hz - platter->rate_hz) * fit->span < 1.5;
}

// What of the squares left by FIT the platter's line takes away once its amplitude may grow or shrink evenly, as that
// of a record off its centre does towards the middle. *GROWTH: over the take, of its amplitude.
static double grown(const DwLineSamples *samples, const DwLineFit *fit, double *growth)
{
    const DwLine *line = &fit->line[0];
    double *left = dw_memory_new(samples->count, sizeof *left), shared = 0, own = 0;
    dw_line_fit_rest(fit, samples, left);
    for (size_t n = 0; n < samples->count; n++) {
        double angle = 2 * M_PI * line->rate_hz * (samples->clock[1][n] - fit->middle[1]);
        double since = (samples->clock[0][n] - fit->middle[0]) / fit->span;
        double grows = since * (line->cosine[0] * cos(angle) + line->sine[0] * sin(angle));
        shared += samples->weight[n] * left[n] * grows;
        own += samples->weight[n] * grows * grows;
    }
    free(left);
    *growth = own > 0 ? shared / own : 0;
    return own > 0 ? shared * shared / own : 0;
}

static double gained(const DwLineSamples *samples, const DwLineFit *fit, const DwLineFit *two)
{
    return (fit->variance - two->variance) * (double)samples->count;
}

// The two lines that account best for what is one in FIT.
static DwLineFit best_two(const DwLineSamples *samples, const DwLineFit *fit)
{
    const DwLine *platter = &fit->line[0];
    const double middle[] = {platter->rate_hz,
                             platter->prior_hz}; // by the samples, and where the tone leads to expect it
    bool apart = fabs(middle[1] - middle[0]) * fit->span > STARTS[0];
    DwLineFit best = *fit, two;
    for (size_t m = 0; m < (apart ? 2 : 1); m++)
        for (size_t i = 0; i < 2 * sizeof STARTS / sizeof *STARTS; i++)
            if (try_two(samples, middle[m], STARTS[i / 2] * (i % 2 ? 1 : -1), fit, &two) &&
                two.variance < best.variance)
                best = two;
    return best;
}

// Whether both lines of TWO, the platter's and its last, are told by noise of VARIANCE a sample.
static bool are_told(const DwLineFit *two, double variance)
{
    const DwLine *platter = &two->line[0], *other = &two->line[two->count - 1];
    double amplitude = dw_line_amplitude(platter, 0);
    return fabs(other->rate_hz - platter->rate_hz) * two->span > PARTED &&
           2 * dw_line_amplitude_off(platter, 0, variance) < KNOWN * amplitude &&
           2 * dw_line_amplitude_off(other, 0, variance) < KNOWN * amplitude;
}

// Whether what FIT leaves is the platter's amplitude that grows or shrinks as a record's does, so that TWO lines gain
// little more. *BY_GROWTH: of the squares left.
static bool is_growth(const DwLineSamples *samples, const DwLineFit *fit, const DwLineFit *two, double *by_growth)
{
    double growth, turns = fit->span * fit->line[0].rate_hz;
    *by_growth = grown(samples, fit, &growth);
    return *by_growth > GROWS * gained(samples, fit, two) && fabs(growth) < RECORD_GROWS * turns;
}

// Whether TWO lines are what FIT has as one, for noise of VARIANCE a sample: they gain more than chance does and than
// one that grows.
static bool are_two(const DwLineSamples *samples, const DwLineFit *fit, const DwLineFit *two, double by_growth,
                    double variance)
{
    double more = gained(samples, fit, two) - by_growth, shows = sqrt(2 * fmax(0, more) / (double)samples->count);
    double other = dw_line_amplitude(&two->line[two->count - 1], 0);
    return more > 3 * FOUND * variance && shows > LEAST_GAIN * dw_line_amplitude(fit->line, 0) &&
           other > LEAST_OTHER * dw_line_amplitude(&two->line[0], 0);
}

// FIT with one line for what lies beside the platter's, and beside its first HARMONICS, and then with two.
static bool two_anew(const DwLineSamples *samples, const DwLineFit *fit, size_t harmonics, DwLineFit *two)
{
    DwLineFit one = *fit;
    one.count = 1;
    for (size_t l = 1; l < fit->count; l++)
        if (!is_beside(fit, l, harmonics))
            one.line[one.count++] = fit->line[l];
    if (!dw_line_fit_run(&one, samples, 5))
        return false;
    *two = best_two(samples, &one);
    return true;
}

void dw_neighbour_anew(const DwSlowSeries *series, DwLineFit *fit)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    DwLineFit before = *fit, two;
    for (size_t harmonics = 1; has_neighbour(&before) && harmonics <= before.line[0].harmonics; harmonics++)
        if (two_anew(&samples, &before, harmonics, &two) && two.variance < ANEW * fit->variance)
            *fit = two;
}

DwNeighbour dw_neighbour_part(const DwSlowSeries *series, DwLineFit *fit, DwLineFit *other, double *left_percent)
{
    if (fit->count == DW_LINE_FIT_LINES || has_neighbour(fit))
        return DW_NEIGHBOUR_NONE;
    DwLineSamples samples = dw_slow_series_samples(series);
    Left one = left_about(series, fit), after;
    if (one.mean < LEFT_OVER * one.noise)
        return DW_NEIGHBOUR_NONE;
    double by_growth;
    DwLineFit two = best_two(&samples, fit);
    if (is_growth(&samples, fit, &two, &by_growth))
        return DW_NEIGHBOUR_NONE;
    *left_percent = sqrt(one.most);
    if (two.count == fit->count)
        return DW_NEIGHBOUR_OTHERWISE;
    after = left_about(series, &two);
    double variance = after.noise * (double)series->count / 6; // a sample's, for bins of a Hann window
    bool explained = after.mean < LEFT_OVER * after.noise || after.mean < EXPLAINED * one.mean;
    if (!explained || !are_two(&samples, fit, &two, by_growth, variance))
        return DW_NEIGHBOUR_OTHERWISE;
    *other = two;
    if (!are_told(&two, variance))
        return DW_NEIGHBOUR_HIDDEN;
    *fit = two;
    return DW_NEIGHBOUR_PARTED;
}
