// SPDX-License-Identifier: MIT
#include "measure/band/intermod.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum {
    HIGH,
    LOW,
    ABOVE_1,
    BELOW_1,
    ABOVE_2,
    BELOW_2,
    FIRST_BETWEEN, // noise only
    COMPONENTS = FIRST_BETWEEN + 4
};

static const DwComponent components[COMPONENTS] = {
    [HIGH] = {1, 0},    [LOW] = {0, 1},      [ABOVE_1] = {1, 1},         [BELOW_1] = {1, -1},
    [ABOVE_2] = {1, 2}, [BELOW_2] = {1, -2}, [FIRST_BETWEEN] = {1, 1.5}, {1, -1.5},
    {1, 2.5},           {1, -2.5},
};

// Room for a deck at 45 in place of 33⅓ either way.
static const double HIGH_FROM_HZ = 2700, HIGH_TO_HZ = 5700, LOW_FROM_HZ = 40, LOW_TO_HZ = 580;
static const double WIDEST_SPEED = 1.4; // 45 for 33⅓
static const double NEAR_400_FROM_HZ = 200;

DwBandSet *dw_intermod_new_set(double low_hz, double high_hz)
{
    bool stated = isfinite(low_hz) && isfinite(high_hz);
    const double high[2] = {stated ? high_hz / WIDEST_SPEED : HIGH_FROM_HZ,
                            stated ? high_hz * WIDEST_SPEED : HIGH_TO_HZ};
    const double low[2] = {stated ? low_hz / WIDEST_SPEED : LOW_FROM_HZ, stated ? low_hz * WIDEST_SPEED : LOW_TO_HZ};
    return dw_band_set_new_two_tone(components, COMPONENTS, high, low);
}

static double square(double complex value)
{
    return creal(value * conj(value));
}

static double noise_power(const DwToneBand *band, size_t channel)
{
    double sum = 0;
    for (size_t i = FIRST_BETWEEN; i < COMPONENTS; i++)
        sum += dw_tone_band_power(band, channel, i) / 4;
    return sum;
}

// What one channel of a band holds, shares of the high tone.
typedef struct {
    double second, third, total, uncertainty;
    double amplitude, frequency; // parts of the first side tones that beat in level, in pitch
    double floor;
} Product;

// The sum of two side tones, the noise's share taken off.
static double pair(const DwToneBlock *block, size_t channel, size_t above, double noise)
{
    double up = sqrt(fmax(0, dw_tone_block_power(block, channel, above) - noise));
    double down = sqrt(fmax(0, dw_tone_block_power(block, channel, above + 1) - noise));
    return up + down;
}

static Product product_of(const DwToneBand *band, size_t channel)
{
    double noise = noise_power(band, channel), high = sqrt(dw_tone_band_power(band, channel, HIGH));
    double *totals = dw_memory_new(band->count, sizeof *totals);
    double second = 0, third = 0, level = 0, pitch = 0, count = 0;
    size_t apart = 0;
    for (size_t i = 0; i < band->count; i++) {
        const DwToneBlock *block = &band->blocks[i];
        if (!block->heard)
            continue;
        const double complex *amplitude = block->amplitude[channel];
        double complex turn = cabs(amplitude[HIGH]) > 0 ? conj(amplitude[HIGH]) / cabs(amplitude[HIGH]) : 1;
        double complex above = amplitude[ABOVE_1] * turn, below = conj(amplitude[BELOW_1] * turn);
        level += square(above + below) - 2 * noise;
        pitch += square(above - below) - 2 * noise;
        double d2 = pair(block, channel, ABOVE_1, noise), d3 = pair(block, channel, ABOVE_2, noise);
        second += d2;
        third += d3;
        if ((size_t)count % 2 == 0)
            totals[apart++] = hypot(d2, d3) / high;
        count++;
    }
    Product product = {.second = second / count / high,
                       .third = third / count / high,
                       .amplitude = sqrt(fmax(0, level / count)) / high,
                       .frequency = sqrt(fmax(0, pitch / count)) / high,
                       .uncertainty = dw_statistics_mean_uncertainty(totals, apart),
                       .floor = sqrt(8 * noise) / high};
    product.total = hypot(product.second, product.third);
    free(totals);
    return product;
}

static double low_hz(const DwToneBand *band)
{
    double sum = 0, count = 0;
    for (size_t i = 0; i < band->count; i++)
        if (band->blocks[i].heard) {
            sum += band->blocks[i].companion_hz;
            count++;
        }
    return sum / count;
}

