// SPDX-License-Identifier: MIT
// A whole side of a planned record as a described pickup and deck would give it,
// with known truth: where each band begins. Streaming.
#ifndef DW_TESTS_SUPPORT_SIDE_PLAYER_H
#define DW_TESTS_SUPPORT_SIDE_PLAYER_H

#include "base/plan/band_plan.h"
#include "physics/riaa.h"
#include "support/band_signal.h"

enum { SIDE_BLOCK = 32, SIDE_BANDS_MOST = 40 };

// What happens besides the plan.
typedef struct {
    BandDeck pickup;                        // rotation, leak, gain, wiring, speed, wow, noise
    double full_scale_cm_s;                 // velocity of one channel that fills the recording at 1 kHz
    double treble;                          // of each sample's change that comes through: a one-pole low-pass; 0: all
    double resonance_hz[2], resonance_q[2]; // lateral, vertical; 0: a stiff arm
    double late_s;                          // the recording begins this far into the side
    double stop_s;                          // and stops here; 0: after all of it
    double voice_s;                         // an announcement this long in the middle of each gap; 0: none
    const unsigned *order;        // numbers of the bands as they stand on this record, 0 last; NULL: as planned
    double repeat_at_s, repeat_s; // the stylus falls back by one turn once, at this second of the recording
    bool mono, flat;              // one channel; no replay curve
} SideCase;

typedef struct {
    const DwBandPlanBand *band; // NULL: silent groove
    bool voice;
    size_t begin, end; // frames
} SidePart;

typedef struct {
    SideCase what;
    SidePart parts[4 * SIDE_BANDS_MOST];
    size_t part_count, part;
    size_t frame, skip, frames; // of the side; those left out at its start; in all
    double phase[2];
    uint64_t chance;
    double state[2][2]; // of the arm's resonance, lateral and vertical
    double rumble[2], pole[2];
    bool repeated;
} SidePlayer;

static inline SideCase side_case(double rate_hz, double speed)
{
    SideCase what = {.pickup = band_deck(rate_hz), .full_scale_cm_s = 30};
    what.pickup.speed = speed;
    what.pickup.wow = 0.001;
    what.pickup.noise = 0.0004;
    return what;
}

static inline void side_add(SidePlayer *player, const DwBandPlanBand *band, bool voice, double seconds)
{
    size_t begin = player->part_count ? player->parts[player->part_count - 1].end : 0;
    player->parts[player->part_count++] =
        (SidePart){band, voice, begin, begin + (size_t)lround(seconds * player->what.pickup.rate_hz)};
    player->frames = player->parts[player->part_count - 1].end;
}

static inline void side_add_gap(SidePlayer *player, double seconds)
{
    double voice_s = player->what.voice_s;
    if (voice_s > 0) {
        side_add(player, NULL, false, seconds / 2);
        side_add(player, NULL, true, voice_s);
    }
    side_add(player, NULL, false, voice_s > 0 ? seconds / 2 : seconds);
}

static inline const DwBandPlanBand *side_band(const DwBandPlan *plan, unsigned number)
{
    for (size_t i = 0; i < plan->count; i++)
        if (plan->bands[i].number == number)
            return &plan->bands[i];
    return NULL;
}

static inline void side_start(SidePlayer *player, const DwBandPlan *plan, SideCase what)
{
    *player = (SidePlayer){.what = what, .chance = 88172645463325252u};
    double speed = what.pickup.speed;
    side_add(player, NULL, false, plan->lead_in_s / speed);
    for (size_t i = 0; what.order ? what.order[i] > 0 : i < plan->count; i++) {
        const DwBandPlanBand *band = what.order ? side_band(plan, what.order[i]) : &plan->bands[i];
        side_add(player, band->kind == DW_PLAN_SILENCE ? NULL : band, false, band->length_s / speed);
        player->parts[player->part_count - 1].band = band;
        side_add_gap(player, band->gap_s / speed);
    }
    player->skip = (size_t)(what.late_s * what.pickup.rate_hz);
    if (what.stop_s > 0)
        player->frames = player->skip + (size_t)(what.stop_s * what.pickup.rate_hz);
    player->frame = player->skip;
}

// The second of the recording at which band NUMBER begins; NAN when it is not played.
static inline double side_truth(const SidePlayer *player, unsigned number)
{
    for (size_t i = 0; i < player->part_count; i++)
        if (player->parts[i].band && player->parts[i].band->number == number) {
            double at = ((double)player->parts[i].begin - (double)player->skip) / player->what.pickup.rate_hz;
            return at > player->what.repeat_at_s && player->what.repeat_s > 0 ? at + player->what.repeat_s : at;
        }
    return NAN;
}

