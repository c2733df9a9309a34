// SPDX-License-Identifier: MIT
// Resonances of a simulated arm: the equation of motion is integrated by the
// Runge-Kutta method while a chirp drives it, so that the sweep's lag is the
// true one.
#include "measure/sweep/lowsweep.h"
#include "support/sheet_checks.h"
#include "support/signal.h"
#include "support/suite.h"

#include <stdio.h>
#include <string.h>

typedef struct {
    double from_hz, to_hz, seconds; // logarithmic; an octave takes equal time
    bool linear;                    // hertz take equal time instead
    bool amplitude_cut;
} Sweep;

typedef struct {
    double resonance_hz, q;
} Arm;

// The groove's velocity SECONDS into the sweep.
static double groove(const Sweep *sweep, double t)
{
    double f, phase;
    if (sweep->linear) {
        double k = (sweep->to_hz - sweep->from_hz) / sweep->seconds;
        f = sweep->from_hz + k * t;
        phase = 2 * M_PI * (sweep->from_hz * t + 0.5 * k * t * t);
    } else {
        double k = log(sweep->to_hz / sweep->from_hz) / sweep->seconds;
        f = sweep->from_hz * exp(k * t);
        phase = 2 * M_PI * (f - sweep->from_hz) / k;
    }
    return (sweep->amplitude_cut ? f / 10 : 1) * sin(phase);
}

// Adds the cartridge's output: w″ + (ω/Q)w′ + ω²w = u, of which it gives w″.
static void play(Signal *signal, const Sweep *sweep, const Arm *arm, double start, double left, double right,
                 double wow)
{
    double omega = 2 * M_PI * arm->resonance_hz, damping = omega / arm->q, h = 1 / signal->rate_hz, w = 0, v = 0;
    for (size_t n = (size_t)(start * signal->rate_hz); n < signal->frames; n++) {
        double t = (double)n / signal->rate_hz - start, u[3], k[4], l[4];
        if (t > sweep->seconds)
            return;
        for (int i = 0; i < 3; i++)
            u[i] = groove(sweep, signal_bent(t + i * h / 2, wow));
        double out = u[0] - damping * v - omega * omega * w;
        for (int i = 0; i < 4; i++) {
            double part = i == 0 ? 0 : i == 3 ? h : h / 2;
            double wi = w + (i ? part * k[i - 1] : 0), vi = v + (i ? part * l[i - 1] : 0);
            k[i] = vi;
            l[i] = u[i == 0 ? 0 : i == 3 ? 2 : 1] - damping * vi - omega * omega * wi;
        }
        w += h / 6 * (k[0] + 2 * k[1] + 2 * k[2] + k[3]);
        v += h / 6 * (l[0] + 2 * l[1] + 2 * l[2] + l[3]);
        signal->samples[2 * n] += (float)(left * out);
        signal->samples[2 * n + 1] += (float)(right * out);
    }
}

// What a deck adds: warps, rumble, hiss and the pilot tone of such bands.
static void add_deck(Signal *signal)
{
    double length = (double)signal->frames / signal->rate_hz;
    signal_tone(signal, 0, length, 0.556, 0.05, -0.05, 0);
    signal_tone(signal, 0, length, 1.111, 0.02, -0.03, 0);
    signal_tone(signal, 0, length, 1000, 0.1, 0.1, 0.002);
    signal_rumble(signal, 0.02, 1 - exp(-2 * M_PI * 40 / signal->rate_hz), 1, 0.5, 21);
    signal_hiss(signal, 1e-4, 22);
}

static const DwLowsweepSettings plain = {.lateral_g = NAN, .vertical_g = NAN, .order = DW_LOWSWEEP_LATERAL_FIRST};

