// SPDX-License-Identifier: MIT
#include "physics/arm_fit.h"

#include "physics/alignment.h"
#include "support/suite.h"

#include <math.h>

static const DwGroove groove = {60.325, 146.05};

static DwArmPrior prior_222(double deviation_mm)
{
    return (DwArmPrior){dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, groove), 222), deviation_mm};
}

static DwArmReading error_at(double radius_mm, double error_deg)
{
    return (DwArmReading){DW_ARM_READ_ERROR, radius_mm, error_deg, 0, 0.1};
}

// Source (worked apart): 238.8 mm and 24.0° at 222 mm read −1.43182° at 66 and −1.21283° at 121 mm
// (NumPy, by another hand); 0.1° more at 66 is 0.234 mm and 0.097°.
START_TEST(two_errors_give_the_arm)
{
    DwArmPrior prior = prior_222(0);
    DwArmFit fit, other;
    ck_assert(dw_arm_fit((DwArmReading[]){error_at(66, -1.43182), error_at(121, -1.21283)}, 2, &prior, &fit));
    ck_assert_double_eq_tol(fit.arm.effective_length_mm, 238.8, 0.00003);
    ck_assert_double_eq_tol(fit.arm.offset_deg, 24.0, 0.00003);
    ck_assert_int_eq(fit.freedom, 0);
    ck_assert(isnan(fit.residual_deg));
    ck_assert(dw_arm_fit((DwArmReading[]){error_at(121, -1.21283), error_at(66, -1.33182)}, 2, &prior, &other));
    ck_assert_double_eq_tol(fabs(other.arm.effective_length_mm - fit.arm.effective_length_mm), 0.234, 0.0006);
    ck_assert_double_eq_tol(fabs(other.arm.offset_deg - fit.arm.offset_deg), 0.097, 0.0006);
}
END_TEST

START_TEST(recovery_is_exact)
{
    DwArmPrior prior = prior_222(0);
    for (double length = 205; length < 262; length += 4.3)
        for (double offset = 0; offset < 30; offset += 5.5) {
            DwArm arm = {222, length, offset};
            DwArmReading readings[5];
            for (int i = 0; i < 4; i++)
                readings[i] = error_at(60 + 25 * i, dw_arm_tracking_error(&arm, 60 + 25 * i));
            readings[4] = (DwArmReading){DW_ARM_READ_OVERHANG, NAN, length - 222, 0, 0.1};
            for (size_t count = 2; count <= 5; count++) {
                DwArmFit fit;
                ck_assert(dw_arm_fit(readings, count, &prior, &fit));
                ck_assert_double_eq_tol(fit.arm.effective_length_mm, length, 1e-8);
                ck_assert_double_eq_tol(fit.arm.offset_deg, offset, 1e-8);
                if (count > 2)
                    ck_assert_double_lt(fit.residual_deg, 1e-8);
                ck_assert(!dw_arm_fit_doubt(readings, count, &(DwArmPrior){arm, 0}, &fit).doubtful);
            }
        }
}
END_TEST

// Of three readings that no arm fits, the least-squares fit leaves a rest that
// is at right angles to both partial derivatives.
START_TEST(three_errors_are_fitted_by_least_squares)
{
    const DwArmReading readings[] = {error_at(60, 0.9), error_at(90, -1.4), error_at(140, 1.3)};
    DwArmPrior prior = prior_222(0);
    DwArmFit fit;
    ck_assert(dw_arm_fit(readings, 3, &prior, &fit));
    double by_length = 0, by_offset = 0, square = 0;
    for (int i = 0; i < 3; i++) {
        double rest = readings[i].value - dw_arm_tracking_error(&fit.arm, readings[i].radius_mm);
        by_length += rest * dw_arm_error_per_length(&fit.arm, readings[i].radius_mm);
        by_offset += rest;
        square += rest * rest;
    }
    ck_assert_double_eq_tol(by_length, 0, 1e-5);
    ck_assert_double_eq_tol(by_offset, 0, 1e-5);
    ck_assert_double_gt(square, 1e-4);
    ck_assert_double_eq_tol(fit.residual_deg, sqrt(square), 1e-5); // one reading more than an arm needs
    ck_assert_double_eq_tol(fit.chi_square, square / 0.01, 1e-3);
}
END_TEST

START_TEST(readings_that_no_arm_gives_are_refused)
{
    DwArmPrior prior = prior_222(0);
    DwArmFit fit;
    ck_assert(!dw_arm_fit((DwArmReading[]){error_at(66, -45), error_at(121, 45)}, 2, &prior, &fit));
}
END_TEST

// The drawn deviates have the covariance: along one axis they move by its root.
START_TEST(the_spread_is_the_covariance)
{
    DwArmPrior prior = prior_222(0.25);
    DwArmFit fit;
    ck_assert(dw_arm_fit((DwArmReading[]){error_at(66, -1.4), error_at(121, -1.2)}, 2, &prior, &fit));
    double sum[3][3] = {{0}};
    for (int axis = 0; axis < 3; axis++) {
        double z[3] = {0};
        z[axis] = 1;
        DwArm arm = dw_arm_fit_at(&fit, z);
        const double by[] = {arm.pivot_to_spindle_mm - fit.arm.pivot_to_spindle_mm,
                             arm.effective_length_mm - fit.arm.effective_length_mm,
                             arm.offset_deg - fit.arm.offset_deg};
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++)
                sum[i][j] += by[i] * by[j];
    }
    ck_assert_double_eq_tol(sqrt(sum[0][0]), 0.25, 1e-6);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            ck_assert_double_eq_tol(sum[i][j], fit.covariance[i][j], 1e-9);
}
END_TEST

