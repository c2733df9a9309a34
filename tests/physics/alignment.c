// SPDX-License-Identifier: MIT
#include "physics/alignment.h"
#include "physics/tracking.h"
#include "arm_table.h"
#include "support/suite.h"

#include <math.h>

// Source (worked apart): NumPy and SciPy, by another hand. The rows 56/146.3 and
// 58/146.3 are also published, rounded to 0.1 mm (61.6 and 118.4; 63.6 and
// 119.6): K. Howard, "Arc Angles: Optimizing Tonearm Geometry", March 2010.
static const struct {
    DwGroove groove;
    DwNulls nulls[4]; // in the order of DwAlignment
} null_table[] = {
    {{60.325, 146.05}, {{65.9980, 120.8915}, {70.2854, 116.6041}, {60.3250, 117.4211}, {68.5781, 128.4735}}},
    {{57.5, 146.05}, {{63.1029, 119.1731}, {67.4137, 114.8624}, {57.5000, 115.5256}, {65.8132, 127.6018}}},
    {{57.6, 146.5}, {{63.2180, 119.4917}, {67.5425, 115.1673}, {57.6000, 115.8280}, {65.9401, 127.9706}}},
    {{60.325, 146.3}, {{66.0055, 121.0376}, {70.3013, 116.7418}, {60.3250, 117.5549}, {68.5948, 128.6621}}},
    {{56, 146.3}, {{61.565, 118.352}, {65.890, 114.027}, {56.000, 114.596}, {64.352, 127.312}}},
    {{58, 146.3}, {{63.624, 119.629}, {67.939, 115.313}, {58.000, 116.000}, {66.320, 127.946}}},
    {{57.6, 121}, {{62.387, 104.203}, {65.799, 100.791}, {57.600, 101.779}, {64.166, 108.618}}},
    {{53, 84}, {{56.028, 77.372}, {57.896, 75.505}, {53.000, 76.339}, {56.688, 78.536}}},
};

START_TEST(null_radii_agree_with_the_table)
{
    for (size_t i = 0; i < sizeof null_table / sizeof *null_table; i++)
        for (int alignment = DW_ALIGNMENT_LOEFGREN_A; alignment <= DW_ALIGNMENT_UNWEIGHTED; alignment++) {
            DwNulls nulls = dw_alignment_nulls((DwAlignment)alignment, null_table[i].groove);
            double tolerance = i < 4 ? 0.000051 : 0.00051; // half a unit of the last place printed
            ck_assert_double_eq_tol(nulls.inner_mm, null_table[i].nulls[alignment].inner_mm, tolerance);
            ck_assert_double_eq_tol(nulls.outer_mm, null_table[i].nulls[alignment].outer_mm, tolerance);
        }
}
END_TEST

START_TEST(null_radii_agree_with_the_published_ones)
{
    // Source (published): K. Howard, "Arc Angles: Optimizing Tonearm Geometry", March 2010.
    DwNulls wide = dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, (DwGroove){56, 146.3});
    ck_assert_double_eq_tol(wide.inner_mm, 61.6, 0.05);
    ck_assert_double_eq_tol(wide.outer_mm, 118.4, 0.05);
    DwNulls practical = dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, (DwGroove){58, 146.3});
    ck_assert_double_eq_tol(practical.inner_mm, 63.6, 0.05);
    ck_assert_double_eq_tol(practical.outer_mm, 119.6, 0.05);
    // The same article has Wilson's offset for the overhang 18.56 mm as 24.63°;
    // the arm's length, 230 mm, is not in what was read and was fitted to 18.56.
    DwArm wilson = dw_arm_at_length(dw_alignment_nulls(DW_ALIGNMENT_UNWEIGHTED, (DwGroove){56, 146.3}), 230);
    ck_assert_double_eq_tol(dw_arm_overhang(&wilson), 18.56, 0.005);
    ck_assert_double_eq_tol(wilson.offset_deg, 24.63, 0.01);
}
END_TEST

