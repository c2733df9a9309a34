// SPDX-License-Identifier: MIT
// Starts and run-downs whose law is known: the speed is a formula, and the tone
// its integral.
#include "measure/speed/startup.h"
#include "support/alike.h"
#include "support/play.h"
#include "support/suite.h"

#include <stdio.h>
#include <string.h>

enum { RATE = 16000 };
static const double TONE_HZ = 3150;

// A law of the speed: its share of the nominal one at SECONDS after the motor starts.
typedef double (*Law)(double seconds, const double *how);

// HOW: time constant.
static double exponential(double seconds, const double *how)
{
    return seconds < 0 ? 0 : 1 - exp(-seconds / how[0]);
}

// HOW: natural frequency [rad/s], damping. The step response of a second-order system.
static double second_order(double seconds, const double *how)
{
    double root = sqrt(1 - how[1] * how[1]), turn = how[0] * root * seconds;
    return seconds < 0 ? 0 : 1 - exp(-how[1] * how[0] * seconds) * (cos(turn) + how[1] / root * sin(turn));
}

// HOW: Coulomb over viscous drag, time constant. Steady until 0, then a run-down.
static double run_down(double seconds, const double *how)
{
    double share = seconds < 0 ? 1 : (1 + how[0]) * exp(-seconds / how[1]) - how[0];
    return share > 0 ? share : 0;
}

// Noise and 50 Hz hum as a bench has them, and the tone, louder the faster the groove runs.
static float *tone(Law law, const double *how, double begins_s, double length_s, double hum, size_t *count)
{
    *count = (size_t)(length_s * RATE);
    float *samples = calloc(*count, sizeof *samples);
    DwSynth *noise = play_open((const char *const[]){"synth.rate=16kHz", "synth.channels=1", "synth.level=-90dB",
                                                     "synth.snr=0dB", "synth.length=60s", NULL});
    dw_synth_read(noise, samples, *count);
    dw_synth_free(noise);
    double turns = 0, before = law(-begins_s, how);
    for (size_t n = 0; n < *count; n++) {
        double t = (double)n / RATE, share = law(t - begins_s, how);
        turns += TONE_HZ * (share + before) / 2 / RATE;
        before = share;
        samples[n] += (float)(0.25 * sqrt(share) * sin(2 * M_PI * turns) + hum * sin(2 * M_PI * 50 * t));
    }
    return samples;
}

static DwStartup *take(const float *samples, size_t count, double band, size_t block)
{
    DwStartup *startup = dw_startup_new((DwStartupSettings){
        .rate_hz = RATE, .channels = 1, .tone_hz = TONE_HZ, .speed_rpm = 100.0 / 3, .band_percent = band});
    for (size_t at = 0; at < count; at += block)
        dw_startup_push(startup, samples + at, count - at < block ? count - at : block);
    dw_startup_finish(startup);
    return startup;
}

static DwSheet *read_startup(const DwStartup *startup)
{
    DwMessage message = {""};
    DwSheet *sheet = dw_sheet_new("startup", "Start");
    ck_assert_msg(dw_startup_read(startup, sheet, &message) == DW_OK, "%s", message.text);
    return sheet;
}

static DwSheet *start(Law law, const double *how, double begins_s, double length_s, double band, double hum)
{
    size_t count;
    float *samples = tone(law, how, begins_s, length_s, hum, &count);
    DwStartup *startup = take(samples, count, band, 4096);
    DwSheet *sheet = read_startup(startup);
    dw_startup_free(startup);
    free(samples);
    return sheet;
}

