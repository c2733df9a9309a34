// SPDX-License-Identifier: MIT
#include "synth/events.h"

#include <math.h>

void dw_events_init(DwEvents *events, uint64_t seed, DwStream stream, double per_frame, double dead, double from)
{
    dw_random_init(&events->random, seed, stream);
    events->dead = dead;
    if (per_frame <= 0) {
        events->extra = events->next = INFINITY;
        return;
    }
    events->extra = 1 / per_frame - dead;
    events->next = ceil(from + events->extra * dw_random_wait(&events->random));
}

double dw_events_take(DwEvents *events)
{
    double now = events->next;
    if (isfinite(now))
        events->next = ceil(now + events->dead + events->extra * dw_random_wait(&events->random));
    return now;
}
