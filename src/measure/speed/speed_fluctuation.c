// SPDX-License-Identifier: MIT
// Weighted and unweighted readings of a speed deviation, as the standards define them.
#include "measure/speed/speed_analysis.h"

#include "base/memory.h"
#include "dsp/flutter_weighting.h"
#include "dsp/quasi_peak.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LEAD_S = 20;         // run before the series so that the filters have settled
static const double SETTLE_S = 3;        // left out at the front all the same, up to a tenth of the series
static const double HIGHPASS_HZ = 0.115; // 0.09 dB down at 0.3 Hz, 0.45 dB at 0.2 Hz
static const double STRETCH_S = 5.4;     // three revolutions at 33⅓; the standard asks for 5 s
static const double AVERAGE_OF_SINE = 1.1107207345395915; // π/(2√2): rms of a sine over its average
enum { STRETCHES_MOST = 512, MEND_TAPS = 61 };

// A filter as the standards' two readings use it: sections and, for the
// weighted one, a short symmetric filter that undoes the sections' droop.
typedef struct {
    DwSections sections;
    DwFir mend; // no taps: none
} Filter;

// What the series would have been before it begins: the fitted revolution goes
// on backwards, the rest is mirrored. STEP counts values back from the first.
static double value_before(const DwSpeedAnalysis *analysis, size_t step)
{
    double t0 = analysis->start_s, dt = 1 / analysis->rate_hz;
    size_t mirror = step < analysis->count ? step : analysis->count - 1;
    double there = t0 + (double)mirror * dt;
    const DwHarmonicFit *fit = &analysis->fit;
    double rest = analysis->deviation[mirror] - fit->slope * (there - fit->centre) - dw_fit_periodic(fit, there);
    return rest + dw_fit_periodic(fit, t0 - (double)step * dt);
}

// Fills analysis->work with the deviation, less its drift, behind FILTER, and
// feeds METER with it; the pointer is written to POINTER as floats.
static void run_filter(DwSpeedAnalysis *analysis, Filter *filter, float *pointer)
{
    enum { PIECE = 1024 };
    double scratch[PIECE];
    const DwHarmonicFit *fit = &analysis->fit;
    DwQuasiPeak meter = dw_quasi_peak_start(analysis->rate_hz);
    for (size_t left = (size_t)(LEAD_S * analysis->rate_hz); left > 0;) {
        size_t count = left < PIECE ? left : PIECE;
        for (size_t i = 0; i < count; i++)
            scratch[i] = value_before(analysis, left - i);
        dw_sections_run(&filter->sections, scratch, count);
        dw_quasi_peak_run(&meter, scratch, scratch, count);
        left -= count;
    }
    for (size_t n = 0; n < analysis->count; n++) {
        double t = analysis->start_s + (double)n / analysis->rate_hz;
        analysis->work[n] = analysis->deviation[n] - fit->slope * (t - fit->centre);
    }
    dw_sections_run(&filter->sections, analysis->work, analysis->count);
    if (filter->mend.count)
        dw_fir_run(&filter->mend, analysis->work, analysis->work, analysis->count);
    for (size_t start = 0; start < analysis->count; start += PIECE) {
        size_t count = analysis->count - start < PIECE ? analysis->count - start : PIECE;
        dw_quasi_peak_run(&meter, analysis->work + start, scratch, count);
        for (size_t i = 0; i < count; i++)
            pointer[start + i] = (float)scratch[i];
    }
}

// What a stretch shows: the pointer's and the magnitude's 95 % quantiles.
typedef struct {
    double two_sigma, quasi_peak, rms, average;
} Stretch;

// Reads [FROM, TO) from the samples as they stand. SCRATCH holds as many floats.
static Stretch read_stretch(const DwSpeedAnalysis *analysis, const float *pointer, size_t from, size_t to,
                            float *scratch)
{
    size_t kept = 0;
    double squares = 0, magnitudes = 0;
    for (size_t n = from; n < to; n++)
        if (analysis->used[n]) {
            double x = analysis->work[n];
            squares += x * x;
            magnitudes += fabs(x);
            scratch[kept++] = pointer[n];
        }
    if (!kept)
        return (Stretch){NAN, NAN, NAN, NAN};
    Stretch stretch = {.rms = sqrt(squares / (double)kept), .average = AVERAGE_OF_SINE * magnitudes / (double)kept};
    stretch.quasi_peak = dw_statistics_quantile(scratch, kept, 0.95);
    kept = 0;
    for (size_t n = from; n < to; n++)
        if (analysis->used[n])
            scratch[kept++] = (float)fabs(analysis->work[n]);
    stretch.two_sigma = dw_statistics_quantile(scratch, kept, 0.95);
    return stretch;
}

