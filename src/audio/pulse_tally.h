// SPDX-License-Identifier: MIT
// The sound server's own count of what a device has given, asked many times a second: neither this
// program's delays nor those on the way are in it. Of pulse only.
#ifndef DW_AUDIO_PULSE_TALLY_H
#define DW_AUDIO_PULSE_TALLY_H

#include "audio/source.h"

#include <pulse/pulseaudio.h>

typedef struct {
    pa_operation *question; // on its way; or NULL
    double asked_at;
    DwSourceTally last; // all zero before the first answer
} DwPulseTally;

// Asks for the count of STREAM, which is being recorded, without waiting for the answer. It
// comes with the turns of the connection.
void dw_pulse_tally_ask(DwPulseTally *tally, pa_stream *stream);
// Lets go what is on its way. Before the stream is.
void dw_pulse_tally_clear(DwPulseTally *tally);

#endif
