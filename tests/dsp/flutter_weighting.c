// SPDX-License-Identifier: MIT
#include "dsp/flutter_weighting.h"
#include "support/suite.h"

#include <math.h>

// The published table: IEC 60386:1972 Table I / AES6
// Table 1 / DIN 45 507 (levels from memory, see docs/methods.md).
static const double published[][2] = {
    {0.2, -30.6}, {0.315, -19.7}, {0.4, -15}, {0.63, -8.4}, {0.8, -6},   {1, -4.2},   {1.6, -1.8},  {2, -0.9},
    {4, 0},       {6.3, -0.9},    {10, -2.1}, {20, -5.9},   {40, -10.4}, {63, -14.2}, {100, -17.3}, {200, -23},
};

START_TEST(the_filter_meets_the_published_table)
{
    static const double rates[] = {1000, 1002.27, 1060};
    for (size_t r = 0; r < 3; r++) {
        DwSections sections = dw_flutter_weighting_sections(rates[r]);
        for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
            double f = published[i][0];
            double gain = dw_sections_gain(&sections, f, rates[r]) * dw_flutter_weighting_mend(&sections, f, rates[r]);
            double level = 20 * log10(gain), off = f == 4 ? 0.05 : 0.3;
            ck_assert_msg(fabs(level - published[i][1]) <= off, "%g Hz: %.3f dB, table %.1f", f, level,
                          published[i][1]);
        }
    }
}
END_TEST

START_TEST(known_points_between_the_table)
{
    // Computed independently from the same law: once per revolution at 33⅓, 45 and 78.26 rpm.
    ck_assert_double_eq_tol(dw_flutter_weighting_gain(0.5556), 0.319, 0.001);
    ck_assert_double_eq_tol(dw_flutter_weighting_gain(0.75), 0.470, 0.001);
    ck_assert_double_eq_tol(dw_flutter_weighting_gain(1.3043), 0.744, 0.001);
}
END_TEST

DW_SUITE("flutter weighting", the_filter_meets_the_published_table, known_points_between_the_table)
