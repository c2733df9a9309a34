// SPDX-License-Identifier: MIT
// Weighted and unweighted readings of a speed deviation, as the standards define them.
#include "measure/speed/speed_noise.h"

#include "base/memory.h"
#include "dsp/flutter_weighting.h"
#include "dsp/quasi_peak.h"
#include "dsp/sections.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PIECE = 1024, POINTER_EVERY = 4 }; // the pointer is slow: every fourth value tells it

static const double LEAD_S = 20;         // run before the series so that the filters have settled
static const double METER_LEAD_S = 6;    // of the meter likewise
static const double SETTLE_S = 3;        // left out at the front all the same, up to a tenth of the series
static const double HIGHPASS_HZ = 0.115; // 0.09 dB down at 0.3 Hz, 0.45 dB at 0.2 Hz
static const double AVERAGE_OF_SINE = 1.1107207345395915; // π/(2√2): rms of a sine over its average
static const double NORMAL_95 = 1.959964;                 // two-sigma of noise over its rms
static const double NOISE_KNOWN = 0.05;                   // of its power, standard
// What filters and edges do to a reading of METHOD_S of tone, of it, 95 %: two-sigma and quasi-peak, which feel a
// phase, then rms and average, which do not. Over longer takes it levels out. Evaluated on drawn decks with next to no
// noise.
static const double METHOD_S = 40;
static const double FLAT_METHOD[] = {0.0012, 0.00036, 0.00005, 0.00023};
static const double WEIGHTING_METHOD[] = {0.0027, 0.0027, 0.0002, 0.00084};
static const double LEAST_OFF = 5e-6; // %
static const double SLOW_POINTS = 32; // a period of the split, that wow is read at

// A filter as the standards' two readings use it.
typedef struct {
    DwLongFir *weighting; // NULL: none, `flat` instead
    DwSections flat;
    const DwFir *quiet; // takes the noise out; no taps: there is none to speak of
} Filter;

// The drift's part at a second of the recording, %.
static double slope_at(const DwSpeedAnalysis *analysis, double second)
{
    return analysis->fit.slope * (second - analysis->joint.middle[0]);
}

// What the series would have been before it begins: the fitted lines go on backwards,
// the rest is mirrored. STEP counts values back from the first.
static double value_before(const DwSpeedAnalysis *analysis, size_t step)
{
    size_t mirror = step < analysis->count ? step : analysis->count - 1;
    double dt = 1 / analysis->rate_hz, there[2], before[2];
    for (size_t i = 0; i < 2; i++) {
        there[i] = analysis->slow_start[i] + (double)mirror * dt;
        before[i] = analysis->slow_start[i] - (double)step * dt;
    }
    const DwLineFit *fit = &analysis->joint;
    double rest = analysis->deviation[mirror] - slope_at(analysis, there[0]) - dw_line_fit_lines_at(fit, there);
    return rest + dw_line_fit_lines_at(fit, before);
}

static double long_before(size_t step, const void *user)
{
    return value_before(user, step);
}

// Lets METER settle on what the series would have been behind the filter before it begins: its mirror image.
static void settle_meter(const DwSpeedAnalysis *analysis, DwQuasiPeak *meter)
{
    size_t lead = (size_t)(METER_LEAD_S * analysis->rate_hz);
    for (size_t i = lead < analysis->count ? lead : analysis->count - 1; i > 0; i--) {
        double before = analysis->work[i];
        dw_quasi_peak_run(meter, &before, &before, 1);
    }
}

// Lets FLAT settle on what the series would have been before it begins.
static void settle_flat(const DwSpeedAnalysis *analysis, DwSections *flat)
{
    for (size_t left = (size_t)(LEAD_S * analysis->rate_hz); left > 0; left--) {
        double before = value_before(analysis, left);
        dw_sections_run(flat, &before, 1);
    }
}

