// SPDX-License-Identifier: MIT
// Live inputs: what sound is coming in now, as a source. Reads return what has
// come so far, at least one frame, and wait for it; samples that the device
// dropped are told by DW_SOURCE_GAP.
#ifndef DW_AUDIO_LIVE_H
#define DW_AUDIO_LIVE_H

#include "audio/source.h"

typedef struct {
    char *name;      // what dw_live_open() takes: the same after a restart, whatever else is plugged in
    char *label;     // what a list shows, no two alike
    bool is_monitor; // what the computer plays itself
} DwLiveInput;

typedef struct {
    DwLiveInput *inputs;
    size_t count;
    bool server_is_silent; // a sound server runs but does not answer: what it has is not listed
} DwLiveList;

// The inputs there are now: the test tone, which is always there, then devices,
// then what the computer plays. The caller frees what LIST holds with dw_live_list_clear().
DwStatus dw_live_list(DwLiveList *list, DwMessage *message);
void dw_live_list_clear(DwLiveList *list);

// Opens the input called NAME: one from the list by its name or its label (a name
// that begins with "device:" is always a device), "tone" (3150 Hz at half of full
// scale, 48 kHz), or "file:PATH" (a recording played at its own speed). RATE_HZ is
// asked of a device or the tone; 0 leaves it to them, and a recording has its own. The caller frees *SOURCE with
// dw_source_close().
DwStatus dw_live_open(const char *name, double rate_hz, DwSource **source, DwMessage *message);

#endif
