// SPDX-License-Identifier: MIT
#include "measure/band/noise_scratch.h"

#include <math.h>

static const double WITHIN = 0.015;   // of a turn, either way
static const double SPEED_OFF = 0.01; // of the time of a turn
static const double SPEED_STEP = 0.001;
static const double MOST_TURNS = 0.7;
enum { LEAST_HITS = 4 };

// The ticks that keep step with the one at START, one a turn of TURN_S.
static DwScratch follow(const double *tick_s, size_t count, size_t start, double turn_s)
{
    DwScratch scratch = {.hits = 1, .turns = 1, .first_s = tick_s[start], .turn_s = turn_s};
    for (size_t i = start + 1; i < count; i++) {
        double turns = (tick_s[i] - tick_s[start]) / turn_s, whole = round(turns);
        if (fabs(turns - whole) > WITHIN || whole < (double)scratch.turns)
            continue;
        scratch.hits++;
        scratch.turns = (size_t)whole + 1;
    }
    return scratch;
}

DwScratch dw_scratch_find(const double *tick_s, size_t count, double turn_s)
{
    DwScratch best = {0};
    if (!(turn_s > 0))
        return best;
    for (double off = -SPEED_OFF; off < SPEED_OFF + SPEED_STEP / 2; off += SPEED_STEP)
        for (size_t start = 0; start < count; start++) {
            DwScratch here = follow(tick_s, count, start, turn_s * (1 + off));
            if (here.hits >= LEAST_HITS && (double)here.hits >= MOST_TURNS * (double)here.turns &&
                here.hits > best.hits)
                best = here;
        }
    return best;
}
