// SPDX-License-Identifier: MIT
#include "physics/arm_found.h"
#include "support/suite.h"

#include <math.h>

static const DwGroove groove = {60.325, 146.05};
static const DwHeadshell wide = {20, 20, INFINITY, 0};
static const DwAim aim = {DW_AIM_WORST_DISTORTION, {NAN, NAN}, {60.325, 146.05}};

static DwArm wanted_222(void)
{
    return dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, groove), 222);
}

// 222 mm, tangent at 64.2 and 118.5 mm. Source (worked apart): NumPy, by another hand.
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

// Slid and twisted away from right, the move must bring it back.
START_TEST(the_move_undoes_a_slip_and_a_twist)
{
    DwArm wanted = wanted_222();
    for (double slip = -2; slip <= 2; slip += 0.5)
        for (double twist = -2; twist <= 2; twist += 0.5) {
            DwArm found = dw_arm_slid(&wanted, slip);
            found.offset_deg += twist;
            DwArmMove move = dw_arm_move(&found, &wanted, wide, &aim);
            ck_assert(move.allowed);
            ck_assert_double_eq_tol(move.after.effective_length_mm, wanted.effective_length_mm, 1e-9);
            ck_assert_double_eq_tol(move.after.offset_deg, wanted.offset_deg, 1e-9);
            // The screws cannot go across the slots, so the stylus does: a twist costs 9.5 mm · sin β of slide a
            // radian.
            ck_assert_double_eq_tol(move.slide_mm, -slip, fabs(twist) * 0.12 + 1e-9);
            DwArm done = dw_arm_moved(&found, move.slide_mm, move.twist_deg);
            ck_assert_double_eq_tol(done.effective_length_mm, wanted.effective_length_mm, 1e-9);
            ck_assert_double_eq_tol(done.offset_deg, wanted.offset_deg, 1e-9);
            if (twist == 0)
                ck_assert_double_eq_tol(move.slide_mm, -slip, 1e-9);
            if (twist == 0)
                ck_assert_double_eq_tol(move.twist_deg, 0, 1e-9);
        }
}
END_TEST

START_TEST(slots_that_are_too_short_leave_the_best_there_is)
{
    DwArm wanted = wanted_222();
    DwArm found = dw_arm_slid(&wanted, 3);
    DwArmMove move = dw_arm_move(&found, &wanted, (DwHeadshell){5, 1, INFINITY, 0}, &aim);
    ck_assert(!move.allowed);
    ck_assert_double_eq_tol(move.slide_mm, -1, 1e-12);
    ck_assert_double_eq_tol(move.after.effective_length_mm,
                            dw_arm_moved(&found, -1, move.twist_deg).effective_length_mm, 1e-12);
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

// A headshell that allows less never does better, and stays within what it allows.
START_TEST(each_headshell_keeps_to_what_it_allows)
{
    DwArm wanted = wanted_222();
    const DwHeadshell shells[] = {{6, 6, INFINITY, 0}, {6, 6, 0, 0}, dw_headshell_holes(0.2), {0, 0, 0, 0}};
    for (double slip = -2; slip <= 2; slip += 1)
        for (double twist = -2; twist <= 2; twist += 1) {
            DwArm found = dw_arm_moved(&wanted, slip, twist);
            double cost[4];
            for (int i = 0; i < 4; i++) {
                DwArmMove move = dw_arm_move(&found, &wanted, shells[i], &aim);
                cost[i] = dw_arm_aim_cost(&move.after, &aim);
                ck_assert_double_le(fabs(move.slide_mm), shells[i].forward_mm + 1e-9);
                ck_assert_double_le(fabs(move.twist_deg), shells[i].twist_deg + 1e-9);
                // Each screw stays in its hole: shifted by the slide and by the twist about their middle.
                double turn = fabs(move.twist_deg) * M_PI / 180;
                if (shells[i].clearance_mm > 0)
                    ck_assert_double_le(fabs(move.slide_mm) + 6.35 * turn, 0.2 + 1e-6);
            }
            ck_assert_double_le(cost[0], cost[1] + 1e-9);
            ck_assert_double_le(cost[1], cost[3] + 1e-9);
            ck_assert_double_le(cost[2], cost[3] + 1e-9);
        }
}
END_TEST

// Slid alone, no other slide is better than the one that is told.
START_TEST(the_slide_alone_is_the_best_there_is)
{
    DwArm wanted = wanted_222();
    DwArm found = dw_arm_moved(&wanted, 1, 1.5);
    DwArmMove move = dw_arm_move(&found, &wanted, (DwHeadshell){8, 8, 0, 0}, &aim);
    ck_assert(move.helps && !move.allowed);
    double best = dw_arm_aim_cost(&move.after, &aim);
    for (double slide = -8; slide <= 8; slide += 0.01) {
        DwArm arm = dw_arm_slid(&found, slide);
        ck_assert_double_ge(dw_arm_aim_cost(&arm, &aim), best - 1e-9);
    }
}
END_TEST

// An arm that is better than the one wanted is left as it is.
START_TEST(a_move_for_the_worse_is_not_made)
{
    DwArm better = wanted_222(), wanted = dw_arm_moved(&better, 1, 0.5);
    DwArmMove move = dw_arm_move(&better, &wanted, wide, &aim);
    ck_assert(!move.helps);
    ck_assert_double_eq(move.slide_mm, 0);
    ck_assert_double_eq(move.twist_deg, 0);
    ck_assert_double_eq(move.after.offset_deg, better.offset_deg);
}
END_TEST

DW_SUITE("arm as found", two_tangencies_give_the_arm, recovery_from_tangencies_is_exact,
         the_move_undoes_a_slip_and_a_twist, slots_that_are_too_short_leave_the_best_there_is,
         twisting_about_the_screws_carries_the_stylus, each_headshell_keeps_to_what_it_allows,
         the_slide_alone_is_the_best_there_is, a_move_for_the_worse_is_not_made)
