// SPDX-License-Identifier: MIT
// Of a side: the noise of its silent groove against its reference tone.
#include "base/memory.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/noise_reference.h"
#include "procedure/side/side_alone.h"
#include "procedure/side/side_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LOWEST_TONE_HZ = 250, HIGHEST_TONE_HZ = 1100; // of a reference
static const double EDGE_S = 0.3;                                 // where a gap ends is known no better

typedef struct {
    DwNoise *noise;
    DwSideAlone alone;
    unsigned channels; // of what is handed over
    DwNoiseDrive drive;
    DwReferenceTones *tones[2]; // NULL: no reference; two: that of each channel alone
    const char *direction;
    double velocity_cm_s;
    double raised_db[2];
} Silence;

static bool is_silence(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_SILENCE;
}

static bool is_reference(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_TONE && band->frequency_hz >= LOWEST_TONE_HZ &&
           band->frequency_hz <= HIGHEST_TONE_HZ && isfinite(band->velocity_cm_s);
}

static void take_noise(void *user, const float *interleaved, size_t frames)
{
    dw_noise_push(user, interleaved, frames);
}

static void push_noise(void *user, const float *interleaved, size_t frames)
{
    const Silence *silence = user;
    dw_side_alone_push(&silence->alone, silence->channels, interleaved, frames, take_noise, silence->noise);
}

static void end_noise(void *user)
{
    dw_noise_finish(((Silence *)user)->noise);
}

static void push_tone(void *user, const float *interleaved, size_t frames)
{
    dw_reference_tones_push(user, interleaved, frames);
}

// The usable tone that is like the one at INDEX but for the other channel alone; plan->count without one.
static size_t find_other(const DwSideWork *work, size_t index)
{
    const DwBandPlanBand *one = &work->plan->bands[index];
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (!band->broken && is_reference(band) && dw_side_parts_usable(work, j) &&
            one->channel + band->channel == DW_PLAN_LEFT + DW_PLAN_RIGHT && band->channel != one->channel &&
            fabs(band->frequency_hz / one->frequency_hz - 1) < 1e-6 &&
            fabs(band->velocity_cm_s / one->velocity_cm_s - 1) < 1e-3)
            return j;
    }
    return work->plan->count;
}

static void hear_tone(const DwSideWork *work, size_t index, DwReferenceTones **tones)
{
    static const DwSideListener listener = {NULL, push_tone, NULL};
    *tones = dw_reference_tones_new(work->rate_hz, work->channels);
    dw_side_parts_hear(work, index, -EDGE_S, &listener, *tones);
}

// The noise is the mean of both channels, so a reference of one channel alone wants the other's too.
static void prepare_reference(const DwSideWork *work, Silence *silence)
{
    size_t index = dw_side_parts_longest(work, is_reference);
    if (index == work->plan->count)
        return;
    // Strapped channels share what one side was cut with: its level is not the record's.
    DwPlanChannel whole = work->alignment->wiring == DW_SIDE_OPEN ? DW_PLAN_VERTICAL : DW_PLAN_LATERAL;
    bool shared = work->alignment->wiring == DW_SIDE_JOINED || work->alignment->wiring == DW_SIDE_OPEN;
    if (shared && work->plan->bands[index].channel != whole)
        return;
    const DwBandPlanBand *band = &work->plan->bands[index];
    silence->direction = dw_band_plan_channel_word(band->channel);
    silence->velocity_cm_s = band->velocity_cm_s * work->ratio;
    size_t other = band->channel <= DW_PLAN_RIGHT && work->channels > 1 ? find_other(work, index) : work->plan->count;
    bool left_first = other < work->plan->count && band->channel == DW_PLAN_RIGHT;
    hear_tone(work, index, &silence->tones[left_first]);
    if (other == work->plan->count)
        return;
    hear_tone(work, other, &silence->tones[!left_first]);
    silence->direction = "left and right";
    silence->velocity_cm_s *= sqrt(2);
}

// What CHANNEL of a lateral tone would read, by the tone that drives it (OWN) and what the other channel's leaks into
// it: in a lateral groove both come at once, in phase as the leak is with its tone.
static double lateral_rms(const DwReferenceTone *own, const DwReferenceTone *other, size_t channel)
{
    double direct = own->rms[channel], leak = other->rms[channel];
    return sqrt(fmax(0, direct * direct + leak * leak + 2 * direct * leak * other->correlation));
}

