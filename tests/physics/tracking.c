// SPDX-License-Identifier: MIT
#include "physics/tracking.h"
#include "support/suite.h"

#include <math.h>

static const DwTrackingSignal signal = {10, 100.0 / 3};
static const DwGroove groove = {60.325, 146.05};

static DwArm arm_222(void)
{
    return dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, groove), 222);
}

// Source (worked apart): NumPy, by another hand.
START_TEST(profile_agrees_with_the_table)
{
    static const double table[][4] = {
        {57.500, 0.21286, 20.071, 1.0645}, {60.325, 0.12313, 21.057, 0.6157}, {63.000, 0.05694, 21.991, 0.2847},
        {70.000, 0.05398, 24.435, 0.2699}, {75.000, 0.09526, 26.180, 0.4763}, {80.000, 0.11595, 27.925, 0.5798},
        {85.383, 0.12232, 29.804, 0.6117}, {89.323, 0.11955, 31.180, 0.5978}, {100.00, 0.09207, 34.907, 0.4604},
        {110.00, 0.05140, 38.397, 0.2570}, {130.00, 0.04496, 45.379, 0.2248}, {140.00, 0.09429, 48.869, 0.4715},
        {146.05, 0.12363, 50.981, 0.6184},
    };
    DwArm arm = arm_222();
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double radius = table[i][0], error = dw_arm_tracking_error(&arm, radius);
        ck_assert_double_eq_tol(fabs(error) / (radius / 10), table[i][1], 0.0000071);
        ck_assert_double_eq_tol(dw_tracking_distortion(signal, radius, error), table[i][3], 0.000061);
        // At a groove speed's worth of velocity and 45° the second harmonic is all there is.
        ck_assert_double_eq_tol(dw_tracking_distortion((DwTrackingSignal){table[i][2], 100.0 / 3}, radius, 45), 100,
                                0.003);
    }
}
END_TEST

// The stylus path y = A sin k(x + y tan ε) solved point by point and analysed:
// what a stylus does on a sine groove when it is guided askew. The second
// harmonic of the velocity is twice the displacement's.
static double simulated_distortion(double peak_velocity_cm_s, double radius_mm, double error_deg)
{
    enum { POINTS = 512 };
    double ratio = peak_velocity_cm_s / (100.0 / 3 / 60 * 2 * M_PI * radius_mm / 10); // A·k
    double slope = tan(error_deg * M_PI / 180);
    double first_cos = 0, first_sin = 0, second_cos = 0, second_sin = 0;
    for (int i = 0; i < POINTS; i++) {
        double x = 2 * M_PI * i / POINTS, y = 0;
        for (int step = 0; step < 100; step++)
            y = ratio * sin(x + y * slope);
        first_cos += y * cos(x);
        first_sin += y * sin(x);
        second_cos += y * cos(2 * x);
        second_sin += y * sin(2 * x);
    }
    return 200 * hypot(second_cos, second_sin) / hypot(first_cos, first_sin);
}

START_TEST(distortion_agrees_with_a_simulated_stylus)
{
    // Source (worked apart): 1.6583 and 3.3160 % are the same simulation in NumPy.
    ck_assert_double_eq_tol(simulated_distortion(10, 60.325, 2), 1.6583, 0.0001);
    ck_assert_double_eq_tol(simulated_distortion(20, 60.325, 2), 3.3160, 0.0001);
    ck_assert_double_eq_tol(dw_tracking_distortion(signal, 60.325, 2), 1.6584, 0.0001);
    ck_assert_double_eq_tol(dw_tracking_distortion((DwTrackingSignal){20, 100.0 / 3}, 60.325, 2), 3.3167, 0.0001);
    for (double error = 0.25; error < 4; error *= 2)
        ck_assert_double_eq_tol(dw_tracking_distortion(signal, 80, error) / simulated_distortion(10, 80, error), 1,
                                0.001);
}
END_TEST

// Source (worked apart): an arm of 230 mm as two points in the plane, its stylus on each groove by the crossing of two
// circles, the angle of its nose against the groove's tangent there, and the stylus simulated at that angle.
START_TEST(worst_distortion_is_that_of_a_simulated_arm)
{
    DwGroove wide = {56, 146.3};
    DwArm arm = dw_arm_at_length(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, wide), 230);
    double most = 0, pivot = arm.pivot_to_spindle_mm;
    for (double radius = 56; radius < 146.35; radius += 0.3) {
        double x = (radius * radius - 230 * 230 + pivot * pivot) / (2 * pivot), y = sqrt(radius * radius - x * x);
        double tube = atan2(y, x - pivot), tangent = atan2(x, -y); // from the pivot to the stylus; along the groove
        double error = remainder(tube - tangent, M_PI) * 180 / M_PI;
        error = fabs(error) - arm.offset_deg;
        most = fmax(most, simulated_distortion(10 * M_SQRT2, radius, error));
    }
    DwTrackingCost cost;
    ck_assert(dw_tracking_cost(&arm, wide, (DwTrackingSignal){10 * M_SQRT2, 100.0 / 3}, &cost));
    ck_assert_double_eq_tol(cost.distortion_percent.value, most, 0.0005);
}
END_TEST