static inline double side_replay(double hz)
{
    return pow(10, dw_riaa_replay_db(hz, false) / 20);
}

// Peak of a component of VELOCITY at engraved HZ behind the replay curve, full scale 1.
static inline double side_peak(const SidePlayer *player, double velocity_cm_s, double hz)
{
    double speed = player->what.pickup.speed;
    double replay = player->what.flat ? 1 : side_replay(hz * speed);
    return velocity_cm_s * speed * replay / player->what.full_scale_cm_s;
}

// Engraved frequency and output of a sweep at the SHARE of its length.
static inline double side_sweep(const SidePlayer *player, const DwBandPlanBand *band, double share, double *peak)
{
    double hz = band->from_hz * pow(band->to_hz / band->from_hz, share), velocity = band->velocity_cm_s;
    bool passes = fmin(band->from_hz, band->to_hz) <= 1000 && fmax(band->from_hz, band->to_hz) >= 1000;
    double reference = passes ? 1000 : band->from_hz;
    if (band->cut == DW_PLAN_CUT_RIAA)
        velocity *= side_replay(reference) / side_replay(hz);
    if (band->cut == DW_PLAN_CUT_AMPLITUDE)
        velocity *= hz / reference;
    *peak = side_peak(player, velocity, hz);
    return hz;
}

// Frequencies (engraved) and peaks of up to two components at frame AT of PART.
static inline size_t side_components(const SidePlayer *player, const SidePart *part, size_t at, double hz[2],
                                     double peak[2])
{
    const DwBandPlanBand *band = part->band;
    double share = (double)(at - part->begin) / (double)(part->end - part->begin);
    size_t step;
    switch (band->kind) {
    case DW_PLAN_TONE:
        hz[0] = band->frequency_hz;
        peak[0] = side_peak(player, band->velocity_cm_s, hz[0]);
        return 1;
    case DW_PLAN_STEPS:
        step = (size_t)(share * (double)band->step_count);
        hz[0] = band->frequency_hz;
        peak[0] = side_peak(player, 2 * M_PI * hz[0] * band->steps_um[step] * 1e-4, hz[0]);
        return 1;
    case DW_PLAN_SWEEP:
        hz[0] = side_sweep(player, band, share, &peak[0]);
        return 1;
    case DW_PLAN_TWO_TONE:
        hz[0] = band->from_hz;
        hz[1] = band->frequency_hz;
        peak[0] = side_peak(player, band->velocity_cm_s, hz[0]);
        peak[1] = side_peak(player, band->velocity_cm_s * pow(10, band->high_db / 20), hz[1]);
        return 2;
    case DW_PLAN_SILENCE:
    case DW_PLAN_KINDS:
        break;
    }
    return 0;
}

static inline double side_random(SidePlayer *player)
{
    player->chance ^= player->chance << 13;
    player->chance ^= player->chance >> 7;
    player->chance ^= player->chance << 17;
    return ((double)(player->chance >> 11) / 9007199254740992.0 - 0.5) * sqrt(12);
}

// What the walls of a band move by at an output of 1.
static inline void side_walls(DwPlanChannel channel, double wall[2])
{
    static const double half = 0.70710678118654752;
    wall[0] = channel == DW_PLAN_RIGHT ? 0 : channel == DW_PLAN_LEFT ? 1 : half;
    wall[1] = channel == DW_PLAN_LEFT ? 0 : channel == DW_PLAN_RIGHT ? 1 : channel == DW_PLAN_VERTICAL ? -half : half;
}

// The movement through an arm that hangs on its compliance: s²/(s² + sω/Q + ω²),
// as the stylus moves against the body. By the bilinear transform.
static inline double side_arm(SidePlayer *player, size_t direction, double input)
{
    double hz = player->what.resonance_hz[direction], q = player->what.resonance_q[direction];
    if (!(hz > 0))
        return input;
    double k = tan(M_PI * hz / player->what.pickup.rate_hz), norm = 1 / (1 + k / q + k * k);
    double *state = player->state[direction], output = norm * input + state[0];
    state[0] = -2 * norm * input - 2 * (k * k - 1) * norm * output + state[1];
    state[1] = norm * input - (1 - k / q + k * k) * norm * output;
    return output;
}

