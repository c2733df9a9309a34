// SPDX-License-Identifier: MIT
#include "synth/music_player.h"

#include "base/memory.h"
#include "synth/music.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

// Our choices: how long a note that is let go still sounds, how much faster each higher partial dies away, how far
// one player's vibrato is from another's, from what on a partial is nothing, and the hands of some forty people.
static const double release_s = 0.08, faster_a_partial = 0.25, vibrato_spread = 0.08, nothing = 1e-6;
static const double claps_per_s = 120, clap_s = 0.006, clap_low_hz = 700, clap_high_hz = 4000;
#define SIXTY_DB 6.907755278982137 // ln 1000

// What a sample leaves of a sound that has fallen by 60 dB after DECAY_S.
static double fall_of(double decay_s, double rate_hz)
{
    return exp(-SIXTY_DB / (decay_s * rate_hz));
}

void dw_music_players_begin(DwMusicPlayers *players, const DwMusicPlan *plan, double rate_hz)
{
    *players = (DwMusicPlayers){.plan = plan, .rate_hz = rate_hz};
    players->noises = dw_memory_new(plan->instrument_count, sizeof *players->noises);
    for (size_t i = 0; i < plan->instrument_count; i++)
        if (!isnan(plan->instruments[i].noise_low_hz))
            dw_band_noise_init(&players->noises[i], i, DW_STREAM_MUSIC_NOISE, plan->instruments[i].noise_low_hz,
                               plan->instruments[i].noise_high_hz, rate_hz);
    dw_random_init(&players->clapping, 0, DW_STREAM_MUSIC_CLAPS);
    for (unsigned side = 0; side < 2 && plan->applause_s > 0; side++)
        dw_band_noise_init(&players->hands[side], side + 1, DW_STREAM_MUSIC_CLAPS, clap_low_hz, clap_high_hz, rate_hz);
}

void dw_music_players_end(DwMusicPlayers *players)
{
    free(players->voices);
    free(players->noises);
    *players = (DwMusicPlayers){0};
}

// The partials of VOICE that can be cut, with the chance that RANDOM gives them.
static void start_partials(DwMusicVoice *voice, DwRandom *random, double rate_hz)
{
    const DwMusicInstrument *instrument = voice->instrument;
    double highest_hz = fmax(voice->note->from_hz, voice->note->to_hz) *
                        exp2(instrument->vibrato_hz > 0 ? instrument->vibrato_cents / 1200 : 0);
    for (size_t i = 0; i < instrument->partial_count; i++) {
        double number = (double)i + 1, ratio = number * sqrt(1 + instrument->stiffness * number * number);
        double start = dw_random_between(random, 0, 1);
        if (ratio * highest_hz > DW_MUSIC_TOP_HZ || instrument->partials[i] == 0)
            continue;
        size_t at = voice->partials++;
        voice->ratios[at] = ratio;
        voice->starts[at] = start;
        voice->sizes[at] = instrument->partials[i];
        voice->falls[at] =
            isinf(instrument->decay_s) ? 1 : fall_of(instrument->decay_s / (1 + faster_a_partial * (double)i), rate_hz);
    }
}

// Chance hangs on the note's number alone: the piece is the same whoever plays it.
static void start_voice(DwMusicPlayers *players, size_t number)
{
    if (players->count == players->room) {
        players->room = 2 * players->room + 8;
        players->voices = dw_memory_resize(players->voices, players->room, sizeof *players->voices);
    }
    const DwMusicNote *note = &players->plan->notes[number];
    const DwMusicInstrument *instrument = &players->plan->instruments[note->instrument];
    DwRandom random;
    dw_random_init(&random, number, DW_STREAM_MUSIC_NOTES);
    DwMusicVoice voice = {.note = note, .instrument = instrument, .since_s = players->at_s - note->start_s};
    voice.vibrato_hz = instrument->vibrato_hz * (1 + vibrato_spread * dw_random_between(&random, -1, 1));
    voice.vibrato_turns = dw_random_between(&random, 0, 1);
    voice.tremolo_turns = dw_random_between(&random, 0, 1);
    start_partials(&voice, &random, players->rate_hz);
    if (!isnan(instrument->noise_low_hz)) {
        voice.noise = players->noises[note->instrument];
        dw_random_init(&voice.noise.random, number, DW_STREAM_MUSIC_NOISE);
        voice.noise_size = 1;
        voice.noise_fall = isinf(instrument->decay_s) ? 1 : fall_of(instrument->decay_s, players->rate_hz);
    }
    voice.sides[0] = note->gain * sqrt((1 - note->place) / 2);
    voice.sides[1] = note->gain * sqrt((1 + note->place) / 2);
    players->voices[players->count++] = voice;
}

