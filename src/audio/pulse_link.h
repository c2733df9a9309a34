// SPDX-License-Identifier: MIT
// A connection to the sound server, run by whoever uses it: no thread of its own. Of pulse only.
#ifndef DW_AUDIO_PULSE_LINK_H
#define DW_AUDIO_PULSE_LINK_H

#include <pulse/pulseaudio.h>
#include <stdbool.h>

typedef struct {
    pa_mainloop *loop;
    pa_context *context;
} DwPulseLink;

// Monotonic time [s].
double dw_pulse_now(void);
// Connects within two seconds; never starts a server. Returned: false when none answers.
bool dw_pulse_connect(DwPulseLink *link);
// Whether there is a server, though it did not answer dw_pulse_connect() or dw_pulse_finish().
bool dw_pulse_is_silent(const DwPulseLink *link);
void dw_pulse_disconnect(DwPulseLink *link);
// Lets what has come be dealt with, waiting for it at most WAIT_S. Returned: false when the connection is lost.
bool dw_pulse_turn(DwPulseLink *link, double wait_s);
// Waits for OPERATION, at most two seconds, and lets it go. Returned: whether it was done.
bool dw_pulse_finish(DwPulseLink *link, pa_operation *operation);

#endif
