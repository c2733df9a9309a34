// SPDX-License-Identifier: MIT
// Ticks from dust and scratches: short damped swings of the stylus.
#ifndef DW_SYNTH_CRACKLE_H
#define DW_SYNTH_CRACKLE_H

#include "synth/events.h"

#define DW_CRACKLE_TICK_S 2e-3 // a tick is over after this long, 57 dB down

typedef struct {
    DwEvents events;
    DwRandom shapes;
    double rate_hz;
    double end;       // [frames] none from here on
    double peak;      // of the loudest tick
    double spread_db; // how far under it the faintest lies
    double start;     // [frames] of the tick now sounding, -INFINITY for none
    double side[2];   // its first swing, left and right
} DwCrackle;

// Where ticks may fall and how loud they are.
typedef struct {
    double per_second;
    double from, to; // [frames]
    double peak, spread_db;
} DwCrackleRange;

// TIMES and SHAPES are the streams of chance it draws from.
void dw_crackle_init(DwCrackle *crackle, uint64_t seed, DwStream times, DwStream shapes, double rate_hz,
                     const DwCrackleRange *range);
// Adds what sounds at FRAME to the two sides. Call it for every frame in turn.
void dw_crackle_add(DwCrackle *crackle, double frame, double sides[2]);

#endif
