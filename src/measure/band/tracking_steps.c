// SPDX-License-Identifier: MIT
#include "measure/band/tracking_steps.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/band/tracking_places.h"

#include <math.h>
#include <stdlib.h>

static const double SIDED = 0.5; // of the second harmonic's power, in the phase of one side
static const double ONE_TOP =
    0.2; // of the power of harmonics 2 and 3 together: one top bent gives a third of it or more
static const double IN_BURST = 0.25; // of the power that the worst block's distortion has, from where on a block counts
static const double LOST = 0.03;     // −30 dB
enum { FIRST_HARMONIC = 1, FIRST_BETWEEN = 5 };

const DwComponent dw_tracking_components[DW_TRACKING_COMPONENTS] = {{1, 0},   {2, 0},   {3, 0},   {4, 0},  {5, 0},
                                                                    {1.5, 0}, {2.5, 0}, {3.5, 0}, {4.5, 0}};

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// Noise power in one component: the median of the four places between harmonics,
// so that a line of hum in one of them does not count.
static double noise_power(const DwToneBand *band, size_t channel)
{
    double power[4];
    for (size_t i = 0; i < 4; i++)
        power[i] = dw_tone_band_power(band, channel, FIRST_BETWEEN + i);
    qsort(power, 4, sizeof *power, by_value);
    return (power[1] + power[2]) / 2;
}

// Mistracking comes in bursts whose phase wanders, so that powers are added and
// the noise's share is taken off.
static void measure(const DwToneBand *band, size_t channel, DwTrackingResult *result)
{
    double noise = noise_power(band, channel), tone = dw_tone_band_power(band, channel, 0), sum = 0;
    for (size_t h = FIRST_HARMONIC; h < FIRST_BETWEEN; h++)
        sum += fmax(0, dw_tone_band_power(band, channel, h) - noise);
    double *shares = dw_memory_new(band->count, sizeof *shares);
    size_t count = 0;
    for (size_t i = 0; i < band->count; i += 2) {
        const DwToneBlock *block = &band->blocks[i];
        double power = 0, own = cabs(block->amplitude[channel][0]);
        for (size_t h = FIRST_HARMONIC; h < FIRST_BETWEEN; h++)
            power += pow(cabs(block->amplitude[channel][h]), 2) - noise;
        if (block->heard && own > 0)
            shares[count++] = power / (own * own);
    }
    result->distortion[channel] = sqrt(sum / tone);
    result->floor[channel] = sqrt(4 * noise / tone);
    double spread = dw_statistics_mean_uncertainty(shares, count);
    result->uncertainty[channel] = sqrt(sum / tone + spread) - sqrt(sum / tone);
    free(shares);
}

// How far the replay curve of IEC 60098 turns a tone of HZ.
static double replay_phase(double hz)
{
    double w = 2 * M_PI * hz;
    return atan(w * 318e-6) - atan(w * 3180e-6) - atan(w * 75e-6);
}

// The power of a block's distortion over its tone's; a tick's, as much between the harmonics as on them, cancels.
static double share_of(const DwToneBlock *block, size_t channel)
{
    double power = 0, tone = dw_tone_block_power(block, channel, 0);
    for (size_t h = FIRST_HARMONIC; h < FIRST_BETWEEN; h++)
        power += dw_tone_block_power(block, channel, h) - dw_tone_block_power(block, channel, h + FIRST_BETWEEN - 1);
    return tone > 0 ? power / tone : 0;
}

// Which tops of the displacement are flattened where it distorts most: the record's and the cartridge's own
// second harmonic, there all the time, would speak for one side. V₁ and V₂ being those of the velocity, the
// displacement's are V₁/jω and V₂/2jω; where Re(D₂ D₁*²) is negative the upper tops are flat. Both tops bent alike
// leave the odd harmonics alone. 0: no side's more than the other's.
static double side_of(const DwToneBand *band, size_t channel, bool equalised)
{
    double one_sided = 0, second = 0, third = 0, most = 0;
    for (size_t i = 0; i < band->count; i++)
        most = fmax(most, share_of(&band->blocks[i], channel));
    double replay = equalised ? replay_phase(2 * band->frequency_hz) - 2 * replay_phase(band->frequency_hz) : 0;
    for (size_t i = 0; i < band->count; i++) {
        const double complex *amplitude = band->blocks[i].amplitude[channel];
        if (share_of(&band->blocks[i], channel) < IN_BURST * most)
            continue;
        double complex turn = cexp(-I * (2 * carg(amplitude[0]) + replay));
        one_sided += cabs(amplitude[FIRST_HARMONIC]) * creal(-amplitude[FIRST_HARMONIC] * turn / I);
        second += dw_tone_block_power(&band->blocks[i], channel, FIRST_HARMONIC);
        third += dw_tone_block_power(&band->blocks[i], channel, FIRST_HARMONIC + 1);
    }
    bool told = fabs(one_sided) > SIDED * second && fabs(one_sided) > ONE_TOP * (second + third);
    return told ? (one_sided < 0 ? 1 : -1) : 0;
}