// One of five angles with its sign turned, and one misread by 2°, is the one to take again.
START_TEST(the_wrong_reading_is_named)
{
    DwArmPrior prior = prior_222(0.25);
    DwArm arm = dw_arm_slid(&prior.arm, 2);
    arm.offset_deg += 1;
    static const double radii[] = {64, 80, 100, 120, 142};
    for (size_t wrong = 0; wrong < 5; wrong++)
        for (int slip = 0; slip < 2; slip++) {
            DwArmReading readings[5];
            for (size_t i = 0; i < 5; i++)
                readings[i] = error_at(radii[i], dw_arm_tracking_error(&arm, radii[i]));
            if (slip && fabs(readings[wrong].value) < 0.6)
                continue;
            readings[wrong].value = slip ? -readings[wrong].value : readings[wrong].value + 2;
            DwArmFit fit;
            ck_assert(dw_arm_fit(readings, 5, &prior, &fit));
            DwArmDoubt doubt = dw_arm_fit_doubt(readings, 5, &prior, &fit);
            ck_assert(doubt.doubtful && doubt.rest_agree);
            ck_assert_uint_eq(doubt.suspect, wrong);
            ck_assert_int_eq(doubt.other_sign, slip);
            ck_assert_double_eq_tol(doubt.without.effective_length_mm, arm.effective_length_mm, 0.05);
        }
}
END_TEST

// Angles counted the other way round: it is every sign, and of right readings or of one slip it is not.
START_TEST(all_signs_turned_are_told)
{
    DwArmPrior prior = prior_222(0.25);
    DwArm arm = dw_arm_slid(&prior.arm, 1.5);
    arm.offset_deg += 1.2;
    static const double radii[] = {64, 80, 100, 120, 142};
    for (int turned = 0; turned < 2; turned++) {
        DwArmReading readings[6];
        for (size_t i = 0; i < 5; i++)
            readings[i] = error_at(radii[i], (turned ? -1 : 1) * dw_arm_tracking_error(&arm, radii[i]));
        readings[5] = (DwArmReading){DW_ARM_READ_OVERHANG, NAN, dw_arm_overhang(&arm), 0, 0.25};
        readings[2].value += turned ? 0 : 2;
        DwArmFit fit;
        bool fits = dw_arm_fit(readings, 6, &prior, &fit);
        DwArmDoubt doubt = dw_arm_fit_doubt(readings, 6, &prior, fits ? &fit : NULL);
        ck_assert(doubt.doubtful);
        ck_assert_int_eq(doubt.all_turned, turned);
    }
}
END_TEST

// An arc drawn for 222 mm and 239.296 mm, the arm mounted at 222.6 mm with 240.1 mm, the paper turned by 0.1°:
// misses by complex numbers in Python.
START_TEST(hits_of_a_drawn_arc_are_readings)
{
    DwArm arm = {222.6, 240.1, 23.4}, drawn = {222, 239.296, 0};
    static const double radii[] = {62, 100, 143}, misses[] = {0.124775, 0.096898, 0.090410};
    for (int i = 0; i < 3; i++)
        ck_assert_double_eq_tol(dw_arm_arc_miss(&arm, &drawn, 0.1, radii[i]), misses[i], 1e-5);
    DwArmPrior prior = prior_222(1);
    prior.arm = (DwArm){222.6, 239, 23};
    prior.drawn = drawn;
    prior.turn_deviation_deg = 0.2;
    DwArmReading readings[6] = {error_at(62, dw_arm_tracking_error(&arm, 62)),
                                error_at(100, dw_arm_tracking_error(&arm, 100)),
                                error_at(143, dw_arm_tracking_error(&arm, 143))};
    for (int i = 0; i < 3; i++)
        readings[3 + i] = (DwArmReading){DW_ARM_READ_ARC, radii[i], dw_arm_arc_miss(&arm, &drawn, 0, radii[i]), 0, 0.1};
    DwArmFit fit;
    ck_assert(dw_arm_fit(readings, 6, &prior, &fit));
    ck_assert_double_eq_tol(fit.arm.effective_length_mm, 240.1, 1e-6);
    ck_assert_double_eq_tol(fit.arm.offset_deg, 23.4, 1e-6);
    // One with its sign turned is named.
    readings[4].value = -2;
    ck_assert(dw_arm_fit(readings, 6, &prior, &fit));
    DwArmDoubt doubt = dw_arm_fit_doubt(readings, 6, &prior, &fit);
    ck_assert(doubt.doubtful && doubt.suspect == 4);
}
END_TEST

DW_SUITE("arm fitted", all_signs_turned_are_told, hits_of_a_drawn_arc_are_readings, two_errors_give_the_arm,
         recovery_is_exact, three_errors_are_fitted_by_least_squares, readings_that_no_arm_gives_are_refused,
         the_spread_is_the_covariance, the_wrong_reading_is_named)
