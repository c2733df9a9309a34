// SPDX-License-Identifier: MIT
#include "physics/arm_found.h"
#include "support/suite.h"

#include <math.h>

static const DwGroove groove = {60.325, 146.05};
static const DwSlots wide = {20, 20};

static DwArm wanted_222(void)
{
    return dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, groove), 222);
}

// 222 mm, tangent at 64.2 and 118.5 mm: worked out with NumPy by another hand.
START_TEST(two_tangencies_give_the_arm)
{
    DwArm arm = dw_arm_at_distance((DwNulls){64.2, 118.5}, 222);
    ck_assert_double_eq_tol(arm.effective_length_mm, 238.5198, 0.00006);
    ck_assert_double_eq_tol(dw_arm_overhang(&arm), 16.5198, 0.00006);
    ck_assert_double_eq_tol(arm.offset_deg, 22.5188, 0.00006);
    // ±0.5 mm on the inner radius is ±0.124 mm and ±0.053°; 1 mm on the
    // distance −0.069 mm and −0.092°.
    DwArm inner = dw_arm_at_distance((DwNulls){64.7, 118.5}, 222);
    ck_assert_double_eq_tol(dw_arm_overhang(&inner) - dw_arm_overhang(&arm), 0.124, 0.0006);
    ck_assert_double_eq_tol(inner.offset_deg - arm.offset_deg, 0.053, 0.0006);
    DwArm farther = dw_arm_at_distance((DwNulls){64.2, 118.5}, 223);
    ck_assert_double_eq_tol(dw_arm_overhang(&farther) - dw_arm_overhang(&arm), -0.069, 0.0006);
    ck_assert_double_eq_tol(farther.offset_deg - arm.offset_deg, -0.092, 0.0006);
}
END_TEST

// Any arm's own nulls must give it back.
START_TEST(recovery_from_tangencies_is_exact)
{
    for (double length = 236; length < 242; length += 0.7)
        for (double offset = 22; offset < 26; offset += 0.3) {
            DwArm arm = {222, length, offset};
            DwNulls nulls;
            if (!dw_arm_nulls(&arm, &nulls))
                continue;
            DwArm again = dw_arm_at_distance(nulls, 222);
            ck_assert_double_eq_tol(again.effective_length_mm, length, 1e-9);
            ck_assert_double_eq_tol(again.offset_deg, offset, 1e-9);
        }
}
END_TEST

// 238.8 mm and 24.0° at 222 mm read −1.43182° at 66 and −1.21283° at 121 mm
// (NumPy, by another hand); 0.1° more at 66 is 0.234 mm and 0.097°.
START_TEST(two_errors_give_the_arm)
{
    DwArm arm;
    ck_assert(dw_arm_found_from_errors(222, (DwErrorReading[]){{66, -1.43182}, {121, -1.21283}}, 2, &arm));
    ck_assert_double_eq_tol(arm.effective_length_mm, 238.8, 0.00003);
    ck_assert_double_eq_tol(arm.offset_deg, 24.0, 0.00003);
    DwArm other;
    ck_assert(dw_arm_found_from_errors(222, (DwErrorReading[]){{121, -1.21283}, {66, -1.33182}}, 2, &other));
    ck_assert_double_eq_tol(fabs(other.effective_length_mm - arm.effective_length_mm), 0.234, 0.0006);
    ck_assert_double_eq_tol(fabs(other.offset_deg - arm.offset_deg), 0.097, 0.0006);
}
END_TEST

START_TEST(recovery_from_errors_is_exact)
{
    for (double length = 205; length < 262; length += 4.3)
        for (double offset = 0; offset < 30; offset += 5.5) {
            DwArm arm = {222, length, offset};
            DwErrorReading readings[4];
            for (int i = 0; i < 4; i++) {
                readings[i].radius_mm = 60 + 25 * i;
                readings[i].error_deg = dw_arm_tracking_error(&arm, readings[i].radius_mm);
            }
            for (size_t count = 2; count <= 4; count++) {
                DwArm again;
                ck_assert(dw_arm_found_from_errors(222, readings, count, &again));
                ck_assert_double_eq_tol(again.effective_length_mm, length, 1e-8);
                ck_assert_double_eq_tol(again.offset_deg, offset, 1e-8);
            }
        }
}
END_TEST

