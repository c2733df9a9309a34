// SPDX-License-Identifier: MIT
// The watch over lost sound on block arrivals with known truth.
#include "measure/live/loss_watch.h"

#include "support/alike.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>

typedef struct {
    double lost_at_s, lost_s;   // this much never comes
    double stall_at_s, stall_s; // nothing comes so long, then all of it at once
    double error_ppm, jitter_s; // of the clock; mean of the exponential delay of each block
    uint64_t seed;
    double busy_s;        // the program gets its turn only after such pauses at most, each drawn
    double counts_s;      // how often the device tells its count, late itself as each block is; 0: never
    double counts_late_s; // by up to so much more, drawn, from the eleventh second on
} Arrivals;

typedef struct {
    unsigned found;
    double lost_s, told_after_s; // in all; from the loss to the last verdict
    double truth_s;              // what was lost, in whole blocks
    unsigned late;               // pushes that were held up
} Told;

static double chance_of(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u; // Knuth's LCG, "The Art of Computer Programming"
    return ((double)(*seed >> 11) + 0.5) / 9007199254740992.0;
}

// A minute of blocks of 10 ms.
static Told watch_over(const Arrivals *arrivals, double rate_hz)
{
    DwLossWatch watch;
    dw_loss_watch_start(&watch, rate_hz);
    Told told = {0};
    uint64_t seed = arrivals->seed;
    double last = 0, delivered = 0, turn = 0, counted = 0;
    for (double frames = rate_hz / 100; frames < 60 * rate_hz; frames += rate_hz / 100) {
        double at = frames / (rate_hz * (1 + arrivals->error_ppm * 1e-6));
        double time = 7 + at - arrivals->jitter_s * log(chance_of(&seed));
        bool is_lost = at >= arrivals->lost_at_s && at < arrivals->lost_at_s + arrivals->lost_s;
        if (!is_lost)
            delivered += rate_hz / 100;
        told.truth_s += is_lost ? 0.01 : 0;
        if (is_lost)
            continue; // a program that gets nothing hands on no count either
        if (arrivals->counts_s > 0 && at > counted + arrivals->counts_s) { // whenever the program has its turn
            double late = -0.2 * arrivals->jitter_s * log(chance_of(&seed));
            late += at > 11 && arrivals->counts_late_s > 0 ? arrivals->counts_late_s * chance_of(&seed) : 0;
            dw_loss_watch_count(&watch, 7 + at + late, delivered + 4711);
            counted = at + late; // it is asked again once it has answered
        }
        while (arrivals->busy_s > 0 && turn < time)
            turn += arrivals->busy_s * chance_of(&seed);
        time = fmax(time, turn);
        double resumed = 7 + arrivals->stall_at_s + arrivals->stall_s;
        if (at >= arrivals->stall_at_s && time < resumed)
            time = resumed;
        last = fmax(last, time);
        double lost;
        DwLossVerdict verdict = dw_loss_watch_push(&watch, last, delivered, false, &lost);
        told.late += verdict == DW_LOSS_LATE;
        if (verdict != DW_LOSS_FOUND)
            continue;
        told.found++;
        told.lost_s += lost;
        told.told_after_s = last - 7 - arrivals->lost_at_s - arrivals->lost_s;
    }
    return told;
}

START_TEST(what_is_lost_is_known_to_some_milliseconds)
{
    static const double lengths[] = {0.03, 0.1, 0.4, 1.3, 4};
    static const double rates[] = {44100, 48000, 192000};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
        for (size_t k = 0; k < sizeof rates / sizeof *rates; k++)
            for (uint64_t seed = 1; seed <= alike(8, 2); seed++) {
                Arrivals arrivals = {.lost_at_s = 5 + 5.37 * (double)seed,
                                     .lost_s = lengths[i],
                                     .stall_at_s = 1e9,
                                     .error_ppm = 40 * (double)seed - 160,
                                     .jitter_s = 0.002,
                                     .seed = seed};
                Told told = watch_over(&arrivals, rates[k]);
                ck_assert_msg(told.found == 1, "%g s at %g Hz: %u", lengths[i], rates[k], told.found);
                ck_assert_double_eq_tol(told.lost_s, lengths[i], 0.02);
                ck_assert_double_le(told.told_after_s, 1.2);
            }
}
END_TEST

