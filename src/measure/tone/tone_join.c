// SPDX-License-Identifier: MIT
#include "measure/tone/tone_join.h"

#include "base/wide.h"

#include <math.h>

enum { PIECE = 512 };

// The tone's complex amplitudes in the channels, summed over short pieces as
// powers and as the product of left with right's conjugate.
static void correlate(const DwWindow channel[2], size_t from, size_t to, double angle, double power[2],
                      double complex *cross)
{
    enum { SHORT = 256 };
    power[0] = power[1] = 0;
    *cross = 0;
    double complex turn = cexp(-I * angle);
    for (size_t at = from; at + SHORT <= to; at += SHORT) {
        double complex sum[2] = {0, 0}, oscillator = 1;
        for (size_t n = 0; n < SHORT; n++, oscillator *= turn)
            for (unsigned c = 0; c < 2 && channel[c].values; c++)
                sum[c] += (double)channel[c].values[at + n - channel[c].start] * oscillator;
        for (unsigned c = 0; c < 2; c++)
            power[c] += creal(sum[c] * conj(sum[c]));
        *cross += sum[0] * conj(sum[1]);
    }
}

static void choose_weights(DwToneJoin *join, const double power[2], double complex cross)
{
    double half_difference = 0.5 * (power[0] - power[1]);
    double largest = 0.5 * (power[0] + power[1]) + sqrt(half_difference * half_difference + creal(cross * conj(cross)));
    double complex left = cross, right = largest - power[0];
    if (cabs(cross) < 1e-9 * largest) { // one channel only
        left = power[0] >= power[1] ? 1 : 0;
        right = 1 - left;
    }
    double norm = sqrt(creal(left * conj(left)) + creal(right * conj(right)));
    double complex phase = cabs(left) > 0 ? conj(left) / cabs(left) : 1;
    join->weight[0] = conj(left * phase) / norm;
    join->weight[1] = conj(right * phase) / norm;
    join->share[0] = cabs(join->weight[0]);
    join->share[1] = cabs(join->weight[1]);
    join->reversed = creal(cross) < 0 && cabs(cross) > 0.5 * sqrt(power[0] * power[1]) &&
                     fmin(power[0], power[1]) > 0.01 * fmax(power[0], power[1]);
}

DwToneJoin dw_tone_join_find(const DwWindow channel[2], size_t from, size_t to, double frequency_hz, double rate_hz)
{
    DwToneJoin join = {0};
    double power[2], angle = 2 * M_PI * frequency_hz / rate_hz;
    double complex cross;
    correlate(channel, from, to, angle, power, &cross);
    choose_weights(&join, power, cross);
    double left = join.share[0] * join.share[0], right = join.share[1] * join.share[1];
    join.lag = (size_t)fmax(1, round(M_PI / angle));
    double difference = 2 * sin(0.5 * angle * (double)join.lag);
    join.power_of_pure = 2 / ((left * left + right * right) * difference * difference);
    return join;
}

// The power of the piece's channels, in the shares that the tone is joined by,
// as the difference to the sample half a period of the tone before: that passes
// the tone and hides rumble and hum. X must reach back by the lag.
DW_WIDE static void hear_piece(const DwToneJoin *join, const float *const x[2], size_t count, float *restrict heard)
{
    size_t lag = join->lag;
    float share[2] = {(float)(join->share[0] * join->share[0]), (float)(join->share[1] * join->share[1])};
    const float *left = x[0], *right = x[1] ? x[1] : x[0];
    if (!x[1])
        share[1] = 0;
    for (size_t n = 0; n < count; n++) {
        float a = left[n + lag] - left[n], b = right[n + lag] - right[n];
        heard[n] = share[0] * a * a + share[1] * b * b;
    }
}

void dw_tone_join_demodulate(const DwToneJoin *join, const DwWindow channel[2], size_t from, size_t end,
                             DwDemodulator *demodulator, DwWindow *heard)
{
    float power[PIECE];
    for (size_t at = from; at < end;) {
        size_t count = end - at < PIECE ? end - at : PIECE;
        const float *x[2] = {NULL, NULL}, *earlier[2] = {NULL, NULL};
        for (unsigned c = 0; c < 2 && channel[c].values; c++) {
            x[c] = channel[c].values + (at - channel[c].start);
            earlier[c] = x[c] - join->lag;
        }
        dw_demodulator_push(demodulator, x, count);
        hear_piece(join, earlier, count, power);
        dw_window_append(heard, power, count);
        at += count;
    }
}
