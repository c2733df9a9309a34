// SPDX-License-Identifier: MIT
#include "physics/skating.h"
#include "support/suite.h"

#include <math.h>

#define DEGREES (180 / M_PI)

static const double pivot = 222, length = 239.2961;

// Source (worked apart): d = 222 mm, L = 239.296 mm, μ = 0.30, N = 20 mN: computed by another program
// from the cosine rule (S. K. Pramanik, "Understanding Tonearms", Audio, 1980).
static const struct {
    double radius, angle_deg, lever_mm, radial_mn, share, torque_unm, across_mn;
} rows[] = {
    {60.325, 23.728, 96.293, 2.637, 0.1319, 577.8, 2.41},  {65.998, 22.986, 93.445, 2.545, 0.1273, 560.7, 2.34},
    {89.323, 21.918, 89.323, 2.414, 0.1207, 535.9, 2.24},  {100.000, 22.065, 89.893, 2.432, 0.1216, 539.4, 2.25},
    {120.891, 22.985, 93.445, 2.545, 0.1273, 560.7, 2.34}, {146.050, 24.791, 100.340, 2.771, 0.1386, 602.0, 2.52},
};

START_TEST(the_check_table_to_its_printed_digits)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double angle = dw_skating_angle(pivot, length, rows[i].radius);
        ck_assert_double_eq_tol(angle * DEGREES, rows[i].angle_deg, 6e-4);
        ck_assert_double_eq_tol(length * sin(angle), rows[i].lever_mm, 1e-3);
        DwSkating skating = dw_skating_at(0.3, 20, length, angle);
        ck_assert_double_eq_tol(skating.radial_mn, rows[i].radial_mn, 6e-4);
        ck_assert_double_eq_tol(skating.radial_mn / 20, rows[i].share, 6e-5);
        ck_assert_double_eq_tol(skating.torque_unm, rows[i].torque_unm, 0.06);
        ck_assert_double_eq_tol(skating.across_mn, rows[i].across_mn, 6e-3);
    }
}
END_TEST

START_TEST(friction_carries_through)
{
    // Source (worked apart): in the plane the drag goes along the groove; what the tube holds goes along the tube, and
    // the rest is the pull along the radius. Two equations by their determinant.
    double angle = dw_skating_angle(pivot, length, 89.323);
    double x = (89.323 * 89.323 - length * length + pivot * pivot) / (2 * pivot), y = sqrt(89.323 * 89.323 - x * x);
    double tube[2] = {(x - pivot) / length, y / length}, radius[2] = {x / 89.323, y / 89.323};
    double groove[2] = {-radius[1], radius[0]}, determinant = tube[0] * radius[1] - tube[1] * radius[0];
    for (double friction = 0.2; friction < 0.55; friction += 0.1) {
        double pull = friction * (tube[0] * groove[1] - tube[1] * groove[0]) / determinant;
        ck_assert_double_eq_tol(dw_skating_at(friction, 1, length, angle).radial_mn, fabs(pull), 1e-9);
    }
}
END_TEST

START_TEST(a_published_example)
{
    // Source (published): an arm workshop's article on skating, 2022, 0.3 × 2 gf × 86/229 = 0.225 gf
    // across the arm; along the radius at 22° it is 0.242 gf.
    ck_assert_double_eq_tol(dw_skating_at(0.3, 2, 229, asin(86.0 / 229)).across_mn, 0.2253, 5e-5);
    ck_assert_double_eq_tol(dw_skating_at(0.3, 2, 229, 22 / DEGREES).radial_mn, 0.242, 5e-4);
}
END_TEST

START_TEST(the_inner_wall_carries_more)
{
    DwSkating skating = dw_skating_at(0.3, 1, length, dw_skating_angle(pivot, length, 89.323));
    ck_assert_double_eq_tol(skating.inner_mn, 0.7925, 6e-5); // derived: N(1 ± k)/√2
    ck_assert_double_eq_tol(skating.outer_mn, 0.6218, 6e-5);
}
END_TEST

START_TEST(underhung_arms_change_sign_at_their_null)
{
    // d > L: no pull where r² = d² − L², outward nearer the spindle.
    double null = sqrt(240.0 * 240 - 228.6 * 228.6);
    ck_assert_double_eq_tol(dw_skating_angle(240, 228.6, null), 0, 1e-12);
    ck_assert_double_lt(dw_skating_angle(240, 228.6, null - 5), 0);
    ck_assert(isnan(dw_skating_angle(222, 239.3, 5)));
}
END_TEST

// A spring of 10 µm/mN is pushed 100 µm by 10 mN; a lateral swing A moves each
// wall's own direction by A/√2, and the wall carries its share of the force over √2.
START_TEST(a_wall_holds_the_stylus_up_to_its_load)
{
    DwSkating level = dw_skating_at(0, 10, 239.3, 0.4);
    ck_assert_double_eq_tol(dw_skating_held_um(level.outer_mn, 10) * M_SQRT2, 100, 1e-9);
    // k = μ tan φ more inside, less outside; at μ = 0.3 and 89.323 mm k is 0.1207. Source (recomputed): by hand.
    DwSkating pulled = dw_skating_at(0.3, 20, 239.296, dw_skating_angle(222, 239.296, 89.323));
    ck_assert_double_eq_tol(dw_skating_held_um(pulled.inner_mn, 10) * M_SQRT2, 200 * 1.1207, 0.02);
    ck_assert_double_eq_tol(dw_skating_held_um(pulled.outer_mn, 10) * M_SQRT2, 200 * 0.8793, 0.02);
}
END_TEST

DW_SUITE("skating", the_check_table_to_its_printed_digits, friction_carries_through, a_published_example,
         the_inner_wall_carries_more, underhung_arms_change_sign_at_their_null, a_wall_holds_the_stylus_up_to_its_load)
