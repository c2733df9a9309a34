// SPDX-License-Identifier: MIT
#include "measure/music/twin_analysis.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static const double SHARE = 0.65; // of the windows with sound that must be one and the same, and keep in step
// In a short recording slow or noisy music may hide that it is one groove: where more than performances to one click
// keep in step, or where the way through the two was hardly found.
static const double OPEN = 0.2, HARDLY = 0.5, SHORT_S = 45, TELLS_S = 60;
static const double LEAST_S = 15;
static const double SILENT = 1e-10; // of full scale, mean square

DwTwin *dw_twin_new(DwTwinSettings settings)
{
    DwTwin *twin = dw_memory_new(1, sizeof *twin);
    twin->settings = settings;
    for (unsigned i = 0; i < 2; i++) {
        twin->take[i] = dw_music_take_new(settings.rate_hz[i], settings.channels[i]);
        twin->levels[i] = dw_twin_levels_new(settings.rate_hz[i], settings.channels[i]);
        twin->ticks[i] = dw_twin_ticks_new(settings.rate_hz[i], settings.channels[i]);
        if (settings.one_of_two[i] != DW_TWIN_HEARD)
            dw_music_take_set_reversed(twin->take[i], settings.one_of_two[i] == DW_TWIN_DIFFERENCE);
    }
    return twin;
}

void dw_twin_free(DwTwin *twin)
{
    if (!twin)
        return;
    for (unsigned i = 0; i < 2; i++) {
        dw_music_take_free(twin->take[i]);
        dw_twin_levels_free(twin->levels[i]);
        dw_twin_ticks_free(twin->ticks[i]);
    }
    dw_twin_path_clear(&twin->path);
    dw_twin_course_clear(&twin->course);
    free(twin);
}

void dw_twin_push(DwTwin *twin, unsigned which, const float *interleaved, size_t frames)
{
    dw_music_take_push(twin->take[which], interleaved, frames);
    dw_twin_levels_push(twin->levels[which], interleaved, frames);
    dw_twin_ticks_push(twin->ticks[which], interleaved, frames);
}

static DwTwinSound sound_of(const DwMusicTake *take)
{
    return (DwTwinSound){dw_music_take_samples(take), dw_music_take_count(take), dw_music_take_rate_hz(take)};
}

void dw_twin_finish(DwTwin *twin)
{
    for (unsigned i = 0; i < 2; i++) {
        dw_music_take_finish(twin->take[i]);
        if (!dw_music_take_finite(twin->take[i]))
            return;
    }
    DwTwinSound one = sound_of(twin->take[0]), two = sound_of(twin->take[1]);
    twin->path = dw_twin_path_find(&one, &two);
    if (twin->path.count == 0)
        return;
    dw_twin_levels_finish(twin->levels[0], 1);
    dw_twin_levels_finish(twin->levels[1], 1 / twin->path.ratio);
    twin->wiring = dw_twin_wiring_find(twin->levels[0], twin->levels[1], &twin->path);
    twin->course = dw_twin_course_find(&one, &two, &twin->path);
    twin->share = twin->course.share;
    if (twin->course.count == 0)
        return;
    bool fitted = dw_twin_fit(&twin->course, twin->course.ratio, twin->settings.speed_rpm / 60, &twin->fit);
    // Players who hear one click hold the same notes, through each of which a window agrees with its neighbours; from
    // note to note they go their own ways by milliseconds, which no deck does.
    twin->share *= fitted ? twin->fit.in_step : 0;
    twin->fitted = twin->share >= SHARE;
    if (!twin->fitted)
        return;
    twin->levelled =
        dw_twin_levels_compare(twin->levels[0], twin->levels[1], &twin->path, &twin->wiring, &twin->levelling);
}

bool dw_twin_asks_again(const DwTwin *twin, DwTwinSettings *settings)
{
    bool first = dw_music_take_reversed(twin->take[0]), second = dw_music_take_reversed(twin->take[1]);
    if (twin->wiring.polarity == 0 || twin->settings.one_of_two[1] != DW_TWIN_HEARD ||
        (first != second) == (twin->wiring.polarity < 0))
        return false;
    *settings = twin->settings;
    settings->one_of_two[0] = first ? DW_TWIN_DIFFERENCE : DW_TWIN_SUM;
    settings->one_of_two[1] = second ? DW_TWIN_SUM : DW_TWIN_DIFFERENCE;
    return true;
}

static bool is_silent(const DwMusicTake *take)
{
    const float *samples = dw_music_take_samples(take);
    size_t count = dw_music_take_count(take);
    double squares = 0;
    for (size_t n = 0; n < count; n++)
        squares += (double)samples[n] * (double)samples[n];
    return squares < SILENT * (double)count;
}

static double length_s(const DwMusicTake *take)
{
    return (double)dw_music_take_count(take) / dw_music_take_rate_hz(take);
}

static bool is_open(const DwTwin *twin)
{
    bool is_short = fmin(length_s(twin->take[0]), length_s(twin->take[1])) < SHORT_S;
    return is_short && (twin->share >= OPEN || twin->path.likeness < HARDLY);
}

static DwStatus refuse(const DwTwin *twin, DwMessage *message)
{
    for (unsigned i = 0; i < 2; i++) {
        if (!dw_music_take_finite(twin->take[i]))
            return dw_fail(
                message, DW_BAD_INPUT,
                i ? "The second recording holds samples that are no numbers. Record it again, or save it as 24-bit WAV."
                  : "The first recording holds samples that are no numbers. Record it again, or save it as 24-bit "
                    "WAV.");
        if (length_s(twin->take[i]) < LEAST_S)
            return dw_fail(message, DW_BAD_INPUT,
                           i ? "The second recording lasts %.1f s; give %.0f s or more of the same groove."
                             : "The first recording lasts %.1f s; give %.0f s or more of the same groove.",
                           length_s(twin->take[i]), LEAST_S);
        if (is_silent(twin->take[i]))
            return dw_fail(message, DW_BAD_INPUT,
                           i ? "The second recording is silent. Look for its lead and its level, and record it again."
                             : "The first recording is silent. Look for its lead and its level, and record it again.");
    }
    if (twin->path.count == 0)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The two recordings have no music in common, at speeds up to 9.5 %% apart. Give two recordings of the "
            "same groove at the same nominal speed, or of the record and a copy of the same performance.");
    if (!twin->fitted && is_open(twin))
        return dw_fail(message, DW_BAD_INPUT,
                       "Whether the two are the same performance cannot be told: %.0f %% of so short a stretch agrees "
                       "to the millisecond. Record %.0f s or more of the same passage with both.",
                       100 * twin->share, TELLS_S);
    if (!twin->fitted)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The two sound alike but are not the same performance (%.0f %% of it agrees to the millisecond). "
            "Give two recordings of the same groove, or a copy of the very same recording.",
            100 * twin->share);
    return DW_OK;
}

DwStatus dw_twin_read(const DwTwin *twin, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = refuse(twin, message);
    if (status == DW_OK)
        dw_twin_sheet_fill(twin, sheet);
    return status;
}
