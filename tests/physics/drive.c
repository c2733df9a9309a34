// SPDX-License-Identifier: MIT
// "computed" below: worked out by an independent program (Python with SciPy) from
// the textbook formula named in physics/drive.h.
#include "physics/drive.h"
#include "support/suite.h"

#include <math.h>

static const double degree = M_PI / 180;

START_TEST(belt_length_meets_the_table)
{
    // Computed: exact length, pulley wrap, lengths for 3 % and 5 % stretch, and the
    // length of the middle layer of a belt of thickness t.
    static const struct {
        DwBeltPath path;
        double exact, wrap, at_3, at_5, thickness, middle;
    } rows[] = {
        {{160, 12, 130}, 573.568, 110.61, 556.86, 546.25, 0.8, 576.081},
        {{300, 12, 165}, 956.696, 58.45, 928.83, 911.14, 0.8, 959.210},
        {{300, 12, 230}, 1043.614, 102.48, 1013.22, 993.92, 1.0, 1046.756},
        {{250, 20, 150}, 817.664, 79.89, 793.85, 778.73, 0.6, 819.549},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double length = dw_drive_belt_length_mm(&rows[i].path);
        ck_assert_double_eq_tol(length, rows[i].exact, 0.0006);
        ck_assert_double_eq_tol(dw_drive_pulley_wrap(&rows[i].path) / degree, rows[i].wrap, 0.006);
        ck_assert_double_eq_tol(length / 1.03, rows[i].at_3, 0.006);
        ck_assert_double_eq_tol(length / 1.05, rows[i].at_5, 0.006);
        DwBeltPath middle = rows[i].path;
        middle.rim_mm += rows[i].thickness;
        middle.pulley_mm += rows[i].thickness;
        ck_assert_double_eq_tol(dw_drive_belt_length_mm(&middle), rows[i].middle, 0.0006);
    }
}
END_TEST

START_TEST(belt_length_meets_the_published_other_form)
{
    // L = 2 R1 (π − a + tan a) + 2 R2 (a − tan a), a = acos((R1 − R2)/C): an exact
    // belt length note found in print, written otherwise than ours.
    for (double small = 5; small < 60; small += 7) {
        DwBeltPath path = {150, small, 110};
        double a = acos((path.rim_mm - small) / 2 / path.centre_mm);
        double other = path.rim_mm * (M_PI - a + tan(a)) + small * (a - tan(a));
        ck_assert_double_eq_tol(dw_drive_belt_length_mm(&path), other, 1e-9);
    }
}
END_TEST

START_TEST(a_belt_of_several_motors_is_the_hull_of_its_circles)
{
    // Perimeters of the convex hull of the circles, by scipy.spatial.ConvexHull of 200,000 points on each; two opposite
    // each other or 132° apart alike.
    static const struct {
        DwBeltPath path;
        double length;
    } rows[] = {{{160, 12, 130, 2}, 644.48027},
                {{160.8, 12.8, 130, 2}, 646.99355},
                {{160.8, 12.8, 130, 3}, 717.90627},
                {{160, 12, 130, 1}, 573.56755}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_double_eq_tol(dw_drive_belt_length_mm(&rows[i].path), rows[i].length, 1e-4);
    // Four that embrace 110.6° each leave nothing of the rim's turn.
    ck_assert(!dw_drive_path_exists(&(DwBeltPath){160, 12, 130, 4}));
}
END_TEST

START_TEST(a_belt_of_equal_pulleys_is_two_half_turns_and_two_spans)
{
    DwBeltPath path = {100, 100, 200};
    ck_assert_double_eq_tol(dw_drive_belt_length_mm(&path), 400 + 100 * M_PI, 1e-9);
    ck_assert_double_eq_tol(dw_drive_pulley_wrap(&path), M_PI, 1e-12);
    ck_assert_double_eq_tol(dw_drive_free_span_mm(&path), 200, 1e-9);
    ck_assert(!dw_drive_path_exists(&(DwBeltPath){300, 12, 140}));
    ck_assert(!dw_drive_path_exists(&(DwBeltPath){300, 12, NAN}));
}
END_TEST

START_TEST(thick_belts_count_by_half)
{
    // Machine-theory text, example 15.1 (the question was read; answers computed):
    // 100 rpm drives 150 rpm from a 500 mm pulley.
    double ratio = 100.0 / 150;
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(ratio, 500, 0, 0), 333.33, 0.005);
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(ratio, 500, 6, 0), 331.33, 0.005);
    // 5 % total slip; there the wanted pulley is the driven one, so the same pair of
    // pulleys is checked by the speed it gives.
    ck_assert_double_eq_tol(100 * dw_drive_ratio(500, 314.47, 6, 0.05), 150, 0.003);

    // Computed: 250 rpm, pulley 20.0, rim 150, by thickness.
    static const double rpm[][2] = {{0, 33.333}, {0.5, 34.053}, {0.8, 34.483}, {1.0, 34.768}};
    for (size_t i = 0; i < 4; i++)
        ck_assert_double_eq_tol(250 * dw_drive_ratio(20, 150, rpm[i][0], 0), rpm[i][1], 0.0006);
    ck_assert_double_eq_tol(dw_drive_thinned_mm(1, 0.02), 0.990, 0.0006);
    ck_assert_double_eq_tol(dw_drive_thinned_mm(1, 0.05), 0.976, 0.0006);
    ck_assert_double_eq_tol(dw_drive_thinned_mm(1, 0.10), 0.953, 0.0006);
}
END_TEST

