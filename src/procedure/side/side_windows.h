// SPDX-License-Identifier: MIT
// Stretches of one recording, each heard by whoever measures it, in one pass.
#ifndef DW_PROCEDURE_SIDE_WINDOWS_H
#define DW_PROCEDURE_SIDE_WINDOWS_H

#include "measure/side/side_align.h"
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
    bool raw; // as recorded, whatever the wiring
    bool begun, ended;
} DwSideWindow;

// Start it with {0}; `dw_side_windows_clear` frees what it holds.
typedef struct {
    DwSideWindow *items;
    size_t count, room;
    // How the side's channels come out. Listeners hear the record's own channels: swapped
    // ones are swapped back, a reversed one is turned over, and where only one is there,
    // or both carry the same, they hear one. Known before anything is played.
    DwSideWiring wiring;
    double gain_db; // right over left where one is far weaker: listeners hear them alike
} DwSideWindows;

// Asks for the seconds FROM_S to TO_S of the recording, to be handed to LISTENER with USER.
void dw_side_windows_add(DwSideWindows *windows, const DwSideListener *listener, void *user, double from_s,
                         double to_s);
// The same, heard as recorded: by who looks for faults of the wiring.
void dw_side_windows_add_raw(DwSideWindows *windows, const DwSideListener *listener, void *user, double from_s,
                             double to_s);
// How many channels of a recording of CHANNELS a listener hears that is not raw.
unsigned dw_side_windows_channels(const DwSideWindows *windows, unsigned channels);
void dw_side_windows_clear(DwSideWindows *windows);
// Reads the recording at PATH once and hands each stretch to its listener.
DwStatus dw_side_windows_play(DwSideWindows *windows, const char *path, const DwInputs *inputs, DwMessage *message);

#endif
