// SPDX-License-Identifier: MIT
#include "measure/band/band_doubt.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double PLAIN = 0.99;       // of the power in the tone's range: 20 dB over the rest
static const double HARMONIC = 1.0 / 3; // of the tone, as a test tone's are never
static const double OF_MAINS = 1e-3, STEADY = 5e-5, LEAST_S = 3;

// The median over the blocks: a tick spoils some.
static double purity_of(const DwToneBand *band)
{
    float *shares = dw_memory_new(band->count + 1, sizeof *shares);
    size_t heard = 0;
    for (size_t i = 0; i < band->count; i++)
        if (band->blocks[i].heard)
            shares[heard++] = (float)band->blocks[i].purity;
    double purity = heard ? dw_statistics_quantile(shares, heard, 0.5) : 0;
    free(shares);
    return purity;
}

// All harmonics over the tone, in the channel that has more of the tone.
static double harmonics_of(const DwToneBand *band, size_t harmonics)
{
    size_t channel = dw_tone_band_power(band, 1, 0) > dw_tone_band_power(band, 0, 0);
    double sum = 0;
    for (size_t k = 1; k < harmonics; k++)
        sum += dw_tone_band_power(band, channel, k);
    return sqrt(sum / dw_tone_band_power(band, channel, 0));
}

DwStatus dw_band_doubt_check(const DwToneBand *bands, size_t count, size_t harmonics, DwMessage *message)
{
    const DwToneBand *best = NULL;
    double purest = 0;
    for (size_t i = 0; i < count; i++) {
        double purity = purity_of(&bands[i]);
        bool rich = harmonics_of(&bands[i], harmonics) > HARMONIC;
        if (purity >= PLAIN && !rich)
            return DW_OK;
        if (!best || purity > purest) {
            best = &bands[i];
            purest = purity;
        }
    }
    if (!best)
        return DW_OK;
    static const char *const what = "Record the left, the right and the band of both channels, or name the seconds "
                                    "(channels.left=2s:12s) if it is one.";
    if (purest >= PLAIN)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The steady tone of %.0f Hz has harmonics of %.0f %%, as an instrument's has and no test record's. "
            "%s",
            best->frequency_hz, 100 * harmonics_of(best, harmonics), what);
    return dw_fail(
        message, DW_BAD_INPUT,
        "The steady tone of %.0f Hz stands only %.0f dB over what else is heard about it, as a whistle or hum "
        "does and no band of a test record. %s",
        best->frequency_hz, 10 * log10(fmax(purest, 0.01) / (1 - purest)), what);
}

bool dw_band_doubt_may_be_hum(const DwToneBand *band)
{
    double sum = 0, squares = 0, count = 0;
    for (size_t i = 0; i < band->count; i++)
        if (band->blocks[i].heard) {
            double off = band->blocks[i].frequency_hz / band->frequency_hz - 1;
            sum += off;
            squares += off * off;
            count++;
        }
    double fifty = fabs(band->frequency_hz / 50 / round(band->frequency_hz / 50) - 1),
           sixty = fabs(band->frequency_hz / 60 / round(band->frequency_hz / 60) - 1);
    return band->end_s - band->start_s >= LEAST_S && fmin(fifty, sixty) < OF_MAINS && count > 0 &&
           squares / count - pow(sum / count, 2) < STEADY * STEADY;
}
