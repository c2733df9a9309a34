// SPDX-License-Identifier: MIT
#include "measure/band/tracking_places.h"

#include "dsp/statistics.h"

#include <math.h>
#include <string.h>

static const double FITS_DB = 0.6; // what steps that track may lie off the levels engraved
static const double FAR = 2;       // over the limit of distortion: no tracking by any measure

static bool tracks(const DwTrackingHeardSteps *steps, size_t band, size_t channel)
{
    const DwTrackingResult *heard = &steps->heard[band];
    return heard->worst[channel] <= steps->limit && !heard->clipped[channel];
}

static double over_planned_db(const DwTrackingHeardSteps *steps, const size_t *number, size_t band, size_t channel)
{
    return 20 * log10(steps->heard[band].channel_level[channel] + 1e-12) - steps->levels_db[number[band]];
}

// The gain of CHANNEL by the bands that track, the middle one of them; by the loudest where none does.
static double gain_db(const DwTrackingHeardSteps *steps, const size_t *number, size_t channel)
{
    float over[DW_TRACKING_STEPS_MOST];
    double most = -INFINITY;
    size_t count = 0;
    for (size_t i = 0; i < steps->count; i++) {
        double here = over_planned_db(steps, number, i, channel);
        most = fmax(most, here);
        if (tracks(steps, i, channel))
            over[count++] = (float)here;
    }
    return count ? dw_statistics_quantile(over, count, 0.5) : most;
}

// How far the bands are off the levels that NUMBER gives them, at most: those that do not track only where louder [dB].
static double misfit_db(const DwTrackingHeardSteps *steps, const size_t *number)
{
    double most = 0;
    for (size_t c = 0; c < 2 && steps->levels_db; c++) {
        double gain = gain_db(steps, number, c);
        for (size_t i = 0; i < steps->count && steps->sound[c]; i++) {
            double off = over_planned_db(steps, number, i, c) - gain;
            most = fmax(most, tracks(steps, i, c) ? fabs(off) : off);
        }
    }
    return most;
}

// Whether no channel tracks a step that is higher than one at which it is far from it.
static bool is_orderly(const DwTrackingHeardSteps *steps, const size_t *number)
{
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < steps->count && steps->sound[c]; i++)
            for (size_t k = 0; k < steps->count; k++)
                if (number[k] > number[i] && steps->heard[i].worst[c] > FAR * steps->limit && tracks(steps, k, c))
                    return false;
    return true;
}

static bool is_possible(const DwTrackingHeardSteps *steps, const size_t *number)
{
    return is_orderly(steps, number) && misfit_db(steps, number) <= FITS_DB;
}

// Whether the order of time is that of NUMBER, upwards or downwards.
static bool is_in_time(const size_t *number, size_t count)
{
    size_t up = 0, down = 0;
    for (size_t i = 1; i < count; i++) {
        up += number[i] > number[i - 1];
        down += number[i] < number[i - 1];
    }
    return up == 0 || down == 0;
}

// Which placings were found possible: none yet, one, or more.
typedef struct {
    size_t number[DW_TRACKING_STEPS_MOST];
    size_t count; // of those that differ
} Possible;

static void take(const DwTrackingHeardSteps *steps, const size_t *number, Possible *possible)
{
    if (!is_possible(steps, number) ||
        (possible->count && memcmp(possible->number, number, steps->count * sizeof *number) == 0))
        return;
    possible->count++;
    memcpy(possible->number, number, steps->count * sizeof *number);
}

// The next choice of COUNT of MANY numbers that rise; false after the last.
static bool next_choice(size_t *number, size_t count, size_t many)
{
    for (size_t i = count; i-- > 0;)
        if (number[i] + count - i < many) {
            number[i]++;
            for (size_t k = i + 1; k < count; k++)
                number[k] = number[k - 1] + 1;
            return true;
        }
    return false;
}

// Tries every placing whose steps rise with time, and those that fall.
static void try_by_time(const DwTrackingHeardSteps *steps, Possible *possible)
{
    size_t rising[DW_TRACKING_STEPS_MOST], falling[DW_TRACKING_STEPS_MOST];
    size_t many = steps->levels_db ? steps->level_count : steps->count;
    for (size_t i = 0; i < steps->count; i++)
        rising[i] = i;
    do {
        for (size_t i = 0; i < steps->count; i++)
            falling[i] = rising[steps->count - 1 - i];
        take(steps, rising, possible);
        take(steps, falling, possible);
    } while (possible->count < 2 && next_choice(rising, steps->count, many));
}

bool dw_tracking_places_find(const DwTrackingHeardSteps *steps, size_t *number)
{
    if (is_in_time(number, steps->count) || (!steps->sound[0] && !steps->sound[1]))
        return true;
    if (!steps->levels_db)
        return is_orderly(steps, number);
    Possible possible = {.count = 0};
    take(steps, number, &possible);
    try_by_time(steps, &possible);
    if (possible.count != 1)
        return false;
    memcpy(number, possible.number, steps->count * sizeof *number);
    return true;
}
