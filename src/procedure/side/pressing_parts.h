// SPDX-License-Identifier: MIT
// Several takes of one side, and what becomes of them: each copy's share, each deck's, and whose fault what is.
#ifndef DW_PROCEDURE_PRESSING_PARTS_H
#define DW_PROCEDURE_PRESSING_PARTS_H

#include "base/sheet.h"
#include "dsp/two_way.h"

enum { DW_PRESSING_COPY, DW_PRESSING_DECK, DW_PRESSING_KINDS };

typedef struct {
    DwSheet *sheets[DW_TWO_WAY_MOST]; // of `side`, one a take
    size_t count;
    char *names[DW_PRESSING_KINDS][DW_TWO_WAY_MOST]; // of copies, of decks; each once
    size_t named[DW_PRESSING_KINDS];
    size_t of[DW_PRESSING_KINDS][DW_TWO_WAY_MOST]; // the number of each take's copy, of its deck
    bool out[DW_TWO_WAY_MOST];                     // a fault of its channels leaves nothing of them to be compared
    double play_mm;                                // of the hole, at each seating
} DwPressingTakes;

// A reading that is parted.
typedef struct {
    const char *key; // of `side`; or one of pressing's own
    char label[100];
    const char *unit;
    DwTwoWay parted;
} DwPressingReading;

enum { DW_PRESSING_READINGS_MOST = 16 };

typedef struct {
    DwPressingReading reading[DW_PRESSING_READINGS_MOST];
    size_t count;
} DwPressingReadings;

// Parts all readings of TAKES; those that are not parted are listed on SHEET as not measured.
void dw_pressing_part(const DwPressingTakes *takes, DwPressingReadings *readings, DwSheet *sheet);
// The responses common to all takes, and what each copy adds, as curves.
void dw_pressing_add_curves(const DwPressingTakes *takes, DwSheet *sheet);
// Once a turn: what each copy and each deck has of it, where the takes tell it.
void dw_pressing_add_turn(const DwPressingTakes *takes, DwSheet *sheet);
// Whose it is: a row a reading, the shares of copies and of decks, and in words what differs.
void dw_pressing_say_whose(const DwPressingTakes *takes, const DwPressingReadings *readings, DwSheet *sheet);
// What later measurements of each copy may use: table `pressing.known`.
void dw_pressing_say_known(const DwPressingTakes *takes, const DwPressingReadings *readings, DwSheet *sheet);

#endif
