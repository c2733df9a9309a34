// SPDX-License-Identifier: MIT
// Inputs of a sound server that speaks PulseAudio's protocol: PulseAudio itself, or
// PipeWire by pipewire-pulse. A stream is fixed to its device: when that goes, the
// stream ends and is never moved to another one. Within this folder only.
#ifndef DW_AUDIO_PULSE_H
#define DW_AUDIO_PULSE_H

#include "audio/source.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    char *name;      // the server's own, with the device's port and serial in it: the same after a restart
    char *label;     // what a person calls it
    char *place;     // where it is plugged in; "" when the server does not tell
    bool is_monitor; // what the computer plays
} DwPulseInput;

typedef struct {
    DwPulseInput *inputs;
    size_t count;
    bool is_silent; // there is a server, but it does not answer
} DwPulseList;

// Asks the server for its inputs. Returned: false when none answers. The caller
// frees what LIST holds with dw_pulse_list_clear(), after false too.
bool dw_pulse_list(DwPulseList *list);
void dw_pulse_list_clear(DwPulseList *list);

// Opens the input called NAME with its own rate and channels; RATE_HZ > 0 asks the
// server to resample. MESSAGE says only why not, without a name: DW_FAILED when there
// is no server. The caller frees *SOURCE with dw_source_close().
DwStatus dw_pulse_open(const char *name, double rate_hz, DwSource **source, DwMessage *message);

#endif
