// SPDX-License-Identifier: MIT
// The notes of one part of a piece, as they are typed.
#ifndef DW_SYNTH_MUSIC_NOTES_H
#define DW_SYNTH_MUSIC_NOTES_H

#include "synth/music_plan.h"

// A part while its notes are read.
typedef struct {
    size_t instrument;
    double gain, place;
    double beats; // that have gone by; the next notes begin there
} DwMusicPart;

// Adds the notes of TEXT ("C4:2 E4+G4:1.5 -:0.5 A4>C5:4") to PLAN, in its tempo and tuning. What is none is
// DW_BAD_INPUT with one line.
DwStatus dw_music_notes_add(const char *text, DwMusicPart *part, DwMusicPlan *plan, DwMessage *message);

#endif