START_TEST(what_comes_late_is_not_lost)
{
    static const double stalls[] = {0.05, 0.4, 1.3, 4};
    for (size_t i = 0; i < sizeof stalls / sizeof *stalls; i++)
        for (uint64_t seed = 1; seed <= alike(8, 2); seed++) {
            Arrivals arrivals = {.lost_at_s = 1e9,
                                 .stall_at_s = 4 + 3.1 * (double)seed,
                                 .stall_s = stalls[i],
                                 .jitter_s = 0.003,
                                 .seed = seed};
            Told told = watch_over(&arrivals, 48000);
            ck_assert_uint_eq(told.found, 0);
        }
}
END_TEST

START_TEST(a_steady_device_is_left_alone)
{
    for (uint64_t seed = 1; seed <= alike(20, 4); seed++) {
        Arrivals arrivals = {
            .lost_at_s = 1e9, .stall_at_s = 1e9, .error_ppm = seed % 2 ? 900 : -900, .jitter_s = 0.004, .seed = seed};
        Told told = watch_over(&arrivals, 96000);
        ck_assert_uint_eq(told.found, 0);
        arrivals.counts_s = 0.04;
        Told counted = watch_over(&arrivals, 96000);
        ck_assert_uint_eq(counted.found, 0);
        ck_assert_uint_le(counted.late, told.late + 60); // of 6000: what is there is not held up for the counts
    }
}
END_TEST

START_TEST(a_hole_that_the_device_tells_is_found_whatever_its_length)
{
    DwLossWatch watch;
    dw_loss_watch_start(&watch, 48000);
    unsigned found = 0;
    for (unsigned i = 1; i <= 500; i++) {
        double lost;
        DwLossVerdict verdict = dw_loss_watch_push(&watch, 0.01 * i, 480.0 * i, i == 250, &lost);
        found += verdict == DW_LOSS_FOUND;
        if (verdict == DW_LOSS_FOUND)
            ck_assert_double_eq(lost, 0);
        if (i >= 250 && i < 290)
            ck_assert_int_ne(verdict, DW_LOSS_NONE); // not passed over meanwhile
    }
    ck_assert_uint_eq(found, 1);
}
END_TEST

// A computer with more work than it can do: this program has its turn after up to 0.4 s only.
static Arrivals busy(uint64_t seed, double lost_s, double counts_s)
{
    return (Arrivals){.lost_at_s = 9 + 2.37 * (double)(seed % 17),
                      .lost_s = lost_s,
                      .stall_at_s = 1e9,
                      .error_ppm = 40 * (double)(seed % 8) - 160,
                      .jitter_s = 0.01,
                      .seed = seed,
                      .busy_s = 0.4,
                      .counts_s = counts_s};
}

START_TEST(a_busy_computer_knows_it_by_the_counts_of_the_device)
{
    static const double lengths[] = {0.03, 0.1, 0.4, 1.3, 3};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
        for (uint64_t seed = 1; seed <= alike(16, 3); seed++) {
            Arrivals arrivals = busy(seed, lengths[i], 0.04);
            Told told = watch_over(&arrivals, 48000);
            // Of 30 ms among arrivals that are up to 400 ms late, too.
            ck_assert_msg(told.found == 1, "%g s: %u found, %g", lengths[i], told.found, told.lost_s);
            ck_assert_double_eq_tol(told.lost_s, told.truth_s, 0.005);
        }
}
END_TEST