// Fills analysis->work with the deviation, less its drift, behind FILTER, and
// feeds the meter with it; every POINTER_EVERYth value of its pointer is written to POINTER.
static void run_filter(DwSpeedAnalysis *analysis, Filter *filter, float *pointer)
{
    double scratch[PIECE];
    DwQuasiPeak meter = dw_quasi_peak_start(analysis->rate_hz);
    for (size_t n = 0; n < analysis->count; n++) {
        double t = analysis->start_s + (double)n / analysis->rate_hz;
        analysis->work[n] = analysis->deviation[n] - slope_at(analysis, t);
    }
    if (filter->quiet->count)
        dw_fir_run(filter->quiet, analysis->work, analysis->work, analysis->count);
    if (filter->weighting)
        dw_long_fir_run(filter->weighting, analysis->work, analysis->count, long_before, analysis);
    else {
        settle_flat(analysis, &filter->flat);
        dw_sections_run(&filter->flat, analysis->work, analysis->count);
    }
    settle_meter(analysis, &meter);
    for (size_t start = 0; start < analysis->count; start += PIECE) {
        size_t count = analysis->count - start < PIECE ? analysis->count - start : PIECE;
        dw_quasi_peak_run(&meter, analysis->work + start, scratch, count);
        for (size_t i = 0; i < count; i += POINTER_EVERY)
            pointer[(start + i) / POINTER_EVERY] = (float)scratch[i];
    }
}

// Half-widths of the 95 % intervals: what the recording's noise leaves in a reading once its
// power is taken out, and what the method itself is good for.
static void add_budget(const DwNoiseBudget *budget, const double methods[4], double seconds, DwFluctuation *all)
{
    // How much a reading moves with chance over what the budget leads to expect of the rms: quantiles and the pointer's
    // peaks more than means; part of what is kept is in the budget already. Evaluated on drawn decks.
    static const double shares[] = {2, 2.6, 0.75, 1.6};
    const double values[] = {all->two_sigma, all->quasi_peak, all->rms, all->average};
    double *const off[] = {&all->two_sigma_off, &all->quasi_peak_off, &all->rms_off, &all->average_off};
    double known = NOISE_KNOWN * budget->noise; // the noise itself is only known so well
    double spread = sqrt(budget->variance + known * known) + budget->kept / NORMAL_95;
    double power = all->rms * all->rms, moved = sqrt(power + spread) - sqrt(power); // of the rms
    for (size_t i = 0; i < 4; i++) {
        double scale = values[i] / all->rms;
        *off[i] =
            hypot(NORMAL_95 * shares[i] * scale * moved, methods[i] * sqrt(METHOD_S / seconds) * values[i]) + LEAST_OFF;
    }
}

// The four readings over all of it, as the standards define them. Reorders the POINTER's.
static DwFluctuation read_all(const DwSpeedAnalysis *analysis, float *pointer)
{
    size_t settle = (size_t)(SETTLE_S * analysis->rate_hz), tenth = analysis->count / 10;
    size_t begin = settle < tenth ? settle : tenth;
    DwFluctuation all = {0};
    double squares = 0;
    size_t kept = 0, pointed = 0;
    for (size_t n = begin; n < analysis->count; n++)
        if (analysis->used[n]) {
            squares += analysis->work[n] * analysis->work[n];
            kept++;
        }
    for (size_t i = (begin + POINTER_EVERY - 1) / POINTER_EVERY; i * POINTER_EVERY < analysis->count; i++)
        if (analysis->used[i * POINTER_EVERY])
            pointer[pointed++] = pointer[i];
    DwMagnitude magnitude =
        dw_statistics_magnitude(analysis->work + begin, analysis->used + begin, analysis->count - begin, 0.95);
    all.two_sigma = magnitude.quantile;
    all.average = AVERAGE_OF_SINE * magnitude.average;
    all.rms = kept ? sqrt(squares / (double)kept) : NAN;
    all.quasi_peak = dw_statistics_quantile(pointer, pointed, 0.95);
    return all;
}