START_TEST(pulleys_meet_the_table)
{
    // Computed, belt 0.8 mm: 33⅓ and 45 on a rim of 150, 33⅓ with 0.2 % creep, then
    // 33⅓ and 45 on a rim of 300.
    static const struct {
        double poles, mains, rpm, small_33, small_45, creeping_33, large_33, large_45;
    } rows[] = {
        {24, 50, 250, 19.3067, 26.3440, 19.3470, 39.3067, 53.3440},
        {24, 60, 300, 15.9556, 21.8200, 15.9891, 32.6222, 44.3200},
        {16, 50, 375, 12.6044, 17.2960, 12.6313, 25.9378, 35.2960},
        {16, 60, 450, 10.3704, 14.2800, 10.3928, 21.4815, 29.2800},
        {4, 50, 1500, 2.5511, 3.7240, 2.5578, 5.8844, 8.2240},
        {4, 60, 1800, 1.9926, 2.9700, 1.9982, 4.7704, 6.7200},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double motor = dw_drive_synchronous_rpm(rows[i].mains, rows[i].poles);
        double slow = 100.0 / 3 / motor, fast = 45 / motor;
        ck_assert_double_eq_tol(motor, rows[i].rpm, 1e-9);
        ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(slow, 150, 0.8, 0), rows[i].small_33, 6e-5);
        ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(fast, 150, 0.8, 0), rows[i].small_45, 6e-5);
        ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(slow, 150, 0.8, 0.002), rows[i].creeping_33, 6e-5);
        ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(slow, 300, 0.8, 0), rows[i].large_33, 6e-5);
        ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(fast, 300, 0.8, 0), rows[i].large_45, 6e-5);
    }
}
END_TEST

START_TEST(idler_shafts_meet_the_table)
{
    // Computed: rim 280 mm, idler drive; 33⅓, 45 and the mains' own 78.
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(100.0 / 3 / 1500, 280, 0, 0), 6.2222, 6e-5);
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(45.0 / 1500, 280, 0, 0), 8.4000, 6e-5);
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(6000.0 / 77 / 1500, 280, 0, 0), 14.545, 6e-4);
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(100.0 / 3 / 1800, 280, 0, 0), 5.1852, 6e-5);
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(45.0 / 1800, 280, 0, 0), 7.0000, 6e-5);
    ck_assert_double_eq_tol(dw_drive_pulley_for_ratio_mm(7200.0 / 92 / 1800, 280, 0, 0), 12.174, 6e-4);
}
END_TEST

START_TEST(capstan_meets_the_tables)
{
    // Computed e^(µθ) at 120, 150 and 180°.
    static const double rows[][4] = {
        {0.3, 1.874, 2.193, 2.566}, {0.5, 2.850, 3.702, 4.810}, {0.7, 4.332, 6.250, 9.017}};
    for (size_t i = 0; i < 3; i++)
        for (size_t wrap = 0; wrap < 3; wrap++)
            ck_assert_double_eq_tol(dw_drive_tension_ratio(rows[i][0], (120 + 30 * (double)wrap) * degree),
                                    rows[i][1 + wrap], 0.0006);
    // R. S. Khurmi and J. K. Gupta, Theory of Machines, ch. 18 (from memory;
    // recomputed): tight side 1 kN, µ 0.25, contact 199.19°, 450 mm pulley at 200 rpm
    // carry 2.74 kW.
    double speed = M_PI * 0.45 * 200 / 60;
    double slack = 1000 / dw_drive_tension_ratio(0.25, 199.19 * degree);
    ck_assert_double_eq_tol((1000 - slack) * speed, 2736, 0.6);
    // Computed: at rest 1.5 N, µ 0.5, 150°: 1.724 N, 0.129 N·m on a radius of 75 mm.
    double grip = dw_drive_grip_n(1.5, 0.5, 150 * degree);
    ck_assert_double_eq_tol(grip, 1.724, 0.0006);
    ck_assert_double_eq_tol(grip * 0.075, 0.129, 0.0006);
    // The two tensions at that limit keep their mean and stand in the capstan's ratio.
    ck_assert_double_eq_tol((1.5 + grip / 2) / (1.5 - grip / 2), dw_drive_tension_ratio(0.5, 150 * degree), 1e-12);
}
END_TEST

START_TEST(creep_meets_the_examples)
{
    // Computed: 3 mN·m on 75 mm is 0.040 N; EA 12 N creeps 0.33 %, 30 N 0.13 %.
    ck_assert_double_eq_tol(100 * dw_drive_creep(0.003 / 0.075, 12), 0.33, 0.006);
    ck_assert_double_eq_tol(100 * dw_drive_creep(0.003 / 0.075, 30), 0.13, 0.006);
    // Stylus drag of 0.876 mN·m on a belt of EA 30 N: 0.039 % slower.
    ck_assert_double_eq_tol(100 * dw_drive_creep(0.876e-3 / 0.075, 30), 0.039, 0.0006);
}
END_TEST