// The sound server has its turn no sooner than other programs: its answers are late, too.
START_TEST(a_busy_sound_server_tells_it_for_all_that)
{
    static const double lengths[] = {0.03, 0.05, 0.1, 0.4, 1.3, 3};
    unsigned tried = 0, off = 0;
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
        for (uint64_t seed = 1; seed <= alike(64, 6); seed++) {
            Arrivals arrivals = busy(seed, lengths[i], 0.04);
            arrivals.counts_late_s = 0.1;
            Told told = watch_over(&arrivals, 48000);
            ck_assert_msg(told.found >= 1, "%g s: %u found, %g", lengths[i], told.found, told.lost_s);
            ck_assert_double_eq_tol(told.lost_s, told.truth_s, 0.05);
            off += fabs(told.lost_s - told.truth_s) > 0.02;
            tried++;
        }
    ck_assert_msg(30 * off <= tried, "%u of %u more than 20 ms off", off, tried);
}
END_TEST

// A server that comes too late leaves out a piece, which is less than the arrivals can tell.
START_TEST(a_hole_of_ten_milliseconds_is_found_by_the_counts)
{
    for (uint64_t seed = 1; seed <= alike(16, 3); seed++) {
        Arrivals arrivals = {.lost_at_s = 5 + 2.37 * (double)seed,
                             .lost_s = 0.01,
                             .stall_at_s = 1e9,
                             .error_ppm = 40 * (double)seed - 160,
                             .jitter_s = 0.001,
                             .seed = seed,
                             .counts_s = 0.04};
        Told told = watch_over(&arrivals, 48000);
        ck_assert_uint_eq(told.found, 1);
        ck_assert_double_eq_tol(told.lost_s, told.truth_s, 0.002);
    }
}
END_TEST

START_TEST(a_busy_sound_server_takes_nothing_for_a_loss)
{
    for (uint64_t seed = 1; seed <= alike(64, 6); seed++) {
        Arrivals arrivals = busy(seed, 0, 0.04);
        arrivals.lost_at_s = 1e9;
        arrivals.counts_late_s = 0.1;
        Told told = watch_over(&arrivals, 48000);
        ck_assert_msg(told.found == 0, "%u: %g", (unsigned)seed, told.lost_s);
    }
}
END_TEST

START_TEST(a_busy_computer_does_not_take_its_own_delays_for_losses)
{
    for (uint64_t seed = 1; seed <= alike(40, 5); seed++) {
        Arrivals arrivals = busy(seed, 0, 0.04);
        arrivals.lost_at_s = 1e9;
        ck_assert_uint_eq(watch_over(&arrivals, 48000).found, 0);
    }
}
END_TEST

START_TEST(without_counts_a_busy_computer_waits_for_more_arrivals)
{
    for (uint64_t seed = 1; seed <= alike(16, 3); seed++) {
        Arrivals arrivals = busy(seed, 0.4, 0);
        arrivals.busy_s = 0.1;
        Told told = watch_over(&arrivals, 48000);
        ck_assert_uint_eq(told.found, 1);
        ck_assert_double_eq_tol(told.lost_s, told.truth_s, 0.02);
        arrivals.lost_at_s = 1e9;
        ck_assert_uint_eq(watch_over(&arrivals, 48000).found, 0);
    }
}
END_TEST

DW_SUITE("loss_watch", a_busy_sound_server_tells_it_for_all_that, a_busy_sound_server_takes_nothing_for_a_loss,
         a_hole_of_ten_milliseconds_is_found_by_the_counts, a_busy_computer_knows_it_by_the_counts_of_the_device,
         a_busy_computer_does_not_take_its_own_delays_for_losses,
         without_counts_a_busy_computer_waits_for_more_arrivals, what_is_lost_is_known_to_some_milliseconds,
         what_comes_late_is_not_lost, a_steady_device_is_left_alone,
         a_hole_that_the_device_tells_is_found_whatever_its_length)
