// SPDX-License-Identifier: MIT
// The lines of a flutter spectrum: what turns or hums at a steady rate.
#include "measure/speed/speed_analysis.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

enum { LONGEST = 131072, AROUND = 40, OVERLAP_BINS = 3 };

static const double SAME_BINS = 1.5;
static const double SKIRT_BINS = 12, SKIRT = 0.25; // of the stronger line

static const double HIGHEST_SLOW_HZ = 8, HIGHEST_HZ = 205; // below, the joint fit found them
static const double ABOVE_AROUND = 22; // in power, over the median around: noise gets there once in 4 million bins
static const double LEAST_PERCENT = 0.0005;
static const double SLOW_SIGMAS = 4;
// The frequency of a line of power A² over noise of mean power P in a Hann bin is
// uncertain by 0.45·√P/A bins: twice the Cramér–Rao bound's variance, the price of
// the window. Other lines and slow changes of rate add some hundredths of a bin.
static const double OFF_BINS = 0.45, LEAST_OFF_BINS = 0.03;
static const double MEDIAN_OVER_MEAN = 0.6931; // of the power of noise, ln 2

// The median power of the bins around BIN, the line itself left out.
static double around(const DwSpectrum *spectrum, size_t bin)
{
    float values[2 * AROUND];
    size_t count = 0;
    for (size_t k = bin > AROUND ? bin - AROUND : 1; k <= bin + AROUND && k < spectrum->bins; k++)
        if (k + 3 < bin || k > bin + 3)
            values[count++] = (float)spectrum->power[k];
    return dw_statistics_quantile(values, count, 0.5);
}

// What a Hann window shows of a line DISTANCE bins away, as a share of it.
static double leakage(double distance)
{
    double d = fabs(distance);
    if (d < 1e-6)
        return 1;
    return fabs(d - 1) < 1e-6 ? 0.5 : fabs(sin(M_PI * d) / (M_PI * d * (1 - d * d)));
}

// Whether LINE is no more than what the stronger ones show at its place: leaked by the window, or the skirt of one
// whose rate wanders.
static bool is_leakage(const DwSpeedAnalysis *analysis, const DwFlutterLine *line, double step)
{
    double leaked = 0;
    for (size_t i = 0; i < analysis->line_count; i++) {
        double apart = (analysis->lines[i].frequency_hz - line->frequency_hz) / step;
        if (fabs(apart) < SKIRT_BINS && line->amplitude < SKIRT * analysis->lines[i].amplitude)
            return true;
        if (analysis->lines[i].amplitude > line->amplitude)
            leaked += analysis->lines[i].amplitude * leakage(apart);
    }
    return line->amplitude < 2 * leaked;
}

static void drop_leakage(DwSpeedAnalysis *analysis, double step)
{
    size_t kept = 0, count = analysis->line_count;
    for (size_t i = 0; i < count; i++) {
        analysis->line_count = kept;
        if (analysis->lines[i].frequency_hz < HIGHEST_SLOW_HZ || !is_leakage(analysis, &analysis->lines[i], step))
            analysis->lines[kept++] = analysis->lines[i];
    }
    analysis->line_count = kept;
}

// Keeps the strongest lines, strongest first.
static void keep_line(DwSpeedAnalysis *analysis, DwFlutterLine line)
{
    size_t at = analysis->line_count < DW_FLUTTER_LINES_MOST ? analysis->line_count++ : DW_FLUTTER_LINES_MOST - 1;
    if (at == DW_FLUTTER_LINES_MOST - 1 && analysis->line_count == DW_FLUTTER_LINES_MOST &&
        analysis->lines[at].amplitude >= line.amplitude)
        return;
    while (at > 0 && analysis->lines[at - 1].amplitude < line.amplitude) {
        analysis->lines[at] = analysis->lines[at - 1];
        at--;
    }
    analysis->lines[at] = line;
}

// Harmonic K of LINE as a cosine and a sine from the series' start on.
static void turn_to_start(const DwSpeedAnalysis *analysis, const DwLine *line, size_t k, double start[2])
{
    double since = analysis->slow_start[line->clock] - analysis->joint.middle[line->clock];
    double angle = 2 * M_PI * (double)(k + 1) * line->rate_hz * since, c = cos(angle), s = sin(angle);
    start[0] = line->cosine[k] * c + line->sine[k] * s;
    start[1] = line->sine[k] * c - line->cosine[k] * s;
}

// The lines of the joint fit that stand out of their own uncertainty.
static void keep_slow_lines(DwSpeedAnalysis *analysis)
{
    const DwLineFit *fit = &analysis->joint;
    for (size_t l = 0; l < fit->count; l++)
        for (size_t k = 0; k < fit->line[l].harmonics; k++) {
            const DwLine *line = &fit->line[l];
            double variance = analysis->line_variance[l][k];
            DwFlutterLine found = {.frequency_hz = (double)(k + 1) * line->rate_hz,
                                   .amplitude = dw_line_amplitude(line, k),
                                   .off_hz = (double)(k + 1) * dw_line_rate_off(line, variance),
                                   .off = dw_line_amplitude_off(line, k, variance)};
            turn_to_start(analysis, line, k, found.start);
            if (found.amplitude >= LEAST_PERCENT && found.amplitude >= SLOW_SIGMAS * found.off)
                keep_line(analysis, found);
        }
}

