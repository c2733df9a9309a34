// SPDX-License-Identifier: MIT
#include "measure/tone/pilot.h"

#include "base/memory.h"
#include "dsp/resonance_fit.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "measure/tone/carrier.h"

#include <math.h>
#include <stdlib.h>

static const double SEGMENT_S = 6;
static const double LEAST_S = 40;
static const double KEEP_S = 1500;
static const double LOW_HZ = 4, HIGH_HZ = 22; // above wow, below rumble
static const double LINE_DB = 6;              // a bin this far over its surroundings is a line of the drive

enum { BESIDE = 8, POINTS_MOST = 400 };

struct DwPilot {
    DwCarrier *carrier;
};

DwPilot *dw_pilot_new(double rate_hz, unsigned channels)
{
    DwPilot *pilot = dw_memory_new(1, sizeof *pilot);
    pilot->carrier =
        dw_carrier_new((DwCarrierSettings){.rate_hz = rate_hz, .channels = channels, .tone_hz = NAN, .keep_s = KEEP_S});
    return pilot;
}

void dw_pilot_free(DwPilot *pilot)
{
    if (!pilot)
        return;
    dw_carrier_free(pilot->carrier);
    free(pilot);
}

void dw_pilot_push(DwPilot *pilot, const float *interleaved, size_t frames)
{
    dw_carrier_push(pilot->carrier, interleaved, frames);
}

void dw_pilot_finish(DwPilot *pilot)
{
    dw_carrier_finish(pilot->carrier);
}

// Whether BIN stands out of its surroundings as a line does.
static bool is_line(const DwSpectrum *spectrum, size_t bin)
{
    float about[2 * BESIDE + 1];
    size_t count = 0;
    for (size_t k = bin - BESIDE; k <= bin + BESIDE; k++)
        about[count++] = (float)spectrum->power[k];
    return spectrum->power[bin] > pow(10, LINE_DB / 10) * dw_statistics_quantile(about, count, 0.5);
}

// The spectrum of the tone's deviation where the resonance may lie, without lines.
static size_t read_spectrum(const DwToneRun *run, double *frequency_hz, double *level_db)
{
    double *deviation = dw_memory_new(run->count, sizeof *deviation), mean = 0;
    for (size_t n = 0; n < run->count; n++)
        mean += run->deviation_hz[n] / (double)run->count;
    for (size_t n = 0; n < run->count; n++)
        deviation[n] = run->deviation_hz[n] - mean;
    DwSpectrum spectrum = dw_spectrum_of(deviation, run->count, (size_t)(SEGMENT_S * run->rate_hz) & ~(size_t)1);
    size_t count = 0;
    for (size_t k = BESIDE; k + BESIDE < spectrum.bins && count < POINTS_MOST; k++) {
        double hz = (double)k * spectrum.step * run->rate_hz;
        if (hz < LOW_HZ || hz > HIGH_HZ || is_line(&spectrum, k))
            continue;
        frequency_hz[count] = hz;
        level_db[count++] = 10 * log10(spectrum.power[k] + 1e-30);
    }
    dw_spectrum_clear(&spectrum);
    free(deviation);
    return count;
}

static void say_missing(DwSheet *sheet, const char *why)
{
    dw_sheet_not_measured(sheet, "lowsweep.pilot", "%s", why);
    dw_sheet_not_measured(sheet, "lowsweep.q_pilot", "%s", why);
}

void dw_pilot_read(const DwPilot *pilot, DwSheet *sheet)
{
    DwToneRun run;
    double frequency_hz[POINTS_MOST], level_db[POINTS_MOST];
    if (!dw_carrier_best(pilot->carrier, &run) || (double)run.count < LEAST_S * run.rate_hz) {
        say_missing(sheet, "the arm's own modulation wants a steady tone of 40 s or more.");
        return;
    }
    size_t count = read_spectrum(&run, frequency_hz, level_db);
    DwResonanceFit fit;
    if (!dw_resonance_fit_hump(frequency_hz, level_db, count, &fit) || fit.q < 1 || fit.q_off > 0.5 * fit.q ||
        fit.resonance_hz < 1.15 * LOW_HZ || fit.resonance_hz * 1.15 > HIGH_HZ) {
        say_missing(sheet, "the tone's modulation from 4 to 22 Hz shows no single hump of a resonance.");
        return;
    }
    static const char method[] = "hump in the spectrum of the tone's frequency modulation, its excitation unknown";
    dw_sheet_add_estimate(sheet, "lowsweep.pilot", "Resonance, by the pilot tone", fit.resonance_hz, "Hz", 1,
                          fit.resonance_off_hz, method)
        ->flags |= DW_FLAG_APPROXIMATE;
    dw_sheet_add_estimate(sheet, "lowsweep.q_pilot", "Q, by the pilot tone", fit.q, "", 1, fit.q_off, method)->flags |=
        DW_FLAG_APPROXIMATE;
    DwCurve *curve = dw_sheet_add_curve(sheet, "lowsweep.pilot_spectrum", "Modulation of the pilot tone",
                                        (DwAxis){"Frequency", "Hz"}, (DwAxis){"Level", "dB"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = frequency_hz[i];
        curve->y_values[i] = level_db[i] - fit.gain_db;
    }
    dw_sheet_remark(sheet,
                    "Read from the arm's own modulation of a tone of %.0f Hz, %.0f s long. It does not tell lateral "
                    "from vertical, and warps and the drive excite it unevenly: a sweep is surer.",
                    run.centre_hz, (double)run.count / run.rate_hz);
}