START_TEST(an_exponential_run_up_is_timed)
{
    // Within b of the final speed at τ·ln(1/b) after the start.
    static const double constants[] = {0.1, 0.2, 0.5, 1.0, 2.5}, bands[] = {1, 0.3, 2};
    for (size_t i = 0; i < sizeof constants / sizeof *constants; i += alike(1, 3))
        for (size_t b = alike(0, i % 3); b < 3; b += alike(1, 3)) {
            double band = bands[b], truth = constants[i] * log(100 / band);
            DwSheet *sheet = start(exponential, &constants[i], 2.2, 2.2 + truth + 22, band, 0.003);
            double time = reading(sheet, "startup.time");
            ck_assert_msg(fabs(time - truth) <= fmax(0.02, 0.015 * truth), "%g s, %g %%: %.3f s, truly %.3f s",
                          constants[i], band, time, truth);
            ck_assert_double_eq_tol(reading(sheet, "startup.settle"), time, 1e-9);
            ck_assert_double_eq(reading(sheet, "startup.overshoot"), 0);
            ck_assert_double_eq_tol(reading(sheet, "startup.final"), 100.0 / 3, 0.01);
            ck_assert_ptr_null(dw_sheet_reading(sheet, "startup.hunting"));
            dw_sheet_free(sheet);
        }
}
END_TEST

// HOW: time constant, and the share that it comes to rest at.
static double short_of_speed(double seconds, const double *how)
{
    return how[1] * exponential(seconds, how);
}

