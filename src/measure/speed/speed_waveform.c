// SPDX-License-Identifier: MIT
#include "measure/speed/speed_waveform.h"

#include "dsp/flutter_weighting.h"
#include "dsp/statistics.h"

#include <math.h>

enum { SAMPLES = 2400, HARMONICS_MOST = 40 };

static const double TURNS = 24.3;     // of the slowest line that a waveform is sampled over
static const double SHOWS = 4;        // standard uncertainties from which on a line is there
static const double BESIDE_BINS = 2;  // 1/T: nearer, a line is taken already
static const double LOWEST_HZ = 8;    // below, the joint fit found what there is
static const double HIGHEST_HZ = 200; // of the deviation

static double half_length(const DwSpeedAnalysis *analysis)
{
    return (double)analysis->count / analysis->rate_hz / 2;
}

// Adds a line whose phase is known at the series' start.
static void add(DwWaveform *waveform, double frequency_hz, double cosine, double sine, double middle)
{
    if (waveform->count == DW_WAVEFORM_LINES)
        return;
    double angle = 2 * M_PI * frequency_hz * middle, c = cos(angle), s = sin(angle);
    waveform->frequency_hz[waveform->count] = frequency_hz;
    waveform->cosine[waveform->count] = cosine * c + sine * s;
    waveform->sine[waveform->count++] = sine * c - cosine * s;
}

void dw_waveform_add(DwWaveform *waveform, const DwSpeedAnalysis *analysis, const DwFlutterLine *line)
{
    add(waveform, line->frequency_hz, line->start[0], line->start[1], half_length(analysis));
}

static bool is_taken(const DwSpeedAnalysis *analysis, double frequency_hz)
{
    double beside = BESIDE_BINS * analysis->rate_hz / (double)analysis->count;
    for (size_t i = 0; i < analysis->line_count; i++)
        if (fabs(analysis->lines[i].frequency_hz - frequency_hz) < beside)
            return true;
    return false;
}

unsigned dw_waveform_complete(DwWaveform *waveform, const DwSpeedAnalysis *analysis, double turn_hz)
{
    unsigned added = 0;
    for (unsigned k = 2; k <= HARMONICS_MOST && k * turn_hz < HIGHEST_HZ; k++) {
        double hz = k * turn_hz, real, imaginary;
        if (hz < LOWEST_HZ || is_taken(analysis, hz))
            continue;
        dw_spectrum_line(analysis->deviation, analysis->used, analysis->count, hz / analysis->rate_hz, &real,
                         &imaginary);
        if (hypot(real, imaginary) < SHOWS * dw_speed_line_off(analysis, hz))
            continue;
        add(waveform, hz, real, -imaginary, half_length(analysis));
        added++;
    }
    return added;
}

double dw_waveform_at(const DwWaveform *waveform, double second, bool weighted)
{
    double sum = 0;
    for (size_t i = 0; i < waveform->count; i++) {
        double hz = waveform->frequency_hz[i], angle = 2 * M_PI * hz * second;
        double gain = weighted ? dw_flutter_weighting_gain(hz) : 1;
        sum += gain * (waveform->cosine[i] * cos(angle) + waveform->sine[i] * sin(angle));
    }
    return sum;
}

DwWaveform dw_waveform_unweighted(const DwWaveform *waveform)
{
    DwWaveform passed = {.count = waveform->count};
    for (size_t i = 0; i < waveform->count; i++) {
        double hz = waveform->frequency_hz[i], gain[2];
        dw_speed_unweighted_gain(hz, gain);
        passed.frequency_hz[i] = hz; // c − js times the gain
        passed.cosine[i] = waveform->cosine[i] * gain[0] + waveform->sine[i] * gain[1];
        passed.sine[i] = waveform->sine[i] * gain[0] - waveform->cosine[i] * gain[1];
    }
    return passed;
}

double dw_waveform_power(const DwWaveform *waveform)
{
    double power = 0;
    for (size_t i = 0; i < waveform->count; i++)
        power += (waveform->cosine[i] * waveform->cosine[i] + waveform->sine[i] * waveform->sine[i]) / 2;
    return power;
}

// The magnitude that SHARE of the time is not exceeded.
static double magnitude(const DwWaveform *waveform, bool weighted, double share)
{
    float values[SAMPLES];
    double slowest = INFINITY;
    for (size_t i = 0; i < waveform->count; i++)
        slowest = fmin(slowest, waveform->frequency_hz[i]);
    for (size_t n = 0; n < SAMPLES && waveform->count; n++)
        values[n] = (float)fabs(dw_waveform_at(waveform, (double)n * TURNS / slowest / SAMPLES, weighted));
    return waveform->count ? dw_statistics_quantile(values, SAMPLES, share) : 0;
}

double dw_waveform_weighted(const DwWaveform *waveform)
{
    return magnitude(waveform, true, 0.95);
}

double dw_waveform_peak(const DwWaveform *waveform)
{
    return magnitude(waveform, false, 1);
}
