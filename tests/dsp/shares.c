// SPDX-License-Identifier: MIT
// Parting the record's vector from the deck's: against vectors put together
// here, and uncertainties against the spread of many noisy cases.
#include "dsp/shares.h"
#include "support/suite.h"

#include <complex.h>
#include <math.h>

static const double DEGREE = M_PI / 180;

// What a recording shows of DECK and RECORD with the platter TURNED past its mark.
static DwSeat seat(double complex deck, double complex record, unsigned n, double turned, double angle, double scale,
                   size_t band)
{
    double complex v = cexp(I * n * turned * DEGREE) * (deck + scale * record * cexp(I * n * angle * DEGREE));
    return (DwSeat){.vector = {creal(v), cimag(v)},
                    .turned = turned * DEGREE,
                    .angle = angle * DEGREE,
                    .scale = scale,
                    .band = band};
}

START_TEST(half_a_turn_is_half_sum_and_half_difference)
{
    // The record turned by 180°: half-sum the platter's, half-difference the record's.
    DwSeat seats[] = {seat(0, 0, 1, 0, 0, 1, 0), seat(0, 0, 1, 0, 180, 1, 0)};
    seats[0].vector = (DwVector){0.13, 0.05};
    seats[1].vector = (DwVector){-0.03, 0.01};
    DwShares shares = dw_shares_split(seats, 2, 1, false);
    ck_assert(shares.possible && !shares.open);
    ck_assert_double_eq_tol(shares.deck.real, 0.05, 1e-12);
    ck_assert_double_eq_tol(shares.deck.imaginary, 0.03, 1e-12);
    ck_assert_double_eq_tol(shares.record[0].real, 0.08, 1e-12);
    ck_assert_double_eq_tol(shares.record[0].imaginary, 0.02, 1e-12);
    ck_assert(isnan(shares.residual));
}
END_TEST

START_TEST(platters_place_does_not_matter)
{
    double complex deck = 0.06 * cexp(I * 0.4), record = 0.11 * cexp(I * 2.1);
    for (unsigned n = 1; n <= 2; n++)
        for (double start = -300; start < 400; start += 97) {
            DwSeat seats[] = {seat(deck, record, n, start, 0, 1, 0), seat(deck, record, n, 2 * start + 31, 70, 1, 0),
                              seat(deck, record, n, 5 * start, 200, 1, 0)};
            DwShares shares = dw_shares_split(seats, 3, n, false);
            ck_assert_double_eq_tol(shares.deck_amplitude, 0.06, 1e-12);
            ck_assert_double_eq_tol(shares.record_amplitude, 0.11, 1e-12);
            ck_assert_double_lt(shares.residual, 1e-12);
            for (size_t i = 0; i < 3; i++) { // what is left without the record is the deck alone
                DwVector part = dw_shares_record_in(&shares, &seats[i]);
                double complex rest =
                    seats[i].vector.real - part.real + I * (seats[i].vector.imaginary - part.imaginary);
                ck_assert_double_lt(cabs(rest - deck * cexp(I * n * seats[i].turned)), 1e-12);
            }
            // The same by a mark on the record: its place is the platter's and the angle.
            for (size_t i = 0; i < 3; i++)
                seats[i].turned += seats[i].angle;
            shares = dw_shares_split(seats, 3, n, true);
            ck_assert_double_eq_tol(shares.deck_amplitude, 0.06, 1e-12);
            ck_assert_double_eq_tol(shares.record_amplitude, 0.11, 1e-12);
            DwVector part = dw_shares_record_in(&shares, &seats[1]);
            double complex want = record * cexp(I * n * seats[1].turned);
            ck_assert_double_lt(cabs(part.real + I * part.imaginary - want), 1e-12);
        }
}
END_TEST

START_TEST(half_a_turn_does_not_split_twice_a_revolution)
{
    DwSeat seats[] = {seat(0.1, 0.1, 2, 0, 0, 1, 0), seat(0.1, 0.1, 2, 0, 180, 1, 0), seat(0.1, 0.1, 2, 0, 185, 1, 0)};
    ck_assert(!dw_shares_split(seats, 3, 2, false).possible);
    seats[1].angle = 90 * DEGREE;
    ck_assert(dw_shares_split(seats, 2, 2, false).possible);
    ck_assert(!dw_shares_split(seats, 1, 1, false).possible);
}
END_TEST

START_TEST(three_amplitudes_give_both_shares_but_not_whose)
{
    double complex deck = 0.06, record = 0.11 * cexp(I * 1.1);
    DwSeat seats[] = {seat(deck, record, 1, 13, 0, 1, 0), seat(deck, record, 1, 244, 100, 1, 0),
                      seat(deck, record, 1, 90, 230, 1, 0)};
    DwShares shares = dw_shares_split_amplitudes(seats, 3, 1);
    ck_assert(shares.possible && shares.open);
    ck_assert_double_eq_tol(fmax(shares.deck_amplitude, shares.record_amplitude), 0.11, 1e-8);
    ck_assert_double_eq_tol(fmin(shares.deck_amplitude, shares.record_amplitude), 0.06, 1e-8);
    ck_assert(!dw_shares_split_amplitudes(seats, 2, 1).possible);
    seats[2].angle = 100 * DEGREE;
    ck_assert(!dw_shares_split_amplitudes(seats, 3, 1).possible);
}
END_TEST

