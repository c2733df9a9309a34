// SPDX-License-Identifier: MIT
#include "physics/arm.h"
#include "support/suite.h"

#include <math.h>

// Löfgren A on 60.325–146.05 mm at 222 mm, the arm of the tables below.
// Source (worked apart): NumPy, by another hand.
static const DwNulls nulls_a = {65.99803, 120.89153};

static DwArm arm_222(void)
{
    return dw_arm_at_distance(nulls_a, 222);
}

START_TEST(angles_agree_with_the_table)
{
    static const double table[][3] = {
        {57.500, 24.209, 1.2240},  {60.325, 23.728, 0.7428},  {63.000, 23.344, 0.3587},  {65.998, 22.986, 0.0000},
        {70.000, 22.608, -0.3778}, {75.000, 22.271, -0.7144}, {80.000, 22.058, -0.9276}, {85.383, 21.941, -1.0444},
        {89.323, 21.918, -1.0678}, {100.00, 22.065, -0.9207}, {110.00, 22.420, -0.5654}, {120.891, 22.985, 0.0000},
        {130.00, 23.570, 0.5844},  {140.00, 24.306, 1.3201},  {146.05, 24.791, 1.8056},
    };
    DwArm arm = arm_222();
    ck_assert_double_eq_tol(arm.effective_length_mm, 239.2961, 0.00006);
    ck_assert_double_eq_tol(dw_arm_overhang(&arm), 17.2961, 0.00006);
    ck_assert_double_eq_tol(arm.offset_deg, 22.9855, 0.00006);
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        ck_assert_double_eq_tol(dw_arm_tracking_angle(&arm, table[i][0]), table[i][1], 0.00051);
        ck_assert_double_eq_tol(dw_arm_tracking_error(&arm, table[i][0]), table[i][2], 0.000061);
    }
}
END_TEST

// Source (published): B. B. Bauer, "Tracking Angle in Phonograph Pickups", Electronics, March 1945:
// a 7½ in arm without overhang stands at 22° at 5¾ in and 7.6° at 2 in; his
// curves are for small angles, r/2L.
START_TEST(angles_agree_with_bauer)
{
    DwArm arm = {190.5, 190.5, 0};
    ck_assert_double_eq_tol(dw_arm_tracking_angle(&arm, 146.05), 22, 0.6);
    ck_assert_double_eq_tol(dw_arm_tracking_angle(&arm, 50.8), 7.6, 0.1);
    ck_assert_double_eq_tol(dw_arm_tracking_angle(&arm, 146.05), 22.54, 0.005); // Source (worked apart): exact
    ck_assert_double_eq_tol(dw_arm_tracking_angle(&arm, 50.8), 7.66, 0.005);
}
END_TEST

START_TEST(nulls_are_where_the_error_is_nought)
{
    DwArm arm = arm_222();
    DwNulls nulls;
    ck_assert(dw_arm_nulls(&arm, &nulls));
    ck_assert_double_eq_tol(nulls.inner_mm, nulls_a.inner_mm, 1e-9);
    ck_assert_double_eq_tol(nulls.outer_mm, nulls_a.outer_mm, 1e-9);
    ck_assert_double_eq_tol(dw_arm_tracking_error(&arm, nulls.inner_mm), 0, 1e-9);
    // Source (published): the arm 233.20/215.50 mm (S. K. Pramanik, "Understanding
    // Tonearms", Audio, June 1980), offset 23.63° from memory.
    DwArm published = {215.5, 233.2, 23.63};
    ck_assert(dw_arm_nulls(&published, &nulls));
    ck_assert_double_eq_tol(nulls.inner_mm, 65.273, 0.001);
    ck_assert_double_eq_tol(nulls.outer_mm, 121.674, 0.001);
    DwArm underhung = {240, 228, 0};
    ck_assert(dw_arm_nulls(&underhung, &nulls));
    ck_assert_double_eq_tol(nulls.inner_mm, sqrt(240.0 * 240 - 228.0 * 228), 1e-9);
    ck_assert(isnan(nulls.outer_mm));
    DwArm without = {222, 241.2961, 22.9855};
    ck_assert(!dw_arm_nulls(&without, &nulls));
    DwArm backwards = {222, 230, -10};
    ck_assert(!dw_arm_nulls(&backwards, &nulls));
}
END_TEST

START_TEST(any_one_of_the_four_gives_the_rest)
{
    DwArm arm = arm_222();
    const DwArm again[] = {dw_arm_at_length(nulls_a, arm.effective_length_mm),
                           dw_arm_at_overhang(nulls_a, dw_arm_overhang(&arm)),
                           dw_arm_at_offset(nulls_a, arm.offset_deg)};
    for (size_t i = 0; i < sizeof again / sizeof *again; i++) {
        ck_assert_double_eq_tol(again[i].pivot_to_spindle_mm, 222, 1e-9);
        ck_assert_double_eq_tol(again[i].effective_length_mm, arm.effective_length_mm, 1e-9);
        ck_assert_double_eq_tol(again[i].offset_deg, arm.offset_deg, 1e-9);
    }
}
END_TEST

