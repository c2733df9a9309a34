// SPDX-License-Identifier: MIT
// The players of a piece: what each note sounds like, sample by sample, and the hands that clap at its end.
#ifndef DW_SYNTH_MUSIC_PLAYER_H
#define DW_SYNTH_MUSIC_PLAYER_H

#include "synth/band_noise.h"
#include "synth/music_plan.h"

// A note that sounds.
typedef struct {
    const DwMusicNote *note;
    const DwMusicInstrument *instrument;
    double since_s;
    double turns;                                                          // of its pitch, since it began
    double vibrato_hz;                                                     // this player's own
    double vibrato_turns;                                                  // where it began
    double tremolo_turns;                                                  // likewise
    size_t partials;                                                       // that lie low enough to be cut
    double starts[DW_MUSIC_PARTIALS_MOST], ratios[DW_MUSIC_PARTIALS_MOST]; // turns; frequency over the pitch
    double sizes[DW_MUSIC_PARTIALS_MOST], falls[DW_MUSIC_PARTIALS_MOST];   // peak now; what a sample leaves of it
    DwBandNoise noise;
    double noise_size, noise_fall;
    double sides[2]; // gains
} DwMusicVoice;

typedef struct {
    const DwMusicPlan *plan; // outlives it
    double rate_hz;
    size_t next; // note that has not begun
    double at_s;
    DwMusicVoice *voices;
    size_t count, room;
    DwBandNoise *noises; // of each instrument, as it begins
    DwRandom clapping;
    DwBandNoise hands[2];
    double clap[2]; // how loud the claps of a side are now
} DwMusicPlayers;

// At the beginning of PLAN's piece, for samples at RATE_HZ [Hz]. dw_music_players_end() frees what it holds.
void dw_music_players_begin(DwMusicPlayers *players, const DwMusicPlan *plan, double rate_hz);
void dw_music_players_end(DwMusicPlayers *players);
// Adds the next sample of all that sounds to the WALLS.
void dw_music_players_next(DwMusicPlayers *players, double walls[2]);

#endif
