// SPDX-License-Identifier: MIT
// Resonance and Q of an arm on its cartridge, lateral and vertical, from a
// test record's low-frequency sweeps. Feed, then ask: the same object serves a
// file and live capture.
#ifndef DW_MEASURE_LOWSWEEP_H
#define DW_MEASURE_LOWSWEEP_H

#include "base/sheet.h"

typedef enum { DW_LOWSWEEP_ORDER_UNKNOWN, DW_LOWSWEEP_LATERAL_FIRST, DW_LOWSWEEP_VERTICAL_FIRST } DwLowsweepOrder;

typedef struct {
    bool equalised;               // the recording was made behind RIAA replay equalisation
    bool subsonic;                // which falls below 20 Hz (7950 µs)
    bool amplitude_cut;           // the sweep has constant amplitude, not velocity
    double lateral_g, vertical_g; // what moves, referred to the stylus; NAN where it was not stated
    double mass_off_g;            // half-width of the 95 % interval of both
    bool polarity_known;          // no channel is reversed, or that was put right: phase tells the directions apart
    DwLowsweepOrder order;        // stated: tells them apart where that is not known
} DwLowsweepSettings;

typedef enum {
    DW_LOWSWEEP_LATERAL,
    DW_LOWSWEEP_VERTICAL,
    DW_LOWSWEEP_EITHER,   // one channel alone, and nothing says which
    DW_LOWSWEEP_IN_PHASE, // both channels, and nothing says whether one is reversed: lateral if none is, else vertical
    DW_LOWSWEEP_OPPOSITE, // likewise: vertical if none is, else lateral
    DW_LOWSWEEP_DIRECTIONS
} DwLowsweepDirection;

typedef struct DwLowsweep DwLowsweep;

// Copies SETTINGS. The caller frees it with dw_lowsweep_free().
DwLowsweep *dw_lowsweep_new(const DwLowsweepSettings *settings);
void dw_lowsweep_free(DwLowsweep *lowsweep);
// Begins a recording of RATE_HZ (6000 or more) and 1 or 2 CHANNELS, from its second
// START_S on. Lateral and vertical sweeps may stand in one recording or in two.
void dw_lowsweep_begin(DwLowsweep *lowsweep, double rate_hz, unsigned channels, double start_s);
// Says how the sweep of the recording just begun is cut; else the phase of its two channels tells, where the settings
// say that it does or state which comes first, and one channel alone is of either direction.
void dw_lowsweep_direct(DwLowsweep *lowsweep, DwLowsweepDirection direction);
// Takes FRAMES interleaved frames.
void dw_lowsweep_push(DwLowsweep *lowsweep, const float *interleaved, size_t frames);
// Ends a recording.
void dw_lowsweep_end(DwLowsweep *lowsweep);
// Whether a sample was not a number.
bool dw_lowsweep_met_bad_sample(const DwLowsweep *lowsweep);
// Adds readings, curves and remarks. No sweep in either direction, or a sample
// that is not a number, is DW_BAD_INPUT with one line.
DwStatus dw_lowsweep_read(const DwLowsweep *lowsweep, DwSheet *sheet, DwMessage *message);

#endif
