// SPDX-License-Identifier: MIT
#include "physics/force.h"
#include "support/suite.h"

#include <math.h>

START_TEST(repeats_are_averaged_with_students_factor)
{
    // Source (published): t(0.975, 2) = 4.303 and t(0.975, 9) = 2.262 (Student's table, in any handbook).
    const double three[] = {1.80, 1.83, 1.77};
    DwForceMean mean = dw_force_mean(three, 3);
    ck_assert_double_eq_tol(mean.mean, 1.80, 1e-12);
    ck_assert_double_eq_tol(mean.deviation, 0.03, 1e-12);
    ck_assert_double_eq_tol(mean.half_width, 4.303 * 0.03 / sqrt(3), 2e-5);
    const double ten[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};
    mean = dw_force_mean(ten, 10);
    ck_assert_double_eq_tol(mean.half_width, 2.262 * 3.02765 / sqrt(10), 1e-3);
    ck_assert_double_eq(dw_force_mean(three, 1).half_width, 0);
}
END_TEST

START_TEST(the_weight_moves_as_the_moments_ask)
{
    // Source (worked apart): the moments about the bearing before and after, which the record's push must bring to
    // nothing.
    static const double rows[][3] = {// force at first, force wanted, weight
                                     {0, 1.8, 100},
                                     {0, 1.75, 110},
                                     {1.5, 2.5, 80},
                                     {2, 1.9, 100}};
    for (size_t i = 0; i < 4; i++) {
        double front = 20 * 210, place = (front - rows[i][0] * 230) / rows[i][2];
        double moved = place - dw_force_shift_mm(rows[i][1] - rows[i][0], 0, 230, rows[i][2]);
        ck_assert_double_eq_tol(front - rows[i][2] * moved - rows[i][1] * 230, 0, 1e-9);
        // 2 g more at the stylus, the same force: the weight goes back.
        moved = place - dw_force_shift_mm(0, 2, 230, rows[i][2]);
        ck_assert_double_eq_tol(front + 2 * 230 - rows[i][2] * moved - rows[i][0] * 230, 0, 1e-9);
    }
}
END_TEST

START_TEST(effective_mass_follows_the_weight)
{
    // L = 230 mm, front moment 4330 g·mm, 1.8 gf: weights of 60 … 150 g stand at
    // 65.3/49.0/39.2/32.6/26.1 mm and contribute 4.83/3.62/2.90/2.42/1.93 g; 2 g
    // more at the stylus adds 0.72 g of counterweight. Source (recomputed): W·x²/L².
    static const double weights[][3] = {
        {60, 65.3, 4.83}, {80, 49.0, 3.62}, {100, 39.2, 2.90}, {120, 32.6, 2.42}, {150, 26.1, 1.93}};
    for (size_t i = 0; i < 5; i++) {
        double place = (4330 - 1.8 * 230) / weights[i][0];
        ck_assert_double_eq_tol(place, weights[i][1], 0.06);
        ck_assert_double_eq_tol(dw_force_mass_change_g(weights[i][0], 0, place, 230), weights[i][2], 0.0051);
    }
    ck_assert_double_eq_tol(dw_force_mass_change_g(100, 39.16, 43.76, 230), 0.72, 0.005);
}
END_TEST

START_TEST(height_changes_the_force_as_the_whole_arm_turns)
{
    // The moments of every mass summed point by point, the arm turned as a whole
    // about its bearing: front 20 g at 190 mm level with the axis, stylus 20 mm
    // below it at 230 mm, weight 100 g dropped 10 mm.
    const DwForceBalance balance = {230, 100, 10, 20};
    double place = (20.0 * 190 - 1.8 * 230) / 100;
    for (double tilt = -0.02; tilt <= 0.0201; tilt += 0.005) {
        double front = 20 * 190 * cos(tilt);
        double back = 100 * (place * cos(tilt) - 10 * sin(tilt));
        double lever = 230 * cos(tilt) + 20 * sin(tilt);
        double rise = 230 * tan(tilt); // the slope that stands in the equation
        ck_assert_double_eq_tol(dw_force_at_rise_g(&balance, 1.8, rise), (front - back) / lever, 1e-9);
        ck_assert_double_eq_tol(dw_force_from_rise_g(&balance, (front - back) / lever, rise), 1.8, 1e-9);
    }
    // A pan 3 mm above the record reads 0.055 g too much on such an arm.
    ck_assert_double_eq_tol(dw_force_at_rise_g(&balance, 1.8, 3) - 1.8, 0.055, 0.001);
    const DwForceBalance level = {230, 100, 0, 0};
    ck_assert_double_eq_tol(dw_force_at_rise_g(&level, 1.8, 5), 1.8, 1e-12);
}
END_TEST

DW_SUITE("force", repeats_are_averaged_with_students_factor, the_weight_moves_as_the_moments_ask,
         effective_mass_follows_the_weight, height_changes_the_force_as_the_whole_arm_turns)
