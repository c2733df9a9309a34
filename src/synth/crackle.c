// SPDX-License-Identifier: MIT
#include "synth/crackle.h"

#include <math.h>

#define DECAY_S 0.3e-3  // to 1/e, of the order of a cartridge's own ringing; our choice
#define SWING_HZ 4000.0 // the ringing itself; our choice
#define WEAK_SIDE 0.3   // a tick is at least this strong in its weaker side; our choice

void dw_crackle_init(DwCrackle *crackle, uint64_t seed, DwStream times, DwStream shapes, double rate_hz,
                     const DwCrackleRange *range)
{
    *crackle = (DwCrackle){
        .rate_hz = rate_hz, .end = range->to, .peak = range->peak, .spread_db = range->spread_db, .start = -INFINITY};
    dw_random_init(&crackle->shapes, seed, shapes);
    dw_events_init(&crackle->events, seed, times, range->per_second / rate_hz, ceil(DW_CRACKLE_TICK_S * rate_hz),
                   range->from);
}

static void start_tick(DwCrackle *crackle)
{
    DwRandom *shapes = &crackle->shapes;
    crackle->start = dw_events_take(&crackle->events);
    double peak = crackle->peak * pow(10, -dw_random_between(shapes, 0, crackle->spread_db) / 20);
    double strong = dw_random_between(shapes, -1, 1) < 0 ? -peak : peak;
    double weak = strong * dw_random_between(shapes, WEAK_SIDE, 1);
    double turned = dw_random_between(shapes, -1, 1) < 0 ? -1 : 1;
    int louder = dw_random_between(shapes, -1, 1) < 0;
    crackle->side[louder] = strong;
    crackle->side[!louder] = weak * turned;
}

void dw_crackle_add(DwCrackle *crackle, double frame, double sides[2])
{
    if (frame >= crackle->events.next && frame < crackle->end)
        start_tick(crackle);
    double since = (frame - crackle->start) / crackle->rate_hz;
    if (since >= DW_CRACKLE_TICK_S)
        return;
    double swing_hz = fmin(SWING_HZ, crackle->rate_hz / 8);
    double shape = exp(-since / DECAY_S) * cos(2 * M_PI * swing_hz * since);
    sides[0] += crackle->side[0] * shape;
    sides[1] += crackle->side[1] * shape;
}
