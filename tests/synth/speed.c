// SPDX-License-Identifier: MIT
// What the phase of the played tone says, against what was stated.
#include "synth/recording.h"
#include "support/suite.h"

#include <math.h>
#include <string.h>

#define CLEAN "synth.snr=300 synth.level=0 "

// The phase a recording should have: the stated deviation summed up over
// frames by the midpoint rule, 20 steps a frame, with nothing of the course's
// closed formula in it.
START_TEST(every_sample_is_the_sine_of_the_summed_frequency)
{
    Recording recording = recording_make(CLEAN "synth.length=3 synth.rate=8000 record.tone=1000 fault.speed_error=0.31 "
                                               "fault.drift=12 fault.wow=0.3 fault.wow_phase=50 fault.line=40:0.2 "
                                               "fault.startup=0.4 chain.clock_error=-7000ppm");
    double line_phase = 0;
    for (size_t i = 0; i < recording.truth->line_count; i++)
        if (strcmp(recording.truth->lines[i].cause, "line") == 0)
            line_phase = recording.truth->lines[i].phase_rad;
    double clock_hz = 8000 * (1 - 0.007), turn_hz = 100.0 / 3 / 60 * 1.0031, turns = 0, worst = 0;
    enum { STEPS = 20 };
    for (size_t i = 0; i < recording.frames; i++) {
        worst = fmax(worst, fabs(recording_at(&recording, i, 0) - sin(2 * M_PI * turns)));
        for (int k = 0; k < STEPS; k++) {
            double t = ((double)i + (k + 0.5) / STEPS) / clock_hz;
            double speed = 1.0031 + 0.12 / 60 * t + 0.003 * sin(2 * M_PI * turn_hz * t + 50 * M_PI / 180) +
                           0.002 * sin(2 * M_PI * 40 * t + line_phase);
            turns += 1000 * speed * (1 - exp(-t * log(100) / 0.4)) / clock_hz / STEPS;
        }
    }
    ck_assert_double_lt(worst, 3e-7); // a float's 6e-8 and the rule's own error
    recording_clear(&recording);
}
END_TEST

START_TEST(twenty_minutes_in_the_phase_is_still_exact)
{
    // 3150.5 Hz comes back to the same phase every 2 s, 16000 frames at 8 kHz.
    DwInputs *inputs = inputs_of(CLEAN "synth.length=1202 synth.rate=8000 synth.channels=1 record.tone=3150.5", NULL);
    DwSynth *synth = NULL;
    ck_assert_int_eq(dw_synth_new(inputs, &synth, NULL), DW_OK);
    dw_inputs_free(inputs);
    float first[16000], block[16000];
    dw_synth_read(synth, first, 16000);
    for (int i = 0; i < 600; i++)
        dw_synth_read(synth, block, 16000);
    for (int i = 0; i < 16000; i++)
        ck_assert_float_eq_tol(first[i], block[i], 2e-7f);
    dw_synth_free(synth);
}
END_TEST

START_TEST(lines_stand_where_and_as_high_as_stated)
{
    Recording recording =
        recording_make(CLEAN "synth.length=120 synth.rate=16000 record.radius=100mm fault.speed_error=0.31 "
                             "fault.wow=0.12 fault.wow_phase=30 "
                             "fault.wow_second=0.05 fault.eccentricity=0.2mm fault.eccentricity_phase=100 "
                             "fault.belt_hump=0.08 synth.belt_rate=0.4872 fault.line=6.979:0.11 fault.line=24.9:0.03");
    const DwSynthTruth *truth = recording.truth;
    enum { BLOCK = 64, RATE = 16000 };
    size_t count;
    double *speed = recording_speed(&recording, 0, 120, BLOCK, &count);
    double rate = (double)RATE / BLOCK;
    ck_assert_double_eq_tol(truth->rotation_hz, 100.0 / 3 / 60 * 1.0031, 1e-12);
    struct {
        double frequency_hz, peak_percent;
    } stated[] = {
        {2 * truth->rotation_hz, 0.05},
        {0.4872, 0.08},
        {6.979, 0.11},
        {24.9, 0.03},
        // 0.12 % at 30° and e/r = 0.2 % at 100°, added as pointers.
        {truth->rotation_hz, hypot(0.12 * cos(M_PI / 6) + 0.2 * cos(M_PI / 1.8), 0.12 * 0.5 + 0.2 * sin(M_PI / 1.8))},
    };
    for (size_t i = 0; i < sizeof stated / sizeof *stated; i++) {
        double f = stated[i].frequency_hz, phase, true_phase;
        double peak = 100 * line_peak(speed, count, rate, f, &phase);
        peak /= recording_speed_loss(f, 2.0 * BLOCK / RATE);
        ck_assert_double_eq_tol(peak, stated[i].peak_percent, 0.01 * stated[i].peak_percent + 1e-4);
        ck_assert_double_eq_tol(dw_synth_line(recording.synth, f, 1e-6, &true_phase), stated[i].peak_percent, 1e-9);
        // The first value lies at one and a half blocks.
        double error = remainder(phase - true_phase - 2 * M_PI * f * 1.5 * BLOCK / RATE, 2 * M_PI);
        ck_assert_double_eq_tol(error, 0, 0.02);
        // A neighbour six Hann lobes off, where nothing was stated, is empty.
        if (f > 3)
            ck_assert_double_lt(100 * line_peak(speed, count, rate, f + 0.17, NULL), 0.003);
    }
    free(speed);
    recording_clear(&recording);
}
END_TEST

