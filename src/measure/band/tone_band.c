// SPDX-License-Identifier: MIT
#include "measure/band/tone_band.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/band/channel_breaks.h"

#include <math.h>
#include <stdlib.h>

static const double ONE_SIDED = 2; // 6 dB
static const double FREQUENCY_SHIFT = 0.02;
static const double COMPANION_SHIFT = 0.2; // NAN where there is none
static const double MEMORY = 0.25;         // share of each block in the level that the next is held against
static const double SPOILT = 6;            // median distances, four standard deviations
static const double SMALLEST = 1e-7;       // below what matters anywhere
static const double STEADY_DB = 1.5;       // of a channel while the other comes and goes
enum {
    ODD_MOST = 2, // blocks that may differ (a tick) before the band has ended
    TRIMMED = 2,  // blocks at each end that may reach over it
};

static double stronger(const DwToneBlock *block)
{
    return fmax(cabs(block->amplitude[0][0]), cabs(block->amplitude[1][0]));
}

static DwBandKind kind_of(double left, double right, double product)
{
    if (left >= ONE_SIDED * right)
        return DW_BAND_LEFT;
    if (right >= ONE_SIDED * left)
        return DW_BAND_RIGHT;
    return product >= 0 ? DW_BAND_LATERAL : DW_BAND_VERTICAL;
}

static DwBandKind block_kind(const DwToneBlock *block)
{
    double complex left = block->amplitude[0][0], right = block->amplitude[1][0];
    return kind_of(cabs(left), cabs(right), creal(left * conj(right)));
}

static double decibels(double ratio)
{
    return 20 * log10(ratio);
}

// What the next block of a stretch is held against.
typedef struct {
    size_t first, last;
    double level_db, frequency_hz, companion_hz;
    DwBandKind kind;
    size_t odd;
    bool open;
} Stretch;

static void open_at(Stretch *stretch, const DwToneBlock *blocks, size_t i)
{
    *stretch = (Stretch){.first = i,
                         .last = i,
                         .level_db = decibels(stronger(&blocks[i])),
                         .frequency_hz = blocks[i].frequency_hz,
                         .companion_hz = blocks[i].companion_hz,
                         .kind = block_kind(&blocks[i]),
                         .open = true};
}

static bool goes_on(const Stretch *stretch, const DwToneBlock *block, double split_db)
{
    return block->heard && fabs(decibels(stronger(block)) - stretch->level_db) <= split_db &&
           fabs(block->frequency_hz / stretch->frequency_hz - 1) <= FREQUENCY_SHIFT &&
           !(fabs(block->companion_hz / stretch->companion_hz - 1) > COMPANION_SHIFT) &&
           block_kind(block) == stretch->kind;
}

static void go_on(Stretch *stretch, const DwToneBlock *block, size_t i)
{
    stretch->last = i;
    stretch->odd = 0;
    stretch->level_db += MEMORY * (decibels(stronger(block)) - stretch->level_db);
    stretch->frequency_hz += MEMORY * (block->frequency_hz - stretch->frequency_hz);
}

static double median_level(const DwToneBlock *blocks, size_t count)
{
    float *levels = dw_memory_new(count, sizeof *levels);
    size_t heard = 0;
    for (size_t i = 0; i < count; i++)
        if (blocks[i].heard)
            levels[heard++] = (float)stronger(&blocks[i]);
    double level = dw_statistics_quantile(levels, heard, 0.5);
    free(levels);
    return level;
}

static bool counts(const DwToneBand *band, const DwToneBlock *block)
{
    return block->heard && fabs(decibels(stronger(block) / band->level)) <= band->split_db;
}

// Settles what the blocks of BAND have in common.
static void settle(DwToneBand *band)
{
    double sums[3] = {0}, frequency = 0;
    size_t count = 0, clipped[2] = {0};
    band->level = median_level(band->blocks, band->count);
    for (size_t i = 0; i < band->count; i++) {
        const DwToneBlock *block = &band->blocks[i];
        if (!counts(band, block))
            continue;
        double complex left = block->amplitude[0][0], right = block->amplitude[1][0];
        sums[0] += creal(left * conj(left));
        sums[1] += creal(right * conj(right));
        sums[2] += creal(left * conj(right));
        frequency += block->frequency_hz;
        for (size_t c = 0; c < 2; c++)
            clipped[c] += block->clipped[c];
        count++;
    }
    band->frequency_hz = frequency / (double)count;
    band->kind = kind_of(sqrt(sums[0]), sqrt(sums[1]), sums[2]);
    for (size_t c = 0; c < 2; c++)
        band->channel_clipped[c] = 5 * clipped[c] > count;
    band->clipped = band->channel_clipped[0] || band->channel_clipped[1];
    band->start_s = band->blocks[0].start_s;
    band->end_s = band->blocks[band->count - 1].end_s;
}

