// SPDX-License-Identifier: MIT
#include "measure/band/noise_scratch.h"

#include "base/memory.h"
#include "dsp/fit.h"
#include "physics/chance.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static const double WITHIN = 0.015;   // of a turn, either way
static const double SPEED_OFF = 0.01; // of the time of a turn
static const double SPEED_STEP = 0.001;
static const double MOST_TURNS = 0.7;
static const double BY_CHANCE = 0.01; // how probable it may be that ticks at random keep step like that
enum { LEAST_HITS = 4, APART = 3 };   // the speeds that are tried are as many as so many that differ

// The ticks that keep step with the one at START, one a turn of TURN_S; *OFF is the sum of the squares of how far they
// are off it [turns].
static DwScratch follow(const double *tick_s, size_t count, size_t start, double turn_s, double *off)
{
    *off = 0;
    DwScratch scratch = {.hits = 1, .turns = 1, .first_s = tick_s[start], .turn_s = turn_s};
    for (size_t i = start + 1; i < count; i++) {
        double turns = (tick_s[i] - tick_s[start]) / turn_s, whole = round(turns);
        if (fabs(turns - whole) > WITHIN || whole < (double)scratch.turns)
            continue;
        *off += (turns - whole) * (turns - whole);
        scratch.hits++;
        scratch.turns = (size_t)whole + 1;
    }
    return scratch;
}

// Draws a straight line through the times of those ticks, one a turn, that lie WITHIN of a turn of *SCRATCH, over their
// turns: *SCRATCH then has its slope and begins at its foot. Fewer than LEAST_HITS leave it as it is.
static void fit(const double *tick_s, size_t count, double within, DwScratch *scratch)
{
    double *turn = dw_memory_new(count, sizeof *turn), *off_s = dw_memory_new(count, sizeof *off_s);
    size_t hits = 0;
    for (size_t i = 0; i < count; i++) {
        double off = tick_s[i] - scratch->first_s, turns = off / scratch->turn_s, whole = round(turns);
        if (fabs(turns - whole) > within || whole <= (hits ? turn[hits - 1] : -1))
            continue;
        turn[hits] = whole;
        off_s[hits++] = off;
    }
    if (hits >= LEAST_HITS) {
        DwHarmonicFit line = dw_fit_harmonics(turn, off_s, NULL, hits, 1, 0);
        scratch->turn_s = line.slope;
        scratch->first_s += line.level - line.slope * line.centre;
    }
    free(turn);
    free(off_s);
}

// The time of a turn by the hits of SCRATCH: all of them, then those that lie close to the line of these, which a speck
// of dirt that happens to keep step does not.
static double fitted_turn_s(const double *tick_s, size_t count, DwScratch scratch)
{
    static const double nearer[] = {1, 1.0 / 3, 1.0 / 6};
    for (size_t i = 0; i < sizeof nearer / sizeof *nearer; i++)
        fit(tick_s, count, nearer[i] * WITHIN, &scratch);
    return scratch.turn_s;
}

// How probable it is that COUNT ticks at random within LENGTH_S keep step as SCRATCH does, from any of them on.
static double by_chance(const DwScratch *scratch, size_t count, double length_s)
{
    double once = 1 - exp(-(double)count / length_s * 2 * WITHIN * scratch->turn_s);
    return APART * (double)count * dw_chance_hits((unsigned)scratch->hits - 1, (unsigned)scratch->turns - 1, once);
}

DwScratch dw_scratch_find(const double *tick_s, size_t count, double turn_s)
{
    DwScratch best = {0};
    double best_off = INFINITY;
    if (!(turn_s > 0))
        return best;
    for (double speed = -SPEED_OFF; speed < SPEED_OFF + SPEED_STEP / 2; speed += SPEED_STEP)
        for (size_t start = 0; start < count; start++) {
            double off;
            DwScratch here = follow(tick_s, count, start, turn_s * (1 + speed), &off);
            bool steps = here.hits >= LEAST_HITS && (double)here.hits >= MOST_TURNS * (double)here.turns;
            if (!steps || here.hits < best.hits || (here.hits == best.hits && off >= best_off))
                continue;
            best = here;
            best_off = off;
        }
    if (best.hits == 0 || by_chance(&best, count, tick_s[count - 1] - tick_s[0]) > BY_CHANCE)
        return (DwScratch){0};
    best.turn_s = fitted_turn_s(tick_s, count, best);
    return best;
}