static DwTrackingResult result_of(DwBandSet *set, const DwToneBand *band, double level,
                                  const DwTrackingSettings *settings)
{
    DwTrackingResult result = {.level = level,
                               .found = true,
                               .start_s = band->start_s,
                               .end_s = band->end_s,
                               .tone_level = band->level,
                               .frequency_hz = band->frequency_hz};
    measure(band, 0, &result);
    measure(band, 1, &result);
    for (size_t c = 0; c < 2; c++) {
        double worst = dw_band_set_worst(set, band, c);
        result.worst[c] = isnan(worst) ? result.distortion[c] : fmax(worst, result.distortion[c]);
        result.side[c] = side_of(band, c, settings->equalised);
        result.channel_level[c] = sqrt(dw_tone_band_power(band, c, 0));
        result.clipped[c] = band->channel_clipped[c];
    }
    return result;
}

static int by_level(const void *a, const void *b)
{
    double x = ((const DwTrackingResult *)a)->level, y = ((const DwTrackingResult *)b)->level;
    return (x > y) - (x < y);
}

static DwTrackingRun timed(DwBandSet *set, size_t recording, const DwTrackingSettings *settings)
{
    DwTrackingRun run = {0};
    for (size_t i = 0; i < settings->step_count && i < DW_TRACKING_STEPS_MOST; i++) {
        const DwTrackingStep *step = &settings->steps[i];
        double end_s = INFINITY;
        for (size_t k = 0; k < settings->step_count; k++)
            if (settings->steps[k].start_s > step->start_s)
                end_s = fmin(end_s, settings->steps[k].start_s);
        DwToneBand band;
        bool found = dw_band_set_between(set, recording, step->start_s, end_s, &band);
        run.step[run.count++] =
            found ? result_of(set, &band, step->level, settings) : (DwTrackingResult){.level = step->level};
    }
    qsort(run.step, run.count, sizeof *run.step, by_level);
    return run;
}

static int by_loudness(const void *a, const void *b)
{
    double x = ((const DwToneBand *)a)->level, y = ((const DwToneBand *)b)->level;
    return (x > y) - (x < y);
}

static double in_decibels(double level, const DwTrackingSettings *settings)
{
    return settings->in_decibels ? level : 20 * log10(level);
}

// How badly COUNT bands fit the engraved LEVELS when the quietest is number
// FIRST; writes the number of each. Two bands on one level do not fit at all.
static double match_from(const DwToneBand *bands, size_t count, const double *levels, size_t level_count, size_t first,
                         const DwTrackingSettings *settings, size_t *number)
{
    double cost = 0;
    for (size_t i = 0; i < count; i++) {
        double expected = in_decibels(levels[first], settings) + 20 * log10(bands[i].level / bands[0].level);
        double least = INFINITY;
        for (size_t k = i ? number[i - 1] + 1 : first; k < level_count; k++) {
            double off = fabs(in_decibels(levels[k], settings) - expected);
            if (off < least) {
                least = off;
                number[i] = k;
            }
        }
        cost += least * least;
        if (isinf(least))
            break;
    }
    return cost;
}

// Which of the engraved LEVELS the bands, quietest first, fit best by loudness.
static void match(const DwToneBand *bands, size_t count, const double *levels, size_t level_count,
                  const DwTrackingSettings *settings, size_t *best)
{
    size_t number[DW_TRACKING_STEPS_MOST] = {0};
    double least = INFINITY;
    for (size_t first = 0; first + count <= level_count; first++) {
        double cost = match_from(bands, count, levels, level_count, first, settings, number);
        if (cost < least) {
            least = cost;
            for (size_t i = 0; i < count; i++)
                best[i] = number[i];
        }
    }
}

// How many of the COUNT bands come before the one at INDEX.
static size_t place_in_time(const DwToneBand *bands, size_t count, size_t index)
{
    size_t before = 0;
    for (size_t i = 0; i < count; i++)
        before += bands[i].start_s < bands[index].start_s;
    return before;
}

bool dw_tracking_steps_is_quiet(const DwTrackingResult *step, size_t channel)
{
    return step->found && step->channel_level[channel] < LOST * step->channel_level[1 - channel];
}

// The channels of HEARD whose level tells something.
static void find_sound(DwBandSet *set, const DwTrackingResult *heard, size_t count, bool sound[2])
{
    bool breaks[2];
    dw_band_set_breaks(set, breaks);
    for (size_t c = 0; c < 2; c++) {
        sound[c] = c < dw_band_set_channels(set) && !breaks[c];
        for (size_t i = 0; i < count && dw_band_set_channels(set) > 1; i++)
            sound[c] = sound[c] && !dw_tracking_steps_is_quiet(&heard[i], c);
    }
}

