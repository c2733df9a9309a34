// SPDX-License-Identifier: MIT
#include "measure/speed/startup.h"

#include <math.h>
#include <stdbool.h>

static const double RAMP_MOST_S = 0.8, RAMP_STEP_S = 0.02; // of the torque's rise
static const double STEEPER_MOST = 2.5, STEEPER_STEP = 0.02;
static const double CLEARLY = 2;    // times fewer squares that a rise must leave
static const double BENT_S = 5e-4;  // rms off a straight line: what following a low tone makes of one that is straight
static const double DOUBTFUL = 4;   // and by which another still does nearly as well: two standard uncertainties
static const double LEAST_S = 1e-4; // rms: no value is surer

// The first stretch, and a straight line through it.
typedef struct {
    const double *seconds, *speed;
    size_t count;
    double per_s; // speed gained a second
} Stretch;

// Seconds from the first torque until SPEED, where the torque takes RAMP_S to come up and PER_S is gained then.
static double since(double speed, double per_s, double ramp_s)
{
    double bent = per_s * ramp_s / 2; // the speed at the end of the rise
    return speed <= bent ? sqrt(2 * ramp_s * speed / per_s) : speed / per_s + ramp_s / 2;
}

// The beginning that suits all values best, and the sum of squares that is left.
static double squares_of(const Stretch *stretch, double per_s, double ramp_s, double *begins_s)
{
    double sum = 0, squares = 0, n = (double)stretch->count;
    for (size_t i = 0; i < stretch->count; i++) {
        double begins = stretch->seconds[i] - since(stretch->speed[i], per_s, ramp_s) - stretch->seconds[0];
        sum += begins;
        squares += begins * begins;
    }
    *begins_s = stretch->seconds[0] + sum / n;
    return fmax(0, squares - sum * sum / n);
}

// The straight line's slope, time as a line in the speed.
static double slope_of(const Stretch *stretch)
{
    double n = (double)stretch->count, t = 0, s = 0, ts = 0, ss = 0;
    for (size_t i = 0; i < stretch->count; i++) {
        double time = stretch->seconds[i] - stretch->seconds[0], speed = stretch->speed[i];
        t += time;
        s += speed;
        ts += time * speed;
        ss += speed * speed;
    }
    return (n * ss - s * s) / (n * ts - t * s);
}

// The best rise of all tried, the least squares and the range of beginnings that do nearly as well as LEAST.
typedef struct {
    double least, begins_s, earliest_s, latest_s;
} Search;

static void search(const Stretch *stretch, double within, Search *found)
{
    for (double ramp = RAMP_STEP_S; ramp <= RAMP_MOST_S; ramp += RAMP_STEP_S)
        for (double steeper = 1; steeper <= STEEPER_MOST; steeper += STEEPER_STEP) {
            double begins, squares = squares_of(stretch, steeper * stretch->per_s, ramp, &begins);
            if (squares < found->least) {
                found->least = squares;
                found->begins_s = begins;
            }
            if (squares <= within) {
                found->earliest_s = fmin(found->earliest_s, begins);
                found->latest_s = fmax(found->latest_s, begins);
            }
        }
}

DwBeginning dw_startup_beginning(const double *seconds, const double *speed, size_t count)
{
    Stretch stretch = {seconds, speed, count, 0};
    stretch.per_s = slope_of(&stretch);
    double line, straight = squares_of(&stretch, stretch.per_s, 0, &line), n = (double)count;
    Search best = {INFINITY, line, INFINITY, -INFINITY}, range = best;
    search(&stretch, -1, &best);
    double variance = fmax(LEAST_S * LEAST_S, best.least / fmax(1, n - 3));
    bool rises = n > 6 && straight > n * BENT_S * BENT_S && straight > CLEARLY * best.least;
    DwBeginning found = {line,
                         2 * sqrt(straight / fmax(1, n - 2) / n),
                         line,
                         stretch.per_s,
                         sqrt((rises ? best.least : straight) / fmax(1, n - (rises ? 3 : 2))),
                         rises};
    if (!rises)
        return found;
    range.earliest_s = range.latest_s = found.begins_s = best.begins_s;
    search(&stretch, best.least + DOUBTFUL * variance, &range);
    found.doubt_s = (range.latest_s - range.earliest_s) / 2;
    return found;
}
