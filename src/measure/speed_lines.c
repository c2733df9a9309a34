// SPDX-License-Identifier: MIT
// The lines of a flutter spectrum: what turns or hums at a steady rate.
#include "measure/speed_analysis.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { LONGEST = 131072, AROUND = 40 };

static const double LOWEST_HZ = 0.15, HIGHEST_HZ = 205;
static const double ABOVE_AROUND = 22; // in power, over the median around: noise gets there once in 4 million bins
static const double LEAST_PERCENT = 0.0005;

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

void dw_speed_lines(DwSpeedAnalysis *analysis)
{
    analysis->spectrum = dw_spectrum_of(analysis->work, analysis->count, LONGEST);
    const DwSpectrum *spectrum = &analysis->spectrum;
    double step = spectrum->step * analysis->rate_hz;
    size_t low = (size_t)ceil(fmax(LOWEST_HZ / step, 3)), high = (size_t)(HIGHEST_HZ / step);
    for (size_t k = low; k < high && k + 2 < spectrum->bins; k++) {
        const double *p = spectrum->power + k;
        if (p[0] < p[-1] || p[0] < p[1] || p[0] < p[-2] || p[0] < p[2] || p[0] < ABOVE_AROUND * around(spectrum, k))
            continue;
        DwFlutterLine line = {.frequency_hz = dw_spectrum_peak_bin(spectrum->power, k) * step};
        double real, imaginary;
        dw_spectrum_line(analysis->work, analysis->used, analysis->count, line.frequency_hz / analysis->rate_hz, &real,
                         &imaginary);
        line.amplitude = hypot(real, imaginary);
        if (line.amplitude >= LEAST_PERCENT)
            keep_line(analysis, line);
    }
}
