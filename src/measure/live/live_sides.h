// SPDX-License-Identifier: MIT
// Balance, separation, polarity and tilt of a pickup while a tone plays, by the
// same synchronous detection as channels and azimuth.
#ifndef DW_MEASURE_LIVE_SIDES_H
#define DW_MEASURE_LIVE_SIDES_H

#include "measure/band/tone_band.h"

typedef enum { DW_LIVE_TILT_NONE, DW_LIVE_TILT_ONE_SIDE, DW_LIVE_TILT_BOTH_SIDES } DwLiveTilt;

// What cannot be told is NAN.
typedef struct {
    bool heard; // a steady tone stands in the channels now
    DwBandKind kind;
    double frequency_hz;
    double level_db[2];                      // of the tone, full-scale sine 0
    double balance_db;                       // right over left; of a lateral or vertical tone
    double separation_db, separation_off_db; // of a one-sided tone: the leak under the other channel's own level
    bool gain_known;                         // else the channels' gains are taken as equal
    double leak_phase_deg;                   // against the driven channel
    DwLiveTilt tilt;
    double rotation_deg, rotation_off_deg; // as azimuth.rotation
    double other_side_s;                   // how long ago the other side was heard last
    int polarity;                          // 1 in phase, −1 opposed, 0 unknown: a lateral tone tells
    double polarity_s;                     // how long ago
} DwLiveSidesReading;

typedef struct DwLiveSides DwLiveSides;

// TONE_HZ NAN: any from 200 Hz.
DwLiveSides *dw_live_sides_new(double rate_hz, double tone_hz);
void dw_live_sides_free(DwLiveSides *sides);
// Takes FRAMES interleaved frames of two channels, all finite.
void dw_live_sides_push(DwLiveSides *sides, const float *interleaved, size_t frames);
// Forgets what was held of each side: the pickup was turned or changed.
void dw_live_sides_forget(DwLiveSides *sides);
// The stream broke, or the tone was lost: what is read next begins after it.
void dw_live_sides_break(DwLiveSides *sides);
DwLiveSidesReading dw_live_sides_read(DwLiveSides *sides);

#endif
