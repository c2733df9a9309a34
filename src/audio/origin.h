// SPDX-License-Identifier: MIT
#ifndef DW_AUDIO_ORIGIN_H
#define DW_AUDIO_ORIGIN_H

#include <stdbool.h>

// Where live samples come from, and what was done to them on the way.
typedef struct {
    char device[256]; // what a person calls it
    double rate_hz;   // the device's own
    unsigned channels;
    unsigned bits;  // of its samples; 0: not told
    double gain_db; // by which the sound server multiplies them, the channel it changes most; 0: not touched; NAN: not
                    // told
    double uneven_db;  // between the channel it raises most and the one it raises least; 0: alike
    bool is_muted;     // there
    bool is_resampled; // what is delivered has another rate than the device
    bool is_unsure; // the server runs all devices at a rate of its own choice: it was asked for the device's, and does
                    // not tell
} DwSourceOrigin;

#endif
