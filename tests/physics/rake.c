// SPDX-License-Identifier: MIT
#include "physics/rake.h"
#include "support/suite.h"

#include <math.h>

#define DEGREES (180 / M_PI)

static double rise_deg(double length, double offset_deg, double turn_deg, double rise, double *pitch, double *roll)
{
    DwRakeArm arm = {length, offset_deg / DEGREES, turn_deg / DEGREES};
    DwRakeTilt tilt = dw_rake_tilt(&arm, rise);
    *pitch = tilt.pitch * DEGREES;
    *roll = tilt.roll * DEGREES;
    return tilt.tilt * DEGREES;
}

START_TEST(degrees_per_millimetre)
{
    // Source (recomputed): 0.2506, 0.2394, 0.2256, 0.1880 °/mm.
    static const double rows[][2] = {{228.6, 0.2506}, {239.3, 0.2394}, {254, 0.2256}, {304.8, 0.1880}};
    for (size_t i = 0; i < 4; i++) {
        DwRakeArm arm = {rows[i][0], 0, 0};
        ck_assert_double_eq_tol(dw_rake_tilt(&arm, 1).pitch * DEGREES, rows[i][1], 6e-5);
        ck_assert_double_eq_tol(dw_rake_rise_mm(&arm, dw_rake_tilt(&arm, 3).pitch), 3, 1e-9);
    }
    // 3.99, 4.18, 4.43 and 5.32 mm a degree.
    static const double per_degree[] = {3.99, 4.18, 4.43, 5.32};
    for (size_t i = 0; i < 4; i++)
        ck_assert_double_eq_tol(dw_rake_rise_mm(&(DwRakeArm){rows[i][0], 0, 0}, 1 / DEGREES), per_degree[i], 6e-3);
}
END_TEST

START_TEST(an_axis_square_to_the_arm_turns_the_azimuth_too)
{
    // Source (recomputed): the last row checked there with a full
    // rotation in space. Columns: L, β, γ, rise, tilt, pitch, roll.
    static const double rows[][7] = {
        {239.296, 22.986, 0, 1, 0.2394, 0.2204, 0.0935},
        {239.296, 22.986, 22.986, 1, 0.2601, 0.2601, 0}, // a rigid body about that axis, from which it is L cos γ away
        {228.6, 24.128, 0, 2, 0.5013, 0.4575, 0.2049},
        {239.3, 22.986, 0, 5, 1.1972, 1.1022, 0.4675},
    };
    for (size_t i = 0; i < 4; i++) {
        double pitch, roll;
        double tilt = rise_deg(rows[i][0], rows[i][1], rows[i][2], rows[i][3], &pitch, &roll);
        ck_assert_double_eq_tol(tilt, rows[i][4], 6e-5);
        ck_assert_double_eq_tol(pitch, rows[i][5], 6e-5);
        ck_assert_double_eq_tol(roll, rows[i][6], 6e-5);
    }
}
END_TEST

START_TEST(height_costs_length)
{
    // 5 mm: 0.052 mm with the bearing level with the stylus. Source (recomputed): Pythagoras.
    ck_assert_double_eq_tol(dw_rake_length_change_mm(239.3, 0, 5), -0.052, 5e-4);
    // With the bearing 20 mm up it is ten times as much; the slant stays what it was.
    double change = dw_rake_length_change_mm(239.3, 20, 5);
    ck_assert_double_eq_tol(hypot(239.3 + change, 25), hypot(239.3, 20), 1e-9);
    ck_assert_double_eq_tol(change, -0.471, 1e-3);
    ck_assert(isnan(dw_rake_length_change_mm(10, 0, 20)));
}
END_TEST

START_TEST(a_photograph_may_lie_any_way)
{
    // A stylus at 92°, built by its angle, turned, mirrored and scaled.
    for (int turn = 0; turn < 360; turn += 35)
        for (int mirror = -1; mirror <= 1; mirror += 2) {
            double record = turn / DEGREES, stylus = record + mirror * 92 / DEGREES;
            DwRakePoint tip = {400, 300};
            DwRakePoint top = {400 + 220 * cos(stylus), 300 + 220 * sin(stylus)};
            DwRakePoint side = {400 + 700 * cos(record), 300 + 700 * sin(record)};
            ck_assert_double_eq_tol(dw_rake_from_points(tip, top, side) * DEGREES, 92, 1e-9);
        }
    ck_assert(isnan(dw_rake_from_points((DwRakePoint){1, 1}, (DwRakePoint){1, 1}, (DwRakePoint){2, 1})));
}
END_TEST

START_TEST(picking_errors_spread_as_the_points_are_apart)
{
    // Against the numerical derivative of the angle by each of the six coordinates.
    DwRakePoint points[3] = {{400, 300}, {392, 80}, {1090, 310}};
    double *coordinates[6] = {&points[0].x, &points[0].y, &points[1].x, &points[1].y, &points[2].x, &points[2].y};
    double sum = 0;
    for (size_t i = 0; i < 6; i++) {
        double angle[2];
        for (int side = 0; side < 2; side++) {
            *coordinates[i] += side ? 2e-3 : -1e-3;
            angle[side] = dw_rake_from_points(points[0], points[1], points[2]);
        }
        *coordinates[i] -= 1e-3;
        double slope = (angle[1] - angle[0]) / 2e-3;
        sum += slope * slope;
    }
    ck_assert_double_eq_tol(dw_rake_point_deviation(points[0], points[1], points[2], 1), sqrt(sum), 1e-8);
}
END_TEST

START_TEST(shims_are_stacked_to_the_nearest_sum)
{
    const double shims[] = {0.1, 0.2, 0.5, 1.0, 0.3};
    ck_assert_uint_eq(dw_rake_stack(shims, 5, 1.52), 0xc); // 0.5 + 1.0
    ck_assert_uint_eq(dw_rake_stack(shims, 5, 0.3), 0x10); // one shim rather than two
    ck_assert_uint_eq(dw_rake_stack(shims, 5, 0.04), 0);   // none is nearer
    ck_assert_uint_eq(dw_rake_stack(shims, 5, 9), 0x1f);   // all of them
    ck_assert_double_eq_tol(dw_rake_wedge_mm(20, 1 / DEGREES), 0.3491, 5e-5);
}
END_TEST

DW_SUITE("rake", degrees_per_millimetre, an_axis_square_to_the_arm_turns_the_azimuth_too, height_costs_length,
         a_photograph_may_lie_any_way, picking_errors_spread_as_the_points_are_apart,
         shims_are_stacked_to_the_nearest_sum)
