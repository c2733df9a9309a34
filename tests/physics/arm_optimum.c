// SPDX-License-Identifier: MIT
#include "physics/arm_optimum.h"
#include "support/suite.h"

#include <math.h>

static const DwGroove grooves[] = {{60.325, 146.05}, {57.5, 146.05}, {57.6, 146.5}, {57.6, 121}, {53, 84}};
enum { GROOVES = sizeof grooves / sizeof *grooves };

static void same_arm(const DwArm *found, const DwArm *closed, double length_mm, double angle_deg)
{
    ck_assert_double_eq_tol(found->pivot_to_spindle_mm, closed->pivot_to_spindle_mm, length_mm);
    ck_assert_double_eq_tol(found->effective_length_mm, closed->effective_length_mm, length_mm);
    ck_assert_double_eq_tol(found->offset_deg, closed->offset_deg, angle_deg);
}

START_TEST(search_and_closed_form_agree_for_loefgren_a_and_unweighted)
{
    for (int i = 0; i < GROOVES; i++) {
        DwArm a = dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, grooves[i]), 222);
        DwArm found = {222, 236, 18};
        DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_SINES, DW_OPTIMUM_LENGTH_AND_OFFSET};
        ck_assert(dw_arm_optimum_find(task, grooves[i], &found));
        same_arm(&found, &a, 0.0001, 0.0001);
        DwArm wilson = dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_UNWEIGHTED, grooves[i]), 222);
        found = (DwArm){222, 236, 18};
        task.criterion = DW_OPTIMUM_PEAK_ERROR;
        ck_assert(dw_arm_optimum_find(task, grooves[i], &found));
        same_arm(&found, &wilson, 0.0001, 0.0001);
    }
}
END_TEST

START_TEST(search_and_closed_form_agree_for_loefgren_b)
{
    for (int i = 0; i < GROOVES; i++) {
        // B keeps A's linear offset L sin β; at a stated length that is A's offset.
        DwArm found = dw_arm_at_length(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, grooves[i]), 237);
        DwArm b = dw_arm_at_length(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_B, grooves[i]), 237);
        DwOptimumTask task = {DW_OPTIMUM_RMS_WEIGHTED, DW_OPTIMUM_SINES, DW_OPTIMUM_DISTANCE};
        ck_assert(dw_arm_optimum_find(task, grooves[i], &found));
        same_arm(&found, &b, 0.001, 0.001);
    }
}
END_TEST

START_TEST(search_and_closed_form_agree_for_stevenson_a)
{
    for (int i = 0; i < GROOVES; i++) {
        DwArm found = dw_arm_at_distance((DwNulls){grooves[i].inner_mm, grooves[i].outer_mm - 20}, 222);
        DwArm s = dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_STEVENSON_A, grooves[i]), 222);
        DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_SINES, DW_OPTIMUM_OUTER_NULL};
        ck_assert(dw_arm_optimum_find(task, grooves[i], &found));
        same_arm(&found, &s, 0.0001, 0.0001);
    }
}
END_TEST

// What equalising true angles changes, overhang and offset. Source (worked apart): NumPy, by another hand.
START_TEST(true_angles_change_the_optimum_by_little)
{
    static const double table[][3] = {
        {210, 0.0170, 0.0170}, {222, 0.0145, 0.0145}, {239.3, 0.0116, 0.0117}, {295, 0.0063, 0.0064}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        DwArm a = dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, grooves[0]), table[i][0]);
        DwArm found = a;
        DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_ANGLES, DW_OPTIMUM_LENGTH_AND_OFFSET};
        ck_assert(dw_arm_optimum_find(task, grooves[0], &found));
        ck_assert_double_eq_tol(dw_arm_overhang(&found) - dw_arm_overhang(&a), table[i][1], 0.00006);
        ck_assert_double_eq_tol(found.offset_deg - a.offset_deg, table[i][2], 0.00006);
    }
}
END_TEST

// With one setting free and the rest right, the search must find the right one.
START_TEST(one_free_setting_finds_the_closed_form_again)
{
    static const DwOptimumFree settings[] = {DW_OPTIMUM_OFFSET, DW_OPTIMUM_LENGTH, DW_OPTIMUM_DISTANCE,
                                             DW_OPTIMUM_BOTH_LENGTHS};
    static const DwArm wrong[] = {{0, 0, -3}, {0, 7, 0}, {-6, 0, 0}, {20, 20, 0}};
    DwArm a = dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, grooves[0]), 222);
    for (int i = 0; i < 4; i++) {
        DwArm found = {a.pivot_to_spindle_mm + wrong[i].pivot_to_spindle_mm,
                       a.effective_length_mm + wrong[i].effective_length_mm, a.offset_deg + wrong[i].offset_deg};
        DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_SINES, settings[i]};
        ck_assert(dw_arm_optimum_find(task, grooves[0], &found));
        same_arm(&found, &a, i == 3 ? 0.05 : 0.0001, 0.0001);
    }
}
END_TEST

START_TEST(nothing_is_found_where_nothing_is)
{
    DwArm far = {222, 400, 23};
    DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_SINES, DW_OPTIMUM_LENGTH};
    ck_assert(!dw_arm_optimum_find(task, grooves[0], &far));
    ck_assert_double_eq(far.effective_length_mm, 400);
}
END_TEST

DW_SUITE("arm optimum", search_and_closed_form_agree_for_loefgren_a_and_unweighted,
         search_and_closed_form_agree_for_loefgren_b, search_and_closed_form_agree_for_stevenson_a,
         true_angles_change_the_optimum_by_little, one_free_setting_finds_the_closed_form_again,
         nothing_is_found_where_nothing_is)