START_TEST(a_platter_that_never_arrives_has_no_time)
{
    // Settles 7 % slow; 3 % fast; still climbs at the end; within the record's leeway: that one arrives.
    static const struct {
        double how[2], length_s;
        const char *why; // NULL: a time is given
    } cases[] = {{{0.8, 0.93}, 25, "settles 7.0 % slow"},
                 {{0.8, 1.03}, 25, "settles 3.0 % fast"},
                 {{9, 1.0}, 30, "still climbs"},
                 {{9, 0.9}, 34, "still climbs"},
                 {{0.8, 0.99}, 25, NULL},
                 {{2.5, 1.004}, 40, NULL}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = start(short_of_speed, cases[i].how, 1, cases[i].length_s, 1, 0);
        ck_assert_msg(!dw_sheet_reading(sheet, "startup.time") == !!cases[i].why, "case %zu", i);
        ck_assert_msg(!dw_sheet_reading(sheet, "startup.settle") == !!cases[i].why, "case %zu", i);
        bool said = false;
        for (size_t n = 0; n < sheet->not_measured_count; n++)
            said |= cases[i].why && strstr(sheet->not_measured[n].reason.text, cases[i].why);
        ck_assert_msg(said == !!cases[i].why, "case %zu", i);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_described_decks_run_up_is_timed)
{
    // The synth's own run-up: seconds from standstill to 99 % of the speed.
    for (double seconds = 0.5; seconds < 9; seconds *= (double)alike(2, 4)) {
        char word[64];
        snprintf(word, sizeof word, "fault.startup=%gs", seconds);
        DwSynth *synth = play_open((const char *const[]){"synth.rate=16kHz", "synth.channels=2", "synth.length=25s",
                                                         "fault.flutter_noise=0.02%", "fault.ticks=20", word, NULL});
        DwStartup *startup = dw_startup_new((DwStartupSettings){
            .rate_hz = RATE, .channels = 2, .tone_hz = TONE_HZ, .speed_rpm = 100.0 / 3, .band_percent = 1});
        float block[2 * 1000];
        for (size_t got; (got = dw_synth_read(synth, block, 1000)) > 0;)
            dw_startup_push(startup, block, got);
        dw_startup_finish(startup);
        DwSheet *sheet = read_startup(startup);
        double time = reading(sheet, "startup.time");
        ck_assert_msg(fabs(time - seconds) <= fmax(0.03, 0.02 * seconds), "%.3f s, truly %.3f s", time, seconds);
        dw_sheet_free(sheet);
        dw_startup_free(startup);
        dw_synth_free(synth);
    }
}
END_TEST

START_TEST(overshoot_and_hunting_follow_the_theory)
{
    // Source (published): any textbook of control: overshoot e^(−πζ/√(1−ζ²)), ringing at ω√(1−ζ²)/2π.
    static const double systems[][2] = {{5, 0.2}, {8, 0.35}, {3, 0.5}, {12, 0.25}};
    for (size_t i = 0; i < sizeof systems / sizeof *systems; i += alike(1, 2)) {
        double zeta = systems[i][1], root = sqrt(1 - zeta * zeta), over = exp(-M_PI * zeta / root);
        DwSheet *sheet = start(second_order, systems[i], 1, 26, 1, 0);
        ck_assert_double_eq_tol(reading(sheet, "startup.overshoot"), 100 * over, 0.02 * 100 * over);
        double swing = 50 * (over + over * over); // the next turning point is under by the square
        ck_assert_double_eq_tol(reading(sheet, "startup.hunting"), swing, 0.02 * swing);
        double rate = systems[i][0] * root / (2 * M_PI);
        ck_assert_double_eq_tol(reading(sheet, "startup.hunting_rate"), rate, 0.02 * rate);
        // Settled when the envelope e^(−ζωt)/√(1−ζ²) is down to 1 %, to within half a swing.
        double settle = -log(0.01 * root) / (zeta * systems[i][0]), half = 0.5 / rate;
        double found = reading(sheet, "startup.settle");
        ck_assert_msg(found <= settle + 0.05 && found >= settle - half - 0.05, "settles at %.2f s, envelope %.2f s",
                      found, settle);
        dw_sheet_free(sheet);
    }
}
END_TEST

// HOW: time constant, swing in percent, rate of the swing.
static double hunting(double seconds, const double *how)
{
    return exponential(seconds, how) * (1 + how[1] / 100 * sin(2 * M_PI * how[2] * seconds));
}

START_TEST(hunting_that_goes_on_is_found)
{
    static const double cases[][3] = {{0.6, 0.6, 1.3}, {0.6, 0.3, 0.8}, {1.0, 1.0, 2.4}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = start(hunting, cases[i], 1, 30, 2, 0);
        ck_assert_msg(dw_sheet_reading(sheet, "startup.hunting"), "case %zu", i);
        ck_assert_double_eq_tol(reading(sheet, "startup.hunting"), cases[i][1], 0.05 * cases[i][1]);
        ck_assert_double_eq_tol(reading(sheet, "startup.hunting_rate"), cases[i][2], 0.03);
        dw_sheet_free(sheet);
    }
}
END_TEST

// HOW: swing in percent, rate, time constant of its dying. Up within 2 s, then a control that swings.
static double wild(double seconds, const double *how)
{
    double swing = seconds < 2 ? 0 : how[0] / 100 * exp(-(seconds - 2) / how[2]);
    return seconds < 0 ? 0 : fmin(1, seconds / 2) + swing * sin(2 * M_PI * how[1] * (seconds - 2));
}

START_TEST(a_wild_swing_is_hunting_and_not_silence)
{
    static const double cases[][3] = {{5, 0.8, 30}, {5, 0.8, 1e9}, {8, 1.5, 1e9}, {4, 0.5, 20}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 2)) {
        DwSheet *sheet = start(wild, cases[i], 1, 34, 2, 0);
        ck_assert_msg(dw_sheet_reading(sheet, "startup.hunting"), "case %zu", i);
        ck_assert_double_eq_tol(reading(sheet, "startup.hunting_rate"), cases[i][1], 0.03);
        double most = cases[i][0], least = cases[i][0] * exp(-33 / cases[i][2]),
               found = reading(sheet, "startup.hunting");
        ck_assert_msg(found < 1.05 * most && found > 0.95 * least, "case %zu: %.2f %%", i, found);
        dw_sheet_free(sheet);
    }
}
END_TEST

static bool remarks(const DwSheet *sheet, const char *words)
{
    for (size_t i = 0; i < sheet->remark_count; i++)
        if (strstr(sheet->remarks[i].text, words))
            return true;
    return false;
}

