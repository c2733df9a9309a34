// SPDX-License-Identifier: MIT
#include "dsp/flutter_weighting.h"
#include "support/suite.h"

#include <math.h>

// Source (memory): the published table, IEC 60386:1972 Table I / AES6
// Table 1 / DIN 45 507 (levels from memory, see docs/methods.md).
static const double published[][2] = {
    {0.2, -30.6}, {0.315, -19.7}, {0.4, -15}, {0.63, -8.4}, {0.8, -6},   {1, -4.2},   {1.6, -1.8},  {2, -0.9},
    {4, 0},       {6.3, -0.9},    {10, -2.1}, {20, -5.9},   {40, -10.4}, {63, -14.2}, {100, -17.3}, {200, -23},
};

static double no_past(size_t step, const void *user)
{
    (void)step;
    (void)user;
    return 0;
}

static double past_of_sine(size_t step, const void *user)
{
    (void)user;
    return sin(-2 * M_PI * 4 * (double)step / 1000);
}

// The gain of the filter's answer to one sample, by a plain sum.
static double gain_of(const double *answer, size_t count, double frequency)
{
    double real = 0, imaginary = 0;
    for (size_t n = 0; n < count; n++) {
        real += answer[n] * cos(2 * M_PI * frequency * (double)n);
        imaginary += answer[n] * sin(2 * M_PI * frequency * (double)n);
    }
    return hypot(real, imaginary);
}

START_TEST(the_filter_meets_the_published_table)
{
    enum { COUNT = 20000 };
    static const double rates[] = {1000, 1002.27, 1378.125};
    static double answer[COUNT];
    for (size_t r = 0; r < 3; r++) {
        DwLongFir *filter = dw_flutter_weighting_filter(rates[r]);
        for (size_t n = 0; n < COUNT; n++)
            answer[n] = n == 0;
        dw_long_fir_run(filter, answer, COUNT, no_past, NULL);
        for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
            double level = 20 * log10(gain_of(answer, COUNT, published[i][0] / rates[r]));
            ck_assert_msg(fabs(level - published[i][1]) <= 0.02, "%g Hz: %.3f dB, table %.1f", published[i][0], level,
                          published[i][1]);
        }
        dw_long_fir_free(filter);
    }
}
END_TEST

START_TEST(known_points_between_the_table)
{
    // Source (worked apart): scipy's CubicSpline over the table's points: 5, 12.5 and 31.5 Hz; and once per
    // revolution at 33⅓, 45 and 78.26 rpm, dB.
    static const double points[][2] = {{0.5556, -9.934}, {0.75, -6.596}, {1.3043, -2.695},
                                       {5, -0.374},      {12.5, -3.116}, {31.5, -8.683}};
    for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
        double level = 20 * log10(dw_flutter_weighting_gain(points[i][0]));
        ck_assert_msg(fabs(level - points[i][1]) < 0.02, "%g Hz: %.3f dB", points[i][0], level);
    }
}
END_TEST

START_TEST(blocks_of_the_long_filter_join_without_a_seam)
{
    // A steady sine, its past known: the amplitude is the gain's from the first sample to the last.
    enum { COUNT = 70000 };
    static double sine[COUNT];
    static const double rate = 1000, f = 4;
    DwLongFir *filter = dw_flutter_weighting_filter(rate);
    for (size_t n = 0; n < COUNT; n++)
        sine[n] = sin(2 * M_PI * f * (double)n / rate);
    dw_long_fir_run(filter, sine, COUNT, past_of_sine, NULL);
    for (size_t n = 0; n + 250 <= COUNT; n += 250) {
        double most = 0;
        for (size_t i = n; i < n + 250; i++)
            most = fmax(most, fabs(sine[i]));
        ck_assert_double_eq_tol(most, 1, 0.002);
    }
    dw_long_fir_free(filter);
}
END_TEST

DW_SUITE("flutter weighting", the_filter_meets_the_published_table, known_points_between_the_table,
         blocks_of_the_long_filter_join_without_a_seam)
