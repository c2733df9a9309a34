// SPDX-License-Identifier: MIT
// The description of a deck and a recording, read from the inputs and checked.
#ifndef DW_SYNTH_SETTINGS_H
#define DW_SYNTH_SETTINGS_H

#include "base/inputs.h"
#include "synth/course.h"

#include <stdbool.h>
#include <stdint.h>

// Which channel something is true of.
typedef enum {
    DW_SIDE_NONE = 0,
    DW_SIDE_LEFT = 1,
    DW_SIDE_RIGHT = 2,
    DW_SIDE_BOTH = 3,
} DwSide;

// How the cartridge's coils are led to the two channels.
typedef enum {
    DW_WIRING_CORRECT,
    DW_WIRING_SWAPPED,
    DW_WIRING_STRAPPED, // both together on both
} DwWiring;

typedef struct {
    double tone_hz;
    double length_s;
} DwBand;

typedef struct {
    DwBand *bands;
    size_t count;
} DwBands;

typedef struct {
    uint64_t seed;
    double rate_hz;  // as the file says
    double clock_hz; // what the interface's clock really ran at
    int channels;
    double rotation_hz; // true mean
    double lead_silence_s, lead_crackle_s, announcement_s;
    DwBands before, after;
    DwBand tone;
    bool music;       // in the tone's place
    double amplitude; // peak of the tone, 1 is full scale
    DwSide side;
    double leak;        // of the band into the other side, ratio
    double noise_rms;   // in each channel
    DwCourse course;    // all but its lead, which hangs on the programme
    double flutter_rms; // ratio
    double hum_hz, hum_peak;
    double rumble_rms, rumble_vertical_power; // share
    double am_hz, am_depth;                   // ratio
    double ticks_per_s, tick_peak;
    double dropouts_per_s, dropout_s;
    DwSide dead, reversed;
    DwWiring wiring;
    double clip; // amplitude
} DwSettings;

// Reads and checks. What cannot be played is DW_BAD_INPUT with one line.
DwStatus dw_settings_read(const DwInputs *inputs, DwSettings *settings, DwMessage *message);
void dw_settings_clear(DwSettings *settings);

#endif
