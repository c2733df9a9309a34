// SPDX-License-Identifier: MIT
#include "synth/engraving.h"

#include "base/memory.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>

#define FADE_S 5e-3        // a band rises and falls over it, and one step becomes the next
#define VOICE_MARGIN_S 0.4 // of silence at least on either side of an announcement
#define VOICE_LEAST_S 0.5

// ---- what follows what ----------------------------------------------------

static void add_part(DwEngraving *engraving, DwEngravedKind kind, const DwBandPlanBand *band, double length_s)
{
    if (!(length_s > 0))
        return;
    engraving->parts[engraving->count++] =
        (DwEngravedPart){kind, band, engraving->end_s, engraving->end_s + length_s, NAN};
    engraving->end_s += length_s;
}

// Silent groove, with a voice in its middle where it is long enough.
static void add_gap(DwEngraving *engraving, double length_s, double voice_s)
{
    double spoken_s = fmin(voice_s, length_s - 2 * VOICE_MARGIN_S);
    if (spoken_s < VOICE_LEAST_S)
        spoken_s = 0;
    add_part(engraving, DW_ENGRAVED_QUIET, NULL, (length_s - spoken_s) / 2);
    add_part(engraving, DW_ENGRAVED_VOICE, NULL, spoken_s);
    add_part(engraving, DW_ENGRAVED_QUIET, NULL, (length_s - spoken_s) / 2);
}

// The radius at AT_S by straight lines between the bands that state theirs; the
// plan's radii stand where their bands begin.
static double radius_at(const DwEngraving *engraving, double at_s)
{
    const DwEngravedPart *before = NULL, *after = NULL;
    for (size_t i = 0; i < engraving->count; i++) {
        const DwEngravedPart *part = &engraving->parts[i];
        if (!part->band || isnan(part->band->radius_mm))
            continue;
        if (part->begin_s <= at_s)
            before = part;
        else if (!after)
            after = part;
    }
    if (!before || !after) {
        const DwEngravedPart *only = before ? before : after;
        return only ? only->band->radius_mm : NAN;
    }
    double share = (at_s - before->begin_s) / (after->begin_s - before->begin_s);
    return before->band->radius_mm + share * (after->band->radius_mm - before->band->radius_mm);
}

void dw_engraving_make(const DwBandPlan *plan, const DwEngravingSettings *settings, DwEngraving *engraving)
{
    // A band and its gap of three parts; before all of them run-in, voice and lead-in.
    *engraving = (DwEngraving){.parts = dw_memory_new(5 + 4 * plan->count, sizeof *engraving->parts)};
    add_part(engraving, DW_ENGRAVED_QUIET, NULL, settings->run_in_s);
    add_part(engraving, DW_ENGRAVED_VOICE, NULL, settings->announcement_s);
    add_gap(engraving, plan->lead_in_s, settings->announcements_s);
    for (size_t i = 0; i < plan->count; i++) {
        add_part(engraving, DW_ENGRAVED_BAND, &plan->bands[i], plan->bands[i].length_s);
        add_gap(engraving, plan->bands[i].gap_s, i + 1 < plan->count ? settings->announcements_s : 0);
    }
    for (size_t i = 0; i < engraving->count; i++) {
        DwEngravedPart *part = &engraving->parts[i];
        part->radius_mm = radius_at(engraving, (part->begin_s + part->end_s) / 2);
        if (isnan(part->radius_mm))
            part->radius_mm = settings->radius_mm;
    }
}

void dw_engraving_clear(DwEngraving *engraving)
{
    free(engraving->parts);
    *engraving = (DwEngraving){0};
}

// ---- how a band moves -----------------------------------------------------

void dw_engraving_direction(DwPlanChannel channel, double walls[2])
{
    static const double shares[DW_PLAN_CHANNELS][2] = {[DW_PLAN_LEFT] = {1, 0},
                                                       [DW_PLAN_RIGHT] = {0, 1},
                                                       [DW_PLAN_LATERAL] = {M_SQRT1_2, M_SQRT1_2},
                                                       [DW_PLAN_VERTICAL] = {M_SQRT1_2, -M_SQRT1_2}};
    walls[0] = shares[channel][0];
    walls[1] = shares[channel][1];
}

static double ratio_of(double level_db)
{
    return pow(10, level_db / 20);
}

// The level that a cut gives FREQUENCY_HZ [dB], up to a constant.
static double cut_db(DwPlanCut cut, double frequency_hz)
{
    switch (cut) {
    case DW_PLAN_CUT_RIAA:
        return -dw_riaa_replay_db(frequency_hz, false);
    case DW_PLAN_CUT_BASS:
        return dw_riaa_treble_db(frequency_hz) - dw_riaa_replay_db(frequency_hz, false);
    case DW_PLAN_CUT_AMPLITUDE:
        return 20 * log10(frequency_hz);
    case DW_PLAN_CUT_VELOCITY:
    case DW_PLAN_CUTS:
        break;
    }
    return 0;
}

double dw_engraving_sweep_cm_s(const DwBandPlanBand *band, double frequency_hz)
{
    double low = fmin(band->from_hz, band->to_hz), high = fmax(band->from_hz, band->to_hz);
    double stated_at = low <= 1000 && 1000 <= high ? 1000 : band->from_hz;
    return band->velocity_cm_s * ratio_of(cut_db(band->cut, frequency_hz) - cut_db(band->cut, stated_at));
}

// Rises from 0 to 1 as X goes from 0 to 1.
static double rise(double x)
{
    return x <= 0 ? 0 : x >= 1 ? 1 : (1 - cos(M_PI * x)) / 2;
}