// Whether the joint fit has a line within a bin or so of FREQUENCY_HZ: where both look, one finds what the other
// leaves at its edge.
static bool is_slow_line(const DwSpeedAnalysis *analysis, double frequency_hz, double step)
{
    const DwLineFit *fit = &analysis->joint;
    for (size_t l = 0; l < fit->count; l++)
        for (size_t k = 0; k < fit->line[l].harmonics; k++)
            if (fabs((double)(k + 1) * fit->line[l].rate_hz - frequency_hz) < SAME_BINS * step)
                return true;
    return false;
}

double dw_speed_line_off(const DwSpeedAnalysis *analysis, double frequency_hz)
{
    const DwSpectrum *spectrum = &analysis->spectrum;
    double segment_share = 1 / (spectrum->step * (double)analysis->count);
    size_t bin = (size_t)lround(frequency_hz / (spectrum->step * analysis->rate_hz));
    return bin < spectrum->bins ? sqrt(around(spectrum, bin) / MEDIAN_OVER_MEAN * segment_share / 2) : NAN;
}

void dw_speed_lines(DwSpeedAnalysis *analysis)
{
    analysis->spectrum = dw_spectrum_of(analysis->deviation, analysis->count, LONGEST);
    const DwSpectrum *spectrum = &analysis->spectrum;
    double step = spectrum->step * analysis->rate_hz;
    double segment_share = 1 / (spectrum->step * (double)analysis->count); // of all, that one segment is
    size_t low = (size_t)(HIGHEST_SLOW_HZ / step) - OVERLAP_BINS, high = (size_t)(HIGHEST_HZ / step);
    keep_slow_lines(analysis);
    for (size_t k = low; k < high && k + 2 < spectrum->bins; k++) {
        const double *p = spectrum->power + k;
        if (p[0] < p[-1] || p[0] < p[1] || p[0] < p[-2] || p[0] < p[2])
            continue;
        double noise = around(spectrum, k);
        if (p[0] < ABOVE_AROUND * noise)
            continue;
        DwFlutterLine line = {.frequency_hz = dw_spectrum_peak_bin(spectrum->power, k) * step};
        if (is_slow_line(analysis, line.frequency_hz, step))
            continue;
        double real, imaginary;
        dw_spectrum_line(analysis->deviation, analysis->used, analysis->count, line.frequency_hz / analysis->rate_hz,
                         &real, &imaginary);
        line.amplitude = hypot(real, imaginary);
        line.cosine = real;
        line.sine = -imaginary;
        line.start[0] = line.cosine;
        line.start[1] = line.sine;
        line.off = sqrt(noise / MEDIAN_OVER_MEAN * segment_share / 2);
        line.off_hz = OFF_BINS * step * sqrt(noise / MEDIAN_OVER_MEAN / p[0]) + LEAST_OFF_BINS * step;
        if (line.amplitude >= LEAST_PERCENT)
            keep_line(analysis, line);
    }
    drop_leakage(analysis, step);
}

// Value N of the lines: the slow ones by the joint fit, at GROOVE by the second clock, the others by their phase.
static double lines_at(const DwSpeedAnalysis *analysis, size_t n, double groove)
{
    double since = (double)n / analysis->rate_hz;
    const double clock[2] = {analysis->slow_start[0] + since, groove};
    double sum = dw_line_fit_lines_at(&analysis->joint, clock);
    for (size_t l = 0; l < analysis->line_count; l++) {
        const DwFlutterLine *line = &analysis->lines[l];
        double angle = 2 * M_PI * line->frequency_hz * since;
        sum += line->cosine * cos(angle) + line->sine * sin(angle);
    }
    return sum;
}

void dw_speed_bridge_by_lines(DwSpeedAnalysis *analysis)
{
    DwSpeedAnalysis *a = analysis;
    double groove = a->slow_start[1];
    for (size_t n = 0; n < a->count;) {
        if (a->used[n]) {
            groove += (1 + a->deviation[n++] / 100) / a->rate_hz;
            continue;
        }
        size_t from = n, to = n;
        while (to < a->count && !a->used[to])
            to++;
        // What the lines leave goes on from one edge to the other by a straight line.
        double step = 1 / a->rate_hz, end = groove + (double)(to - from + 1) * step;
        double before = from ? a->deviation[from - 1] - lines_at(a, from - 1, groove - step) : NAN;
        double after = to < a->count ? a->deviation[to] - lines_at(a, to, end) : before;
        before = isnan(before) ? after : before;
        for (; n < to; n++, groove += step) {
            double share = (double)(n - from + 1) / (double)(to - from + 1);
            a->deviation[n] = lines_at(a, n, groove) + before + (after - before) * share;
        }
    }
}