// How the low tone, which is the one that moves the stylus, comes out. A reversed channel exchanges lateral and
// vertical, and no band alone tells it.
static const char *direction_of(const DwToneBand *band, unsigned channels)
{
    double left = 0, right = 0, cross = 0;
    for (size_t i = 0; i < band->count; i++) {
        double complex a = band->blocks[i].amplitude[0][LOW], b = band->blocks[i].amplitude[1][LOW];
        left += square(a);
        right += square(b);
        cross += creal(a * conj(b));
    }
    if (channels == 1)
        return "one channel";
    if (left > 4 * right || right > 4 * left)
        return left > right ? "left" : "right";
    return cross >= 0 ? "in phase" : "in opposite phase";
}

static void add_row(DwTable *table, const DwToneBand *band, unsigned channels)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, direction_of(band, channels));
    dw_table_set_number(table, row, 1, low_hz(band));
    dw_table_set_number(table, row, 2, band->frequency_hz);
    dw_table_set_number(table, row, 3, band->start_s);
    for (size_t c = 0; c < channels; c++) {
        Product product = product_of(band, c);
        dw_table_set_number(table, row, 4 + 4 * c, 100 * product.second);
        dw_table_set_number(table, row, 5 + 4 * c, 100 * product.third);
        dw_table_set_number(table, row, 6 + 4 * c, 100 * product.amplitude);
        dw_table_set_number(table, row, 7 + 4 * c, 100 * product.frequency);
    }
}

static void add_table(const DwToneBand *bands, size_t count, unsigned channels, DwSheet *sheet)
{
    static const char *const columns[] = {"direction|Low tone||",
                                          "low|Low tone|Hz|1",
                                          "high|High tone|Hz|0",
                                          "start|From|s|1",
                                          "left_second|Left, second|%|2",
                                          "left_third|Left, third|%|2",
                                          "left_level|Left, in level|%|2",
                                          "left_pitch|Left, in pitch|%|2",
                                          "right_second|Right, second|%|2",
                                          "right_third|Right, third|%|2",
                                          "right_level|Right, in level|%|2",
                                          "right_pitch|Right, in pitch|%|2",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "intermod.bands", "Intermodulation by band", columns);
    for (size_t i = 0; i < count; i++)
        add_row(table, &bands[i], channels);
}

// The standard's pair is 400 Hz with 4 kHz; without it, the first band found.
static const DwToneBand *chosen(const DwToneBand *bands, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (low_hz(&bands[i]) > NEAR_400_FROM_HZ)
            return &bands[i];
    return &bands[0];
}

static void add_reading(const DwToneBand *band, size_t channel, const char *key, const char *label, DwSheet *sheet)
{
    Product product = product_of(band, channel);
    DwReading *reading =
        dw_sheet_add_estimate(sheet, key, label, 100 * product.total, "%", 2, 100 * product.uncertainty,
                              "side tones of first and second order over the high tone");
    reading->flags |= band->clipped ? DW_FLAG_CLIPPED : 0;
    if (product.total < product.floor)
        reading->flags |= DW_FLAG_NOISY;
}

DwStatus dw_intermod_read(DwBandSet *set, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_band_set_check(set, message);
    if (status != DW_OK)
        return status;
    size_t count;
    const DwToneBand *bands = dw_band_set_bands(set, &count);
    if (count == 0)
        return dw_fail(
            message, DW_BAD_INPUT,
            "No two-tone band of at least 1.5 s was found. Record the band of 400 Hz or 60 Hz with 4 kHz, or "
            "state another pair: intermod.low and intermod.high.");
    const DwToneBand *band = chosen(bands, count);
    unsigned channels = dw_band_set_channels(set);
    if (channels > 1) {
        add_reading(band, 0, "intermod.left", "Intermodulation, left", sheet);
        add_reading(band, 1, "intermod.right", "Intermodulation, right", sheet);
    } else {
        add_reading(band, 0, "intermod.mono", "Intermodulation", sheet);
        dw_sheet_not_measured(sheet, "intermod.left", "Only one channel was heard. Record both.");
        dw_sheet_not_measured(sheet, "intermod.right", "Only one channel was heard. Record both.");
    }
    dw_sheet_remark(sheet, "The readings are from the band of %.0f Hz and %.0f Hz at %.1f s (low tone: %s).",
                    low_hz(band), band->frequency_hz, band->start_s, direction_of(band, channels));
    dw_sheet_remark(sheet, "A lateral band comes in phase and a vertical one in opposite phase, unless one channel is "
                           "reversed ('channels' tells). Vertical bands tell of the stylus's rake: change the arm's "
                           "height and seek the least products; those in pitch follow the vertical angle.");
    add_table(bands, count, channels, sheet);
    return DW_OK;
}