START_TEST(arms_agree_with_the_table)
{
    const DwTrackingSignal signal = {10, 100.0 / 3};
    for (size_t i = 0; i < sizeof arm_table / sizeof *arm_table; i++) {
        const ArmRow *row = &arm_table[i];
        DwNulls nulls = dw_alignment_nulls(row->alignment, row->groove);
        DwArm arm = row->by_length ? dw_arm_at_length(nulls, row->length) : dw_arm_at_distance(nulls, row->distance);
        ck_assert_double_eq_tol(arm.pivot_to_spindle_mm, row->distance, 0.00051);
        ck_assert_double_eq_tol(arm.effective_length_mm, row->length, 0.00051);
        ck_assert_double_eq_tol(dw_arm_overhang(&arm), row->overhang, 0.00051);
        ck_assert_double_eq_tol(arm.offset_deg, row->offset, 0.00051);
        ck_assert_double_eq_tol(dw_arm_tracking_error(&arm, row->groove.inner_mm), row->error_inner, 0.00051);
        ck_assert_double_eq_tol(dw_arm_tracking_error(&arm, row->groove.outer_mm), row->error_outer, 0.00051);
        ck_assert_double_eq_tol(dw_arm_tracking_error(&arm, sqrt(nulls.inner_mm * nulls.outer_mm)), row->error_least,
                                0.00051);
        ck_assert_double_eq_tol(sqrt(nulls.inner_mm * nulls.outer_mm), row->error_least_at, 0.051);
        DwTrackingCost cost;
        ck_assert(dw_tracking_cost(&arm, row->groove, signal, &cost));
        ck_assert_double_eq_tol(cost.distortion_percent.value, row->distortion_max, 0.00051);
        ck_assert_double_eq_tol(cost.distortion_percent.x, row->distortion_at, 0.051);
        // The table's mean is over some 2000 equal samples with both ends counted
        // whole, which is up to 0.0005 % more than the integral.
        ck_assert_double_eq_tol(cost.distortion_rms_percent, row->distortion_rms, 0.001);
    }
}
END_TEST

// Source (worked apart): Löfgren B on 57.6–146.5 mm at 222 mm, integrated with scipy.integrate.quad.
START_TEST(rms_agrees_with_an_adaptive_integral)
{
    DwGroove groove = {57.6, 146.5};
    DwArm arm = dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_B, groove), 222);
    DwTrackingCost cost;
    ck_assert(dw_tracking_cost(&arm, groove, (DwTrackingSignal){10, 100.0 / 3}, &cost));
    ck_assert_double_eq_tol(cost.distortion_rms_percent, 0.4064830729845509, 1e-6);
}
END_TEST

START_TEST(loefgren_a_has_three_equal_weighted_peaks)
{
    DwGroove groove = {60.325, 146.05};
    DwNulls nulls = dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, groove);
    double sum = nulls.inner_mm + nulls.outer_mm, product = nulls.inner_mm * nulls.outer_mm;
    const double radii[] = {groove.inner_mm, 2 * product / sum, groove.outer_mm};
    double peak[3];
    for (int i = 0; i < 3; i++)
        peak[i] = fabs(1 - sum / radii[i] + product / (radii[i] * radii[i]));
    ck_assert_double_eq_tol(peak[0], peak[1], 1e-12);
    ck_assert_double_eq_tol(peak[0], peak[2], 1e-12);
}
END_TEST