// Wrong by a length, by an angle, by one null kept, by a slide of the deck's
// pivot. Source (worked apart): NumPy, by another hand.
START_TEST(cost_of_errors_agrees_with_the_tables)
{
    static const struct {
        double length, offset, distance;
        double most, at, rms; // NAN: not in the table
    } table[] = {
        {-2, 0, 0, 1.446, 75.8, 0.947},    {-1, 0, 0, 1.002, 80.6, 0.641},   {-0.5, 0, 0, 0.801, 83.0, 0.509},
        {-0.25, 0, 0, 0.705, 84.2, 0.453}, {0, 0, 0, 0.618, 146.1, 0.408},   {0.25, 0, 0, 0.809, 60.3, 0.378},
        {0.5, 0, 0, 1.002, 60.3, 0.366},   {1, 0, 0, 1.390, 60.3, 0.403},    {2, 0, 0, 2.168, 60.3, 0.633},
        {0, -2, 0, 2.275, 60.3, 0.962},    {0, -1, 0, 1.445, 60.3, 0.512},   {0, -0.5, 0, 1.030, 60.3, 0.378},
        {0, -0.25, 0, 0.823, 60.3, 0.370}, {0, 0.25, 0, 0.759, 84.5, 0.481}, {0, 0.5, 0, 0.908, 83.6, 0.576},
        {0, 1, 0, 1.210, 82.0, 0.799},     {0, 2, 0, 1.833, 78.9, 1.296},    {0, 0, -1, 1.415, NAN, NAN},
        {0, 0, 1, 1.028, NAN, NAN},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        DwArm arm = arm_222();
        arm.effective_length_mm += table[i].length;
        arm.offset_deg += table[i].offset;
        arm.pivot_to_spindle_mm += table[i].distance;
        DwTrackingCost cost;
        ck_assert(dw_tracking_cost(&arm, groove, signal, &cost));
        ck_assert_double_eq_tol(cost.distortion_percent.value, table[i].most, 0.00051);
        if (!isnan(table[i].at)) {
            ck_assert_double_eq_tol(cost.distortion_percent.x, table[i].at, 0.051);
            ck_assert_double_eq_tol(cost.distortion_rms_percent, table[i].rms, 0.00051);
        }
    }
}
END_TEST

START_TEST(an_arm_that_does_not_reach_has_no_cost)
{
    DwArm arm = {222, 290, 23};
    DwTrackingCost cost;
    ck_assert(!dw_tracking_cost(&arm, groove, signal, &cost));
}
END_TEST

// A linear arm is the limit of a very long one with the same error everywhere.
START_TEST(a_linear_arm_has_one_error)
{
    DwTrackingCost cost = dw_tracking_linear_cost(-1, groove, signal);
    ck_assert_double_eq_tol(cost.error_deg.value, 1, 1e-12);
    ck_assert_double_eq_tol(cost.distortion_percent.value, 5.000 / 6.0325, 0.0005); // 5.000·ε/r(cm) by hand
    ck_assert_double_eq_tol(cost.weighted_error_deg_cm.value, 1 / 6.0325, 1e-9);
    double sum = 0; // the mean square by a plain sum
    for (int i = 0; i < 10000; i++)
        sum += pow(dw_tracking_distortion(signal, 60.325 + (i + 0.5) / 10000 * 85.725, 1), 2);
    ck_assert_double_eq_tol(cost.distortion_rms_percent, sqrt(sum / 10000), 1e-6);
}
END_TEST

// A stylus that goes up and down is guided askew in the plane of the groove's length by the two tangents' difference.
// Source (worked apart): the simulation, whose path is y = A sin k(x + y·slope). The figures that A. Woodard (AES
// preprint 1940, 1982, found second-hand) gives for 5 cm/s at the inner groove are 4.5, 1.4 and 8 %: of neither radius
// nor kind of level is anything known, so they are here for the size alone.
START_TEST(vertical_angles_distort_as_a_simulated_stylus)
{
    static const double table[][3] = {{15, 25, 4.5}, {15, 18, 1.4}, {15, 30, 8}};
    DwTrackingSignal inner = {5, 100.0 / 3};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double percent = fabs(dw_tracking_vertical_distortion(inner, 60.325, table[i][0], table[i][1]));
        double slope = tan(table[i][1] * M_PI / 180) - tan(table[i][0] * M_PI / 180);
        ck_assert_double_eq_tol(percent / simulated_distortion(5, 60.325, atan(slope) * 180 / M_PI), 1, 0.005);
        ck_assert(percent > table[i][2] / 2 && percent < table[i][2] * 2);
    }
    ck_assert_double_eq_tol(dw_tracking_vertical_distortion(inner, 60.325, 20, 20), 0, 1e-12);
}
END_TEST

DW_SUITE("tracking", profile_agrees_with_the_table, distortion_agrees_with_a_simulated_stylus,
         worst_distortion_is_that_of_a_simulated_arm, cost_of_errors_agrees_with_the_tables,
         an_arm_that_does_not_reach_has_no_cost, a_linear_arm_has_one_error,
         vertical_angles_distort_as_a_simulated_stylus)
