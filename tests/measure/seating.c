// SPDX-License-Identifier: MIT
// A tone whose speed is drawn in closed form: once- and twice-a-turn vectors come out with their size and their place,
// the tick where it was put, and the flutter without them as that of a tone that never had them.
#include "measure/speed/seating.h"
#include "support/suite.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

enum { RATE = 48000, LENGTH_S = 30 };

static const double TONE_HZ = 3150, TURN_HZ = 100.0 / 3 / 60;

// Speed deviation once, twice and five times a second: peaks as shares, and the first two's phases.
typedef struct {
    double once, once_rad, twice, twice_rad, flutter;
    double tick_s; // of the first, then one a turn; negative: none
} Drawn;

// The groove that has gone by at second T: the integral of 1 + the deviations.
static double groove_at(const Drawn *drawn, double t)
{
    double w = 2 * M_PI * TURN_HZ, f = 2 * M_PI * 5;
    return t + drawn->once * sin(w * t + drawn->once_rad) / w +
           drawn->twice * sin(2 * w * t + drawn->twice_rad) / 2 / w + drawn->flutter * sin(f * t) / f;
}

static DwSeating *seating_of(const Drawn *drawn)
{
    DwSpeedSettings settings = dw_speed_settings(RATE, 1);
    settings.tone_hz = TONE_HZ;
    DwSeating *seating = dw_seating_new(settings);
    static float block[1000];
    for (int n = 0; n < RATE * LENGTH_S; n += 1000) {
        for (int i = 0; i < 1000; i++) {
            double t = (double)(n + i) / RATE, since = fmod(t - drawn->tick_s + 10 / TURN_HZ, 1 / TURN_HZ);
            bool ticks = drawn->tick_s >= 0 && since < 0.0003;
            block[i] = (float)(0.25 * sin(2 * M_PI * TONE_HZ * groove_at(drawn, t)) + (ticks ? 0.6 : 0));
        }
        dw_seating_push(seating, block, 1000);
    }
    DwMessage message = {""};
    ck_assert_msg(dw_seating_finish(seating, &message) == DW_OK, "%s", message.text);
    return seating;
}

// The deviation K times a turn with PEAK and PHASE, at SECOND, % peak.
static double complex drawn_vector(double peak, double phase, double times, double second)
{
    return 100 * peak * cexp(I * (2 * M_PI * times * TURN_HZ * second + phase));
}

START_TEST(once_and_twice_a_turn_have_their_size_and_place)
{
    static const Drawn rows[] = {{0.002, 0.7, 0.0006, -1.1, 0.0004, -1}, {0.0005, -2.5, 0.0015, 2, 0.0004, -1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwSeating *seating = seating_of(&rows[i]);
        DwSeatingReading reading = dw_seating_read(seating);
        ck_assert_double_eq_tol(reading.tone_hz, TONE_HZ, 0.3);
        ck_assert_double_eq_tol(reading.turn_hz, TURN_HZ, 1e-3);
        ck_assert_double_eq_tol(reading.length_s, LENGTH_S, 1);
        ck_assert_double_eq_tol(reading.turns, reading.length_s * TURN_HZ, 0.05);
        ck_assert_double_eq_tol(reading.drift_per_s, 0, 1e-6);
        double complex once = drawn_vector(rows[i].once, rows[i].once_rad, 1, reading.centre_s);
        double complex twice = drawn_vector(rows[i].twice, rows[i].twice_rad, 2, reading.centre_s);
        const double complex drawn[2] = {once, twice};
        for (size_t k = 0; k < 2; k++) {
            ck_assert_double_eq_tol(reading.vector[k].real, creal(drawn[k]), 0.002);
            ck_assert_double_eq_tol(reading.vector[k].imaginary, cimag(drawn[k]), 0.002);
            ck_assert(reading.vector_off[k] > 0 && reading.vector_off[k] < 0.02);
        }
        DwTurnTick tick;
        ck_assert(!dw_seating_tick(seating, &tick));
        dw_seating_free(seating);
    }
}
END_TEST

START_TEST(the_tick_stands_where_it_was_put)
{
    DwSeating *seating = seating_of(&(Drawn){0.001, 0, 0, 0, 0.0004, 0.9});
    DwTurnTick tick;
    ck_assert(dw_seating_tick(seating, &tick));
    ck_assert_double_eq_tol(tick.rate_hz, TURN_HZ, 1e-4);
    double late = remainder(tick.first_s - 0.9, 1 / TURN_HZ);
    ck_assert_double_eq_tol(late, 0, 0.002);
    ck_assert_uint_ge(tick.heard, tick.turns * 6 / 10);
    dw_seating_free(seating);
}
END_TEST

// The same groove without them, drawn anew, has the flutter that is left.
START_TEST(without_its_turns_the_flutter_is_that_of_the_rest)
{
    const Drawn whole = {0.002, 0.7, 0.0006, -1.1, 0.0008, -1}, bare = {.flutter = 0.0008, .tick_s = -1},
                once_less = {0, 0, 0.0006, -1.1, 0.0008, -1};
    DwSeating *seating = seating_of(&whole), *rest = seating_of(&bare), *part = seating_of(&once_less);
    DwSeatingReading reading = dw_seating_read(seating);
    double without = dw_seating_weighted_without(seating, reading.vector);
    ck_assert_double_eq_tol(without / dw_seating_read(rest).weighted, 1, 0.03);
    ck_assert_double_gt(reading.weighted, 1.1 * without);
    const DwVector once[2] = {reading.vector[0], {0, 0}}, none[2] = {{0, 0}, {0, 0}};
    ck_assert_double_eq_tol(dw_seating_weighted_without(seating, once) / dw_seating_read(part).weighted, 1, 0.03);
    ck_assert_double_eq_tol(dw_seating_weighted_without(seating, none) / reading.weighted, 1, 1e-3);
    ck_assert(dw_seating_read(seating).weighted == reading.weighted); // asking changes nothing
    dw_seating_free(seating);
    dw_seating_free(rest);
    dw_seating_free(part);
    dw_seating_free(NULL);
}
END_TEST

DW_SUITE("seating", once_and_twice_a_turn_have_their_size_and_place, the_tick_stands_where_it_was_put,
         without_its_turns_the_flutter_is_that_of_the_rest)
