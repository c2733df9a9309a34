// SPDX-License-Identifier: MIT
#include "physics/azimuth.h"
#include "support/suite.h"

#include <math.h>
#include <stdbool.h>

static double complex from_db(double decibels, double degrees)
{
    return pow(10, decibels / 20) * cexp(I * degrees * M_PI / 180);
}

// Outputs of a pickup leaning by θ, its coils turned by δ besides and leaking k
// into each other; each leak over that channel's own output. Bands tell its
// level only, not its phase, so IN_BAND counts the phase from the driven channel.
static void ratios(bool in_band, double theta_deg, double delta_left, double delta_right, double complex k,
                   double complex x[2])
{
    double a = (theta_deg + delta_left) * M_PI / 180, b = (theta_deg + delta_right) * M_PI / 180;
    double complex left[2] = {cos(a) + k * sin(b), sin(b) + k * cos(a)};  // with the left wall driven
    double complex right[2] = {k * cos(b) - sin(a), cos(b) - k * sin(a)}; // with the right wall driven
    double gain = cabs(right[1]) / cabs(left[0]);
    x[0] = in_band ? left[1] / left[0] / gain : left[1] / right[1];
    x[1] = in_band ? right[0] / right[1] * gain : right[0] / left[0];
}

// Source (worked apart): NumPy, the tones with their leaks turned as vectors, true tilt 2° and 0°.
static const struct {
    double theta, delta_left, delta_right, leak, phase_deg;
    double right_db, right_deg, left_db, left_deg, mean_deg;
} table[] = {
    {2, 0, 0, 0, 0, -29.14, 0, -29.14, 180, 2.0000},          {2, -1, 1, 0, 0, -25.61, 0, -35.16, 180, 2.0000},
    {2, 0, 0, 0.03, 0, -23.74, 0, -46.17, 180, 2.0000},       {2, 0, 0, 0.03, 60, -24.99, 27.5, -29.70, 127.4, 1.9986},
    {2, 0, 0, 0.03, 90, -26.74, 40.7, -26.74, 139.3, 1.9982}, {0, 0, 0, 0.03, 0, -30.46, 0, -30.46, 0, 0.0000},
};

START_TEST(the_table_of_checks)
{
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double complex x[2];
        double complex leak = table[i].leak * cexp(I * table[i].phase_deg * M_PI / 180);
        ratios(false, table[i].theta, table[i].delta_left, table[i].delta_right, leak, x);
        ck_assert_double_eq_tol(20 * log10(cabs(x[0])), table[i].right_db, 6e-3);
        ck_assert_double_eq_tol(20 * log10(cabs(x[1])), table[i].left_db, 6e-3);
        ck_assert_double_eq_tol(carg(x[0]) * 180 / M_PI, table[i].right_deg, 0.06);
        ck_assert_double_eq_tol(fabs(carg(x[1])) * 180 / M_PI, table[i].left_deg, 0.06);
        ck_assert_double_eq_tol(dw_azimuth_explain(x[0], x[1]).rotation_deg, table[i].mean_deg, 6e-5);
        double complex seen[2];
        ratios(true, table[i].theta, table[i].delta_left, table[i].delta_right, leak, seen);
        ck_assert_double_eq_tol(dw_azimuth_explain(seen[0], seen[1]).rotation_deg, table[i].theta, 4e-3);
        // From the printed decibels and degrees alone the angle comes back too.
        DwAzimuth printed = dw_azimuth_explain(from_db(table[i].right_db, table[i].right_deg),
                                               from_db(table[i].left_db, table[i].left_deg));
        ck_assert_double_eq_tol(printed.rotation_deg, table[i].mean_deg, 3e-3);
    }
}
END_TEST

START_TEST(crosstalk_of_a_tilt)
{
    // Source (recomputed): 20 log tan θ.
    static const double rows[][2] = {{0.25, -47.20}, {0.5, -41.18}, {1, -35.16}, {1.5, -31.64}, {2, -29.14},
                                     {3, -25.61},    {4, -23.11},   {5, -21.16}, {10, -15.07}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double t = tan(rows[i][0] * M_PI / 180);
        DwAzimuth azimuth = dw_azimuth_explain(t, -t);
        ck_assert_double_eq_tol(azimuth.rotation_deg, rows[i][0], 1e-9);
        ck_assert_double_eq_tol(azimuth.separation_db[0], -rows[i][1], 6e-3);
        ck_assert_double_ge(azimuth.possible_db[0], 200); // nothing but the tilt
        ck_assert_double_lt(cabs(azimuth.symmetric), 1e-12);
    }
}
END_TEST

START_TEST(a_leak_is_left_over)
{
    double complex x[2];
    ratios(true, 2, 0, 0, 0.03, x);
    DwAzimuth azimuth = dw_azimuth_explain(x[0], x[1]);
    // The leak alone is 20 log 0.03 = 30.46 dB down.
    ck_assert_double_eq_tol(azimuth.possible_db[0], 30.46, 0.03);
    ck_assert_double_eq_tol(azimuth.possible_db[1], 30.46, 0.03);
    ck_assert_double_eq_tol(-20 * log10(cabs(azimuth.symmetric)), 30.46, 0.03);
}
END_TEST

START_TEST(lateral_against_vertical)
{
    // Source (worked apart): NumPy, θ = 2°, gains 1.05.
    double gain_db;
    ck_assert_double_eq_tol(dw_azimuth_by_balance(-0.1831, 1.0307, &gain_db), 2.000, 1e-3);
    ck_assert_double_eq_tol(gain_db, 0.4238, 1e-4);
    // 0.303 dB a degree either way.
    ck_assert_double_eq_tol(dw_azimuth_by_balance(-0.3032, 0.3032, &gain_db), 1, 1e-3);
}
END_TEST

START_TEST(shims)
{
    ck_assert_double_eq_tol(dw_azimuth_shim_mm(1, 18), 0.3142, 1e-4); // 18 tan 1°
    ck_assert_double_eq_tol(dw_azimuth_shim_mm(-1, 18), 0.3142, 1e-4);
}
END_TEST

START_TEST(turning_a_pickup_is_what_explaining_undoes)
{
    static const double leans[] = {-3, 0.5, 2};
    for (size_t i = 0; i < sizeof leans / sizeof *leans; i++) {
        double left[2] = {1, 0}, right[2] = {0, 1};
        dw_azimuth_turn(leans[i], left);
        dw_azimuth_turn(leans[i], right);
        ck_assert_double_eq_tol(dw_azimuth_explain(left[1] / left[0], right[0] / right[1]).rotation_deg, leans[i],
                                1e-9);
        ck_assert_double_eq_tol(hypot(left[0], left[1]), 1, 1e-12);
        // A leaning pickup feels lateral movement in both coils unalike: L/R = (1 − t)/(1 + t), see the page.
        double lateral[2] = {1, 1}, tangent = tan(leans[i] * M_PI / 180);
        dw_azimuth_turn(leans[i], lateral);
        ck_assert_double_eq_tol(lateral[0] / lateral[1], (1 - tangent) / (1 + tangent), 1e-12);
    }
}
END_TEST

DW_SUITE("physics azimuth", the_table_of_checks, crosstalk_of_a_tilt, a_leak_is_left_over, lateral_against_vertical,
         shims, turning_a_pickup_is_what_explaining_undoes)
