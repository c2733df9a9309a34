// SPDX-License-Identifier: MIT
// A belt's tension by its note and by its give, points of distributions, a ring's images, a run-down in air: each
// against a table, a closed form, or an integration done elsewhere.
#include "physics/bearing.h"
#include "physics/belt_tension.h"
#include "physics/chance.h"
#include "physics/strobe.h"
#include "support/suite.h"

#include <math.h>

// Mersenne's law by its own numbers: 1 g/m, 1 m, 100 N ring at √(100/0.001)/2 = 158.114 Hz.
START_TEST(a_span_tells_its_tension_by_its_note)
{
    ck_assert_double_eq_tol(dw_belt_tension_by_pluck(158.1138830084, 1000, 1, 1000), 100, 1e-6);
    double tension = dw_belt_tension_by_pluck(40, 180, 2.4, 620);
    ck_assert_double_eq_tol(dw_belt_tension_by_pluck(80, 180, 2.4, 620), 4 * tension, 1e-12);
    ck_assert_double_eq_tol(dw_belt_tension_by_pluck(40, 90, 2.4, 620), tension / 4, 1e-12);
    ck_assert_double_eq_tol(dw_belt_tension_by_pluck(40, 180, 4.8, 620), 2 * tension, 1e-12);
}
END_TEST

// The triangle of 3, 4 and 5: a span of 8 that gives 3 in its middle pulls along 3/5 on each side, so 6 N hold 5 N.
START_TEST(a_span_tells_its_tension_by_its_give)
{
    ck_assert_double_eq_tol(dw_belt_tension_by_push(6, 3, 8, NAN), 5, 1e-12);
    // The push made each half 5 of 4 long, a quarter longer: with 8 N of stiffness 2 N are of its making.
    ck_assert_double_eq_tol(dw_belt_tension_by_push(6, 3, 8, 8), 3, 1e-12);
    ck_assert(dw_belt_tension_by_push(0.1, 5, 180, NAN) < dw_belt_tension_by_push(0.1, 4, 180, NAN));
}
END_TEST

// Source (published): tables of the distributions as any handbook prints them (from memory).
START_TEST(points_of_the_tables)
{
    ck_assert_double_eq_tol(dw_chance_normal(0.975), 1.959964, 1e-6);
    ck_assert_double_eq_tol(dw_chance_normal(0.5), 0, 1e-12);
    ck_assert_double_eq_tol(dw_chance_chi_square(0.95, 10), 18.307, 1e-3);
    ck_assert_double_eq_tol(dw_chance_student(0.975, 10), 2.228, 1e-3);
    ck_assert_double_eq_tol(dw_chance_student(0.975, 1e6), dw_chance_normal(0.975), 1e-5);
}
END_TEST

// Bars that pass in a flash, by hand: 90 at 33⅓ under 100 flashes a second pass by 0.5, 120 by 2/3, 135 by 3/4.
START_TEST(a_ring_shows_as_many_bars_as_stand)
{
    ck_assert_int_eq(dw_strobe_images(100, 180, 100.0 / 3), 1);
    ck_assert_int_eq(dw_strobe_images(100, 90, 100.0 / 3), 2);
    ck_assert_int_eq(dw_strobe_images(100, 120, 100.0 / 3), 3);
    ck_assert_int_eq(dw_strobe_images(100, 135, 100.0 / 3), 4);
    ck_assert_int_eq(dw_strobe_images(100, 400, 45), 1);       // by threes
    ck_assert_int_eq(dw_strobe_images(100, 79, 100.0 / 3), 1); // none that is seen
}
END_TEST

// Air alone slows by dω/dt = −Aω^1.5, whose time is 2/A·(1/√ω₂ − 1/√ω₁).
START_TEST(air_alone_has_its_closed_form)
{
    DwCoast coast = {.start = 3.5, .air = 0.004};
    double wanted = 2 / coast.air * (1 / sqrt(1.0) - 1 / sqrt(3.5));
    ck_assert_double_eq_tol(dw_bearing_coast_time(&coast, 3.5, 1.0), wanted, 1e-6 * wanted);
    ck_assert_double_eq_tol(dw_bearing_coast_speed(&coast, wanted), 1.0, 1e-6);
    ck_assert(isinf(dw_bearing_coast_time(&coast, 3.5, 0)));
    // Source (published): Cochran's disc, radius to the fourth; twice the radius is sixteen times the drag.
    ck_assert_double_eq_tol(dw_bearing_air(600), 16 * dw_bearing_air(300), 1e-12);
}
END_TEST

// Source (worked apart): oil, friction and air together, by scipy.integrate.solve_ivp (rtol 1e-12).
START_TEST(a_run_down_in_air_is_told_apart)
{
    static const double seconds[] = {0, 20, 40, 60, 80, 100, 120};
    static const double speeds[] = {3.4906585040, 2.5816207171, 1.8732757196, 1.3072404452,
                                    0.8440191295, 0.4558121240, 0.1218899490};
    const DwCoast truth = {.start = speeds[0], .viscous = 0.004, .coulomb = 0.015, .air = 0.0035};
    for (size_t i = 0; i < 7; i++)
        ck_assert_double_eq_tol(dw_bearing_coast_speed(&truth, seconds[i]), speeds[i], 1e-7);
    ck_assert_double_eq_tol(dw_bearing_coast_time(&truth, speeds[0], speeds[6]), 120, 1e-4);
    DwCoast found;
    DwMessage message = {""};
    ck_assert_int_eq(dw_bearing_fit(seconds, speeds, 7, truth.air, 0.0005, &found, &message), DW_OK);
    ck_assert_double_eq_tol(found.viscous, truth.viscous, 1e-5);
    ck_assert_double_eq_tol(found.coulomb, truth.coulomb, 1e-5);
    // Air that is not known well makes the oil's share doubtful.
    ck_assert(found.viscous_error > 1e-4);
    static const double rising[] = {3.4, 2.5, 2.8, 1.3, 0.8, 0.5, 0.1};
    ck_assert_int_eq(dw_bearing_fit(seconds, rising, 7, 0, 0, &found, &message), DW_BAD_INPUT);
}
END_TEST

DW_SUITE("belt_tension", a_span_tells_its_tension_by_its_note, a_span_tells_its_tension_by_its_give,
         points_of_the_tables, a_ring_shows_as_many_bars_as_stand, air_alone_has_its_closed_form,
         a_run_down_in_air_is_told_apart)
