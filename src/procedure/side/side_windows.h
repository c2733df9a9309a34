// SPDX-License-Identifier: MIT
// Stretches of one recording, each heard by whoever measures it, in one pass.
#ifndef DW_PROCEDURE_SIDE_WINDOWS_H
#define DW_PROCEDURE_SIDE_WINDOWS_H

#include "procedure/input/recording.h"

// What a measurement does with a stretch. Stretches of one USER must not overlap;
// they come in order of time.
typedef struct {
    void (*begin)(void *user, double rate_hz, unsigned channels, double start_s); // NULL: nothing to do
    void (*push)(void *user, const float *interleaved, size_t frames);
    void (*end)(void *user); // NULL: nothing to do
} DwSideListener;

typedef struct {
    const DwSideListener *listener;
    void *user;
    double from_s, to_s;
    bool begun, ended;
} DwSideWindow;

// Start it with {0}; `dw_side_windows_clear` frees what it holds.
typedef struct {
    DwSideWindow *items;
    size_t count, room;
} DwSideWindows;

void dw_side_windows_add(DwSideWindows *windows, const DwSideListener *listener, void *user, double from_s,
                         double to_s);
void dw_side_windows_clear(DwSideWindows *windows);
// Reads the recording at PATH once and hands each stretch to its listener.
DwStatus dw_side_windows_play(DwSideWindows *windows, const char *path, const DwInputs *inputs, DwMessage *message);

#endif