START_TEST(torsion_and_eccentricity_meet_the_examples)
{
    // Computed: J 0.01688 kg·m², radius 75 mm, span 107 mm.
    static const double rows[][2] = {{12, 1.38}, {30, 2.18}, {100, 3.97}};
    for (size_t i = 0; i < 3; i++)
        ck_assert_double_eq_tol(dw_drive_torsion_hz(dw_drive_belt_spring(rows[i][0], 107, 75), 0.01688), rows[i][1],
                                0.006);
    ck_assert_double_eq_tol(dw_drive_eccentric_percent(0.010, 12.8), 0.156, 0.0006);
    ck_assert_double_eq_tol(dw_drive_eccentric_percent(0.010, 20), 0.100, 0.0006);
    ck_assert_double_eq_tol(dw_drive_eccentric_percent(0.020, 12.8), 0.313, 0.0006);
}
END_TEST

START_TEST(a_wheel_between_lowers_the_resonance)
{
    // Two equal discs on two equal springs: ω² = (3 − √5)/2 · k/J, the textbook chain held at one end.
    DwTwoBelts belts = {.first = 4, .second = 4, .turns = 1, .wheel = 0.01, .platter = 0.01};
    ck_assert_double_eq_tol(dw_drive_torsion_of_two_hz(&belts), sqrt((3 - sqrt(5)) / 2 * 4 / 0.01) / (2 * M_PI), 1e-9);
    // A wheel without mass: springs in series, the first seen through the square of the turns: 36 and 4 N·m are 3.6.
    belts = (DwTwoBelts){.first = 4, .second = 4, .turns = 3, .wheel = 0, .platter = 0.01};
    ck_assert_double_eq_tol(dw_drive_torsion_of_two_hz(&belts), sqrt(3.6 / 0.01) / (2 * M_PI), 1e-9);
    // A first belt that gives nothing leaves the second alone.
    belts = (DwTwoBelts){.first = 1e12, .second = 4, .turns = 3, .wheel = 1e-5, .platter = 0.01};
    ck_assert_double_eq_tol(dw_drive_torsion_of_two_hz(&belts), dw_drive_torsion_hz(4, 0.01), 1e-6);
}
END_TEST

START_TEST(a_belts_length_tells_its_span)
{
    // There and back: the length of a path and the span of that path; two pulleys as well.
    for (int pulleys = 1; pulleys <= 2; pulleys++) {
        DwBeltPath path = {.rim_mm = 80, .pulley_mm = 9, .centre_mm = 95, .pulleys = pulleys};
        double length = dw_drive_belt_length_mm(&path), span = dw_drive_free_span_mm(&path);
        path.centre_mm = NAN;
        ck_assert_double_eq_tol(dw_drive_span_of_length_mm(path, length), span, 1e-3);
    }
    ck_assert(isnan(dw_drive_span_of_length_mm((DwBeltPath){.rim_mm = 80, .pulley_mm = 9}, 200))); // too short
    ck_assert(isnan(dw_drive_span_of_length_mm((DwBeltPath){.rim_mm = 80, .pulley_mm = NAN}, 400)));
}
END_TEST

START_TEST(steps_are_named_by_their_ratios)
{
    double named[4];
    // The table's pulleys with the belt's 0.8 mm, made for 60 Hz and run at 50: the
    // ratios do not know.
    dw_drive_name_steps((double[]){16.7556, 22.62}, 2, named);
    ck_assert_double_eq_tol(named[0], 100.0 / 3, 1e-9);
    ck_assert_double_eq(named[1], 45);
    dw_drive_name_steps((double[]){6.2222, 14.545}, 2, named);
    ck_assert_double_eq(named[1], 78);
    dw_drive_name_steps((double[]){6.2222, 8.4, 14.545}, 3, named);
    ck_assert_double_eq(named[1], 45);
    dw_drive_name_steps((double[]){3.1111, 6.2222}, 2, named);
    ck_assert_double_eq_tol(named[0], 50.0 / 3, 1e-9);
    dw_drive_name_steps((double[]){3, 6, 8, 14}, 4, named);
    ck_assert_double_eq(named[3], 78);
    dw_drive_name_steps((double[]){20}, 1, named);
    ck_assert_double_eq_tol(named[0], 100.0 / 3, 1e-9);
}
END_TEST

DW_SUITE("drive", a_belt_of_several_motors_is_the_hull_of_its_circles, belt_length_meets_the_table,
         belt_length_meets_the_published_other_form, a_belt_of_equal_pulleys_is_two_half_turns_and_two_spans,
         thick_belts_count_by_half, pulleys_meet_the_table, idler_shafts_meet_the_table, capstan_meets_the_tables,
         creep_meets_the_examples, torsion_and_eccentricity_meet_the_examples, a_wheel_between_lowers_the_resonance,
         a_belts_length_tells_its_span, steps_are_named_by_their_ratios)
