// SPDX-License-Identifier: MIT
#include "measure/live/live_sides.h"

#include "base/memory.h"
#include "measure/band/channels.h"
#include "physics/azimuth.h"

#include <math.h>
#include <stdlib.h>

enum { BLOCKS_KEPT = 24, BLOCKS_MOST = 96 }; // two to four seconds
static const double SPLIT_DB = 2, LEAST_S = 0.8;
static const double DEAD = 0.01; // of the other channel's level: no polarity can be told

// What was heard of a one-sided tone.
typedef struct {
    bool known;
    double complex ratio; // the other channel over the driven one
    double off;
    double level; // of the driven channel, peak
    double at_s;
} Side;

struct DwLiveSides {
    DwSynchronous *synchronous;
    Side side[2];
    int polarity;
    double polarity_at_s;
    double from_s; // blocks that begin earlier do not count
    double read_s; // the end of the last block that `reading` is made from
    DwLiveSidesReading reading;
};

static const DwComponent component = {1, 0};

DwLiveSides *dw_live_sides_new(double rate_hz, double tone_hz)
{
    DwLiveSides *sides = dw_memory_new(1, sizeof *sides);
    DwSynchronousSettings settings = dw_channels_detector(tone_hz);
    settings.rate_hz = rate_hz;
    settings.channels = 2;
    settings.components = &component;
    settings.component_count = 1;
    sides->synchronous = dw_synchronous_new(settings);
    return sides;
}

void dw_live_sides_free(DwLiveSides *sides)
{
    if (!sides)
        return;
    dw_synchronous_free(sides->synchronous);
    free(sides);
}

void dw_live_sides_forget(DwLiveSides *sides)
{
    sides->side[0].known = sides->side[1].known = false;
    sides->polarity = 0;
}

void dw_live_sides_break(DwLiveSides *sides)
{
    sides->from_s = dw_synchronous_length_s(sides->synchronous);
}

void dw_live_sides_push(DwLiveSides *sides, const float *interleaved, size_t frames)
{
    size_t count;
    dw_synchronous_push(sides->synchronous, interleaved, frames);
    dw_synchronous_blocks(sides->synchronous, &count);
    if (count >= BLOCKS_MOST)
        dw_synchronous_forget(sides->synchronous, count - BLOCKS_KEPT);
}

// The tone that stands in the channels now. Returned: false without one.
static bool present_band(const DwLiveSides *sides, DwToneBand *band)
{
    size_t count, found;
    const DwToneBlock *blocks = dw_synchronous_blocks(sides->synchronous, &count);
    size_t first = count > BLOCKS_KEPT ? count - BLOCKS_KEPT : 0;
    while (first < count && blocks[first].start_s < sides->from_s)
        first++;
    DwToneBand *bands = NULL;
    found = dw_tone_band_find(blocks + first, count - first, &component, SPLIT_DB, LEAST_S, &bands);
    // A band leaves out two blocks at its end and one or two odd ones.
    bool is_now = found && bands[found - 1].blocks + bands[found - 1].count + 4 >= blocks + count;
    if (is_now)
        *band = bands[found - 1];
    free(bands);
    return is_now;
}

static double decibels(double ratio)
{
    return 20 * log10(ratio);
}

static void read_one_sided(DwLiveSides *sides, const DwToneBand *band, double now_s, DwLiveSidesReading *reading)
{
    size_t driven = band->kind == DW_BAND_RIGHT;
    const Side *other = &sides->side[1 - driven];
    DwToneEstimate leak = dw_tone_band_ratio(band, 1 - driven, 0, driven);
    double level = dw_tone_band_level(band, driven, NULL), size = cabs(leak.mean);
    sides->side[driven] = (Side){true, leak.mean, leak.uncertainty, level, now_s};
    reading->gain_known = other->known;
    reading->separation_db = -decibels(size / (other->known ? other->level / level : 1));
    reading->separation_off_db = decibels(1 + leak.uncertainty / size);
    reading->leak_phase_deg = carg(leak.mean) * 180 / M_PI;
}

static void read_two_sided(DwLiveSides *sides, const DwToneBand *band, double now_s, DwLiveSidesReading *reading)
{
    double left = dw_tone_band_level(band, 0, NULL), right = dw_tone_band_level(band, 1, NULL);
    reading->balance_db = decibels(right / left);
    if (fmin(left, right) < DEAD * fmax(left, right))
        return;
    sides->polarity = band->kind == DW_BAND_LATERAL ? 1 : -1;
    sides->polarity_at_s = now_s;
}

// The tilt from what is held; the present side decides how old the other is.
static void read_tilt(const DwLiveSides *sides, double now_s, DwLiveSidesReading *reading)
{
    size_t driven = reading->kind == DW_BAND_RIGHT;
    const Side *present = &sides->side[driven], *other = &sides->side[1 - driven];
    int polarity = sides->polarity < 0 ? -1 : 1;
    double complex x[2] = {NAN, NAN}; // into right with left driven, into left with right driven
    double gain = other->known ? sides->side[1].level / sides->side[0].level : 1;
    for (size_t i = 0; i < 2; i++)
        if (sides->side[i].known)
            x[i] = polarity * sides->side[i].ratio * (i == 0 ? 1 / gain : gain);
    if (!other->known)
        x[1 - driven] = -conj(x[driven]); // as if all of it were rotation
    DwAzimuth azimuth = dw_azimuth_explain(x[0], x[1]);
    double spread = other->known ? hypot(present->off, other->off) / 2 : present->off;
    reading->tilt = other->known ? DW_LIVE_TILT_BOTH_SIDES : DW_LIVE_TILT_ONE_SIDE;
    reading->rotation_deg = azimuth.rotation_deg;
    reading->rotation_off_deg = spread * 180 / M_PI;
    reading->other_side_s = other->known ? now_s - other->at_s : NAN;
}

static const DwLiveSidesReading nothing = {.level_db = {NAN, NAN},
                                           .frequency_hz = NAN,
                                           .balance_db = NAN,
                                           .separation_db = NAN,
                                           .separation_off_db = NAN,
                                           .leak_phase_deg = NAN,
                                           .rotation_deg = NAN,
                                           .rotation_off_deg = NAN,
                                           .other_side_s = NAN};

static void read_blocks(DwLiveSides *sides, double now_s, DwLiveSidesReading *reading)
{
    DwToneBand band;
    *reading = nothing;
    reading->heard = present_band(sides, &band);
    if (!reading->heard)
        return;
    reading->kind = band.kind;
    reading->frequency_hz = band.frequency_hz;
    for (size_t c = 0; c < 2; c++)
        reading->level_db[c] = decibels(dw_tone_band_level(&band, c, NULL));
    if (band.kind <= DW_BAND_RIGHT) {
        read_one_sided(sides, &band, now_s, reading);
        read_tilt(sides, now_s, reading);
    } else
        read_two_sided(sides, &band, now_s, reading);
}

DwLiveSidesReading dw_live_sides_read(DwLiveSides *sides)
{
    size_t count;
    const DwToneBlock *blocks = dw_synchronous_blocks(sides->synchronous, &count);
    double now_s = dw_synchronous_length_s(sides->synchronous), end_s = count ? blocks[count - 1].end_s : 0;
    if (end_s > sides->read_s || count == 0 || sides->from_s >= sides->read_s) {
        read_blocks(sides, now_s, &sides->reading);
        sides->read_s = end_s;
    }
    sides->reading.polarity = sides->polarity;
    sides->reading.polarity_s = sides->polarity ? now_s - sides->polarity_at_s : NAN;
    return sides->reading;
}