START_TEST(mean_errors_are_what_the_phase_gained)
{
    Recording recording = recording_make(CLEAN "synth.length=10 fault.speed_error=-0.7 fault.drift=0.6 fault.wow=0.4 "
                                               "fault.wow_phase=90");
    size_t count;
    double *speed = recording_speed(&recording, 0, 10, 48, &count);
    double sum = 0, slope = 0, spread = 0;
    for (size_t i = 0; i < count; i++)
        sum += speed[i] / (double)count;
    ck_assert_double_eq_tol(100 * sum, recording.truth->mean_error_percent, 1e-3);
    ck_assert_double_eq_tol(recording.truth->steady_error_percent, -0.7 + 0.6 / 60 * 5, 1e-12);
    free(speed);
    recording_clear(&recording);
    recording = recording_make(CLEAN "synth.length=10 fault.drift=0.6");
    speed = recording_speed(&recording, 0, 10, 480, &count);
    for (size_t i = 0; i < count; i++) {
        double t = ((double)i - ((double)count - 1) / 2) / 100;
        slope += speed[i] * t;
        spread += t * t;
    }
    ck_assert_double_eq_tol(slope / spread * 6000, 0.6, 1e-3);
    ck_assert_double_eq_tol(dw_synth_deviation(recording.synth, 10), 0.1, 1e-12);
    free(speed);
    recording_clear(&recording);
}
END_TEST

START_TEST(random_flutter_has_the_stated_strength)
{
    Recording recording = recording_make(CLEAN "synth.length=60 fault.flutter_noise=0.2");
    size_t count;
    double *speed = recording_speed(&recording, 0, 60, 24, &count);
    double power = 0, mean = 0;
    for (size_t i = 0; i < count; i++) {
        power += speed[i] * speed[i] / (double)count;
        mean += speed[i] / (double)count;
    }
    // 60 s of 100 Hz: 0.9 % standard error of the power.
    ck_assert_double_eq_tol(100 * sqrt(power), 0.2, 0.2 * 0.03);
    ck_assert_double_eq_tol(100 * mean, 0, 0.001);
    free(speed);
    recording_clear(&recording);
}
END_TEST

START_TEST(a_belt_hump_is_a_short_rise)
{
    Recording recording = recording_make(CLEAN "synth.length=12 fault.belt_hump=0.1 synth.belt_rate=0.5");
    size_t count, above = 0;
    double *speed = recording_speed(&recording, 0, 12, 480, &count);
    double highest = 0, mean = 0;
    for (size_t i = 0; i < count; i++) {
        highest = fmax(highest, 100 * speed[i]);
        mean += 100 * speed[i] / (double)count;
    }
    for (size_t i = 0; i < count; i++)
        above += 100 * speed[i] > highest / 2;
    // Σ exp(−(k² − 1)·(2π/16)²/2) over k = 1 … 8 is 2.9998.
    double sum = 0;
    for (int k = 1; k <= 8; k++)
        sum += exp(-(k * k - 1) * pow(M_PI / 8, 2) / 2);
    ck_assert_double_eq_tol(highest, 0.1 * sum, 0.002);
    ck_assert_double_eq_tol(mean, 0, 0.001);
    ck_assert_double_lt((double)above / (double)count, 0.2);
    free(speed);
    recording_clear(&recording);
}
END_TEST

DW_SUITE("speed", every_sample_is_the_sine_of_the_summed_frequency, twenty_minutes_in_the_phase_is_still_exact,
         lines_stand_where_and_as_high_as_stated, mean_errors_are_what_the_phase_gained,
         random_flutter_has_the_stated_strength, a_belt_hump_is_a_short_rise)