static void close_stretch(const Stretch *stretch, const DwToneBlock *blocks, DwToneBand like, double least_s,
                          DwToneBand **bands, size_t *count)
{
    if (!stretch->open || stretch->last < stretch->first + 2 * TRIMMED)
        return;
    DwToneBand band = like;
    band.blocks = blocks + stretch->first + TRIMMED;
    band.count = stretch->last - stretch->first + 1 - 2 * TRIMMED;
    if (blocks[stretch->last].end_s - blocks[stretch->first].start_s < least_s)
        return;
    settle(&band);
    *bands = dw_memory_resize(*bands, *count + 1, sizeof **bands);
    (*bands)[(*count)++] = band;
}

size_t dw_tone_band_find(const DwToneBlock *blocks, size_t count, const DwComponent *components, double split_db,
                         double least_s, DwToneBand **bands)
{
    DwToneBand like = {.split_db = split_db, .components = components};
    Stretch stretch = {0};
    size_t found = 0;
    *bands = NULL;
    for (size_t i = 0; i < count; i++) {
        if (!stretch.open) {
            if (blocks[i].heard)
                open_at(&stretch, blocks, i);
        } else if (goes_on(&stretch, &blocks[i], split_db)) {
            go_on(&stretch, &blocks[i], i);
        } else if (++stretch.odd > ODD_MOST) {
            close_stretch(&stretch, blocks, like, least_s, bands, &found);
            i = stretch.last; // what came after it may begin another
            stretch.open = false;
        }
    }
    close_stretch(&stretch, blocks, like, least_s, bands, &found);
    return found;
}

// --- means ------------------------------------------------------------------------

// The phase of CHANNEL's amplitude at COMPONENT counted from REFERENCE's tone.
static double complex aligned(const DwToneBand *band, const DwToneBlock *block, size_t channel, size_t component,
                              size_t reference)
{
    double complex tone = block->amplitude[reference][0];
    double turn = band->components[component].of_tone * carg(tone);
    return block->amplitude[channel][component] * cexp(-I * turn);
}

// The blocks of a band that count, one value of each.
typedef struct {
    double complex *value;
    double *weight;
    size_t *place;
    bool *sound;
    size_t count;
} Values;

static Values new_values(size_t room)
{
    return (Values){.value = dw_memory_new(room, sizeof(double complex)),
                    .weight = dw_memory_new(room, sizeof(double)),
                    .place = dw_memory_new(room, sizeof(size_t)),
                    .sound = dw_memory_new(room, sizeof(bool))};
}

static void clear_values(Values *values)
{
    free(values->value);
    free(values->weight);
    free(values->place);
    free(values->sound);
}

// Marks as not sound what lies far from the median in units of the median
// distance from it: blocks that a tick or a dropout has spoilt.
static void mark_spoilt(Values *values, double (*part)(double complex))
{
    float *sorted = dw_memory_new(values->count, sizeof *sorted);
    for (size_t i = 0; i < values->count; i++)
        sorted[i] = (float)part(values->value[i]);
    double middle = dw_statistics_quantile(sorted, values->count, 0.5);
    for (size_t i = 0; i < values->count; i++)
        sorted[i] = (float)fabs(part(values->value[i]) - middle);
    double reach = SPOILT * dw_statistics_quantile(sorted, values->count, 0.5) + SMALLEST;
    for (size_t i = 0; i < values->count; i++)
        values->sound[i] = values->sound[i] && fabs(part(values->value[i]) - middle) <= reach;
    free(sorted);
}

static double real_part(double complex value)
{
    return creal(value);
}

static double imaginary_part(double complex value)
{
    return cimag(value);
}

