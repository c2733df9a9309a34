// SPDX-License-Identifier: MIT
#include "synth/music_room.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Of the lines [s], with no common measure, as of a hall some ten metres wide; and where air and curtains begin to
// dull the sound. Our choice.
static const double delays_s[DW_MUSIC_ROOM_LINES] = {0.0293, 0.0371, 0.0411, 0.0437, 0.0533, 0.0617, 0.0673, 0.0719};
static const double dull_hz = 6000;

static void answer(DwMusicRoom *room, const double walls[2], double heard[2])
{
    double out[DW_MUSIC_ROOM_LINES], sum = 0;
    heard[0] = heard[1] = 0;
    for (int i = 0; i < DW_MUSIC_ROOM_LINES; i++) {
        room->dulls[i] += room->dull * (room->lines[i][room->at[i]] - room->dulls[i]);
        out[i] = room->losses[i] * room->dulls[i];
        sum += out[i];
        heard[i % 2] += i & 2 ? -out[i] : out[i];
    }
    for (int i = 0; i < DW_MUSIC_ROOM_LINES; i++) { // a Householder reflection keeps the energy
        room->lines[i][room->at[i]] = walls[i % 2] + out[i] - 2.0 / DW_MUSIC_ROOM_LINES * sum;
        room->at[i] = (room->at[i] + 1) % room->lengths[i];
    }
}

static void empty(DwMusicRoom *room)
{
    for (int i = 0; i < DW_MUSIC_ROOM_LINES; i++) {
        memset(room->lines[i], 0, room->lengths[i] * sizeof *room->lines[i]);
        room->at[i] = 0;
        room->dulls[i] = 0;
    }
}

void dw_music_room_begin(DwMusicRoom *room, double reverberation_s, double gain, double rate_hz)
{
    *room = (DwMusicRoom){.gain = 0};
    if (!(reverberation_s > 0 && gain > 0))
        return;
    room->dull = 1 - exp(-2 * M_PI * dull_hz / rate_hz);
    for (int i = 0; i < DW_MUSIC_ROOM_LINES; i++) {
        room->lengths[i] = (size_t)round(delays_s[i] * rate_hz);
        room->lines[i] = dw_memory_new(room->lengths[i], sizeof *room->lines[i]);
        room->losses[i] = pow(10, -3 * delays_s[i] / reverberation_s);
    }
    double energy = 0, heard[2];
    for (double at = 0; at < reverberation_s * rate_hz; at++) {
        answer(room, (const double[2]){at == 0, at == 0}, heard);
        energy += (heard[0] * heard[0] + heard[1] * heard[1]) / 2;
    }
    room->gain = gain / sqrt(energy);
    empty(room);
}

void dw_music_room_end(DwMusicRoom *room)
{
    for (int i = 0; i < DW_MUSIC_ROOM_LINES; i++)
        free(room->lines[i]);
    *room = (DwMusicRoom){.gain = 0};
}

void dw_music_room_next(DwMusicRoom *room, double walls[2])
{
    double heard[2];
    if (!room->lines[0])
        return;
    answer(room, walls, heard);
    walls[0] += room->gain * heard[0];
    walls[1] += room->gain * heard[1];
}
