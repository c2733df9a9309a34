// SPDX-License-Identifier: MIT
// The room that a piece was played in: eight delay lines that feed each other.
#ifndef DW_SYNTH_MUSIC_ROOM_H
#define DW_SYNTH_MUSIC_ROOM_H

#include <stddef.h>

enum { DW_MUSIC_ROOM_LINES = 8 };

// Reference: J.-M. Jot and A. Chaigne, "Digital delay networks for designing artificial reverberators", AES 90th
// Convention (1991) – from memory: lines through a lossless matrix, each with the loss that its own length asks for.
typedef struct {
    double *lines[DW_MUSIC_ROOM_LINES]; // NULL without a room
    size_t lengths[DW_MUSIC_ROOM_LINES], at[DW_MUSIC_ROOM_LINES];
    double losses[DW_MUSIC_ROOM_LINES];
    double dulls[DW_MUSIC_ROOM_LINES]; // a low-pass each: air and curtains
    double dull;
    double gain;
} DwMusicRoom;

// A room in which sound falls by 60 dB in REVERBERATION_S [s; 0 for none]; its answer to a pulse, in both channels,
// has GAIN times the rms of the pulse itself. dw_music_room_end() frees what it holds.
void dw_music_room_begin(DwMusicRoom *room, double reverberation_s, double gain, double rate_hz);
void dw_music_room_end(DwMusicRoom *room);
// Adds what the room gives back to the next sample of WALLS.
void dw_music_room_next(DwMusicRoom *room, double walls[2]);

#endif