// How loud the player lets it be now, 0 to 1.
static double strength(const DwMusicVoice *voice)
{
    const DwMusicInstrument *instrument = voice->instrument;
    double rise = instrument->attack_s > 0 ? fmin(1, voice->since_s / instrument->attack_s) : 1;
    double rest = fmin(1, (voice->note->length_s + release_s - voice->since_s) / release_s);
    double risen = fmax(0, fmin(rise, rest));
    double loud = risen < 1 ? (1 - cos(M_PI * risen)) / 2 : 1;
    if (instrument->tremolo_hz > 0) {
        double turns = voice->tremolo_turns + instrument->tremolo_hz * voice->since_s;
        loud *= 1 - instrument->tremolo_depth * (1 - cos(2 * M_PI * turns)) / 2;
    }
    return loud;
}

// The pitch now [Hz].
static double pitch(const DwMusicVoice *voice)
{
    double hz = voice->note->from_hz;
    if (voice->note->to_hz != hz)
        hz *= pow(voice->note->to_hz / hz, fmin(1, voice->since_s / voice->note->length_s));
    if (voice->vibrato_hz > 0)
        hz *= exp2(voice->instrument->vibrato_cents / 1200 *
                   sin(2 * M_PI * (voice->vibrato_turns + voice->vibrato_hz * voice->since_s)));
    return hz;
}

static double sound_partials(DwMusicVoice *voice)
{
    double sum = 0;
    size_t heard = 0;
    for (size_t i = 0; i < voice->partials; i++) {
        if (voice->sizes[i] < nothing)
            continue;
        sum += voice->sizes[i] * sin(2 * M_PI * (voice->starts[i] + voice->ratios[i] * voice->turns));
        voice->sizes[i] *= voice->falls[i];
        heard++;
    }
    if (heard == 0)
        voice->partials = 0;
    return sum;
}

// Adds one sample of VOICE. Returned: whether it goes on.
static bool sound(DwMusicVoice *voice, double rate_hz, double walls[2])
{
    double value = 0;
    if (voice->partials > 0) {
        value += sound_partials(voice);
        voice->turns += pitch(voice) / rate_hz;
    }
    if (voice->noise_size >= nothing) {
        value += voice->noise_size * dw_band_noise_next(&voice->noise);
        voice->noise_size *= voice->noise_fall;
    }
    value *= strength(voice);
    walls[0] += voice->sides[0] * value;
    walls[1] += voice->sides[1] * value;
    voice->since_s += 1 / rate_hz;
    return voice->since_s < voice->note->length_s + release_s && (voice->partials > 0 || voice->noise_size >= nothing);
}

static void clap(DwMusicPlayers *players, double walls[2])
{
    const DwMusicPlan *plan = players->plan;
    double since_s = players->at_s - plan->notes_end_s;
    if (!(since_s >= 0 && since_s < plan->applause_s))
        return;
    double swell = sin(M_PI * since_s / plan->applause_s); // they begin, and they stop
    for (int side = 0; side < 2; side++) {
        if (dw_random_between(&players->clapping, 0, 1) < swell * claps_per_s / players->rate_hz)
            players->clap[side] += dw_random_between(&players->clapping, 0.2, 1);
        walls[side] += plan->applause_gain * players->clap[side] * dw_band_noise_next(&players->hands[side]);
        players->clap[side] *= 1 - 1 / (clap_s * players->rate_hz);
    }
}

void dw_music_players_next(DwMusicPlayers *players, double walls[2])
{
    const DwMusicPlan *plan = players->plan;
    while (players->next < plan->note_count && plan->notes[players->next].start_s <= players->at_s)
        start_voice(players, players->next++);
    for (size_t i = players->count; i-- > 0;)
        if (!sound(&players->voices[i], players->rate_hz, walls))
            players->voices[i] = players->voices[--players->count];
    clap(players, walls);
    players->at_s += 1 / players->rate_hz;
}
