// SPDX-License-Identifier: MIT
#include "synth/course.h"
#include "support/suite.h"

#include <math.h>

// Source (worked apart): Gauss-Legendre, five points (M. Abramowitz and I. Stegun, "Handbook of
// Mathematical Functions", 1964, table 25.4, as closed forms), in short steps:
// an integral that shares nothing with the closed formula under test.
static double integral(const DwCourse *course, double from, double to)
{
    double inner = sqrt(5 - 2 * sqrt(10.0 / 7)) / 3, outer = sqrt(5 + 2 * sqrt(10.0 / 7)) / 3;
    double places[] = {0, inner, -inner, outer, -outer};
    double near = (322 + 13 * sqrt(70)) / 900, far = (322 - 13 * sqrt(70)) / 900;
    double weights[] = {128.0 / 225, near, near, far, far};
    int steps = (int)ceil(fabs(to - from) * 200);
    double half = (to - from) / steps / 2, sum = 0;
    for (int i = 0; i < steps; i++)
        for (int k = 0; k < 5; k++)
            sum += weights[k] * half * dw_course_deviation(course, from + half * (2 * i + 1 + places[k]));
    return sum;
}

static DwCourse everything(double run_up_s)
{
    DwCourse course = {.error = 0.0031, .drift_per_s = 2e-4, .lead_s = 4, .run_up_s = run_up_s};
    dw_course_add(&course, "wow", 0.5556, 0.2, 0.4);
    dw_course_add(&course, "line", 6.979, 0.1, 2.5);
    dw_course_add(&course, "line", 24.7, 0.05, -1);
    dw_course_close(&course);
    return course;
}

START_TEST(what_was_gained_is_the_integral_of_the_deviation)
{
    double run_ups[] = {0, 0.6, 3};
    double ends[] = {-4, -1.5, 0.013, 2.7, 61};
    for (size_t r = 0; r < sizeof run_ups / sizeof *run_ups; r++) {
        DwCourse course = everything(run_ups[r]);
        for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
            ck_assert_double_eq_tol(dw_course_gained(&course, ends[i]),
                                    integral(&course, 0, ends[i]) - course.error * ends[i], 1e-12);
        dw_course_clear(&course);
    }
}
END_TEST

START_TEST(the_run_up_starts_at_standstill)
{
    DwCourse course = everything(0.6);
    ck_assert_double_eq_tol(dw_course_deviation(&course, -4), -1, 1e-15);
    DwCourse steady = everything(0);
    double after = 0.6 * log(100) - 4; // 99 % of the speed by definition
    ck_assert_double_eq_tol((1 + dw_course_deviation(&course, after)) / (1 + dw_course_deviation(&steady, after)), 0.99,
                            1e-12);
    ck_assert_double_eq_tol(dw_course_share(&course, after), 0.99, 1e-12);
    ck_assert_double_eq(dw_course_share(&steady, after), 1);
    dw_course_clear(&course);
    dw_course_clear(&steady);
}
END_TEST

DW_SUITE("course", what_was_gained_is_the_integral_of_the_deviation, the_run_up_starts_at_standstill)
