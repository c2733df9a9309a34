// SPDX-License-Identifier: MIT
#include "measure/tone/reference_tone.h"

#include "base/memory.h"
#include "measure/tone/tone_track.h"

#include <math.h>
#include <stdlib.h>

static const double FRAME_S = 0.1;
static const double SAME = 0.01;      // of the frequency, between spectra of one tone
static const double SAME_LEVEL = 1.2; // of the power: edges and other bands are left out
static const double SHORTEST_S = 0.5;

// Spectra in a row that hold one tone at one level.
typedef struct {
    size_t frames;
    double frequency_hz, power[2], common[2]; // sums
    double last_hz, last_power;
} Stretch;

struct DwReferenceTones {
    DwToneTrack *track;
    unsigned channels;
    double hop_s;
    Stretch now, best;
};

DwReferenceTones *dw_reference_tones_new(double rate_hz, unsigned channels)
{
    DwReferenceTones *tones = dw_memory_new(1, sizeof *tones);
    size_t size = (size_t)(FRAME_S * rate_hz) & ~(size_t)1;
    tones->channels = channels;
    tones->hop_s = (double)size / 2 / rate_hz;
    tones->track = dw_tone_track_new((DwToneTrackSettings){
        .rate_hz = rate_hz, .channels = channels, .size = size, .overlap = 2, .low_hz = 50, .high_hz = 0.46 * rate_hz});
    return tones;
}

void dw_reference_tones_free(DwReferenceTones *tones)
{
    if (!tones)
        return;
    dw_tone_track_free(tones->track);
    free(tones);
}

static void take(const DwToneFrame *frame, void *user)
{
    DwReferenceTones *tones = user;
    Stretch *now = &tones->now;
    double power = frame->power[0] + frame->power[1];
    bool goes_on = now->frames && !isnan(frame->frequency_hz) && fabs(frame->frequency_hz / now->last_hz - 1) < SAME &&
                   power < SAME_LEVEL * now->last_power && now->last_power < SAME_LEVEL * power;
    if (!goes_on)
        *now = (Stretch){0};
    if (isnan(frame->frequency_hz))
        return;
    now->frames++;
    now->frequency_hz += frame->frequency_hz;
    for (size_t i = 0; i < 2; i++) {
        now->power[i] += frame->power[i];
        now->common[i] += frame->common[i];
    }
    now->last_hz = frame->frequency_hz;
    now->last_power = power;
    if (now->frames > tones->best.frames)
        tones->best = *now;
}

void dw_reference_tones_push(DwReferenceTones *tones, const float *interleaved, size_t frames)
{
    dw_tone_track_push(tones->track, interleaved, frames, take, tones);
}

bool dw_reference_tones_read(const DwReferenceTones *tones, DwReferenceTone *tone)
{
    const Stretch *best = &tones->best;
    double frames = (double)best->frames;
    if ((frames + 1) * tones->hop_s < SHORTEST_S)
        return false;
    *tone = (DwReferenceTone){
        .frequency_hz = best->frequency_hz / frames,
        .channels = tones->channels,
        .rms = {sqrt(best->power[0] / frames), sqrt(best->power[1] / frames)},
        .correlation = 1,
        .length_s = (frames + 1) * tones->hop_s,
    };
    if (tones->channels == 1)
        tone->rms[1] = tone->rms[0];
    else if (tone->rms[0] * tone->rms[1] > 0)
        tone->correlation = best->common[0] / sqrt(best->power[0] * best->power[1]);
    return true;
}
