// SPDX-License-Identifier: MIT
#include "measure/speed/speed_level.h"

#include "base/memory.h"
#include "dsp/flutter_weighting.h"
#include "measure/speed/speed_noise.h"

#include <math.h>
#include <stdlib.h>

enum { SEGMENT = 8192, POWERS = 3 };

static const double LOWEST_HZ = 0.2, FAST_HZ = 2.5, HIGHEST_HZ = 200; // slower swings come from warped records too
static const double OVER_NOISE = 6;                                   // in power: what chance never makes of noise
static const double ALIKE = 1.8;                                      // likewise, of level and phase
static const double SLOW_RATE_HZ = 20, SPREAD_TO_HZ = 20;

// The level and the powers of the deviation that it may be a function of, at some 20 values a second.
typedef struct {
    double *level, *deviation;
    size_t count;
} Slow;

static Slow slow_of(const DwSpeedAnalysis *a, const double *level)
{
    size_t step = (size_t)fmax(1, a->rate_hz / SLOW_RATE_HZ), most = a->count / step;
    Slow slow = {dw_memory_new(most + 1, sizeof(double)), dw_memory_new(most + 1, sizeof(double)), most};
    for (size_t i = 0; i < most; i++)
        for (size_t n = i * step; n < (i + 1) * step; n++) {
            slow.level[i] += level[n] / (double)step;
            slow.deviation[i] += a->deviation[n] / (double)step;
        }
    return slow;
}

// Takes mean, trend and, one after the other, what ROW[count][POWERS + 2] was taken into account already out of ROW I.
static void make_clear(double (*row)[POWERS + 2], size_t count, size_t i)
{
    for (size_t k = 0; k < i; k++) {
        double shared = 0, own = 0;
        for (size_t n = 0; n < count; n++) {
            shared += row[n][i] * row[n][k];
            own += row[n][k] * row[n][k];
        }
        for (size_t n = 0; n < count && own > 0; n++)
            row[n][i] -= shared / own * row[n][k];
    }
}

// The share of the level's power that mean, trend and powers of the deviation account for beyond mean and trend.
static double share_following(const Slow *slow)
{
    double(*row)[POWERS + 2] = dw_memory_new(slow->count + 1, sizeof *row), scale = 0;
    for (size_t n = 0; n < slow->count; n++)
        scale = fmax(scale, fabs(slow->deviation[n]));
    for (size_t n = 0; n < slow->count; n++) {
        double x = scale > 0 ? slow->deviation[n] / scale : 0, time = 2 * (double)n / (double)slow->count - 1;
        const double values[] = {1, time, x, x * x, x * x * x};
        for (size_t k = 0; k < POWERS + 2; k++)
            row[n][k] = values[k];
    }
    for (size_t k = 1; k < POWERS + 2; k++)
        make_clear(row, slow->count, k);
    double explained = 0, all = 0, mean = 0, slope = 0, times = 0;
    for (size_t n = 0; n < slow->count; n++) {
        mean += slow->level[n] / (double)slow->count;
        slope += slow->level[n] * row[n][1];
        times += row[n][1] * row[n][1];
    }
    for (size_t n = 0; n < slow->count; n++) {
        double left = slow->level[n] - mean - (times > 0 ? slope / times * row[n][1] : 0);
        all += left * left;
    }
    for (size_t k = 2; k < POWERS + 2; k++) {
        double shared = 0, own = 0;
        for (size_t n = 0; n < slow->count; n++) {
            shared += slow->level[n] * row[n][k];
            own += row[n][k] * row[n][k];
        }
        explained += own > 0 ? shared * shared / own : 0;
    }
    free(row);
    return all > 0 ? fmin(1, explained / all) : 0;
}

static void add_power(DwLevelPower *power, double flat, double frequency_hz)
{
    double gain = dw_flutter_weighting_gain(frequency_hz);
    power->flat += flat;
    power->weighted += gain * gain * flat;
}

// What is summed up of both spectra.
typedef struct {
    double slow, fast;        // the level's swing
    double spread, deviation; // of it and of the deviation (%²), what tells the echo's spread
} Sums;

static void add_bin(const DwSpeedAnalysis *a, double f, double level, double deviation, Sums *sums, DwSpeedLevel *read)
{
    double noise = 2 * a->noise_density, percent = 100 * f / a->mean_hz; // densities, 1/Hz
    if (f < SPREAD_TO_HZ) {
        sums->spread += level - noise;
        sums->deviation += deviation - dw_speed_noise_at(a, f);
    }
    if (level < OVER_NOISE * noise)
        return;
    double flat = level * percent * percent;
    bool is_fast = f >= FAST_HZ;
    *(is_fast ? &sums->fast : &sums->slow) += level;
    if (!is_fast)
        add_power(&read->slow, flat, f);
    else
        add_power(&read->fast, flat, f);
    if (is_fast && flat < ALIKE * deviation && deviation < ALIKE * flat)
        add_power(&read->added, flat, f);
}

static void scale(DwLevelPower *power, double by)
{
    power->flat *= by;
    power->weighted *= by;
}

// Whether LEVEL does anything that the noise does not.
static bool is_swinging(const DwDemodulator *demodulator, const DwSpeedAnalysis *a, const DwSpectrum *swing)
{
    double step_hz = swing->step * a->rate_hz;
    for (size_t k = 1; k < swing->bins && (double)k * step_hz < HIGHEST_HZ; k++) {
        double gain = dw_demodulator_gain(demodulator, (double)k * step_hz);
        if ((double)k * step_hz >= LOWEST_HZ &&
            swing->power[k] / (3 * step_hz) / (gain * gain) >= OVER_NOISE * 2 * a->noise_density)
            return true;
    }
    return false;
}

static void read_swing(const DwDemodulator *demodulator, const DwSpeedAnalysis *a, const double *level,
                       const DwSpectrum *swing, DwSpeedLevel *read)
{
    Slow slow = slow_of(a, level);
    read->follows = share_following(&slow);
    free(slow.level);
    free(slow.deviation);
    DwSpectrum deviation = dw_spectrum_of(a->deviation, a->count, SEGMENT);
    double step_hz = swing->step * a->rate_hz;
    Sums sums = {0};
    for (size_t k = 1; k < swing->bins && (double)k * step_hz < HIGHEST_HZ; k++) {
        double f = (double)k * step_hz, gain = dw_demodulator_gain(demodulator, f), unit = 3 * step_hz;
        if (f >= LOWEST_HZ)
            add_bin(a, f, swing->power[k] / unit / (gain * gain), deviation.power[k] / unit, &sums, read);
    }
    dw_spectrum_clear(&deviation);
    DwLevelPower *const powers[] = {&read->added, &read->fast, &read->slow};
    for (size_t i = 0; i < 3; i++)
        scale(powers[i], step_hz);
    read->slow_swing = sqrt(sums.slow * step_hz);
    read->fast_swing = sqrt(sums.fast * step_hz);
    double spread = sums.deviation > 0 ? sqrt(fmax(0, sums.spread) / sums.deviation) : NAN;
    read->spread_s = spread * 100 / (2 * M_PI * a->mean_hz);
}

DwSpeedLevel dw_speed_level_read(const DwDemodulator *demodulator, const DwSpeedAnalysis *analysis, const double *level)
{
    DwSpeedLevel read = {.spread_s = NAN};
    DwSpectrum swing = dw_spectrum_of(level, analysis->count, SEGMENT);
    if (is_swinging(demodulator, analysis, &swing))
        read_swing(demodulator, analysis, level, &swing, &read);
    dw_spectrum_clear(&swing);
    return read;
}
