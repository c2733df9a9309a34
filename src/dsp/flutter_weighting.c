// SPDX-License-Identifier: MIT
#include "dsp/flutter_weighting.h"

#include <math.h>

const DwWeightingPoint dw_flutter_weighting_table[DW_FLUTTER_WEIGHTING_POINTS] = {
    {0.1, -48.0}, {0.2, -30.6}, {0.315, -19.7}, {0.4, -15.0}, {0.63, -8.4}, {0.8, -6.0},
    {1, -4.2},    {1.6, -1.8},  {2, -0.9},      {4, 0},       {6.3, -0.9},  {10, -2.1},
    {20, -5.9},   {40, -10.4},  {63, -14.2},    {100, -17.3}, {200, -23.0},
};

enum { POINTS = DW_FLUTTER_WEIGHTING_POINTS, TAPS = 8192 };

// The curve as a spline: place, level and curvature of each point.
typedef struct {
    double x[POINTS], level[POINTS], bend[POINTS];
} Curve;

// Reference: natural cubic spline, its three-term equations solved by elimination.
static void join_points(Curve *curve)
{
    double share[POINTS] = {0}, right[POINTS] = {0};
    for (size_t i = 0; i < POINTS; i++) {
        curve->x[i] = log(dw_flutter_weighting_table[i].frequency_hz);
        curve->level[i] = dw_flutter_weighting_table[i].level_db;
        curve->bend[i] = 0;
    }
    for (size_t i = 1; i + 1 < POINTS; i++) {
        double before = curve->x[i] - curve->x[i - 1], after = curve->x[i + 1] - curve->x[i];
        double wanted =
            6 * ((curve->level[i + 1] - curve->level[i]) / after - (curve->level[i] - curve->level[i - 1]) / before);
        double middle = 2 * (before + after) - before * share[i - 1];
        share[i] = after / middle;
        right[i] = (wanted - before * right[i - 1]) / middle;
    }
    for (size_t i = POINTS - 2; i > 0; i--)
        curve->bend[i] = right[i] - share[i] * curve->bend[i + 1];
}

static double level_at(const Curve *curve, double x)
{
    size_t i = 0;
    while (i + 2 < POINTS && x > curve->x[i + 1])
        i++;
    double width = curve->x[i + 1] - curve->x[i], b = (x - curve->x[i]) / width, a = 1 - b;
    double straight = a * curve->level[i] + b * curve->level[i + 1];
    if (a > 1 || b > 1)
        return straight;
    return straight + ((a * a * a - a) * curve->bend[i] + (b * b * b - b) * curve->bend[i + 1]) * width * width / 6;
}

typedef struct {
    Curve curve;
    double rate_hz;
} Wanted;

static double wanted_gain(double frequency, const void *user)
{
    const Wanted *wanted = user;
    return pow(10, level_at(&wanted->curve, log(frequency * wanted->rate_hz)) / 20);
}

double dw_flutter_weighting_gain(double frequency_hz)
{
    Wanted wanted = {.rate_hz = 1};
    join_points(&wanted.curve);
    return wanted_gain(frequency_hz, &wanted);
}

DwLongFir *dw_flutter_weighting_filter(double rate_hz)
{
    Wanted wanted = {.rate_hz = rate_hz};
    join_points(&wanted.curve);
    return dw_long_fir_new(wanted_gain, &wanted, TAPS);
}