static double step_cm_s(const DwBandPlanBand *band, size_t step)
{
    return 2 * M_PI * band->frequency_hz * band->steps_um[step] * 1e-4;
}

// Steps share the length evenly; each glides into the next about their border.
static double steps_cm_s(const DwBandPlanBand *band, double seconds)
{
    double each_s = band->length_s / (double)band->step_count;
    double place = fmax(0, fmin((double)band->step_count - 1, floor(seconds / each_s)));
    size_t step = (size_t)place;
    double since_s = seconds - place * each_s, left_s = each_s - since_s;
    double own = step_cm_s(band, step);
    if (step > 0 && since_s < FADE_S / 2)
        return step_cm_s(band, step - 1) + rise(0.5 + since_s / FADE_S) * (own - step_cm_s(band, step - 1));
    if (step + 1 < band->step_count && left_s < FADE_S / 2)
        return own + rise(0.5 - left_s / FADE_S) * (step_cm_s(band, step + 1) - own);
    return own;
}

// The tones of a moment, the second of a two-tone band alone.
typedef struct {
    double velocity_cm_s[2];
    double frequency_hz[2];
} Tones;

static double sweep_hz(const DwBandPlanBand *band, double seconds)
{
    return band->from_hz * pow(band->to_hz / band->from_hz, seconds / band->length_s);
}

static Tones tones_at(const DwBandPlanBand *band, double seconds)
{
    Tones tones = {{0, 0}, {1, 1}};
    switch (band->kind) {
    case DW_PLAN_TONE:
        tones = (Tones){{band->velocity_cm_s, 0}, {band->frequency_hz, 1}};
        break;
    case DW_PLAN_SWEEP:
        tones.frequency_hz[0] = sweep_hz(band, seconds);
        tones.velocity_cm_s[0] = dw_engraving_sweep_cm_s(band, tones.frequency_hz[0]);
        break;
    case DW_PLAN_STEPS:
        tones = (Tones){{steps_cm_s(band, seconds), 0}, {band->frequency_hz, 1}};
        break;
    case DW_PLAN_TWO_TONE:
        tones = (Tones){{band->velocity_cm_s, band->velocity_cm_s * ratio_of(band->high_db)},
                        {band->from_hz, band->frequency_hz}};
        break;
    case DW_PLAN_SILENCE:
    case DW_PLAN_KINDS:
        break;
    }
    double fade = rise(seconds / FADE_S) * rise((band->length_s - seconds) / FADE_S);
    for (int i = 0; i < 2; i++)
        tones.velocity_cm_s[i] *= fade;
    return tones;
}

// Periods that the first tone has gone through since the band began: of a sweep
// f₁T/ln(f₂/f₁)·((f₂/f₁)^(s/T) − 1).
static double turns_of(const DwBandPlanBand *band, const Tones *tones, int tone, double seconds)
{
    if (band->kind != DW_PLAN_SWEEP)
        return tones->frequency_hz[tone] * seconds;
    double octaves = log(band->to_hz / band->from_hz);
    if (octaves == 0)
        return band->from_hz * seconds;
    return band->from_hz * band->length_s / octaves * expm1(octaves * seconds / band->length_s);
}

typedef struct {
    double velocity; // [cm/s]
    double swing;    // [cm]
} Motion;

// TONES hold for the moment about SECONDS: a tracing error of micrometres does
// not reach where they differ.
static Motion motion_at(const DwBandPlanBand *band, const Tones *tones, double seconds)
{
    Motion motion = {0, 0};
    for (int i = 0; i < 2 && tones->velocity_cm_s[i] != 0; i++) {
        double turns = turns_of(band, tones, i, seconds), angle = 2 * M_PI * (turns - floor(turns));
        motion.velocity += tones->velocity_cm_s[i] * sin(angle);
        motion.swing -= tones->velocity_cm_s[i] * cos(angle) / (2 * M_PI * tones->frequency_hz[i]);
    }
    return motion;
}

// The velocity read by a stylus that stands wrong by SHIFT_S seconds a
// centimetre: with q = shift · X(s + q), v = X'/(1 − shift · X').
static double velocity_read(const DwBandPlanBand *band, double seconds, double shift_s)
{
    enum { TRIES = 20 };
    Tones tones = tones_at(band, seconds);
    Motion motion = motion_at(band, &tones, seconds);
    if (shift_s == 0)
        return motion.velocity;
    double late_s = 0, enough_s = 1e-9 / fmax(tones.frequency_hz[0], tones.frequency_hz[1]);
    for (int i = 0; i < TRIES; i++) {
        double next_s = shift_s * motion.swing, change_s = fabs(next_s - late_s);
        late_s = next_s;
        motion = motion_at(band, &tones, seconds + late_s);
        if (change_s < enough_s)
            break;
    }
    return motion.velocity / (1 - shift_s * motion.velocity);
}

double dw_engraving_shift_s_cm(DwPlanChannel channel, const DwTracing *tracing)
{
    double shares[2];
    dw_engraving_direction(channel, shares);
    return (tracing->lateral_s_cm * (shares[0] + shares[1]) + tracing->vertical_s_cm * (shares[0] - shares[1])) *
           M_SQRT1_2;
}

void dw_engraving_walls(const DwEngravedPart *part, double at_s, const DwTracing *tracing, double walls[2])
{
    walls[0] = walls[1] = 0;
    double seconds = at_s - part->begin_s;
    if (!part->band || seconds <= 0 || at_s >= part->end_s)
        return;
    double shares[2];
    dw_engraving_direction(part->band->channel, shares);
    double velocity = velocity_read(part->band, seconds, dw_engraving_shift_s_cm(part->band->channel, tracing));
    walls[0] = shares[0] * velocity;
    walls[1] = shares[1] * velocity;
}