// What dies away within 30 s does not go on, and is not as wild to the end as at the beginning.
START_TEST(a_swing_that_dies_is_not_said_to_go_on)
{
    static const struct {
        double how[3];
        bool goes_on, is_wild;
    } cases[] = {{{5, 0.8, 30}, false, false},
                 {{5, 0.9, 25}, false, false},
                 {{5, 0.8, 1e9}, true, true},
                 {{8, 1.5, 1e9}, true, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 2)) {
        DwSheet *sheet = start(wild, cases[i].how, 1, 34, 2, 0);
        ck_assert_msg(remarks(sheet, "goes on hunting") == cases[i].goes_on, "case %zu", i);
        ck_assert_msg(remarks(sheet, "slow to calm") == !cases[i].goes_on, "case %zu", i);
        ck_assert_msg(remarks(sheet, "all along") == cases[i].is_wild, "case %zu", i);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(while_it_climbs_nothing_is_counted_from_a_final_speed)
{
    static const double how[][3] = {{9, 1.0, 30}, {9, 0.9, 34}, {8, 1.0, 30}}; // law; seconds of it
    for (size_t i = 0; i < sizeof how / sizeof *how; i++) {
        DwSheet *sheet = start(short_of_speed, how[i], 1, how[i][2], 1, 0);
        ck_assert_ptr_null(dw_sheet_reading(sheet, "startup.final"));
        ck_assert_ptr_null(dw_sheet_reading(sheet, "startup.overshoot"));
        ck_assert(!remarks(sheet, "final"));
        ck_assert(!remarks(sheet, "overshoot"));
        dw_sheet_free(sheet);
    }
    DwSheet *sheet = start(short_of_speed, (const double[]){0.8, 1}, 1, 25, 1, 0);
    ck_assert_double_eq_tol(reading(sheet, "startup.final"), 100.0 / 3, 0.02);
    ck_assert(remarks(sheet, "No overshoot"));
    dw_sheet_free(sheet);
}
END_TEST

// HOW: seconds to the speed, when it is switched off, time constant of the run-down, wow in percent.
static double on_and_off(double seconds, const double *how)
{
    double share = seconds < 0 ? 0 : fmin(1, seconds / how[0]);
    if (seconds > how[1])
        share = exp(-(seconds - how[1]) / how[2]);
    return share * (1 + how[3] / 100 * sin(2 * M_PI * seconds / 1.8));
}

// What comes after the switch says nothing of the start: no swing, no overshoot, no final speed out of it.
START_TEST(a_run_down_behind_the_start_is_left_out)
{
    static const double cases[][4] = {{2, 18, 6, 0}, {2, 18, 25, 0.1}, {1, 18, 2, 0.2}, {2, 18, 60, 0.05}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 2)) {
        DwSheet *sheet = start(on_and_off, cases[i], 2, cases[i][1] + 12, 1, 0);
        bool said = false, swings = false;
        for (size_t n = 0; n < sheet->remark_count; n++) {
            said |= strstr(sheet->remarks[n].text, "switched off") != NULL;
            swings |= strstr(sheet->remarks[n].text, "still swings") || strstr(sheet->remarks[n].text, "let it run");
        }
        ck_assert_msg(said && !swings, "case %zu", i);
        ck_assert_msg(!dw_sheet_reading(sheet, "startup.hunting"), "case %zu", i);
        ck_assert_double_eq_tol(reading(sheet, "startup.final"), 100.0 / 3, 0.02);
        ck_assert_double_eq_tol(reading(sheet, "startup.time"), 0.99 * cases[i][0], 0.05);
        ck_assert_double_le(dw_sheet_reading(sheet, "startup.overshoot")->uncertainty, cases[i][3] + 0.1);
        dw_sheet_free(sheet);
    }
    // A tone that only ends was not switched off.
    double whole[4] = {2, 1e9, 1, 0.2};
    DwSheet *sheet = start(on_and_off, whole, 2, 24, 1, 0);
    for (size_t n = 0; n < sheet->remark_count; n++)
        ck_assert_ptr_null(strstr(sheet->remarks[n].text, "switched off"));
    dw_sheet_free(sheet);
}
END_TEST

// HOW: seconds to the speed, when it is switched off, Coulomb and viscous drag over inertia [1/s], wow in percent.
static double on_and_dragged(double seconds, const double *how)
{
    double after = fmax(0, seconds - how[1]), share = seconds < 0 ? 0 : 1 - exp(-4 * seconds / how[0]);
    if (after > 0)
        share = fmax(0, (1 + how[2] / how[3]) * exp(-how[3] * after) - how[2] / how[3]);
    return share * (1 + how[4] / 100 * sin(2 * M_PI * seconds / 1.8));
}

// A free bearing, an early switch, a recording that ends soon after it: what falls is no steady speed and no hunting.
START_TEST(the_switch_is_found_however_slowly_it_falls)
{
    static const struct {
        double how[5], length_s;
    } cases[] = {{{3, 20.5, 0.003, 0.002, 0.05}, 45}, {{3, 20.5, 0.005, 0.01, 0.05}, 26},
                 {{3, 10.5, 0.01, 0.02, 0.05}, 60},   {{3, 20.5, 0.5, 0.3, 0.05}, 30},
                 {{3, 20.5, 0.01, 0.01, 0.3}, 40},    {{3, 20.5, 0.004, 0.003, 0.1}, 26.5}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 2)) {
        const double *how = cases[i].how;
        DwSheet *sheet = start(on_and_dragged, how, 1.5, cases[i].length_s, 1, 0);
        double off = NAN;
        for (size_t n = 0; n < sheet->remark_count; n++)
            sscanf(sheet->remarks[n].text, "The motor was switched off %lf", &off);
        ck_assert_msg(fabs(off - how[1] - 1.5) < 0.6, "case %zu: off at %.2f s, truly %.2f", i, off, how[1] + 1.5);
        ck_assert_msg(dw_sheet_reading(sheet, "startup.time") != NULL, "case %zu: no time", i);
        ck_assert_double_eq_tol(reading(sheet, "startup.final"), 100.0 / 3, 0.02);
        ck_assert_double_le(dw_sheet_reading(sheet, "startup.overshoot")->uncertainty, how[4] + 0.1);
        ck_assert_ptr_null(dw_sheet_reading(sheet, "startup.hunting"));
        dw_sheet_free(sheet);
    }
}
END_TEST