static DwSheet *measure(const Signal *signal, const DwLowsweepSettings *settings, size_t block)
{
    DwLowsweep *lowsweep = dw_lowsweep_new(settings);
    dw_lowsweep_begin(lowsweep, signal->rate_hz, 2, 0);
    for (size_t n = 0; n < signal->frames; n += block)
        dw_lowsweep_push(lowsweep, signal->samples + 2 * n, signal->frames - n < block ? signal->frames - n : block);
    dw_lowsweep_end(lowsweep);
    DwSheet *sheet = dw_sheet_new("lowsweep", "Resonance");
    DwMessage message = {""};
    ck_assert_msg(dw_lowsweep_read(lowsweep, sheet, &message) == DW_OK, "%s", message.text);
    dw_lowsweep_free(lowsweep);
    return sheet;
}

static void check_arm(const DwSheet *sheet, const char *direction, const Arm *arm)
{
    char key[40];
    snprintf(key, sizeof key, "lowsweep.%s", direction);
    double hz = value(sheet, key);
    snprintf(key, sizeof key, "lowsweep.q_%s", direction);
    double q = value(sheet, key);
    ck_assert_msg(fabs(hz - arm->resonance_hz) < 0.1, "%s: %.3f Hz, not %.3f", direction, hz, arm->resonance_hz);
    ck_assert_msg(fabs(q / arm->q - 1) < 0.1, "%s: Q %.3f, not %.3f", direction, q, arm->q);
}

static void check_both(double rate_hz, const Sweep *sweep, const Arm *lateral, const Arm *vertical)
{
    Signal signal = signal_new(rate_hz, 2 * sweep->seconds + 6);
    play(&signal, sweep, lateral, 2, 0.05, 0.05, 0.001);
    play(&signal, sweep, vertical, sweep->seconds + 4, 0.05, -0.05, 0.001);
    add_deck(&signal);
    DwSheet *sheet = measure(&signal, &plain, 8192);
    check_arm(sheet, "lateral", lateral);
    check_arm(sheet, "vertical", vertical);
    dw_sheet_free(sheet);
    signal_free(&signal);
}

START_TEST(lateral_and_vertical_sweeps_down_at_48_khz)
{
    check_both(48000, &(Sweep){25, 5, 25, false, false}, &(Arm){8.2, 5}, &(Arm){11.4, 3});
}
END_TEST

START_TEST(lateral_and_vertical_sweeps_down_at_96_khz)
{
    check_both(96000, &(Sweep){25, 5, 25, false, false}, &(Arm){9.7, 8}, &(Arm){12.5, 1.5});
}
END_TEST

START_TEST(fast_and_linear_sweeps_do_not_shift_the_resonance)
{
    check_both(48000, &(Sweep){20, 5, 15, true, false}, &(Arm){8.5, 6}, &(Arm){10.5, 8});
    check_both(48000, &(Sweep){5, 25, 15, false, false}, &(Arm){8.5, 6}, &(Arm){10.5, 8}); // upwards
}
END_TEST

