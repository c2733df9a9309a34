// SPDX-License-Identifier: MIT
// A simulated arm swings on its compliance while the groove shakes it with
// noise of one slope or another; its headshell's velocity bends a pilot tone.
#include "measure/tone/pilot.h"
#include "support/signal.h"
#include "support/suite.h"

#include <string.h>

enum { RATE = 8000 };

// RESONANCE_HZ 0: a tone without an arm. CORNER_HZ is the noise's own.
static Signal play(double seconds, double resonance_hz, double q, double corner_hz, uint64_t seed)
{
    Signal signal = signal_new(RATE, seconds);
    double omega = 2 * M_PI * resonance_hz, h = 1.0 / RATE, pole = 1 - exp(-2 * M_PI * corner_hz / RATE);
    double velocity = 0, swing = 0, speed = 0, phase = 0;
    for (size_t n = 0; n < signal.frames; n++) {
        double before = velocity;
        velocity += pole * (signal_random(&seed) - velocity);
        // The swing is the headshell over the stylus: r″ + (ω/Q)r′ + ω²r = −x″.
        if (resonance_hz > 0) {
            speed += h * (-(omega / q) * speed - omega * omega * swing) - (velocity - before);
            swing += h * speed;
        }
        double wow = 2 * cos(2 * M_PI * 0.556 * (double)n / RATE) + 0.3 * cos(2 * M_PI * 6.25 * (double)n / RATE);
        phase += 2 * M_PI * (1000 + wow + 10 * (velocity + speed)) / RATE;
        signal.samples[2 * n] = signal.samples[2 * n + 1] = (float)(0.2 * sin(phase));
    }
    signal_hiss(&signal, 1e-4, seed);
    return signal;
}

static DwSheet *measure(const Signal *signal)
{
    DwPilot *pilot = dw_pilot_new(RATE, 2);
    dw_pilot_push(pilot, signal->samples, signal->frames);
    dw_pilot_finish(pilot);
    DwSheet *sheet = dw_sheet_new("lowsweep", "Resonance");
    dw_pilot_read(pilot, sheet);
    dw_pilot_free(pilot);
    return sheet;
}

START_TEST(the_hump_is_the_arm_s_resonance_whatever_the_noise_s_slope)
{
    static const struct {
        double hz, q, corner_hz;
    } arms[] = {{8.5, 5, 1}, {10.5, 4, 200}, {12, 8, 10}};
    for (size_t i = 0; i < 3; i++) {
        Signal signal = play(180, arms[i].hz, arms[i].q, arms[i].corner_hz, 71 + i);
        DwSheet *sheet = measure(&signal);
        const DwReading *hz = dw_sheet_reading(sheet, "lowsweep.pilot"),
                        *q = dw_sheet_reading(sheet, "lowsweep.q_pilot");
        ck_assert_msg(hz && q, "%s", sheet->not_measured_count ? sheet->not_measured[0].reason.text : "");
        ck_assert_msg(fabs(hz->value - arms[i].hz) < 0.2, "%g Hz: %g", arms[i].hz, hz->value);
        ck_assert_msg(fabs(q->value / arms[i].q - 1) < 0.2, "Q %g: %g", arms[i].q, q->value);
        ck_assert(hz->flags & DW_FLAG_APPROXIMATE);
        dw_sheet_free(sheet);
        signal_free(&signal);
    }
}
END_TEST

START_TEST(a_tone_without_a_hump_and_a_short_one_are_not_measured)
{
    Signal signal = play(120, 0, 1, 10, 5);
    DwSheet *sheet = measure(&signal);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "lowsweep.pilot"));
    ck_assert_ptr_nonnull(strstr(sheet->not_measured[0].reason.text, "no single hump"));
    dw_sheet_free(sheet);
    signal_free(&signal);
    signal = play(20, 9, 5, 10, 5);
    sheet = measure(&signal);
    ck_assert_ptr_nonnull(strstr(sheet->not_measured[0].reason.text, "40 s"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

DW_SUITE("pilot", the_hump_is_the_arm_s_resonance_whatever_the_noise_s_slope,
         a_tone_without_a_hump_and_a_short_one_are_not_measured)