// HOW: seconds to the speed. Torque against inertia alone, until a control takes over.
static double inertial(double seconds, const double *how)
{
    return seconds < 0 ? 0 : fmin(1, seconds / how[0]);
}

START_TEST(inertial_starts_are_not_read_short)
{
    static const double lengths[] = {0.7, 1.5, 4, 9};
    double bias = 0;
    for (size_t i = 0; i < 4; i++) {
        DwSheet *sheet = start(inertial, &lengths[i], 1.3, 30, 1, 0.002);
        double off = reading(sheet, "startup.time") - 0.99 * lengths[i];
        ck_assert_msg(fabs(off) <= dw_sheet_reading(sheet, "startup.time")->uncertainty, "%g s is off by %.3f s",
                      lengths[i], off);
        bias += off / 4;
        dw_sheet_free(sheet);
    }
    ck_assert_double_eq_tol(bias, 0, 0.015);
}
END_TEST

// HOW: seconds in which the torque comes up, seconds to the speed at all of it.
static double softly(double seconds, const double *how)
{
    double bent = seconds < how[0] ? seconds * seconds / (2 * how[0]) : seconds - how[0] / 2;
    return seconds < 0 ? 0 : fmin(1, bent / how[1]);
}

START_TEST(a_torque_that_comes_up_unheard_is_counted)
{
    // All of it is there at 1.5 to 2.8 % of the speed, before the tone can be followed: a straight line through what
    // can be would count from 0.03 to 0.07 s too late.
    static const double cases[][2] = {{0.06, 1.8}, {0.09, 1.6}, {0.12, 3}, {0.14, 2.5}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 2)) {
        DwSheet *sheet = start(softly, cases[i], 1.3, 20, 1, 0.0005);
        const DwReading *time = dw_sheet_reading(sheet, "startup.time");
        double truth = 0.99 * cases[i][1] + cases[i][0] / 2;
        ck_assert_msg(fabs(time->value - truth) <= time->uncertainty, "%g s: %.4f ± %.4f s for %.4f s", cases[i][0],
                      time->value, time->uncertainty, truth);
        ck_assert_double_lt(time->uncertainty, 0.02);
        dw_sheet_free(sheet);
    }
}
END_TEST