// COUNT frames of a part of a band, from frame AT on: the frequency holds for all of them.
static inline void side_play_band(SidePlayer *player, const SidePart *part, size_t at, size_t count,
                                  double out[SIDE_BLOCK][2])
{
    const BandDeck *deck = &player->what.pickup;
    double hz[2], peak[2], wall[2], turn = 2 * M_PI * 0.555 * deck->speed * (double)at / deck->rate_hz;
    double complex size[2];
    size_t components = side_components(player, part, at, hz, peak);
    side_walls(part->band->channel, wall);
    band_matrix(deck, wall, size);
    size_t direction = part->band->channel == DW_PLAN_VERTICAL;
    bool low = part->band->kind == DW_PLAN_SWEEP && fmax(part->band->from_hz, part->band->to_hz) < 200;
    for (size_t k = 0; k < components; k++) {
        double step = 2 * M_PI * hz[k] * deck->speed * (1 + deck->wow * cos(turn)) / deck->rate_hz;
        double complex now = cexp(I * player->phase[k]), rotation = cexp(I * step);
        for (size_t n = 0; n < count; n++, now *= rotation) {
            double re = creal(now), im = cimag(now);
            if (low)
                re = side_arm(player, direction, re), im = 0;
            for (size_t c = 0; c < 2; c++)
                out[n][c] += peak[k] * (creal(size[c]) * re - cimag(size[c]) * im);
        }
        player->phase[k] = fmod(player->phase[k] + step * (double)count, 2 * M_PI);
    }
    for (size_t c = 0; c < 2; c++)
        for (size_t n = 0; n < count && part->band->kind == DW_PLAN_STEPS; n++)
            out[n][c] = band_squeeze(out[n][c], deck->limit[c]);
}

// Something like speech: a gliding buzz in syllables.
static inline double side_voice(const SidePlayer *player, size_t at)
{
    double time = (double)at / player->what.pickup.rate_hz, syllable = fmod(time, 0.28) / 0.28, sum = 0;
    double pitch = 2 * M_PI * (120 * time + 3 * sin(2 * M_PI * 1.7 * time));
    for (int h = 1; h < 12; h++)
        sum += sin(h * pitch + h * h) / h * (1 + cos(h * 0.9 + 5 * time));
    return 0.05 * sum * fmax(0, sin(M_PI * syllable * 1.3)) * (fmod(time, 1.9) < 1.3);
}

// Reads the next frames, at most SIDE_BLOCK. Returned: how many; 0 at the end.
static inline size_t side_read(SidePlayer *player, float *interleaved)
{
    const BandDeck *deck = &player->what.pickup;
    double out[SIDE_BLOCK][2] = {{0}};
    if (player->frame >= player->frames)
        return 0;
    while (player->frame >= player->parts[player->part].end)
        player->part++;
    const SidePart *part = &player->parts[player->part];
    size_t end = part->end < player->frames ? part->end : player->frames, count = end - player->frame;
    count = count < SIDE_BLOCK ? count : SIDE_BLOCK;
    if (part->band && part->band->kind != DW_PLAN_SILENCE)
        side_play_band(player, part, player->frame, count, out);
    for (size_t n = 0; n < count; n++) {
        for (size_t c = 0; c < 2 && player->what.treble > 0; c++)
            out[n][c] = player->pole[c] += player->what.treble * (out[n][c] - player->pole[c]);
        band_wire(deck, out[n]);
        double voice = part->voice ? side_voice(player, player->frame + n) : 0, sample[2];
        for (size_t c = 0; c < 2; c++) {
            player->rumble[c] += 0.004 * (side_random(player) - player->rumble[c]);
            sample[c] = out[n][c] + voice + deck->noise * side_random(player) + deck->rumble * player->rumble[c];
        }
        if (player->what.mono)
            interleaved[n] = (float)sample[0];
        else {
            interleaved[2 * n] = (float)sample[0];
            interleaved[2 * n + 1] = (float)sample[1];
        }
    }
    player->frame += count;
    // The stylus that falls back a turn: the groove is played again from there.
    double repeat_at = player->what.repeat_at_s * deck->rate_hz + (double)player->skip;
    if (player->what.repeat_s > 0 && !player->repeated && (double)player->frame >= repeat_at) {
        player->frame -= (size_t)(player->what.repeat_s * deck->rate_hz);
        player->part = 0;
        player->repeated = true;
    }
    return count;
}

#endif
