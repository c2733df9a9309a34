// SPDX-License-Identifier: MIT
// One recording of a band for parting the record from the deck: its once- and
// twice-per-revolution vectors, where the platter stood if a tick tells it, and
// the weighted flutter with a known part taken out. Feed, then ask.
#ifndef DW_MEASURE_SEATING_H
#define DW_MEASURE_SEATING_H

#include "dsp/shares.h"
#include "measure/speed/speed.h"
#include "measure/speed/turn_tick.h"

typedef struct {
    double start_s, length_s; // of the steady tone, in the recording
    double tone_hz, turn_hz;
    double turns;
    double drift_per_s;   // ratio
    double centre_s;      // the moment of the vectors: the middle of what was fitted
    DwVector vector[2];   // once and twice a revolution, % peak
    double vector_off[2]; // half-widths of the 95 % interval of each part; NAN below 12 turns
    double weighted;      // weighted flutter, two-sigma, %
} DwSeatingReading;

typedef struct DwSeating DwSeating;

// One recording of a seating, fed as dw_speed is. The caller frees it with dw_seating_free().
DwSeating *dw_seating_new(DwSpeedSettings settings);
void dw_seating_free(DwSeating *seating);
void dw_seating_push(DwSeating *seating, const float *interleaved, size_t frames);
// At the end of the recording, once. Status: as dw_speed_read.
DwStatus dw_seating_finish(DwSeating *seating, DwMessage *message);

// The rest is asked after a good finish.
DwSeatingReading dw_seating_read(const DwSeating *seating);
// The tick that comes once a turn; false without one.
bool dw_seating_tick(const DwSeating *seating, DwTurnTick *tick);
// Given: vectors at centre_s, in % peak, once and twice a revolution.
// Returned: the weighted flutter, two-sigma, with them taken out [%].
double dw_seating_weighted_without(const DwSeating *seating, const DwVector parts[2]);

#endif