// Constant amplitude is velocity in proportion to frequency.
START_TEST(a_sweep_of_constant_amplitude_is_counted_back)
{
    Sweep sweep = {25, 5, 25, false, true};
    Arm arm = {8.8, 4};
    Signal signal = signal_new(48000, 29);
    play(&signal, &sweep, &arm, 2, 0.05, 0.05, 0);
    signal_hiss(&signal, 1e-4, 22);
    DwLowsweepSettings settings = plain;
    settings.amplitude_cut = true;
    DwSheet *sheet = measure(&signal, &settings, 8192);
    check_arm(sheet, "lateral", &arm);
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

// 20.3 g on 18 µm/mN resonates at 8.326 Hz (1/(2π√(MC))).
START_TEST(the_compliance_in_fact_follows_from_the_mass)
{
    Sweep sweep = {25, 5, 25, false, false};
    Arm arm = {8.3259, 4};
    Signal signal = signal_new(48000, 29);
    play(&signal, &sweep, &arm, 2, 0.05, 0.05, 0);
    DwLowsweepSettings settings = {.lateral_g = 20.3, .vertical_g = NAN, .order = DW_LOWSWEEP_LATERAL_FIRST};
    DwSheet *sheet = measure(&signal, &settings, 8192);
    ck_assert_double_eq_tol(value(sheet, "lowsweep.compliance_lateral"), 18, 0.2);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "lowsweep.vertical"));
    ck_assert_str_eq(sheet->not_measured[0].key, "lowsweep.vertical");
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(the_interval_holds_the_truth_as_often_as_it_says)
{
    int held = 0, runs = 20;
    for (int i = 0; i < runs; i++) {
        Sweep sweep = {25, 5, 15, false, false};
        Arm arm = {7.5 + 0.2 * i, 4};
        Signal signal = signal_new(8000, 18);
        play(&signal, &sweep, &arm, 2, 0.05, 0.05, 0);
        signal_hiss(&signal, 0.02, 100 + (unsigned)i);
        DwSheet *sheet = measure(&signal, &plain, 8192);
        const DwReading *found = dw_sheet_reading(sheet, "lowsweep.lateral");
        held += fabs(found->value - arm.resonance_hz) <= found->uncertainty;
        dw_sheet_free(sheet);
        signal_free(&signal);
    }
    ck_assert_int_ge(held, 17);
}
END_TEST

START_TEST(block_size_changes_nothing)
{
    Sweep sweep = {25, 5, 15, false, false};
    Arm arm = {9, 4};
    Signal signal = signal_new(44100, 18);
    play(&signal, &sweep, &arm, 2, 0.05, 0.05, 0);
    DwSheet *one = measure(&signal, &plain, 1001), *other = measure(&signal, &plain, 40000);
    ck_assert_double_eq(value(one, "lowsweep.lateral"), value(other, "lowsweep.lateral"));
    dw_sheet_free(one);
    dw_sheet_free(other);
    signal_free(&signal);
}
END_TEST

// Cut short above the resonance: said, not guessed.
START_TEST(a_sweep_that_misses_the_resonance_is_not_measured)
{
    Sweep sweep = {40, 14, 20, false, false};
    Arm arm = {8, 4};
    Signal signal = signal_new(48000, 24);
    play(&signal, &sweep, &arm, 2, 0.05, 0.05, 0);
    DwSheet *sheet = measure(&signal, &plain, 8192);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "lowsweep.lateral"));
    ck_assert_ptr_nonnull(strstr(sheet->not_measured[0].reason.text, "does not lie within"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(bad_signals_are_refused_with_a_line)
{
    Signal signal = signal_new(48000, 10);
    add_deck(&signal);
    for (int bad = 0; bad < 2; bad++) {
        if (bad)
            signal.samples[999] = NAN;
        DwLowsweep *lowsweep = dw_lowsweep_new(&plain);
        dw_lowsweep_begin(lowsweep, 48000, 2, 0);
        dw_lowsweep_push(lowsweep, signal.samples, signal.frames);
        dw_lowsweep_end(lowsweep);
        DwMessage message = {""};
        DwSheet *sheet = dw_sheet_new("lowsweep", "Resonance");
        ck_assert_int_eq(dw_lowsweep_read(lowsweep, sheet, &message), DW_BAD_INPUT);
        ck_assert_ptr_nonnull(strstr(message.text, bad ? "not numbers" : "No sweep"));
        dw_sheet_free(sheet);
        dw_lowsweep_free(lowsweep);
    }
    signal_free(&signal);
}
END_TEST

DW_SUITE("lowsweep", lateral_and_vertical_sweeps_down_at_48_khz, lateral_and_vertical_sweeps_down_at_96_khz,
         fast_and_linear_sweeps_do_not_shift_the_resonance, a_sweep_of_constant_amplitude_is_counted_back,
         the_compliance_in_fact_follows_from_the_mass, the_interval_holds_the_truth_as_often_as_it_says,
         block_size_changes_nothing, a_sweep_that_misses_the_resonance_is_not_measured,
         bad_signals_are_refused_with_a_line)
