// SPDX-License-Identifier: MIT
// A groove that holds music: two walls as functions of how much of it has gone by, the same whatever deck plays it.
//
// It is cut once, at 96 kHz of its own time with nothing above 14 kHz, a second at a time; what lies between the
// samples follows by a polynomial through eight of them (Lagrange): true to 1e-7 of the level at 2 kHz, 1e-4 at
// 10 kHz and 6e-4 at 14 kHz.
#ifndef DW_SYNTH_MUSIC_H
#define DW_SYNTH_MUSIC_H

#include "synth/music_plan.h"

#define DW_MUSIC_TOP_HZ 14000.0

typedef struct DwMusic DwMusic;

// Takes ownership of what PLAN holds. The caller frees it with dw_music_free().
DwMusic *dw_music_new(DwMusicPlan *plan);
void dw_music_free(DwMusic *music);

// The left and right wall where GROOVE_S of the piece have gone by; the loudest peak of the whole piece is 1.
// Silence outside of it. Each call goes on from the last: it may step back by no more than 10 ms.
void dw_music_read(DwMusic *music, double groove_s, double walls[2]);

#endif
