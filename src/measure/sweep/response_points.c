// SPDX-License-Identifier: MIT
#include "measure/sweep/response_points.h"

#include "base/memory.h"
#include "dsp/least_squares.h"

#include <math.h>

static const double UNEVEN_DB = 0.1;                       // rms of a cut, alike within an octave
static const double READ_DB = 0.02, LEAST_READ_DB = 0.005; // rms of a point, by what reads it: beforehand, and at least
static const double SMOOTHED = 1.0 / 3;                    // octaves that neighbouring points have in common
enum { APART = 4 };                                        // points, a sixth of an octave: half of what is smoothed
static const double BENT = 1.5; // power of a middle less the mean of two beside it, all off by their own
// The same of a cut, whose correlation is that of in_common(), a sixth and a third of an octave apart.
static const double CUT_BENT = 0.0048;

void dw_response_points_take(const DwResponseLine *line, double from_hz, DwResponsePoints *points)
{
    *points = (DwResponsePoints){0};
    for (size_t i = 0; i < line->count; i++)
        if (line->frequency_hz[i] >= fmax(from_hz, line->swept_hz[0]) && line->frequency_hz[i] <= line->swept_hz[1]) {
            points->hz[points->count] = line->frequency_hz[i];
            points->read_db[points->count] = READ_DB;
            points->db[points->count++] = line->level_db[i];
        }
}

double dw_response_cut_off_db(double frequency_hz)
{
    double octaves = fmin(1, fabs(log2(frequency_hz / 1000)));
    double alike = 1 - octaves * octaves * (3 - octaves) / 2; // smooth at 1 kHz, nothing an octave away
    return 1.96 * UNEVEN_DB * sqrt(2 * (1 - alike));          // there and at 1 kHz
}

static double octaves_between(const DwResponsePoints *points, size_t i, size_t k)
{
    return fabs(log2(points->hz[i] / points->hz[k]));
}

// The mean square about point I of how each point's rest differs from the mean of those APART points to either side,
// those nearer counting more.
static double bend_about(const DwResponsePoints *points, const double *rest_db, size_t i, size_t apart)
{
    double sum = 0, weights = 0;
    for (size_t k = apart; k + apart < points->count; k++) {
        // At an end all count a little, and those nearest count.
        double weight = fmax(1e-9, 1 - octaves_between(points, i, k) / SMOOTHED);
        double bend = rest_db[k] - (rest_db[k - apart] + rest_db[k + apart]) / 2;
        sum += weight * bend * bend;
        weights += weight;
    }
    return weights > 0 ? sum / weights : 0;
}

void dw_response_points_disturb(DwResponsePoints *points, const double *rest_db)
{
    for (size_t i = 0; i < points->count; i++) {
        double own = bend_about(points, rest_db, i, 1) / BENT,
               wide = (bend_about(points, rest_db, i, APART) - CUT_BENT * UNEVEN_DB * UNEVEN_DB) / BENT;
        points->read_db[i] = fmax(LEAST_READ_DB, sqrt(own));
        points->disturbed_db[i] = sqrt(fmax(0, wide - own));
    }
}

// How much what a cut is off at one place and OCTAVES away has in common: all beside it, nothing from two octaves on.
static double in_common(double octaves)
{
    double turn = M_PI / 2 * octaves;
    return octaves < 2 ? (1 - octaves / 2) * cos(turn) + sin(turn) / M_PI : 0;
}

double *dw_response_points_factor(const DwResponsePoints *points, double *deviation_db)
{
    size_t count = points->count;
    double *factor = dw_memory_new(count * count, sizeof *factor);
    *deviation_db = UNEVEN_DB;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k <= i; k++) {
            double octaves = octaves_between(points, i, k);
            double disturbed = points->disturbed_db[i] * points->disturbed_db[k] * fmax(0, 1 - octaves / SMOOTHED);
            double read = i == k ? points->read_db[i] * points->read_db[i] : 0;
            factor[i * count + k] = in_common(octaves) + (disturbed + read) / (UNEVEN_DB * UNEVEN_DB);
        }
    dw_least_squares_factor(factor, count);
    return factor;
}
