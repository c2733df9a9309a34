// SPDX-License-Identifier: MIT
// What of a flutter is in no line: its spectrum beside the recording's own noise, and how much it is.
#include "measure/speed/speed_filling.h"

#include "measure/speed/speed_noise.h"

#include <math.h>

enum { BANDS = 96 };

static const double LOW_HZ = 0.2, HIGH_HZ = 200;
static const double JOINED_HZ = 8;                      // up to here the joint fit took the lines out
static const double BESIDE_BINS = 4, BESIDE_SLOW = 1.5; // of a line: what it smears, what its fit took with it
// Densities of one band, %²/Hz.
typedef struct {
    double low_hz, high_hz, density; // NAN where lines leave nothing of it
    size_t bins;
} Band;

static bool is_near_line(const DwSpeedAnalysis *a, double hz, double step_hz, bool slow)
{
    const DwLineFit *fit = &a->joint;
    for (size_t l = 0; slow && l < fit->count; l++)
        for (size_t k = 1; k <= fit->line[l].harmonics; k++)
            if (fabs((double)k * fit->line[l].rate_hz - hz) < BESIDE_SLOW * step_hz)
                return true;
    for (size_t l = 0; !slow && l < a->line_count; l++)
        if (fabs(a->lines[l].frequency_hz - hz) < BESIDE_BINS * step_hz)
            return true;
    return false;
}

// Adds the bins of one spectrum that lie in BAND. POWER is of Hann bins, a sine's amplitude squared.
static void add_bins(const DwSpeedAnalysis *a, const double *power, size_t bins, double step_hz, bool slow, Band *band)
{
    double sum = 0;
    size_t first = (size_t)fmax(2, ceil(band->low_hz / step_hz));
    for (size_t k = first; k < bins && (double)k * step_hz < band->high_hz; k++) {
        if (is_near_line(a, (double)k * step_hz, step_hz, slow))
            continue;
        sum += power[k] / (3 * step_hz);
        band->bins++;
    }
    band->density = band->bins ? sum / (double)band->bins : NAN;
}

static size_t find_bands(const DwSpeedAnalysis *a, Band bands[BANDS])
{
    double fast_hz = a->spectrum.step * a->rate_hz, slow_hz = a->rest_step_hz,
           ratio = pow(HIGH_HZ / LOW_HZ, 1.0 / BANDS);
    size_t count = 0;
    for (double low = LOW_HZ; low < 0.999 * HIGH_HZ && count < BANDS;) {
        bool slow = low < JOINED_HZ;
        double step_hz = slow ? slow_hz : fast_hz, high = fmax(low * ratio, low + 2 * step_hz);
        high = slow && high > JOINED_HZ ? JOINED_HZ : fmin(high, HIGH_HZ);
        Band *band = &bands[count++];
        *band = (Band){.low_hz = low, .high_hz = high};
        add_bins(a, slow ? a->rest_power : a->spectrum.power, slow ? a->rest_bins : a->spectrum.bins, step_hz, slow,
                 band);
        low = high;
    }
    return count;
}

static void add_curves(const DwSpeedFilling *filling, const Band *bands, size_t count)
{
    const DwAxis x = {"Frequency", "Hz"}, y = {"Speed deviation in no line", "%/√Hz"};
    DwCurve *curve = dw_sheet_add_curve(filling->sheet, "remainder.spectrum", "In no line", x, y, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = sqrt(bands[i].low_hz * bands[i].high_hz);
        curve->y_values[i] = sqrt(bands[i].density);
    }
    curve = dw_sheet_add_curve(filling->sheet, "remainder.floor", "Recording's noise", x, y, count);
    for (size_t i = 0; i < count; i++) {
        double hz = sqrt(bands[i].low_hz * bands[i].high_hz);
        curve->x_values[i] = hz;
        curve->y_values[i] = sqrt(dw_speed_noise_at(filling->analysis, hz));
    }
}

static double power_of(const DwSpeedAnalysis *a, const Band *bands, size_t count)
{
    double power = 0, last = 0;
    for (size_t i = 0; i < count; i++) {
        double wide = bands[i].high_hz - bands[i].low_hz;
        last = isfinite(bands[i].density) ? bands[i].density : last; // between lines it is taken to go on
        power += (last - dw_speed_noise_at(a, sqrt(bands[i].low_hz * bands[i].high_hz))) * wide;
    }
    return fmax(0, power);
}

double dw_speed_remainder_power(const DwSpeedAnalysis *analysis)
{
    Band bands[BANDS];
    return analysis->rest_power ? power_of(analysis, bands, find_bands(analysis, bands)) : NAN;
}

void dw_speed_remainder_add(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    Band bands[BANDS];
    if (!a->rest_power)
        return;
    size_t count = find_bands(a, bands);
    DwReading *reading =
        dw_sheet_add_estimate(filling->sheet, "flutter.remainder", "In no line, rms", sqrt(power_of(a, bands, count)),
                              "%", 4, NAN, "unweighted, less the recording's noise; ticks leave some of theirs in it");
    reading->flags = filling->flags;
    reading->unjudged = filling->is_unjudged;
    add_curves(filling, bands, count);
}
