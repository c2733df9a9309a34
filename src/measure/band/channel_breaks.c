// SPDX-License-Identifier: MIT
#include "measure/band/channel_breaks.h"

#include <math.h>

static const double BREAK_DB = 12; // of a channel that comes and goes
static const double OWN_DB = 15;   // under the other, a channel carries but its leak, which noise moves

void dw_channel_breaks_forget(DwChannelBreaks *breaks)
{
    breaks->most_db = breaks->before_db[0] = breaks->before_db[1] = -INFINITY;
    breaks->fallen = false;
}

void dw_channel_breaks_push(DwChannelBreaks *breaks, double here_db, double other_db)
{
    bool own = here_db > other_db - OWN_DB;
    if (breaks->fallen && own && here_db > breaks->most_db - BREAK_DB / 4) {
        breaks->returns++;
        breaks->fallen = false;
    } else if (here_db < breaks->most_db - BREAK_DB)
        breaks->fallen = true;
    double held_db = fmin(here_db, fmin(breaks->before_db[0], breaks->before_db[1]));
    if (own)
        breaks->most_db = fmax(breaks->most_db, held_db);
    breaks->before_db[0] = breaks->before_db[1];
    breaks->before_db[1] = here_db;
}
