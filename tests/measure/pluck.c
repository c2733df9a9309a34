// SPDX-License-Identifier: MIT
// Plucked strings whose rate is known: partials that die at rates of their own, a knock at the start, hum and hiss.
#include "measure/tone/pluck.h"
#include "support/signal.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>

enum { RATE = 44100, SECONDS = 7, PLUCKS = 5 };

// STRONG: amplitude of the second partial over the first, which a string plucked near its end has.
static float *strings(double hz, double dies_s, double strong, double hiss, unsigned channels)
{
    float *samples = calloc((size_t)RATE * SECONDS * channels, sizeof *samples);
    uint64_t random = 3;
    for (size_t n = 0; n < (size_t)RATE * SECONDS; n++) {
        double t = (double)n / RATE, value = hiss * signal_random(&random) + 0.002 * sin(2 * M_PI * 50 * t) + 0.01;
        for (int k = 0; k < PLUCKS; k++) {
            double since = t - 0.5 - 1.2 * k;
            if (since < 0)
                continue;
            for (int h = 1; h <= 4; h++)
                value += 0.2 / h * (h == 2 ? strong : 1) * exp(-since * (1 + 0.3 * h) / dies_s) *
                         sin(2 * M_PI * hz * h * since + h);
            value += since < 0.004 ? 0.2 * signal_random(&random) : 0;
        }
        for (unsigned c = 0; c < channels; c++)
            samples[n * channels + c] = (float)value;
    }
    return samples;
}

static bool hear(const float *samples, size_t frames, unsigned channels, size_t block, DwPluckReading *reading)
{
    DwPluck *pluck = dw_pluck_new(RATE, channels);
    for (size_t at = 0; at < frames; at += block)
        dw_pluck_push(pluck, samples + at * channels, frames - at < block ? frames - at : block);
    bool heard = dw_pluck_read(pluck, reading);
    dw_pluck_free(pluck);
    return heard;
}

START_TEST(the_rate_is_heard_and_no_octave_of_it)
{
    static const double rates[] = {12, 23, 41.7, 57.7, 96, 143, 240};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++)
        for (int strong = 0; strong < 2; strong++) {
            DwPluckReading reading;
            float *samples = strings(rates[i], fmax(0.12, 6 / rates[i]), strong ? 2 : 0.5, 0.003, 1 + (unsigned)strong);
            ck_assert(hear(samples, (size_t)RATE * SECONDS, 1 + (unsigned)strong, 4096, &reading));
            ck_assert_msg(fabs(reading.hz - rates[i]) <= reading.off_hz, "%g Hz: %.2f ± %.2f", rates[i], reading.hz,
                          reading.off_hz);
            ck_assert_double_le(reading.off_hz, 0.03 * rates[i]);
            DwPluckReading again;
            ck_assert(hear(samples, (size_t)RATE * SECONDS, 1 + (unsigned)strong, 777, &again));
            ck_assert_double_eq(again.hz, reading.hz);
            free(samples);
        }
}
END_TEST

START_TEST(what_was_not_plucked_rings_at_nothing)
{
    DwPluckReading reading;
    float *samples = calloc((size_t)RATE * SECONDS, sizeof *samples);
    ck_assert(!hear(samples, (size_t)RATE * SECONDS, 1, 4096, &reading)); // silence
    ck_assert(!hear(samples, 10, 1, 4096, &reading));
    uint64_t random = 5;
    for (size_t n = 0; n < (size_t)RATE * SECONDS; n++) // knocks and hiss
        samples[n] = (float)((n % RATE < 300 ? 0.5 : 0.003) * signal_random(&random));
    ck_assert(!hear(samples, (size_t)RATE * SECONDS, 1, 4096, &reading));
    samples[500] = NAN;
    ck_assert(!hear(samples, (size_t)RATE * SECONDS, 1, 4096, &reading));
    free(samples);
}
END_TEST

// Hum, test tones and warbles, from the start on or switched on at ON_S.
static bool hear_steady(double hz, double swing, double on_s, DwPluckReading *reading)
{
    float *samples = calloc((size_t)RATE * SECONDS, sizeof *samples);
    uint64_t random = 7;
    for (size_t n = 0; n < (size_t)RATE * SECONDS; n++) {
        double t = (double)n / RATE, angle = 2 * M_PI * hz * t + swing * sin(2 * M_PI * 1.3 * t);
        double tone = 0.05 * sin(angle) + 0.03 * sin(2 * angle);
        samples[n] = (float)((t < on_s ? 0 : tone) + 0.0001 * signal_random(&random));
    }
    bool heard = hear(samples, (size_t)RATE * SECONDS, 1, 4096, reading);
    free(samples);
    return heard;
}

START_TEST(a_hum_or_a_test_tone_is_no_pluck)
{
    static const double tones[] = {24, 50, 60, 100, 315, 1000, 3150};
    for (size_t i = 0; i < sizeof tones / sizeof *tones; i++)
        for (int kind = 0; kind < 4; kind++) {
            DwPluckReading reading = {0};
            ck_assert_msg(!hear_steady(tones[i], kind & 1 ? 0.003 * tones[i] : 0, kind & 2 ? 2.503 : 0, &reading),
                          "%g Hz, kind %d: %.2f Hz", tones[i], kind, reading.hz);
        }
}
END_TEST

// A hum as loud as it may be beside the pluck: it is the pluck that is read, or nothing.
START_TEST(a_pluck_under_hum_is_never_read_as_the_hum)
{
    size_t heard = 0;
    for (double hum = 0.001; hum < 0.3; hum *= 1.6) {
        DwPluckReading reading;
        float *samples = strings(37, 0.2, 0.5, 0.001, 1);
        for (size_t n = 0; n < (size_t)RATE * SECONDS; n++)
            samples[n] +=
                (float)(hum * (sin(2 * M_PI * 50 * (double)n / RATE) + 0.6 * sin(2 * M_PI * 100 * (double)n / RATE)));
        if (hear(samples, (size_t)RATE * SECONDS, 1, 4096, &reading)) {
            heard++;
            ck_assert_msg(fabs(reading.hz - 37) <= reading.off_hz, "hum of %g: %.2f ± %.2f", hum, reading.hz,
                          reading.off_hz);
        }
        free(samples);
    }
    ck_assert_uint_ge(heard, 5);
}
END_TEST

DW_SUITE("pluck", a_hum_or_a_test_tone_is_no_pluck, a_pluck_under_hum_is_never_read_as_the_hum,
         the_rate_is_heard_and_no_octave_of_it, what_was_not_plucked_rings_at_nothing)
