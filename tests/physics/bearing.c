// SPDX-License-Identifier: MIT
#include "physics/bearing.h"
#include "support/suite.h"

#include <math.h>

static const double rpm = 2 * M_PI / 60;

START_TEST(oil_turns_its_power_to_heat)
{
    // Source (worked apart): what is sheared turns to heat, µ (v/c)² in each m³ of the film, which is 2πR·l·c large;
    // the torque times the speed is that power. 0.065 Pa·s, R 5 mm, l 60 mm, 33⅓ rpm; 10 and 20 µm.
    double speed = 100.0 / 3 * rpm;
    for (double clearance = 10e-6; clearance < 25e-6; clearance *= 2) {
        DwSleeve sleeve = {5, 60, 1000 * clearance};
        double heat = 0.065 * pow(0.005 * speed / clearance, 2) * 2 * M_PI * 0.005 * 0.060 * clearance;
        ck_assert_double_eq_tol(speed * speed * dw_bearing_petroff(&sleeve, 0.065) / heat, 1, 1e-9);
    }
}
END_TEST

START_TEST(petroff_meets_the_coefficient_form)
{
    // Source (published): f = 2π² (µN/P)(R/c) as in J. E. Shigley, Mechanical Engineering Design, eq. 12-6 (from
    // memory); W 2 N gives P 3333 Pa, f 0.1069, torque fWR.
    double pressure = 2 / (2 * 0.005 * 0.060);
    double f = 2 * M_PI * M_PI * 0.065 * (100.0 / 3 / 60) / pressure * (5 / 0.010);
    ck_assert_double_eq_tol(f, 0.1069, 6e-5);
    DwSleeve sleeve = {5, 60, 0.010};
    ck_assert_double_eq_tol(100.0 / 3 * rpm * dw_bearing_petroff(&sleeve, 0.065), f * 2 * 0.005, 1e-12);
}
END_TEST

START_TEST(inertias_are_sums_of_hoops)
{
    // Source (worked apart): thin hoops, each its mass by its radius squared, summed from the inside out.
    static const double rings[][3] = {{2, 300, 0}, {2, 300, 240}, {1.682, 300, 0}, {0.9, 78, 12}};
    for (size_t i = 0; i < sizeof rings / sizeof *rings; i++) {
        double inner = rings[i][2] / 2000, outer = rings[i][1] / 2000, width = (outer - inner) / 1000;
        double area = M_PI * (outer * outer - inner * inner), sum = 0;
        for (int hoop = 0; hoop < 1000; hoop++) {
            double radius = inner + (hoop + 0.5) * width;
            sum += rings[i][0] / area * 2 * M_PI * radius * width * radius * radius;
        }
        ck_assert_double_eq_tol(dw_bearing_ring_inertia(rings[i][0], rings[i][1], rings[i][2]) / sum, 1, 1e-5);
    }
}
END_TEST

// J 0.0225 kg·m², b 1.22e-4 N·m·s, T 2e-4 N·m.
static DwCoast example(double viscous, double coulomb)
{
    return (DwCoast){.start = 100.0 / 3 * rpm, .viscous = viscous / 0.0225, .coulomb = coulomb / 0.0225};
}

// Seconds from the speed FROM down to TO, by small steps of dω/dt = −bω − T, each by its middle.
static double stepped_down(double viscous, double coulomb, double from, double to)
{
    static const double step = 1e-3;
    double speed = from, seconds = 0;
    for (; speed > to; seconds += step) {
        double middle = speed - step / 2 * (viscous * speed + coulomb);
        speed -= step * (viscous * middle + coulomb);
    }
    return seconds - (to - speed) / (viscous * to + coulomb);
}

START_TEST(coasting_is_what_small_steps_give)
{
    // Source (worked apart): the drags summed in steps of a millisecond.
    static const double rows[][4] = {// b and T over J, from and to in rpm
                                     {1.22e-4 / 0.0225, 0, 100.0 / 3, 10},
                                     {0, 2e-4 / 0.0225, 100.0 / 3, 0},
                                     {1.22e-4 / 0.0225, 2e-4 / 0.0225, 100.0 / 3, 0},
                                     {1.22e-4 / 0.0225, 2e-4 / 0.0225, 100.0 / 6, 100.0 / 12}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double from = rows[i][2] * rpm, to = rows[i][3] * rpm, took = stepped_down(rows[i][0], rows[i][1], from, to);
        DwCoast coast = {.start = from, .viscous = rows[i][0], .coulomb = rows[i][1]};
        ck_assert_double_eq_tol(dw_bearing_coast_time(&coast, from, to), took, 1e-3);
        ck_assert_double_eq_tol(dw_bearing_coast_speed(&coast, took), to, 1e-5);
    }
}
END_TEST

