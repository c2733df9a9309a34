// SPDX-License-Identifier: MIT
#include "audio/pulse_link.h"

#include <pulse/rtclock.h>

// A server that does not answer this long will not.
static const double ANSWER_S = 2, GLANCE_S = 0.05;

double dw_pulse_now(void)
{
    return 1e-6 * (double)pa_rtclock_now();
}

bool dw_pulse_turn(DwPulseLink *link, double wait_s)
{
    if (pa_mainloop_prepare(link->loop, (int)(wait_s * 1e6)) < 0 || pa_mainloop_poll(link->loop) < 0 ||
        pa_mainloop_dispatch(link->loop) < 0)
        return false;
    return PA_CONTEXT_IS_GOOD(pa_context_get_state(link->context));
}

bool dw_pulse_connect(DwPulseLink *link)
{
    *link = (DwPulseLink){pa_mainloop_new(), NULL};
    if (!link->loop)
        return false;
    link->context = pa_context_new(pa_mainloop_get_api(link->loop), "Deckwright");
    if (!link->context || pa_context_connect(link->context, NULL, PA_CONTEXT_NOAUTOSPAWN, NULL) < 0)
        return false;
    double until = dw_pulse_now() + ANSWER_S;
    while (pa_context_get_state(link->context) != PA_CONTEXT_READY)
        if (dw_pulse_now() > until || !dw_pulse_turn(link, GLANCE_S))
            return false;
    return true;
}

bool dw_pulse_is_silent(const DwPulseLink *link)
{
    return link->context && PA_CONTEXT_IS_GOOD(pa_context_get_state(link->context));
}

void dw_pulse_disconnect(DwPulseLink *link)
{
    if (link->context) {
        pa_context_disconnect(link->context);
        pa_context_unref(link->context);
    }
    if (link->loop)
        pa_mainloop_free(link->loop);
    *link = (DwPulseLink){0};
}

bool dw_pulse_finish(DwPulseLink *link, pa_operation *operation)
{
    if (!operation)
        return false;
    double until = dw_pulse_now() + ANSWER_S;
    while (pa_operation_get_state(operation) == PA_OPERATION_RUNNING)
        if (dw_pulse_now() > until || !dw_pulse_turn(link, GLANCE_S))
            break;
    bool is_done = pa_operation_get_state(operation) == PA_OPERATION_DONE;
    if (!is_done)
        pa_operation_cancel(operation);
    pa_operation_unref(operation);
    return is_done;
}