// Two-sigma of what changes so slowly that every EVERYth value tells it. SIDE is reordered.
static double read_slow(const DwSpeedAnalysis *analysis, size_t every, float *side)
{
    size_t kept = 0;
    for (size_t n = 0; n < analysis->count; n += every)
        if (analysis->used[n])
            side[kept++] = fabsf(side[n]);
    return dw_statistics_quantile(side, kept, 0.95);
}

// Two-sigma of the unweighted deviation on one side of the split. What is below it is read at every EVERYth value, 0:
// what is above it at all. SIDE[analysis->count] is overwritten.
static double read_side(const DwSpeedAnalysis *analysis, DwSections sections, size_t every, float *side)
{
    size_t lead = (size_t)analysis->rate_hz;
    lead = lead < analysis->count ? lead : analysis->count - 1;
    for (size_t i = lead; i > 0; i--) { // settled on the mirror image of the first second
        double before = analysis->work[i];
        dw_sections_run(&sections, &before, 1);
    }
    double piece[PIECE];
    for (size_t start = 0; start < analysis->count; start += PIECE) {
        size_t count = analysis->count - start < PIECE ? analysis->count - start : PIECE;
        memcpy(piece, analysis->work + start, count * sizeof *piece);
        dw_sections_run(&sections, piece, count);
        for (size_t i = 0; i < count; i++)
            side[start + i] = (float)piece[i];
    }
    if (every)
        return read_slow(analysis, every, side);
    return dw_statistics_magnitude_narrow(side, analysis->used, analysis->count, 0.95).quantile;
}

void dw_speed_unweighted_gain(double frequency_hz, double gain[2])
{
    double x = frequency_hz / HIGHPASS_HZ, real = 1 - x * x, imaginary = sqrt(2) * x; // −x² over these
    double squares = real * real + imaginary * imaginary;
    gain[0] = -x * x * real / squares;
    gain[1] = x * x * imaginary / squares;
}

void dw_speed_fluctuation(const DwSpeedSettings *settings, DwSpeedAnalysis *analysis)
{
    DwNoiseBudget weighted_noise, unweighted_noise;
    double seconds = (double)analysis->count / analysis->rate_hz;
    DwFir quiet = dw_speed_noise_filter(analysis, &weighted_noise, &unweighted_noise);
    float *pointer = dw_memory_new(analysis->count, sizeof *pointer);
    Filter weighting = {.weighting = dw_flutter_weighting_filter(analysis->rate_hz), .quiet = &quiet};
    run_filter(analysis, &weighting, pointer);
    dw_long_fir_free(weighting.weighting);
    analysis->weighted = read_all(analysis, pointer);
    add_budget(&weighted_noise, WEIGHTING_METHOD, seconds, &analysis->weighted);
    Filter flat = {.flat = dw_sections_highpass(2, HIGHPASS_HZ, analysis->rate_hz), .quiet = &quiet};
    run_filter(analysis, &flat, pointer);
    analysis->unweighted = read_all(analysis, pointer);
    add_budget(&unweighted_noise, FLAT_METHOD, seconds, &analysis->unweighted);
    dw_fir_clear(&quiet);
    float *side = pointer;
    double split_hz = settings->split_hz, rate_hz = analysis->rate_hz;
    size_t every = (size_t)fmax(1, rate_hz / (SLOW_POINTS * split_hz));
    analysis->wow = read_side(analysis, dw_sections_lowpass(4, split_hz, rate_hz), every, side);
    analysis->flutter = read_side(analysis, dw_sections_highpass(4, split_hz, rate_hz), 0, side);
    free(side);
    analysis->floor = NORMAL_95 * dw_speed_noise_rms(analysis, true);
    analysis->noise = NORMAL_95 * dw_speed_noise_rms(analysis, false);
}
