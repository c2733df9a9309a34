// SPDX-License-Identifier: MIT
#include "measure/band/band_set.h"

#include "base/memory.h"
#include "measure/band/short_frames.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// The nulls of a Hann window this long fall on 60 and 400 Hz: the phase of the high tone is followed through wow but
// not through what the low tone does to it.
static const double TWO_TONE_SMOOTHING_S = 0.1;

typedef struct {
    DwSynchronous *detector;
    DwShortFrames *moments; // NULL where the rule wants none
    unsigned channels;
    double start_s;
} Recording;

struct DwBandSet {
    DwSynchronousSettings like;
    DwBandRule rule;
    Recording *recordings;
    size_t recording_count;
    DwToneBand *bands;
    size_t band_count;
};

DwBandSet *dw_band_set_new(DwSynchronousSettings like, DwBandRule rule)
{
    DwBandSet *set = dw_memory_new(1, sizeof *set);
    set->like = like;
    set->rule = rule;
    return set;
}

DwBandSet *dw_band_set_new_two_tone(const DwComponent *components, size_t count, const double high_hz[2],
                                    const double low_hz[2])
{
    DwSynchronousSettings like = {
        .lowest_hz = high_hz[0],
        .highest_hz = high_hz[1],
        .companion_lowest_hz = low_hz[0],
        .companion_highest_hz = low_hz[1],
        .smoothing_s = TWO_TONE_SMOOTHING_S,
        .components = components,
        .component_count = count,
    };
    return dw_band_set_new(like, (DwBandRule){.split_db = 2, .least_s = 1.5});
}

void dw_band_set_free(DwBandSet *set)
{
    if (!set)
        return;
    for (size_t i = 0; i < set->recording_count; i++) {
        dw_synchronous_free(set->recordings[i].detector);
        dw_short_frames_free(set->recordings[i].moments);
    }
    free(set->recordings);
    free(set->bands);
    free(set);
}

void dw_band_set_begin(DwBandSet *set, double rate_hz, unsigned channels, double start_s)
{
    DwSynchronousSettings settings = set->like;
    settings.rate_hz = rate_hz;
    settings.channels = channels;
    set->recordings = dw_memory_resize(set->recordings, set->recording_count + 1, sizeof *set->recordings);
    set->recordings[set->recording_count++] =
        (Recording){.detector = dw_synchronous_new(settings), .channels = channels, .start_s = start_s};
    if (set->rule.moments)
        set->recordings[set->recording_count - 1].moments =
            dw_short_frames_new(rate_hz, channels, settings.lowest_hz, settings.highest_hz);
}

void dw_band_set_push(DwBandSet *set, const float *interleaved, size_t frames)
{
    assert(set->recording_count > 0);
    Recording *recording = &set->recordings[set->recording_count - 1];
    dw_synchronous_push(recording->detector, interleaved, frames);
    if (recording->moments)
        dw_short_frames_push(recording->moments, interleaved, frames);
}

void dw_band_set_end(DwBandSet *set)
{
    assert(set->recording_count > 0);
    dw_synchronous_finish(set->recordings[set->recording_count - 1].detector);
}

double dw_band_set_split(DwBandSet *set, double split_db)
{
    double before = set->rule.split_db;
    set->rule.split_db = split_db;
    return before;
}

size_t dw_band_set_recordings(const DwBandSet *set)
{
    return set->recording_count;
}

unsigned dw_band_set_channels(const DwBandSet *set)
{
    unsigned least = 2;
    for (size_t i = 0; i < set->recording_count; i++)
        least = set->recordings[i].channels < least ? set->recordings[i].channels : least;
    return least;
}

DwStatus dw_band_set_check(const DwBandSet *set, DwMessage *message)
{
    for (size_t i = 0; i < set->recording_count; i++) {
        double second = 0;
        if (dw_synchronous_met_bad_sample(set->recordings[i].detector, &second))
            return dw_fail(message, DW_BAD_INPUT,
                           "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                           second + set->recordings[i].start_s);
    }
    return DW_OK;
}

// Gives BANDS the recording's number and its own clock.
static void place(const DwBandSet *set, size_t recording, DwToneBand *bands, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        bands[i].recording = recording;
        bands[i].start_s += set->recordings[recording].start_s;
        bands[i].end_s += set->recordings[recording].start_s;
    }
}

const DwToneBand *dw_band_set_bands(DwBandSet *set, size_t *count)
{
    set->band_count = 0;
    for (size_t r = 0; r < set->recording_count; r++) {
        size_t block_count, found;
        const DwToneBlock *blocks = dw_synchronous_blocks(set->recordings[r].detector, &block_count);
        DwToneBand *bands;
        found =
            dw_tone_band_find(blocks, block_count, set->like.components, set->rule.split_db, set->rule.least_s, &bands);
        place(set, r, bands, found);
        set->bands = dw_memory_resize(set->bands, set->band_count + found + 1, sizeof *set->bands);
        for (size_t i = 0; i < found; i++)
            set->bands[set->band_count++] = bands[i];
        free(bands);
    }
    *count = set->band_count;
    return set->bands;
}

bool dw_band_set_between(DwBandSet *set, size_t recording, double from_s, double to_s, DwToneBand *band)
{
    if (recording >= set->recording_count)
        return false;
    double offset = set->recordings[recording].start_s;
    size_t count, first = 0, end;
    const DwToneBlock *blocks = dw_synchronous_blocks(set->recordings[recording].detector, &count);
    while (first < count && blocks[first].start_s + offset < from_s)
        first++;
    for (end = first; end < count && blocks[end].end_s + offset <= to_s;)
        end++;
    DwToneBand *bands;
    size_t found = dw_tone_band_find(blocks + first, end - first, set->like.components, set->rule.split_db,
                                     set->rule.least_s, &bands);
    place(set, recording, bands, found);
    for (size_t i = 0; i < found; i++)
        if (i == 0 || bands[i].count > band->count)
            *band = bands[i];
    free(bands);
    return found > 0;
}

void dw_band_set_breaks(DwBandSet *set, bool breaks[2])
{
    breaks[0] = breaks[1] = false;
    for (size_t r = 0; r < set->recording_count; r++) {
        size_t count;
        const DwToneBlock *blocks = dw_synchronous_blocks(set->recordings[r].detector, &count);
        for (size_t c = 0; c < 2 && set->recordings[r].channels > 1; c++)
            breaks[c] |= dw_tone_band_breaks(blocks, count, c);
    }
}

double dw_band_set_worst(const DwBandSet *set, const DwToneBand *band, size_t channel)
{
    const Recording *recording = &set->recordings[band->recording];
    if (!recording->moments)
        return NAN;
    return dw_short_frames_worst(recording->moments, channel, band->start_s - recording->start_s,
                                 band->end_s - recording->start_s);
}
