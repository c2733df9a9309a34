// SPDX-License-Identifier: MIT
// The curves of a tone's sheet, and its revolution raster.
#include "measure/speed/speed_filling.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double SMEARED_BINS = 3, SMEARED = 0.98; // about a line in a Hann window's spectrum

// The deviation as means of short pieces: at most as many as a picture shows.
static void add_deviation(const DwSpeedFilling *filling)
{
    enum { POINTS_MOST = 6000 };
    const DwSpeedAnalysis *a = filling->analysis;
    size_t size = (size_t)(0.01 * a->rate_hz);
    while (a->count / size > POINTS_MOST)
        size++;
    size_t points = a->count / size;
    DwCurve *curve = dw_sheet_add_curve(filling->sheet, "speed.deviation", "Speed deviation", (DwAxis){"Time", "s"},
                                        (DwAxis){"Deviation from the mean", "%"}, points);
    for (size_t i = 0; i < points; i++) {
        size_t kept;
        curve->x_values[i] = a->start_s + ((double)i + 0.5) * (double)size / a->rate_hz;
        curve->y_values[i] = dw_statistics_mean_used(a->deviation + i * size, a->used + i * size, size, &kept);
    }
}

// Lets the curve say of each line what the table says: the point nearest to it becomes the
// line, and what the window smears beside it stays below.
static void mark_lines(const DwSpeedAnalysis *a, double step, double *x, double *y, size_t points)
{
    for (size_t i = 0; i < points; i++) {
        double most = 0;
        for (size_t l = 0; l < a->line_count; l++)
            if (fabs(x[i] - a->lines[l].frequency_hz) < SMEARED_BINS * step)
                most = fmax(most, a->lines[l].amplitude);
        y[i] = most > 0 ? fmin(y[i], SMEARED * most) : y[i];
    }
    for (size_t l = a->line_count; points && l-- > 0;) { // the strongest last, where two are nearest to one point
        size_t nearest = 0;
        for (size_t i = 0; i < points; i++)
            nearest = fabs(x[i] - a->lines[l].frequency_hz) < fabs(x[nearest] - a->lines[l].frequency_hz) ? i : nearest;
        if (fabs(x[nearest] - a->lines[l].frequency_hz) < SMEARED_BINS * step) {
            x[nearest] = a->lines[l].frequency_hz;
            y[nearest] = a->lines[l].amplitude;
        }
    }
}

// The spectrum from 0.2 to 200 Hz: bins where they lie apart, the highest of
// each group where they crowd.
static void add_spectrum(const DwSpeedFilling *filling)
{
    enum { POINTS_MOST = 1500 };
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSpectrum *spectrum = &a->spectrum;
    double step = spectrum->step * a->rate_hz, low_hz = 0.2, high_hz = 200;
    double *x = dw_memory_new(POINTS_MOST, sizeof *x), *y = dw_memory_new(POINTS_MOST, sizeof *y);
    size_t points = 0, bin = (size_t)ceil(low_hz / step);
    for (size_t i = 0; i < POINTS_MOST; i++) {
        double end = low_hz * pow(high_hz / low_hz, (double)(i + 1) / POINTS_MOST);
        size_t peak = bin, last = (size_t)(end / step);
        if (last < bin || last >= spectrum->bins)
            continue;
        for (; bin <= last; bin++)
            if (spectrum->power[bin] > spectrum->power[peak])
                peak = bin;
        x[points] = (double)peak * step;
        y[points++] = sqrt(spectrum->power[peak]);
    }
    mark_lines(a, step, x, y, points);
    DwCurve *curve = dw_sheet_add_curve(filling->sheet, "flutter.spectrum", "Flutter spectrum",
                                        (DwAxis){"Frequency", "Hz"}, (DwAxis){"Amplitude", "% peak"}, points);
    memcpy(curve->x_values, x, points * sizeof *x);
    memcpy(curve->y_values, y, points * sizeof *y);
    free(x);
    free(y);
}

// One row a revolution, platter angle across, unweighted deviation.
static void add_raster(const DwSpeedFilling *filling)
{
    enum { COLUMNS = 180 };
    const DwSpeedAnalysis *a = filling->analysis;
    double turn = a->rate_hz / filling->turn_hz; // values a revolution
    size_t rows = (size_t)((double)a->count / turn);
    DwRaster *raster =
        dw_sheet_add_raster(filling->sheet, "speed.raster", "Revolution raster", (DwAxis){"Platter angle", "deg"},
                            (DwAxis){"Revolution", ""}, "%", rows, COLUMNS);
    raster->across_span = 360;
    raster->down_start = 1;
    raster->down_step = 1;
    for (size_t i = 0; i < rows * COLUMNS; i++) {
        size_t from = (size_t)((double)i * turn / COLUMNS), to = (size_t)((double)(i + 1) * turn / COLUMNS);
        to = to < a->count ? to : a->count;
        size_t kept = 0;
        double mean = to > from ? dw_statistics_mean_used(a->work + from, a->used + from, to - from, &kept) : NAN;
        if (kept)
            raster->values[i] = (float)mean;
    }
}

void dw_speed_pictures_add(const DwSpeedFilling *filling)
{
    add_deviation(filling);
    add_spectrum(filling);
    add_raster(filling);
}