// HOW: which law, its seconds. A raised cosine, a parabola, a cubic, a system damped critically.
static double unheard(double seconds, const double *how)
{
    double x = fmax(0, seconds) / how[1], part = fmin(1, x);
    if (how[0] > 0)
        return pow(part, how[0]);
    return how[0] < 0 ? 0.5 - 0.5 * cos(M_PI * part) : 1 - exp(-x) * (1 + x);
}

START_TEST(a_start_too_soft_to_be_heard_is_reckoned_back_and_marked)
{
    static const struct {
        double how[2], truth_s; // seconds to 99 % of the speed, by the law's inverse
        bool is_marked;
    } cases[] = {{{-1, 10}, 9.3623, true},  {{-1, 5}, 4.6812, false}, {{-1, 18}, 16.8522, false},
                 {{2, 8}, 7.9599, false},   {{2, 3}, 2.9850, false},  {{3, 6}, 5.9799, true},
                 {{0, 1.5}, 9.9575, false}, {{0, 3}, 19.9151, false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 2)) {
        DwSheet *sheet = start(unheard, cases[i].how, 2, 48, 1, 0.0005);
        const DwReading *time = dw_sheet_reading(sheet, "startup.time"),
                        *settle = dw_sheet_reading(sheet, "startup.settle");
        ck_assert_msg(fabs(time->value - cases[i].truth_s) <= time->uncertainty, "case %zu: %.3f ± %.3f s for %.3f s",
                      i, time->value, time->uncertainty, cases[i].truth_s);
        ck_assert_double_lt(time->uncertainty, 0.05 * cases[i].truth_s);
        ck_assert_msg(!!time->flags == cases[i].is_marked && !!settle->flags == cases[i].is_marked, "case %zu: %.3f s",
                      i, time->uncertainty);
        ck_assert_int_eq(remarks(sheet, "so softly"), cases[i].is_marked);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(what_is_counted_from_a_start_that_was_missed_is_marked)
{
    double constant = 3; // the stylus is let down 1.2 s late, at a third of the speed
    DwSheet *sheet = start(exponential, &constant, -1.2, 42, 1, 0);
    ck_assert_double_eq_tol(reading(sheet, "startup.time"), constant * log(100),
                            dw_sheet_reading(sheet, "startup.time")->uncertainty);
    ck_assert(dw_sheet_reading(sheet, "startup.time")->flags & DW_FLAG_APPROXIMATE);
    ck_assert(dw_sheet_reading(sheet, "startup.settle")->flags & DW_FLAG_APPROXIMATE);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(wow_is_no_hunting)
{
    DwSynth *synth =
        play_open((const char *const[]){"synth.rate=16kHz", "synth.channels=1", "synth.length=30s", "fault.startup=3s",
                                        "fault.wow=0.2%", "fault.line=7Hz:0.1%", NULL});
    float *samples = calloc(dw_synth_frames(synth), sizeof *samples);
    size_t count = dw_synth_read(synth, samples, dw_synth_frames(synth));
    DwStartup *startup = take(samples, count, 1, 4096);
    DwSheet *sheet = read_startup(startup);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "startup.hunting"));
    ck_assert_double_eq(reading(sheet, "startup.overshoot"), 0);
    dw_sheet_free(sheet);
    // The size of the blocks changes nothing.
    DwStartup *odd = take(samples, count, 1, 777);
    sheet = read_startup(odd);
    DwSheet *again = read_startup(startup);
    ck_assert_double_eq(reading(sheet, "startup.time"), reading(again, "startup.time"));
    dw_sheet_free(again);
    dw_sheet_free(sheet);
    dw_startup_free(odd);
    dw_startup_free(startup);
    free(samples);
    dw_synth_free(synth);
}
END_TEST

START_TEST(a_run_down_is_followed)
{
    // The tone stays for 3 s, then runs down under viscous and Coulomb drag.
    static const double how[] = {0.4, 25};
    size_t count;
    float *samples = tone(run_down, how, 3, 34, 0.001, &count);
    DwStartup *startup = take(samples, count, 1, 4096);
    DwRunDown found;
    DwMessage message = {""};
    ck_assert_msg(dw_startup_run_down(startup, 60, &found, &message) == DW_OK, "%s", message.text);
    ck_assert_uint_eq(found.count, 60);
    // The clock starts at the first point: find when the law has that speed.
    double nominal = 100.0 / 3, first = how[1] * log((1 + how[0]) / (found.speed_rpm[0] / nominal + how[0]));
    for (size_t i = 0; i < found.count; i++)
        ck_assert_double_eq_tol(found.speed_rpm[i], nominal * run_down(first + found.seconds[i], how), 0.05);
    ck_assert_double_lt(found.speed_rpm[found.count - 1], 0.06 * nominal);
    free(found.seconds);
    free(found.speed_rpm);
    dw_startup_free(startup);
    free(samples);
}
END_TEST

START_TEST(what_is_no_start_is_said)
{
    size_t count;
    double constant = 0.5;
    float *samples = tone(exponential, &constant, -3, 20, 0, &count); // begun 3 s too late
    DwStartup *startup = take(samples, count, 1, 4096);
    DwMessage message = {""};
    DwSheet *sheet = dw_sheet_new("startup", "Start");
    ck_assert_int_eq(dw_startup_read(startup, sheet, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "the start is not in the recording"));
    DwRunDown none;
    ck_assert_int_eq(dw_startup_run_down(startup, 60, &none, &message), DW_BAD_INPUT);
    dw_startup_free(startup);
    free(samples);
    samples = calloc(RATE, sizeof *samples);
    startup = take(samples, RATE, 1, 4096); // silence
    ck_assert_int_eq(dw_startup_read(startup, sheet, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "No tone was found"));
    dw_startup_free(startup);
    samples[500] = NAN;
    startup = take(samples, RATE, 1, 4096);
    ck_assert_int_eq(dw_startup_read(startup, sheet, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "not a number"));
    dw_startup_free(startup);
    dw_sheet_free(sheet);
    free(samples);
}
END_TEST

DW_SUITE("startup", a_swing_that_dies_is_not_said_to_go_on, an_exponential_run_up_is_timed,
         a_platter_that_never_arrives_has_no_time, hunting_that_goes_on_is_found,
         a_run_down_behind_the_start_is_left_out, the_switch_is_found_however_slowly_it_falls,
         a_start_too_soft_to_be_heard_is_reckoned_back_and_marked,
         what_is_counted_from_a_start_that_was_missed_is_marked, wow_is_no_hunting, a_run_down_is_followed,
         what_is_no_start_is_said, DW_FIGURES, while_it_climbs_nothing_is_counted_from_a_final_speed,
         a_described_decks_run_up_is_timed, overshoot_and_hunting_follow_the_theory,
         a_wild_swing_is_hunting_and_not_silence, inertial_starts_are_not_read_short,
         a_torque_that_comes_up_unheard_is_counted)
