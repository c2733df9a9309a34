// SPDX-License-Identifier: MIT
// What follows what on the recording: lifted stylus, run-in groove,
// announcement, bands, and quiet groove between them.
#ifndef DW_SYNTH_PROGRAMME_H
#define DW_SYNTH_PROGRAMME_H

#include "synth/settings.h"

#define DW_PROGRAMME_QUIET_S 1.0 // of groove between two bands or after the voice

typedef enum {
    DW_PART_LIFTED,
    DW_PART_RUN_IN,
    DW_PART_VOICE,
    DW_PART_QUIET,
    DW_PART_BAND,
    DW_PART_MUSIC,
    DW_PART_SIDE, // a planned one
} DwPartKind;

// Frames are whole numbers held in doubles: exact up to 2^53.
typedef struct {
    DwPartKind kind;
    double tone_hz; // of a band; the highest there is in music
    double begin, end;
} DwProgrammePart;

typedef struct {
    DwProgrammePart *parts;
    size_t count;
    size_t tone;   // which part is the record's constant-tone band, or the music, or the planned side
    double groove; // the frame at which the stylus is down
    double frames;
} DwProgramme;

// What is heard when, as SETTINGS say. dw_programme_clear() frees what it holds.
void dw_programme_make(const DwSettings *settings, DwProgramme *programme);
// The same for a planned side of LENGTH_S.
void dw_programme_make_side(const DwSettings *settings, double length_s, DwProgramme *programme);
void dw_programme_clear(DwProgramme *programme);
// How loud FRAME of the INDEXth part is, 0 to 1: bands rise and fall over 5 ms
// where something stands beside them.
double dw_programme_fade(const DwProgramme *programme, size_t index, double frame, double rate_hz);

#endif
