// SPDX-License-Identifier: MIT
// The one monitor of inputs of a run: which there are, how loud each is before it is started,
// and which one was knocked. A thread listens as long as somebody looks; who looks never waits
// for a device. Every function but new and free may be called from any thread.
#ifndef DW_PROCEDURE_LIVE_INPUTS_H
#define DW_PROCEDURE_LIVE_INPUTS_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    char name[320], label[400]; // as of DwLiveInput
    bool is_monitor;            // what the computer plays
    bool is_device;             // false: the test tone
    double level_db;            // highest peak of the last 0.4 s; −INFINITY for silence, NAN when not known
    bool has_moved;             // it alone was knocked within the last 2 s
} DwLiveInputLook;

typedef struct {
    DwLiveInputLook *inputs; // the test tone, devices, what the computer plays
    size_t count;
    bool server_is_silent; // as of DwLiveList
} DwLiveInputsLook;

typedef struct DwLiveInputs DwLiveInputs;

// A monitor at rest. The caller frees it with dw_live_inputs_free().
DwLiveInputs *dw_live_inputs_new(void);
// No one may be looking any more.
void dw_live_inputs_free(DwLiveInputs *inputs);
// What a look waits for after a rest, in which nothing is listed.
typedef enum {
    DW_LIVE_LOOK_AT_ONCE, // a moment, the first time up to 3 s; then what was listed before, or nothing
    DW_LIVE_LOOK_LISTED,  // the list, as long as a server that does not answer takes
    DW_LIVE_LOOK_LEVELS,  // their levels, too, at most a second more
} DwLiveLookFor;

// The inputs now. The caller clears LOOK with dw_live_inputs_look_clear(), after a failure too.
DwStatus dw_live_inputs_look(DwLiveInputs *inputs, DwLiveLookFor what, DwLiveInputsLook *look, DwMessage *message);
void dw_live_inputs_look_clear(DwLiveInputsLook *look);
// LOOK as JSON: {"inputs":[{"name", "label", "monitor", "level_db", "moved"}]}. The caller frees it with free().
char *dw_live_inputs_json(const DwLiveInputsLook *look);

#endif