START_TEST(halving_tells_oil_from_friction)
{
    // Source (worked apart): friction alone takes away as much in each second, so the second half of the speed takes
    // half of what the first took; oil takes as long for each halving.
    DwCoast viscous = example(1.22e-4, 0), coulomb = example(0, 2e-4), both = example(1.22e-4, 2e-4);
    double first = stepped_down(both.viscous, both.coulomb, both.start, both.start / 2);
    double second = stepped_down(both.viscous, both.coulomb, both.start / 2, both.start / 4);
    ck_assert_double_eq_tol(dw_bearing_half_ratio(&both), second / first, 1e-4);
    ck_assert_double_eq_tol(dw_bearing_half_ratio(&viscous), 1, 1e-9);
    ck_assert_double_eq_tol(dw_bearing_half_ratio(&coulomb), 0.5, 1e-9);
    ck_assert_double_eq(dw_bearing_coast_speed(&both, 300), 0);
}
END_TEST

START_TEST(a_textbook_flywheel_stops_in_its_time)
{
    // Source (published): a flywheel exercise found in print, 5 kg·m², 60 rad/s, stops in 300 s under
    // 1 N·m; one minute before, 60 kg·m²/s.
    DwCoast wheel = {.start = 60, .viscous = 0, .coulomb = 1.0 / 5};
    ck_assert_double_eq_tol(dw_bearing_coast_time(&wheel, 60, 0), 300, 1e-9);
    ck_assert_double_eq_tol(5 * dw_bearing_coast_speed(&wheel, 240), 60, 1e-9);
}
END_TEST

START_TEST(exact_run_downs_are_recovered)
{
    static const double drags[][2] = {{1.22e-4, 2e-4}, {1.22e-4, 0}, {0, 2e-4}, {1e-5, 2e-4}};
    for (size_t n = 0; n < 4; n++) {
        DwCoast truth = example(drags[n][0], drags[n][1]), fitted;
        double seconds[8], speeds[8];
        for (size_t i = 0; i < 8; i++) {
            seconds[i] = 7 + 15 * (double)i; // the clock was running already
            speeds[i] = dw_bearing_coast_speed(&truth, 15 * (double)i);
        }
        ck_assert_int_eq(dw_bearing_fit(seconds, speeds, 8, 0, 0, &fitted, NULL), DW_OK);
        ck_assert_double_eq_tol(fitted.start, truth.start, 1e-6);
        ck_assert_double_eq_tol(0.0225 * fitted.viscous, drags[n][0], 2e-8);
        ck_assert_double_eq_tol(0.0225 * fitted.coulomb, drags[n][1], 2e-8);
        ck_assert_double_ge(fitted.viscous, 0);
        ck_assert_double_ge(fitted.coulomb, 0);
    }
}
END_TEST

// Normal deviates from a fixed seed: the sum of twelve uniform ones (Irwin–Hall).
static double deviate(unsigned *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 1664525u + 1013904223u;
        sum += *state / 4294967296.0;
    }
    return sum;
}

// How many of 400 noisy run-downs of COUNT points, each STEP seconds, give drags
// whose stated 95 % interval holds the truth.
static void count_covered(size_t count, double step, unsigned *viscous, unsigned *coulomb)
{
    DwCoast truth = example(1.22e-4, 2e-4);
    unsigned state = 7;
    *viscous = *coulomb = 0;
    for (int draw = 0; draw < 400; draw++) {
        double seconds[180], speeds[180];
        DwCoast fitted;
        for (size_t i = 0; i < count; i++) {
            seconds[i] = step * (double)i;
            speeds[i] = dw_bearing_coast_speed(&truth, seconds[i]) + 0.002 * deviate(&state);
        }
        ck_assert_int_eq(dw_bearing_fit(seconds, speeds, count, 0, 0, &fitted, NULL), DW_OK);
        *viscous += fabs(fitted.viscous - truth.viscous) < fitted.coverage * fitted.viscous_error;
        *coulomb += fabs(fitted.coulomb - truth.coulomb) < fitted.coverage * fitted.coulomb_error;
    }
}

