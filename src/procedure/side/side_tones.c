// SPDX-License-Identifier: MIT
// Of a side: speed from its long tone; channels and azimuth from its one-sided and two-sided tones.
#include "base/memory.h"
#include "measure/speed/speed.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/side/side_parts.h"
#include "procedure/input/tone_settings.h"

#include <math.h>
#include <stdlib.h>

static const double LOWEST_TONE_HZ = 250,
                    HIGHEST_TONE_HZ = 4500; // what both can detect, with room for 45 in place of 33⅓

static const double LOUDER = 10; // power in silence over the other channel's

static bool is_tone(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_TONE && band->frequency_hz >= LOWEST_TONE_HZ && band->frequency_hz <= HIGHEST_TONE_HZ;
}

// --- speed ------------------------------------------------------------------------------

static void push_speed(void *user, const float *interleaved, size_t frames)
{
    dw_speed_push(user, interleaved, frames);
}

static void end_speed(void *user)
{
    dw_speed_finish(user);
}

static DwStatus prepare_speed(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {NULL, push_speed, end_speed};
    DwDrive drive;
    bool given;
    DwStatus status = dw_measure_inputs_drive(work->inputs, work->speed_rpm, &given, &drive, message);
    if (status != DW_OK)
        return status;
    size_t index = dw_side_parts_longest(work, is_tone);
    if (index == work->plan->count) {
        dw_side_parts_explain(work, "speed.mean", is_tone, "a steady tone");
        return DW_OK;
    }
    const DwBandPlanBand *band = &work->plan->bands[index];
    DwRecording recording = {
        .rate_hz = work->rate_hz, .channels = work->channels, .start_s = work->alignment->bands[index].start_s};
    DwSpeedSettings settings = dw_tone_settings(work->inputs, &recording, given ? &drive : NULL);
    settings.tone_hz = band->frequency_hz;
    settings.speed_rpm = work->speed_rpm;
    if (isfinite(band->radius_mm))
        settings.radius_mm = band->radius_mm;
    *part = dw_speed_new(settings);
    dw_side_parts_hear(work, index, 0, &listener, *part);
    dw_side_parts_measure_on(work, index);
    return DW_OK;
}

static DwStatus read_speed(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    (void)work;
    return dw_speed_read(part, sheet, message);
}

static void free_speed(void *part)
{
    dw_speed_free(part);
}

const DwSidePart dw_side_part_speed = {"speed.mean", prepare_speed, read_speed, free_speed};

// --- channels and azimuth ---------------------------------------------------------------

typedef struct {
    DwBandSet *set;
    DwNamedBand named[DW_BAND_KINDS];
    size_t count;
    double velocity_cm_s;    // of the one-sided bands
    double power[2], frames; // of the silent groove, as recorded
} Channels;

static void begin_channels(void *user, double rate_hz, unsigned channels, double start_s)
{
    dw_band_set_begin(((Channels *)user)->set, rate_hz, channels, start_s);
}

static void push_channels(void *user, const float *interleaved, size_t frames)
{
    dw_band_set_push(((Channels *)user)->set, interleaved, frames);
}

static void end_channels(void *user)
{
    dw_band_set_end(((Channels *)user)->set);
}

static void push_silence(void *user, const float *interleaved, size_t frames)
{
    Channels *channels = user;
    for (size_t i = 0; i < frames; i++)
        for (size_t c = 0; c < 2; c++)
            channels->power[c] += (double)interleaved[2 * i + c] * interleaved[2 * i + c];
    channels->frames += (double)frames;
}

static bool is_silence(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_SILENCE;
}

// Adds what the silent groove tells: a channel that is far louder there than the other, where it gives no signal, has
// its own return open, or hisses.
static DwChannelFaults faults_of_side(const DwSideWork *work, const Channels *channels)
{
    DwChannelFaults faults = dw_side_faults(work);
    for (size_t c = 0; c < 2; c++) {
        size_t recorded = c != faults.swapped;
        if (channels->power[recorded] > LOUDER * channels->power[1 - recorded])
            dw_side_tell_noise(work, c, &faults);
    }
    return faults;
}