// Half-widths of the 95 % intervals, from how the readings differ between stretches.
static void read_spread(const DwSpeedAnalysis *analysis, const float *pointer, size_t begin, float *scratch,
                        DwFluctuation *all)
{
    size_t span = analysis->count - begin, kept = 0;
    size_t stretches = (size_t)((double)span / analysis->rate_hz / STRETCH_S);
    stretches = stretches > STRETCHES_MOST ? STRETCHES_MOST : stretches;
    double values[4][STRETCHES_MOST];
    for (size_t i = 0; i < stretches; i++) {
        Stretch part =
            read_stretch(analysis, pointer, begin + span * i / stretches, begin + span * (i + 1) / stretches, scratch);
        if (isnan(part.rms))
            continue;
        values[0][kept] = part.two_sigma;
        values[1][kept] = part.quasi_peak;
        values[2][kept] = part.rms;
        values[3][kept++] = part.average;
    }
    double *const off[] = {&all->two_sigma_off, &all->quasi_peak_off, &all->rms_off, &all->average_off};
    for (size_t i = 0; i < 4; i++)
        *off[i] = kept >= 3 ? dw_statistics_mean_uncertainty(values[i], kept) : NAN;
}

// The four readings over all of it, as the standards define them.
static DwFluctuation read_all(const DwSpeedAnalysis *analysis, const float *pointer, float *scratch)
{
    size_t settle = (size_t)(SETTLE_S * analysis->rate_hz), tenth = analysis->count / 10;
    size_t begin = settle < tenth ? settle : tenth;
    DwFluctuation all = {0};
    double squares = 0;
    size_t kept = 0;
    for (size_t n = begin; n < analysis->count; n++)
        if (analysis->used[n]) {
            squares += analysis->work[n] * analysis->work[n];
            scratch[kept++] = pointer[n];
        }
    DwMagnitude magnitude =
        dw_statistics_magnitude(analysis->work + begin, analysis->used + begin, analysis->count - begin, 0.95);
    all.two_sigma = magnitude.quantile;
    all.average = AVERAGE_OF_SINE * magnitude.average;
    all.rms = kept ? sqrt(squares / (double)kept) : NAN;
    all.quasi_peak = dw_statistics_quantile(scratch, kept, 0.95);
    read_spread(analysis, pointer, begin, scratch, &all);
    return all;
}

static double mend_gain(double frequency, const void *user)
{
    const double *rate_hz = user;
    DwSections sections = dw_flutter_weighting_sections(*rate_hz);
    return dw_flutter_weighting_mend(&sections, frequency * *rate_hz, *rate_hz);
}

// Two-sigma of the unweighted deviation on one side of the split.
static double read_side(const DwSpeedAnalysis *analysis, DwSections sections)
{
    double *side = dw_memory_new(analysis->count, sizeof *side);
    memcpy(side, analysis->work, analysis->count * sizeof *side);
    size_t lead = (size_t)analysis->rate_hz;
    lead = lead < analysis->count ? lead : analysis->count - 1;
    for (size_t i = lead; i > 0; i--) { // settled on the mirror image of the first second
        double before = side[i];
        dw_sections_run(&sections, &before, 1);
    }
    dw_sections_run(&sections, side, analysis->count);
    DwMagnitude magnitude = dw_statistics_magnitude(side, analysis->used, analysis->count, 0.95);
    free(side);
    return magnitude.quantile;
}

// The weighted two-sigma that additive noise alone gives: a one-sided density of
// 2·N0·f²/A² Hz²/Hz of the frequency, weighted; Gaussian, so 1.96 times its rms.
static double noise_floor(const DwSpeedAnalysis *analysis)
{
    double sum = 0, step = 0.25;
    for (double f = step / 2; f < 222; f += step) {
        double weight = dw_flutter_weighting_gain(f);
        sum += 2 * analysis->noise_density * f * f * weight * weight * step;
    }
    return 1.959964 * sqrt(sum) / analysis->mean_hz * 100;
}

void dw_speed_fluctuation(const DwSpeedSettings *settings, DwSpeedAnalysis *analysis)
{
    float *pointer = dw_memory_new(analysis->count, sizeof *pointer);
    float *scratch = dw_memory_new(analysis->count, sizeof *scratch);
    Filter weighting = {.sections = dw_flutter_weighting_sections(analysis->rate_hz),
                        .mend = dw_fir_follow(mend_gain, &analysis->rate_hz, MEND_TAPS, 5)};
    run_filter(analysis, &weighting, pointer);
    dw_fir_clear(&weighting.mend);
    analysis->weighted = read_all(analysis, pointer, scratch);
    Filter flat = {.sections = dw_sections_highpass(2, HIGHPASS_HZ, analysis->rate_hz)};
    run_filter(analysis, &flat, pointer);
    analysis->unweighted = read_all(analysis, pointer, scratch);
    free(pointer);
    free(scratch); // the sides need room of their own
    analysis->wow = read_side(analysis, dw_sections_lowpass(4, settings->split_hz, analysis->rate_hz));
    analysis->flutter = read_side(analysis, dw_sections_highpass(4, settings->split_hz, analysis->rate_hz));
    analysis->floor = noise_floor(analysis);
}