START_TEST(noisy_run_downs_are_recovered_within_their_uncertainty)
{
    // 0.002 rad/s of noise, every second for three minutes and six points by hand: of
    // 400 draws 380 are expected inside, give or take three times 4.4.
    static const double cases[][2] = {{180, 1}, {6, 30}};
    for (size_t i = 0; i < 2; i++) {
        unsigned viscous, coulomb;
        count_covered((size_t)cases[i][0], cases[i][1], &viscous, &coulomb);
        ck_assert_uint_ge(viscous, 366);
        ck_assert_uint_le(viscous, 394);
        ck_assert_uint_ge(coulomb, 366);
        ck_assert_uint_le(coulomb, 394);
    }
}
END_TEST

START_TEST(a_fine_run_down_gives_its_drags_closely)
{
    // Source (worked apart): as an independent fit (integral regression) of the same case did: 1.223e-4 and 1.994e-4.
    DwCoast truth = example(1.22e-4, 2e-4), fitted;
    double seconds[180], speeds[180];
    unsigned state = 3;
    for (size_t i = 0; i < 180; i++) {
        seconds[i] = (double)i;
        speeds[i] = dw_bearing_coast_speed(&truth, seconds[i]) + 0.002 * deviate(&state);
    }
    ck_assert_int_eq(dw_bearing_fit(seconds, speeds, 180, 0, 0, &fitted, NULL), DW_OK);
    ck_assert_double_eq_tol(0.0225 * fitted.viscous, 1.22e-4, 0.01e-4);
    ck_assert_double_eq_tol(0.0225 * fitted.coulomb, 2e-4, 0.02e-4);
}
END_TEST

START_TEST(what_is_no_run_down_is_refused)
{
    DwCoast coast;
    DwMessage message;
    ck_assert_int_eq(dw_bearing_fit((double[]){0, 1}, (double[]){3, 2}, 2, 0, 0, &coast, &message), DW_BAD_INPUT);
    ck_assert_int_eq(dw_bearing_fit((double[]){0, 1, 1}, (double[]){3, 2, 1}, 3, 0, 0, &coast, &message), DW_BAD_INPUT);
    ck_assert_int_eq(dw_bearing_fit((double[]){0, 1, 2}, (double[]){3, 3, 3}, 3, 0, 0, &coast, &message), DW_BAD_INPUT);
}
END_TEST

START_TEST(sinking_meets_the_examples)
{
    // Source (worked apart): SciPy, the growing length also by an ODE solver: 0.065 Pa·s, 19.62 N, R 5 mm,
    // c 10 µm: 50 to 60 mm in 4293.27 s, 0 to 60 mm in 14 051 s.
    DwSleeve sleeve = {5, 0, 0.010};
    ck_assert_double_eq_tol(dw_bearing_sink_seconds(&sleeve, 0.065, 19.62, 50, 60), 4293.27, 0.006);
    ck_assert_double_eq_tol(dw_bearing_sink_seconds(&sleeve, 0.065, 19.62, 0, 60), 14051, 0.6);
    ck_assert_double_eq_tol(dw_bearing_sink_clearance_mm(5, 0.065, 19.62, 50, 60, 4293.27), 0.010, 1e-8);
    // Twice the clearance, an eighth of the time.
    double thin = dw_bearing_sink_seconds(&sleeve, 0.065, 19.62, 50, 60);
    sleeve.clearance_mm *= 2;
    ck_assert_double_eq_tol(dw_bearing_sink_seconds(&sleeve, 0.065, 19.62, 50, 60), thin / 8, 1e-6);
}
END_TEST

DW_SUITE("bearing", oil_turns_its_power_to_heat, petroff_meets_the_coefficient_form, inertias_are_sums_of_hoops,
         coasting_is_what_small_steps_give, halving_tells_oil_from_friction, a_textbook_flywheel_stops_in_its_time,
         exact_run_downs_are_recovered, noisy_run_downs_are_recovered_within_their_uncertainty,
         a_fine_run_down_gives_its_drags_closely, what_is_no_run_down_is_refused, sinking_meets_the_examples)