// Of three readings that no arm fits, the least-squares fit leaves a rest that
// is at right angles to both partial derivatives.
START_TEST(three_errors_are_fitted_by_least_squares)
{
    const DwErrorReading readings[] = {{60, 0.9}, {90, -1.4}, {140, 1.3}};
    DwArm arm;
    ck_assert(dw_arm_found_from_errors(222, readings, 3, &arm));
    double by_length = 0, by_offset = 0, square = 0;
    for (int i = 0; i < 3; i++) {
        double rest = readings[i].error_deg - dw_arm_tracking_error(&arm, readings[i].radius_mm);
        by_length += rest * dw_arm_error_per_length(&arm, readings[i].radius_mm);
        by_offset += rest;
        square += rest * rest;
    }
    ck_assert_double_eq_tol(by_length, 0, 1e-9);
    ck_assert_double_eq_tol(by_offset, 0, 1e-9);
    ck_assert_double_gt(square, 1e-4);
}
END_TEST

START_TEST(readings_that_no_arm_gives_are_refused)
{
    DwArm arm;
    ck_assert(!dw_arm_found_from_errors(222, (DwErrorReading[]){{66, -45}, {121, 45}}, 2, &arm));
}
END_TEST

// Slid and twisted away from right, the move must bring it back.
START_TEST(the_move_undoes_a_slip_and_a_twist)
{
    DwArm wanted = wanted_222();
    for (double slip = -2; slip <= 2; slip += 0.5)
        for (double twist = -2; twist <= 2; twist += 0.5) {
            DwArm found = dw_arm_slid(&wanted, slip);
            found.offset_deg += twist;
            DwArmMove move = dw_arm_move(&found, &wanted, wide, groove);
            ck_assert(move.allowed);
            ck_assert_double_eq_tol(move.after.effective_length_mm, wanted.effective_length_mm, 1e-9);
            ck_assert_double_eq_tol(move.after.offset_deg, wanted.offset_deg, 1e-9);
            // Undone in the other order it is the same slide to second order.
            ck_assert_double_eq_tol(move.slide_mm, -slip, fabs(twist) * 0.04 + 1e-9);
            if (twist == 0)
                ck_assert_double_eq_tol(move.slide_mm, -slip, 1e-9);
            if (twist == 0)
                ck_assert_double_eq_tol(move.twist_deg, 0, 1e-9);
            if (slip == 0)
                ck_assert_double_eq_tol(move.slide_mm, 0, 1e-9);
        }
}
END_TEST

START_TEST(slots_that_are_too_short_leave_the_best_there_is)
{
    DwArm wanted = wanted_222();
    DwArm found = dw_arm_slid(&wanted, 3);
    DwArmMove move = dw_arm_move(&found, &wanted, (DwSlots){5, 1}, groove);
    ck_assert(!move.allowed);
    ck_assert_double_eq_tol(move.slide_mm, -1, 1e-12);
    ck_assert_double_eq_tol(move.after.effective_length_mm, dw_arm_slid(&found, -1).effective_length_mm, 1e-12);
    // A little more or less twist is worse.
    DwTrackingSignal signal = {10, 100.0 / 3};
    DwTrackingCost best, other;
    ck_assert(dw_tracking_cost(&move.after, groove, signal, &best));
    for (double by = -0.1; by <= 0.1; by += 0.2) {
        DwArm arm = move.after;
        arm.offset_deg += by;
        ck_assert(dw_tracking_cost(&arm, groove, signal, &other));
        ck_assert_double_gt(other.weighted_error_deg_cm.value, best.weighted_error_deg_cm.value);
    }
}
END_TEST

// To first order a twist θ about screws that lie a behind the stylus shortens
// the arm by a·θ·sin β.
START_TEST(twisting_about_the_screws_carries_the_stylus)
{
    DwArm arm = wanted_222();
    double sine = sin(arm.offset_deg * M_PI / 180);
    ck_assert_double_eq_tol(dw_arm_twist_shift(&arm, 1, 9.5), -9.5 * sine * M_PI / 180, 0.002);
    ck_assert_double_eq_tol(dw_arm_twist_shift(&arm, 1, 0), 0, 1e-12);
}
END_TEST

DW_SUITE("arm as found", two_tangencies_give_the_arm, recovery_from_tangencies_is_exact, two_errors_give_the_arm,
         recovery_from_errors_is_exact, three_errors_are_fitted_by_least_squares,
         readings_that_no_arm_gives_are_refused, the_move_undoes_a_slip_and_a_twist,
         slots_that_are_too_short_leave_the_best_there_is, twisting_about_the_screws_carries_the_stylus)
