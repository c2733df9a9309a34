// SPDX-License-Identifier: MIT
#include "synth/music.h"

#include "base/memory.h"
#include "synth/music_player.h"
#include "synth/music_room.h"

#include <math.h>
#include <stdlib.h>

enum {
    CUT_HZ = 96000,
    RING = 8192, // samples that can be read again
    POINTS = 8,  // of the polynomial
    AHEAD = POINTS / 2,
};

struct DwMusic {
    DwMusicPlan plan;
    DwMusicPlayers players;
    DwMusicRoom room;
    double gain;  // 1 over the loudest peak
    long cut;     // samples so far
    long samples; // of the whole piece
    double ring[RING][2];
};

static void begin(DwMusic *music)
{
    dw_music_players_begin(&music->players, &music->plan, CUT_HZ);
    dw_music_room_begin(&music->room, music->plan.reverberation_s, music->plan.reverberation_gain, CUT_HZ);
    music->cut = 0;
}

static void end(DwMusic *music)
{
    dw_music_players_end(&music->players);
    dw_music_room_end(&music->room);
}

static void cut_next(DwMusic *music, double walls[2])
{
    walls[0] = walls[1] = 0;
    dw_music_players_next(&music->players, walls);
    dw_music_room_next(&music->room, walls);
    music->cut++;
}

// Plays the whole piece for its loudest peak.
static double find_peak(DwMusic *music)
{
    double peak = 0;
    begin(music);
    while (music->cut < music->samples) {
        double walls[2];
        cut_next(music, walls);
        peak = fmax(peak, fmax(fabs(walls[0]), fabs(walls[1])));
    }
    end(music);
    return peak;
}

DwMusic *dw_music_new(DwMusicPlan *plan)
{
    DwMusic *music = dw_memory_new(1, sizeof *music);
    music->plan = *plan;
    *plan = (DwMusicPlan){0};
    music->samples = (long)ceil(music->plan.end_s * CUT_HZ);
    double peak = find_peak(music);
    music->gain = peak > 0 ? 1 / peak : 0;
    begin(music);
    return music;
}

void dw_music_free(DwMusic *music)
{
    if (!music)
        return;
    end(music);
    dw_music_plan_clear(&music->plan);
    free(music);
}

static void cut_up_to(DwMusic *music, long sample)
{
    while (music->cut <= sample) {
        double *walls = music->ring[music->cut % RING];
        if (music->cut < music->samples)
            cut_next(music, walls);
        else {
            walls[0] = walls[1] = 0;
            music->cut++;
        }
    }
}

// Weights of the polynomial's points at SHARE of the way from the fourth to the fifth: the product, over the other
// points k, of (x − k)/(j − k).
static void weigh(double share, double weights[POINTS])
{
    for (int j = 0; j < POINTS; j++) {
        weights[j] = 1;
        for (int k = 0; k < POINTS; k++)
            if (k != j)
                weights[j] *= (share + (AHEAD - 1) - k) / (j - k);
    }
}

void dw_music_read(DwMusic *music, double groove_s, double walls[2])
{
    walls[0] = walls[1] = 0;
    double place = groove_s * CUT_HZ;
    if (!(place >= 0 && place < (double)music->samples))
        return;
    long first = (long)place - (AHEAD - 1);
    cut_up_to(music, first + POINTS - 1);
    double weights[POINTS];
    weigh(place - floor(place), weights);
    for (int j = 0; j < POINTS; j++) {
        long sample = first + j;
        for (int side = 0; side < 2 && sample >= 0; side++)
            walls[side] += weights[j] * music->gain * music->ring[sample % RING][side];
    }
}
