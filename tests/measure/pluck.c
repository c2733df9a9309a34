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

DW_SUITE("pluck", the_rate_is_heard_and_no_octave_of_it, what_was_not_plucked_rings_at_nothing)
