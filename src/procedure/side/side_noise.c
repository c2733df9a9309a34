// SPDX-License-Identifier: MIT
// Of a side: the noise of its silent groove against its reference tone.
#include "base/memory.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/noise_reference.h"
#include "procedure/side/side_parts.h"

#include <math.h>
#include <stdlib.h>

static const double LOWEST_TONE_HZ = 250, HIGHEST_TONE_HZ = 1100; // of a reference
static const double EDGE_S = 0.3;                                 // where a gap ends is known no better

typedef struct {
    DwNoise *noise;
    DwNoiseDrive drive;
    DwReferenceTones *tones; // NULL: no reference
    const char *direction;
    double velocity_cm_s;
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

static void push_noise(void *user, const float *interleaved, size_t frames)
{
    dw_noise_push(user, interleaved, frames);
}

static void end_noise(void *user)
{
    dw_noise_finish(user);
}

static void push_tone(void *user, const float *interleaved, size_t frames)
{
    dw_reference_tones_push(user, interleaved, frames);
}

static void prepare_reference(const DwSideWork *work, Silence *silence)
{
    static const DwSideListener listener = {NULL, push_tone, NULL};
    size_t index = dw_side_parts_longest(work, is_reference);
    if (index == work->plan->count)
        return;
    // Strapped channels share what one side was cut with: its level is not the record's.
    DwPlanChannel whole = work->alignment->wiring == DW_SIDE_OPEN ? DW_PLAN_VERTICAL : DW_PLAN_LATERAL;
    bool shared = work->alignment->wiring == DW_SIDE_JOINED || work->alignment->wiring == DW_SIDE_OPEN;
    if (shared && work->plan->bands[index].channel != whole)
        return;
    const DwBandPlanBand *band = &work->plan->bands[index];
    silence->tones = dw_reference_tones_new(work->rate_hz, work->channels);
    silence->direction = dw_band_plan_channel_word(band->channel);
    silence->velocity_cm_s = band->velocity_cm_s * work->ratio;
    dw_side_parts_hear(work, index, -EDGE_S, &listener, silence->tones);
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
    settings.polarity_known = dw_side_sides_known(work);
    settings.skip_s = work->alignment->bands[index].start_s + EDGE_S;
    Silence *silence = dw_memory_new(1, sizeof *silence);
    silence->noise = dw_noise_new(&settings);
    silence->drive = drive;
    dw_side_parts_hear(work, index, -EDGE_S, &listener, silence->noise);
    prepare_reference(work, silence);
    *part = silence;
    return DW_OK;
}

static DwStatus read(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    const Silence *silence = part;
    DwNoiseReference reference = {.rms = NAN};
    DwReferenceTone tone;
    if (silence->tones && dw_reference_tones_read(silence->tones, &tone))
        dw_noise_reference_refer(&tone, silence->direction, silence->velocity_cm_s, work->inputs, &reference);
    else
        dw_side_parts_explain(work, "noise reference", is_reference, "a tone of 250 to 1100 Hz at a stated level");
    return dw_noise_read(silence->noise, &reference, &silence->drive, sheet, message);
}

static void free_part(void *part)
{
    Silence *silence = part;
    dw_noise_free(silence->noise);
    dw_reference_tones_free(silence->tones);
    free(silence);
}

const DwSidePart dw_side_part_noise = {"noise.rumble_unweighted", prepare, read, free_part};
