// SPDX-License-Identifier: MIT
// What comes in at every input of the sound server, before one is chosen: one connection
// for all of them, however often it is asked. Of one thread at a time.
#ifndef DW_AUDIO_INPUT_LEVELS_H
#define DW_AUDIO_INPUT_LEVELS_H

#include <stdbool.h>
#include <stddef.h>

// Inputs beyond so many are listed, but not listened to.
enum { DW_INPUT_LEVELS_MOST = 16 };
// How often an input tells its highest peak [1/s].
enum { DW_INPUT_LEVELS_RATE = 25 };

typedef struct DwInputLevels DwInputLevels;

// What has come from an input since the last turn.
typedef struct {
    const char *name; // as of DwLiveInput
    const float *peaks;
    size_t count;
} DwInputPeaks;

// Connects to the sound server. Returned: NULL when none answers. The caller frees it
// with dw_input_levels_close().
DwInputLevels *dw_input_levels_open(void);
void dw_input_levels_close(DwInputLevels *levels);
// Deals with what has come, for WAIT_S at least; begins to listen to what was plugged in
// and lets go of what went. Returned: false when the server went away.
bool dw_input_levels_turn(DwInputLevels *levels, double wait_s);
// The inputs that are listened to. Valid until the next turn.
size_t dw_input_levels_count(const DwInputLevels *levels);
DwInputPeaks dw_input_levels_at(const DwInputLevels *levels, size_t index);

#endif
