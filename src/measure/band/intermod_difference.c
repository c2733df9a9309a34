// SPDX-License-Identifier: MIT
#include "measure/band/intermod_difference.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { HIGH, LOW, DIFFERENCE, BELOW, ABOVE, FIRST_NOISE, COMPONENTS = FIRST_NOISE + 4 };

// The last four hold nothing but noise: two beside the difference, two beside the tones.
static const DwComponent components[COMPONENTS] = {
    [HIGH] = {1, 0},   [LOW] = {0, 1},    [DIFFERENCE] = {1, -1},
    [BELOW] = {-1, 2}, [ABOVE] = {2, -1}, [FIRST_NOISE] = {0.6, -0.6},
    {1.5, -1.5},       {-0.5, 1.5},       {1.5, -0.5},
};
static const double LEAST_APART_HZ = 40, LEAST_APART = 1.01, MOST_APART = 2;
static const double SPEED_SHARE = 0.45; // of the way from one tone to the other that each may be off
static const double WIDEST_SPEED = 1.06;

bool dw_intermod_difference_fits(double low_hz, double high_hz)
{
    return high_hz >= LEAST_APART * low_hz && high_hz - low_hz >= LEAST_APART_HZ && high_hz < MOST_APART * low_hz;
}

DwBandSet *dw_intermod_difference_new_set(double low_hz, double high_hz)
{
    double apart = fmin(WIDEST_SPEED, pow(high_hz / low_hz, SPEED_SHARE));
    return dw_band_set_new_two_tone(components, COMPONENTS, (const double[]){high_hz / apart, high_hz * apart},
                                    (const double[]){low_hz / apart, low_hz * apart});
}

// Shares of the sum of both tones.
typedef struct {
    double second, third, total, off, floor;
} Product;

static double level(const DwToneBlock *block, size_t channel, size_t component, double noise)
{
    return sqrt(fmax(0, dw_tone_block_power(block, channel, component) - noise));
}

static Product product_of(const DwToneBand *band, size_t channel)
{
    double noise[2]; // the lesser of each two: a product of a pair in simple numbers, or hum, may lie on one
    for (size_t k = 0; k < 2; k++)
        noise[k] = fmin(dw_tone_band_power(band, channel, FIRST_NOISE + 2 * k),
                        dw_tone_band_power(band, channel, FIRST_NOISE + 2 * k + 1));
    double sum = sqrt(dw_tone_band_power(band, channel, HIGH)) + sqrt(dw_tone_band_power(band, channel, LOW));
    double *totals = dw_memory_new(band->count, sizeof *totals), second = 0, third = 0, total = 0, count = 0;
    size_t apart = 0;
    for (size_t i = 0; i < band->count; i++) {
        const DwToneBlock *block = &band->blocks[i];
        if (!block->heard)
            continue;
        double d2 = level(block, channel, DIFFERENCE, noise[0]), below = level(block, channel, BELOW, noise[1]);
        second += d2;
        third += below + level(block, channel, ABOVE, noise[1]);
        total += hypot(d2, below);
        if ((size_t)count % 2 == 0)
            totals[apart++] = hypot(d2, below) / sum;
        count++;
    }
    Product product = {.second = second / count / sum,
                       .third = third / count / sum,
                       .total = total / count / sum,
                       .off = dw_statistics_mean_uncertainty(totals, apart),
                       .floor = sqrt(noise[0] + noise[1]) / sum};
    free(totals);
    return product;
}

static void add_channel(const DwToneBand *band, size_t channel, const char *name, DwSheet *sheet)
{
    static const struct {
        const char *key, *label, *method;
    } rows[] = {
        {"intermod.difference_second", "Difference-frequency distortion, second order",
         "the tone at the difference over the sum of both, as recorded"},
        {"intermod.difference_third", "Difference-frequency distortion, third order",
         "the tones beside the pair over the sum of both, as recorded"},
        {"intermod.difference_total", "Total difference-frequency distortion",
         "the difference and the tone below the pair over the sum of both, as recorded"},
    };
    Product product = product_of(band, channel);
    const double shares[] = {product.second, product.third, product.total};
    for (size_t i = 0; i < 3; i++) {
        char key[60], label[80];
        snprintf(key, sizeof key, "%s_%s", rows[i].key, name);
        snprintf(label, sizeof label, "%s, %s", rows[i].label, name);
        DwReading *reading = dw_sheet_add_estimate(sheet, key, label, 100 * shares[i], "%", 2,
                                                   i == 2 ? 100 * product.off : NAN, rows[i].method);
        reading->flags |=
            (band->clipped ? (unsigned)DW_FLAG_CLIPPED : 0) | (shares[i] < product.floor ? (unsigned)DW_FLAG_NOISY : 0);
    }
}

DwStatus dw_intermod_difference_read(DwBandSet *set, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_band_set_check(set, message);
    if (status != DW_OK)
        return status;
    size_t count;
    const DwToneBand *bands = dw_band_set_bands(set, &count);
    if (count == 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "No band of that pair of at least 1.5 s was found. A pair close together is looked for within "
                       "its own distance: is the speed right, and are intermod.low and intermod.high the record's?");
    static const char *const names[2] = {"left", "right"};
    unsigned channels = dw_band_set_channels(set);
    for (size_t c = 0; c < channels; c++)
        add_channel(&bands[0], c, channels > 1 ? names[c] : "mono", sheet);
    dw_sheet_remark(sheet,
                    "The readings are from the pair at %.1f s, %.0f Hz its high tone. They are as recorded: behind a "
                    "replay curve a difference below 500 Hz stands higher than it was cut.",
                    bands[0].start_s, bands[0].frequency_hz);
    return DW_OK;
}