START_TEST(a_second_radius_tells_whose)
{
    for (double size = 0.02; size < 0.3; size += 0.045) {
        double complex deck = 0.1, record = size * cexp(I * 2.5), there = record * cexp(I * 0.2); // the arm's arc
        double scale = 140.0 / 70;
        DwSeat seats[] = {seat(deck, record, 1, 13, 0, 1, 0),       seat(deck, record, 1, 244, 120, 1, 0),
                          seat(deck, record, 1, 90, 240, 1, 0),     seat(deck, there, 1, 8, 0, scale, 1),
                          seat(deck, there, 1, 190, 120, scale, 1), seat(deck, there, 1, 300, 240, scale, 1)};
        for (size_t i = 0; i < 6; i++)
            seats[i].vector_off = 1e-4;
        DwShares shares = dw_shares_split_amplitudes(seats, 6, 1);
        ck_assert_msg(shares.possible && !shares.open, "%g", size);
        ck_assert_double_eq_tol(shares.deck_amplitude, 0.1, 1e-6);
        ck_assert_double_eq_tol(shares.record_amplitude, size, 1e-6);
        for (size_t i = 0; i < 6; i++) {
            DwVector part = dw_shares_record_in(&shares, &seats[i]);
            double complex want =
                (i < 3 ? record : there) * seats[i].scale * cexp(I * (seats[i].turned + seats[i].angle));
            ck_assert_double_lt(cabs(part.real + I * part.imaginary - want), 1e-6);
        }
    }
}
END_TEST

// A Gaussian by the polar method from a fixed linear congruential generator
// (Knuth, "The Art of Computer Programming", vol. 2, the constants of MMIX).
static double normal(unsigned long long *state)
{
    double u, v, s;
    do {
        *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
        u = (double)(*state >> 11) / 4503599627370496.0 - 1;
        *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
        v = (double)(*state >> 11) / 4503599627370496.0 - 1;
        s = u * u + v * v;
    } while (s >= 1 || s == 0);
    return u * sqrt(-2 * log(s) / s);
}

// How many of 1000 noisy cases hold the true deck's and record's amplitude in their interval.
static void count_held(bool by_amplitudes, bool on_record, size_t held[2])
{
    enum { CASES = 1000 };
    unsigned long long state = 7;
    double complex deck = 0.09, record = 0.12 * cexp(I * 0.7);
    static const double angles[] = {0, 90, 170, 260};
    held[0] = held[1] = 0;
    for (size_t c = 0; c < CASES; c++) {
        DwSeat seats[8];
        size_t count = by_amplitudes ? 8 : 4;
        for (size_t i = 0; i < count; i++) {
            double scale = i < 4 ? 1 : 1.9;
            seats[i] = seat(deck, record, 1, 50.0 * (double)i, angles[i % 4], scale, i / 4);
            seats[i].turned += on_record ? seats[i].angle : 0;
            seats[i].vector_off = 0.001;
            seats[i].angle_off = 0.5 * DEGREE;
            seats[i].turned_off = 1.5 * DEGREE;
            double complex error = 0;
            if (i % 4) { // laid on a little off
                double complex shift = scale * record * cexp(I * (seats[i].angle + 50.0 * (double)i * DEGREE));
                double off = 0.5 * DEGREE * normal(&state);
                error = shift * (cexp(I * off) - 1);
                seats[i].turned += on_record ? off : 0;
            } else
                seats[i].angle_off = 0;
            seats[i].vector.real += creal(error) + 0.001 * normal(&state);
            seats[i].vector.imaginary += cimag(error) + 0.001 * normal(&state);
            seats[i].turned += 1.5 * DEGREE * normal(&state);
        }
        DwShares shares =
            by_amplitudes ? dw_shares_split_amplitudes(seats, count, 1) : dw_shares_split(seats, count, 1, on_record);
        held[0] += fabs(shares.deck_amplitude - 0.09) <= shares.deck_off;
        held[1] += fabs(shares.record_amplitude - 0.12) <= shares.record_off;
    }
}

START_TEST(intervals_hold_the_truth)
{
    // 95 % of 1000 is 950 with a standard deviation of 7; widened intervals hold more.
    for (unsigned way = 0; way < 3; way++) {
        size_t held[2];
        count_held(way == 1, way == 2, held);
        for (size_t k = 0; k < 2; k++)
            ck_assert_msg(held[k] >= 925 && held[k] <= 995, "way %u: %zu of 1000 held", way, held[k]);
    }
}
END_TEST

DW_SUITE("shares", half_a_turn_is_half_sum_and_half_difference, platters_place_does_not_matter,
         half_a_turn_does_not_split_twice_a_revolution, three_amplitudes_give_both_shares_but_not_whose,
         a_second_radius_tells_whose, intervals_hold_the_truth)
