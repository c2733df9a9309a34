// SPDX-License-Identifier: MIT
// What a customer can hear of two recordings of one groove: the worst and the best turn in a loop, and the same passage
// of both, all at equal loudness.
#ifndef DW_PROCEDURE_EARS_H
#define DW_PROCEDURE_EARS_H

#include "measure/music/twin_turns.h"
#include "procedure/registry/procedure.h"

#include <stdbool.h>

typedef enum { DW_EARS_WORST, DW_EARS_BEST, DW_EARS_FIRST, DW_EARS_SECOND, DW_EARS_PIECES } DwEarsPiece;

// The wow of one recording by its held notes, % peak.
typedef struct {
    double percent; // where FOUND what comes once a turn, else what there may be at most; NAN where the music does not
                    // tell
    double off;     // 95 %
    bool found;
} DwEarsWow;

typedef struct {
    DwTwinTurns turns;
    DwEarsWow wow[2];
    double passage_s[2], length_s;   // where the passage begins in either; how long it is
    double was_lufs[DW_EARS_PIECES]; // before
    double lufs;                     // of all of them now
} DwEars;

// Which recording, 0 or 1, certainly wows more once a turn than the other; −1 where that stays open.
int dw_ears_worse(const DwEars *ears);
// The file of each piece: "worst-turn.wav" …
const char *dw_ears_file(DwEarsPiece piece);

// Makes the four files in FOLDER, which is there, of the two recordings of REQUEST, first as received, then as left.
//
// Method: turns by dw_twin_turns(), which tell how the two differ; whose it is, by `held` of either; the passage about
// the worst one; each at the same integrated loudness (ITU-R
// BS.1770), −18 LUFS or what leaves 1 dB over the true peak of all.
DwStatus dw_ears_make(const DwRequest *request, const char *folder, DwEars *ears, DwMessage *message);

#endif