// Fills RUN with COUNT bands, quietest first, which are the steps NUMBER of LEVELS; NULL: of none that were stated,
// each then counts from the quietest.
static void place(DwBandSet *set, const DwToneBand *bands, size_t count, const double *levels, size_t level_count,
                  const DwTrackingSettings *settings, const size_t *number, DwTrackingRun *run)
{
    DwTrackingResult heard[DW_TRACKING_STEPS_MOST];
    size_t placed[DW_TRACKING_STEPS_MOST];
    double levels_db[DW_TRACKING_STEPS_MOST];
    for (size_t i = 0; i < count; i++) {
        size_t at = place_in_time(bands, count, i);
        heard[at] = result_of(set, &bands[i], 20 * log10(bands[i].level / bands[0].level), settings);
        placed[at] = number[i];
    }
    for (size_t k = 0; k < level_count && levels; k++)
        levels_db[k] = in_decibels(levels[k], settings);
    DwTrackingHeardSteps steps = {heard,       count, levels ? levels_db : NULL,
                                  level_count, {0},   settings->limit_percent / 100};
    find_sound(set, heard, count, steps.sound);
    run->unplaced = !dw_tracking_places_find(&steps, placed);
    run->count = run->unplaced || !levels ? count : level_count;
    for (size_t k = 0; k < run->count; k++)
        run->step[k] = (DwTrackingResult){.level = levels ? levels[k] : NAN};
    for (size_t i = 0; i < count; i++) {
        DwTrackingResult *step = &run->step[run->unplaced ? i : placed[i]];
        double level = run->unplaced ? NAN : levels ? levels[placed[i]] : heard[i].level;
        *step = heard[i];
        step->level = level;
    }
    run->matched_by_level = !run->unplaced && count < run->count;
}

// The bands of RECORDING that hold the tone most of them hold, quietest first.
static DwToneBand *bands_of(DwBandSet *set, size_t recording, size_t *count, size_t *left_over)
{
    size_t all, most = 0, same = 0, like = 0;
    const DwToneBand *bands = dw_band_set_bands(set, &all);
    for (size_t i = 0; i < all; i++, same = 0) {
        for (size_t k = 0; k < all; k++)
            same += fabs(bands[k].frequency_hz / bands[i].frequency_hz - 1) < 0.03;
        if (same > most) {
            most = same;
            like = i;
        }
    }
    DwToneBand *own = dw_memory_new(all + 1, sizeof *own);
    *count = *left_over = 0;
    for (size_t i = 0; i < all; i++) {
        if (bands[i].recording != recording)
            continue;
        if (fabs(bands[i].frequency_hz / bands[like].frequency_hz - 1) < 0.03)
            own[(*count)++] = bands[i];
        else
            (*left_over)++;
    }
    qsort(own, *count, sizeof *own, by_loudness);
    return own;
}

static int by_length(const void *a, const void *b)
{
    const DwToneBand *x = a, *y = b;
    return (x->end_s - x->start_s < y->end_s - y->start_s) - (x->end_s - x->start_s > y->end_s - y->start_s);
}

// The bands of RECORDING, WANTED of them (0: any number). Mistracking moves the level, and a step that is parted where
// it does shows its clean stretches alone: so what stands between gaps are the steps, where those are as many as
// wanted.
static DwToneBand *steps_of(DwBandSet *set, size_t recording, size_t wanted, size_t *count, size_t *left_over)
{
    if (wanted) {
        double split_db = dw_band_set_split(set, DW_TRACKING_WHOLE_SPLIT_DB);
        DwToneBand *whole = bands_of(set, recording, count, left_over);
        dw_band_set_split(set, split_db);
        if (*count == wanted)
            return whole;
        free(whole);
    }
    return bands_of(set, recording, count, left_over);
}

DwTrackingRun dw_tracking_steps_of(DwBandSet *set, size_t recording, const DwTrackingSettings *settings)
{
    if (settings->step_count)
        return timed(set, recording, settings);
    DwTrackingRun run = {0};
    size_t count, most = settings->level_count ? settings->level_count : DW_TRACKING_STEPS_MOST;
    DwToneBand *bands = steps_of(set, recording, settings->level_count, &count, &run.left_over);
    most = most < DW_TRACKING_STEPS_MOST ? most : DW_TRACKING_STEPS_MOST;
    if (count > most) {
        run.left_over += count - most;
        run.too_many = true;
        qsort(bands, count, sizeof *bands, by_length); // the loudest tell most, and are left out no sooner
        count = most;
        qsort(bands, count, sizeof *bands, by_loudness);
    }
    double levels[DW_TRACKING_STEPS_MOST];
    size_t number[DW_TRACKING_STEPS_MOST];
    for (size_t i = 0; i < DW_TRACKING_STEPS_MOST; i++)
        number[i] = i;
    for (size_t i = 0; i < settings->level_count; i++)
        levels[i] = settings->levels[i];
    if (settings->level_count) {
        qsort(levels, most, sizeof *levels, by_value);
        match(bands, count, levels, most, settings, number);
    }
    place(set, bands, count, settings->level_count ? levels : NULL, most, settings, number, &run);
    free(bands);
    return run;
}

size_t dw_tracking_steps_passed(const DwTrackingRun *run, size_t channel, double limit)
{
    size_t passed = 0;
    for (size_t i = 0; i < run->count; i++) {
        if (!run->step[i].found)
            continue;
        if (run->step[i].worst[channel] > limit)
            break;
        passed = i + 1;
    }
    return passed;
}