// What the tones say together, as one lateral tone. Returned: false when one is not steady.
static bool read_reference(const Silence *silence, DwReferenceTone *tone)
{
    DwReferenceTone left, right;
    if (!silence->tones[0] || !dw_reference_tones_read(silence->tones[0], tone))
        return false;
    if (!silence->tones[1])
        return true;
    if (!dw_reference_tones_read(silence->tones[1], &right))
        return false;
    left = *tone;
    tone->rms[0] = lateral_rms(&left, &right, 0);
    tone->rms[1] = lateral_rms(&right, &left, 1);
    return true;
}

// A channel that was raised counts as little in the reference as in the noise under it: else what it is raised by,
// which is known no better than the record's bands are level, is in the reference and not in the noise.
static void weigh(const Silence *silence, DwReferenceTone *tone)
{
    double weight[2], sum = 0;
    for (size_t c = 0; c < 2; c++)
        sum += weight[c] = pow(10, -silence->raised_db[c] / 10);
    for (size_t c = 0; c < 2; c++)
        tone->rms[c] *= sqrt(2 * weight[c] / sum);
}

// Where one channel comes and goes its clicks would read as ticks and a scratch: the other's groove is heard alone.
static void listen_to(const DwSideWork *work, Silence *silence, DwNoiseSettings *settings)
{
    static const char *const names[2] = {"left", "right"};
    silence->alone = dw_side_alone(work);
    silence->channels = work->channels;
    if (!silence->alone.alone)
        return;
    settings->channels = 1;
    settings->raised_db[0] = settings->raised_db[silence->alone.channel];
    dw_sheet_remark(work->sheet, "The %s channel comes and goes: the noise is that of the %s one alone.",
                    names[1 - silence->alone.channel], names[silence->alone.channel]);
}

static DwStatus prepare(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {NULL, push_noise, end_noise};
    DwNoiseSettings settings;
    DwNoiseDrive drive;
    DwStatus status = dw_measure_inputs_noise(work->inputs, &settings, message);
    if (status == DW_OK)
        status = dw_measure_inputs_noise_drive(work->inputs, work->speed_rpm, &drive, message);
    if (status != DW_OK)
        return status;
    size_t index = dw_side_parts_longest(work, is_silence);
    if (index == work->plan->count) {
        dw_side_parts_explain(work, "noise.rumble_unweighted", is_silence, "silence");
        return DW_OK;
    }
    settings.rate_hz = work->rate_hz;
    settings.channels = work->channels;
    settings.turn_s = 60 / work->speed_rpm / work->ratio;
    settings.polarity_known = dw_side_sides_known(work);
    bool swapped = dw_side_wiring_is_swapped(work->alignment->wiring);
    settings.raised_db[swapped] = fmax(0, work->alignment->gain_db);
    settings.raised_db[!swapped] = fmax(0, -work->alignment->gain_db);
    settings.skip_s = work->alignment->bands[index].start_s + EDGE_S;
    Silence *silence = dw_memory_new(1, sizeof *silence);
    listen_to(work, silence, &settings);
    silence->noise = dw_noise_new(&settings);
    memcpy(silence->raised_db, settings.raised_db, sizeof silence->raised_db);
    silence->drive = drive;
    dw_side_parts_hear(work, index, -EDGE_S, &listener, silence);
    dw_side_parts_measure_on(work, index);
    prepare_reference(work, silence);
    *part = silence;
    return DW_OK;
}

static DwStatus read(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    const Silence *silence = part;
    DwNoiseReference reference = {.rms = NAN};
    DwReferenceTone tone;
    bool heard = read_reference(silence, &tone);
    bool of_both = heard && strcmp(silence->direction, "left") != 0 && strcmp(silence->direction, "right") != 0;
    if (of_both && silence->alone.alone)
        tone.rms[!silence->alone.channel] = tone.rms[silence->alone.channel];
    else if (of_both)
        weigh(silence, &tone);
    if (heard)
        dw_noise_reference_refer(&tone, silence->direction, silence->velocity_cm_s, work->inputs, &reference);
    else
        dw_side_parts_explain(work, "noise reference", is_reference, "a tone of 250 to 1100 Hz at a stated level");
    return dw_noise_read(silence->noise, &reference, &silence->drive, sheet, message);
}

static void free_part(void *part)
{
    Silence *silence = part;
    dw_noise_free(silence->noise);
    for (size_t i = 0; i < 2; i++)
        dw_reference_tones_free(silence->tones[i]);
    free(silence);
}

const DwSidePart dw_side_part_noise = {"noise.rumble_unweighted", prepare, read, free_part};