// Source (published): Bauer's approximations are A with sin β ≈ β and D(2L − D) ≈ 2LD (B. B. Bauer,
// "Tracking Angle in Phonograph Pickups", Electronics, March 1945; form from
// memory). They must come near the exact arm from the side that they do.
START_TEST(bauer_approximations_stand_near_the_exact_arm)
{
    static const double table[][5] = {
        {190.5, 20.941, 28.105, 22.239, 29.375}, {228.6, 17.451, 23.421, 18.173, 24.128},
        {237.0, 16.832, 22.591, 17.477, 23.221}, {254.0, 15.706, 21.079, 16.224, 21.586},
        {304.8, 13.088, 17.566, 13.382, 17.853},
    };
    DwNulls nulls = dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, (DwGroove){60.325, 146.05});
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double length = table[i][0];
        DwArm arm = dw_arm_at_length(nulls, length);
        ck_assert_double_eq_tol(nulls.inner_mm * nulls.outer_mm / (2 * length), table[i][1], 0.00051);
        ck_assert_double_eq_tol((nulls.inner_mm + nulls.outer_mm) / (2 * length) * 180 / M_PI, table[i][2], 0.00051);
        ck_assert_double_eq_tol(dw_arm_overhang(&arm), table[i][3], 0.00051);
        ck_assert_double_eq_tol(arm.offset_deg, table[i][4], 0.00051);
    }
}
END_TEST

// Underhung arms. Source (worked apart): NumPy, by another hand.
START_TEST(underhung_arms_agree_with_the_table)
{
    static const struct {
        DwGroove groove;
        DwAlignment alignment;
        double null;
        double rows[3][3]; // at 228.6, 254 and 304.8 mm: underhang, worst error, worst distortion
    } table[] = {
        {{60.325, 146.05},
         DW_ALIGNMENT_LOEFGREN_A,
         78.851,
         {{13.217, 13.08, 4.56}, {11.958, 11.75, 4.08}, {10.034, 9.77, 3.38}}},
        {{60.325, 146.05},
         DW_ALIGNMENT_LOEFGREN_B,
         83.029,
         {{14.611, 12.49, 5.64}, {13.226, 11.22, 5.07}, {11.106, 9.33, 4.22}}},
        {{60.325, 146.05},
         DW_ALIGNMENT_UNWEIGHTED,
         93.864,
         {{18.520, 10.81, 9.07}, {16.789, 9.72, 8.13}, {14.126, 8.08, 6.75}}},
        {{57.5, 146.05},
         DW_ALIGNMENT_LOEFGREN_A,
         75.664,
         {{12.197, 13.52, 4.71}, {11.030, 12.14, 4.22}, {9.251, 10.09, 3.49}}},
        {{57.6, 146.5},
         DW_ALIGNMENT_LOEFGREN_A,
         75.810,
         {{12.242, 13.57, 4.72}, {11.072, 12.19, 4.22}, {9.286, 10.14, 3.50}}},
    };
    static const double lengths[] = {228.6, 254, 304.8};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double null = dw_alignment_underhung_null(table[i].alignment, table[i].groove);
        ck_assert_double_eq_tol(null, table[i].null, 0.00051);
        for (int j = 0; j < 3; j++) {
            DwArm arm = dw_alignment_underhung_at_length(null, lengths[j]);
            ck_assert_double_eq_tol(-dw_arm_overhang(&arm), table[i].rows[j][0], 0.00051);
            DwTrackingCost cost;
            ck_assert(dw_tracking_cost(&arm, table[i].groove, (DwTrackingSignal){10, 100.0 / 3}, &cost));
            ck_assert_double_eq_tol(cost.error_deg.value, table[i].rows[j][1], 0.0051);
            ck_assert_double_eq_tol(cost.distortion_percent.value, table[i].rows[j][2], 0.0051);
            DwArm again = dw_alignment_underhung_at_distance(null, arm.pivot_to_spindle_mm);
            ck_assert_double_eq_tol(again.effective_length_mm, lengths[j], 1e-9);
        }
    }
}
END_TEST

DW_SUITE("alignment", null_radii_agree_with_the_table, null_radii_agree_with_the_published_ones,
         arms_agree_with_the_table, rms_agrees_with_an_adaptive_integral, loefgren_a_has_three_equal_weighted_peaks,
         bauer_approximations_stand_near_the_exact_arm, underhung_arms_agree_with_the_table)