START_TEST(sensitivities_agree_with_the_table_and_with_differences)
{
    static const double table[][3] = {
        {60.325, 0.9322, -0.9625},  {65.998, 0.8415, -0.8749}, {89.323, 0.5951, -0.6414},
        {120.891, 0.4133, -0.4776}, {146.05, 0.3215, -0.4009},
    };
    DwArm arm = arm_222(), longer = arm, farther = arm;
    longer.effective_length_mm += 1e-5;
    farther.pivot_to_spindle_mm += 1e-5;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double radius = table[i][0], error = dw_arm_tracking_error(&arm, radius);
        ck_assert_double_eq_tol(dw_arm_error_per_length(&arm, radius), table[i][1], 0.000051);
        ck_assert_double_eq_tol(dw_arm_error_per_distance(&arm, radius), table[i][2], 0.000051);
        ck_assert_double_eq_tol((dw_arm_tracking_error(&longer, radius) - error) / 1e-5, table[i][1], 0.0001);
        ck_assert_double_eq_tol((dw_arm_tracking_error(&farther, radius) - error) / 1e-5, table[i][2], 0.0001);
    }
}
END_TEST

START_TEST(sliding_keeps_the_linear_offset)
{
    DwArm arm = arm_222();
    static const double table[][5] = {{-1, 16.3758, 23.0794, 58.906, 127.983}, {1, 18.2170, 22.8924, 75.789, 111.101}};
    for (size_t i = 0; i < 2; i++) {
        DwArm slid = dw_arm_slid(&arm, table[i][0]);
        DwNulls nulls;
        ck_assert(dw_arm_nulls(&slid, &nulls));
        ck_assert_double_eq_tol(dw_arm_overhang(&slid), table[i][1], 0.000051);
        ck_assert_double_eq_tol(slid.offset_deg, table[i][2], 0.000051);
        ck_assert_double_eq_tol(nulls.inner_mm, table[i][3], 0.00051);
        ck_assert_double_eq_tol(nulls.outer_mm, table[i][4], 0.00051);
        ck_assert_double_eq_tol(nulls.inner_mm + nulls.outer_mm, 186.8895, 0.0001);
    }
}
END_TEST

// Set by one point alone, the other null moves to (L² − d²)/n₁, and the error
// at the outer point tells which way to slide: with the stylus too far back the
// offset is too small there, so the nose points away from the spindle. The
// rows. Source (worked apart): NumPy, by another hand.
START_TEST(one_point_alone_misleads_and_the_other_tells_the_way)
{
    static const double table[][3] = {
        {-2, 21.307, 106.449}, {-1, 22.145, 113.655}, {1, 23.828, 128.158}, {2, 24.673, 135.455}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        DwArm arm = arm_222();
        arm.effective_length_mm += table[i][0];
        arm.offset_deg = dw_arm_tracking_angle(&arm, nulls_a.inner_mm);
        ck_assert_double_eq_tol(arm.offset_deg, table[i][1], 0.00051);
        DwNulls nulls;
        ck_assert(dw_arm_nulls(&arm, &nulls));
        ck_assert_double_eq_tol(nulls.outer_mm, table[i][2], 0.00051);
        ck_assert_int_eq(dw_arm_tracking_error(&arm, nulls_a.outer_mm) > 0, table[i][0] < 0);
    }
    // An underhung arm has no offset to make up for it: too far out it is the other way.
    DwArm underhung = {241.8171, 228.6 + 1, 0};
    ck_assert_double_gt(dw_arm_tracking_error(&underhung, 78.851), 0);
}
END_TEST

START_TEST(reach_is_where_the_circles_meet)
{
    DwArm arm = {222, 239.3, 23};
    ck_assert(dw_arm_reaches(&arm, 17.31));
    ck_assert(!dw_arm_reaches(&arm, 17.29));
    ck_assert(isnan(dw_arm_tracking_angle(&arm, 10)));
    ck_assert(dw_arm_reaches(&arm, 461.2));
    ck_assert(!dw_arm_reaches(&arm, 461.4));
}
END_TEST

// To first order the lift h lengthens the plan by h·H/L less h²/2L.
START_TEST(paper_under_the_stylus_changes_next_to_nothing)
{
    ck_assert_double_eq_tol(dw_arm_length_when_lifted(239.3, 20, 0.1), (0.1 * 20 - 0.005) / 239.3, 1e-6);
    ck_assert_double_eq_tol(dw_arm_length_when_lifted(239.3, 0, 0.1), -0.005 / 239.3, 1e-9);
}
END_TEST

DW_SUITE("arm", angles_agree_with_the_table, angles_agree_with_bauer, nulls_are_where_the_error_is_nought,
         any_one_of_the_four_gives_the_rest, sensitivities_agree_with_the_table_and_with_differences,
         sliding_keeps_the_linear_offset, one_point_alone_misleads_and_the_other_tells_the_way,
         reach_is_where_the_circles_meet, paper_under_the_stylus_changes_next_to_nothing)