// The longest usable band of FREQUENCY_HZ cut for each channel; plan->count without one.
static size_t find_roles(const DwSideWork *work, double frequency_hz, size_t role[DW_PLAN_CHANNELS])
{
    size_t count = 0;
    for (size_t c = 0; c < DW_PLAN_CHANNELS; c++)
        role[c] = work->plan->count;
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (band->broken || !is_tone(band) || fabs(band->frequency_hz / frequency_hz - 1) > 1e-6 ||
            !dw_side_parts_usable(work, j))
            continue;
        size_t *held = &role[band->channel];
        count += *held == work->plan->count;
        if (*held == work->plan->count || band->length_s > work->plan->bands[*held].length_s)
            *held = j;
    }
    return count;
}

// The tone cut for the most channels, of several the nearest to 1 kHz.
static size_t choose_roles(const DwSideWork *work, size_t role[DW_PLAN_CHANNELS])
{
    size_t best = 0;
    double best_off = INFINITY;
    for (size_t j = 0; j < work->plan->count; j++) {
        size_t here[DW_PLAN_CHANNELS];
        double hz = work->plan->bands[j].frequency_hz, off = fabs(log(hz / 1000));
        if (work->plan->bands[j].broken || !is_tone(&work->plan->bands[j]))
            continue;
        size_t count = find_roles(work, hz, here);
        if (count > best || (count == best && count > 0 && off < best_off)) {
            best = count;
            best_off = off;
            for (size_t c = 0; c < DW_PLAN_CHANNELS; c++)
                role[c] = here[c];
        }
    }
    return best;
}

static bool is_one_sided(const DwBandPlanBand *band)
{
    return is_tone(band) && band->channel <= DW_PLAN_RIGHT;
}

static DwStatus prepare_channels(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {begin_channels, push_channels, end_channels};
    static const DwSideListener silence = {NULL, push_silence, NULL};
    static const DwBandKind kinds[DW_PLAN_CHANNELS] = {DW_BAND_LEFT, DW_BAND_RIGHT, DW_BAND_LATERAL, DW_BAND_VERTICAL};
    (void)message;
    size_t role[DW_PLAN_CHANNELS];
    if (choose_roles(work, role) == 0) {
        dw_side_parts_explain(work, "channels.balance", is_one_sided, "a tone in one channel");
        dw_side_parts_explain(work, "azimuth.rotation", is_one_sided, "a tone in one channel");
        return DW_OK;
    }
    Channels *channels = dw_memory_new(1, sizeof *channels);
    channels->velocity_cm_s = NAN;
    for (size_t c = 0; c < DW_PLAN_CHANNELS; c++) {
        if (role[c] == work->plan->count)
            continue;
        const DwSideBand *found = &work->alignment->bands[role[c]];
        size_t before = 0; // recordings come in order of time
        for (size_t k = 0; k < DW_PLAN_CHANNELS; k++)
            before += role[k] != work->plan->count && work->alignment->bands[role[k]].start_s < found->start_s;
        channels->named[channels->count++] = (DwNamedBand){kinds[c], before, found->start_s, found->end_s};
        if (!channels->set)
            channels->set = dw_channels_new_set(work->plan->bands[role[c]].frequency_hz);
        if (c <= DW_PLAN_RIGHT)
            channels->velocity_cm_s = work->plan->bands[role[c]].velocity_cm_s;
        dw_side_parts_hear_raw(work, role[c], &listener, channels);
        dw_side_parts_measure_on(work, role[c]);
    }
    size_t silent = dw_side_parts_longest(work, is_silence);
    if (silent < work->plan->count && work->recorded_channels == 2)
        dw_side_parts_hear_raw(work, silent, &silence, channels);
    *part = channels;
    return DW_OK;
}

static DwStatus read_channels(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    Channels *channels = part;
    DwChannelsSettings settings = dw_measure_inputs_channels(work->inputs);
    DwChannelFaults side = faults_of_side(work, channels);
    settings.side = &side;
    if (isnan(settings.velocity_cm_s))
        settings.velocity_cm_s = channels->velocity_cm_s * work->ratio;
    DwStatus status = dw_channels_read(channels->set, channels->named, channels->count, &settings, sheet, message);
    if (status != DW_OK)
        return status;
    DwAzimuthSettings azimuth = dw_measure_inputs_azimuth(work->inputs);
    azimuth.side = &side;
    return dw_azimuth_bands_read(channels->set, channels->named, channels->count, &azimuth, sheet, message);
}

static void free_channels(void *part)
{
    dw_band_set_free(((Channels *)part)->set);
    free(part);
}

const DwSidePart dw_side_part_channels = {"channels.balance", prepare_channels, read_channels, free_channels};
