// SPDX-License-Identifier: MIT
// What the law of propagation says of picked points, against pictures whose points
// are moved at random: the same spread must come out.
#include "physics/photo.h"

#include "physics/rake.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>

#define ERROR 1.0

// Source (published): Park and Miller's generator (Communications of the ACM, 1988), from memory.
static double uniform(void)
{
    static uint64_t state = 20261125;
    state = state * 48271 % 2147483647;
    return (double)state / 2147483647;
}

// Normal by Box and Muller (1958), so that 95 of 100 lie within ERROR.
static double moved(void)
{
    return ERROR / 1.959964 * sqrt(-2 * log(uniform())) * cos(2 * M_PI * uniform());
}

static void jog(const DwPhotoPoint *from, DwPhotoPoint *to, int count)
{
    for (int i = 0; i < count; i++)
        to[i] = (DwPhotoPoint){from[i].x + moved(), from[i].y + moved()};
}

static double length_mm(const DwPhotoPoint *points, double scale_mm)
{
    double pixels = hypot(points[3].x - points[2].x, points[3].y - points[2].y);
    return hypot(points[1].x - points[0].x, points[1].y - points[0].y) * scale_mm / pixels;
}

static double angle(const DwPhotoPoint *p)
{
    double one = atan2(p[1].y - p[0].y, p[1].x - p[0].x), other = atan2(p[3].y - p[2].y, p[3].x - p[2].x);
    return remainder(other - one, 2 * M_PI);
}

enum { TRIALS = 20000 };

// 1.96 standard deviations of what VALUE makes of moved points. Its own spread over
// 20000 trials is 0.5 %, so 2 % is four of these.
static double spread(const DwPhotoPoint *points, double (*value)(const DwPhotoPoint *))
{
    double sum = 0, squares = 0;
    for (int i = 0; i < TRIALS; i++) {
        DwPhotoPoint jogged[4];
        jog(points, jogged, 4);
        double off = value(jogged) - value(points);
        sum += off;
        squares += off * off;
    }
    return 1.959964 * sqrt(squares / TRIALS - (sum / TRIALS) * (sum / TRIALS));
}

#define SCALE_MM 15.0

static double scaled_length(const DwPhotoPoint *points)
{
    return length_mm(points, SCALE_MM);
}

START_TEST(lengths_spread_as_said)
{
    static const DwPhotoPoint pictures[][4] = {
        {{100, 100}, {400, 500}, {50, 900}, {850, 900}}, // 500 px against a scale of 800
        {{10, 10}, {1200, 10}, {300, 300}, {300, 420}},  // a long one against a short scale
        {{600, 610}, {620, 600}, {0, 0}, {1000, 700}},   // a worn flat of 22 px
    };
    for (size_t i = 0; i < sizeof pictures / sizeof *pictures; i++) {
        double said = dw_photo_length_deviation(pictures[i], pictures[i] + 2, SCALE_MM, ERROR);
        ck_assert_double_eq_tol(spread(pictures[i], scaled_length) / said, 1, 0.02);
    }
}
END_TEST

START_TEST(angles_spread_as_said)
{
    static const DwPhotoPoint pictures[][4] = {
        {{0, 0}, {300, 20}, {100, 100}, {120, 500}},
        {{0, 0}, {60, 0}, {0, 0}, {-400, 300}},
    };
    for (size_t i = 0; i < sizeof pictures / sizeof *pictures; i++)
        ck_assert_double_eq_tol(spread(pictures[i], angle) / dw_photo_angle_deviation(pictures[i], ERROR), 1, 0.02);
}
END_TEST

// Two lines from a common point are independent but for that point, which the sum of
// rake.h counts once: at a right angle it comes to the same.
START_TEST(a_right_angle_agrees_with_the_rake)
{
    DwPhotoPoint lines[4] = {{0, 0}, {0, -300}, {0, 0}, {-500, 0}};
    double rake = dw_rake_point_deviation((DwRakePoint){0, 0}, (DwRakePoint){0, -300}, (DwRakePoint){-500, 0}, 1);
    ck_assert_double_eq_tol(dw_photo_angle_deviation(lines, 1), rake, 1e-12);
}
END_TEST

START_TEST(points_on_one_place_tell_nothing)
{
    DwPhotoPoint same[4] = {{5, 5}, {5, 5}, {5, 5}, {5, 5}};
    ck_assert_double_nan(dw_photo_length_deviation(same, same + 2, 10, 1));
    ck_assert_double_nan(dw_photo_angle_deviation(same, 1));
}
END_TEST

DW_SUITE("photo", lengths_spread_as_said, angles_spread_as_said, a_right_angle_agrees_with_the_rake,
         points_on_one_place_tell_nothing)