// The weighted mean of what is sound; its uncertainty from blocks that share no sample.
static DwToneEstimate estimate_of(Values *values)
{
    DwToneEstimate estimate = {.mean = NAN, .uncertainty = NAN};
    double *real = dw_memory_new(values->count + 1, sizeof *real);
    double *imaginary = dw_memory_new(values->count + 1, sizeof *imaginary);
    double complex sum = 0;
    double weight = 0;
    size_t apart = 0, free_from = 0;
    mark_spoilt(values, real_part);
    mark_spoilt(values, imaginary_part);
    for (size_t i = 0; i < values->count; i++) {
        if (!values->sound[i])
            continue;
        sum += values->value[i] * values->weight[i];
        weight += values->weight[i];
        estimate.count++;
        if (values->place[i] >= free_from) {
            real[apart] = creal(values->value[i]);
            imaginary[apart++] = cimag(values->value[i]);
            free_from = values->place[i] + 2;
        }
    }
    if (weight > 0)
        estimate.mean = sum / weight;
    if (apart >= 2)
        estimate.uncertainty = sqrt(0.5) * hypot(dw_statistics_mean_uncertainty(real, apart),
                                                 dw_statistics_mean_uncertainty(imaginary, apart));
    free(real);
    free(imaginary);
    return estimate;
}

static void add_value(Values *values, double complex value, double weight, size_t place)
{
    values->value[values->count] = value;
    values->weight[values->count] = weight;
    values->place[values->count] = place;
    values->sound[values->count++] = true;
}

DwToneEstimate dw_tone_band_ratio(const DwToneBand *band, size_t channel, size_t component, size_t reference)
{
    Values values = new_values(band->count);
    for (size_t i = 0; i < band->count; i++) {
        const DwToneBlock *block = &band->blocks[i];
        double size = cabs(block->amplitude[reference][0]);
        if (counts(band, block) && size > 0)
            add_value(&values, aligned(band, block, channel, component, reference) / size, size * size, i);
    }
    DwToneEstimate estimate = estimate_of(&values);
    clear_values(&values);
    return estimate;
}

double dw_tone_band_level(const DwToneBand *band, size_t channel, double *uncertainty)
{
    Values values = new_values(band->count);
    for (size_t i = 0; i < band->count; i++)
        if (counts(band, &band->blocks[i]))
            add_value(&values, cabs(band->blocks[i].amplitude[channel][0]), 1, i);
    DwToneEstimate estimate = estimate_of(&values);
    clear_values(&values);
    if (uncertainty)
        *uncertainty = sqrt(2) * estimate.uncertainty; // all of it is in the real part
    return creal(estimate.mean);
}

double dw_tone_block_power(const DwToneBlock *block, size_t channel, size_t component)
{
    double complex value = block->amplitude[channel][component];
    return creal(value * conj(value));
}

double dw_tone_band_power(const DwToneBand *band, size_t channel, size_t component)
{
    double sum = 0, count = 0;
    for (size_t i = 0; i < band->count; i++)
        if (counts(band, &band->blocks[i])) {
            sum += dw_tone_block_power(&band->blocks[i], channel, component);
            count++;
        }
    return count > 0 ? sum / count : NAN;
}

// --- a channel that comes and goes ---------------------------------------------------

static double channel_db(const DwToneBlock *block, size_t channel)
{
    return decibels(cabs(block->amplitude[channel][0]) + 1e-9);
}

// Whether block I goes on with the tone of the one before, the channel beside CHANNEL at its level.
static bool plays_on(const DwToneBlock *blocks, size_t i, size_t channel)
{
    return i > 0 && blocks[i].heard && blocks[i - 1].heard &&
           fabs(blocks[i].frequency_hz / blocks[i - 1].frequency_hz - 1) <= FREQUENCY_SHIFT &&
           fabs(channel_db(&blocks[i], 1 - channel) - channel_db(&blocks[i - 1], 1 - channel)) <= STEADY_DB;
}

bool dw_tone_band_breaks(const DwToneBlock *blocks, size_t count, size_t channel)
{
    DwChannelBreaks breaks = {0};
    dw_channel_breaks_forget(&breaks);
    for (size_t i = 0; i < count; i++) {
        if (!plays_on(blocks, i, channel))
            dw_channel_breaks_forget(&breaks);
        if (blocks[i].heard)
            dw_channel_breaks_push(&breaks, channel_db(&blocks[i], channel), channel_db(&blocks[i], 1 - channel));
    }
    return breaks.returns >= 2;
}

const char *dw_tone_band_word(DwBandKind kind)
{
    static const char *const words[DW_BAND_KINDS] = {"left", "right", "lateral", "vertical"};
    return words[kind];
}
