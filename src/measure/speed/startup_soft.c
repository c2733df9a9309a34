// SPDX-License-Identifier: MIT
// When a platter began to move whose torque came up so softly that its first movement is not heard.
#include "measure/speed/startup.h"

#include "base/memory.h"
#include "dsp/least_squares.h"

#include <math.h>
#include <stdlib.h>

enum { POWERS = 13, RISES = 20, LAWS = POWERS + RISES, ROUNDS = 3, SHARED = 4 }; // values that share samples

static const double POWER_LEAST = 1, POWER_STEP = 0.25; // of the time, by which the speed grows
// What would be gained at the full torque in the time that it takes to come up, shares of the final speed.
static const double RISE_LEAST = 0.01, RISE_STEP = 1.22;
// Of the bend beyond the power, its square's and its cube's: expected by exponentials, ramps and raised cosines.
static const double SQUARE = 0.25, CUBE = 0.1, SQUARE_OFF = 0.35, CUBE_OFF = 0.25, LATE_OFF = 0.5;
// Beforehand: a torque that is there at once is the commonest; the powers beyond it and the rises share what is left.
static const double AT_ONCE = 0.3;
static const double NOT_UNLIKELY = 9;                    // misfit beyond the best one's
static const double LATE_SHARE = 0.15;                   // of what is reckoned back over a start that was missed
static const double SURE_S = 1e-4, FIRST_GUESS_S = 1e-3; // rms: no value is surer
static const double WIDE_S = 1e3;                        // of what nothing is known beforehand

enum { BEGIN, LENGTH, SQUARED, CUBED, UNKNOWNS };

// What time is in proportion to, but for the bend, by one of the LAWS.
static double stretched(size_t law, double speed)
{
    if (law < POWERS)
        return pow(speed, 1 / (POWER_LEAST + (double)law * POWER_STEP));
    double rise = RISE_LEAST * pow(RISE_STEP, (double)(law - POWERS));
    return speed < rise / 2 ? sqrt(2 * rise * speed) : speed + rise / 2;
}

// Seconds at which ROOT, the speed as a law stretches it, is reached.
static double reached_at(const double *unknowns, double root, const void *user)
{
    (void)user;
    return unknowns[BEGIN] + unknowns[LENGTH] * root * (1 + unknowns[SQUARED] * root + unknowns[CUBED] * root * root);
}

// One law tried: when it begins, how surely (standard), and how badly it fits.
typedef struct {
    double begins_s, off_s, rest_s, misfit;
} Try;

static Try try_law(DwLeastSquares *problem, const double *roots)
{
    const double *seconds = problem->y;
    size_t last = problem->count - 1;
    double bends = SQUARE * (roots[last] + roots[0]);
    double length = (seconds[last] - seconds[0]) / (roots[last] - roots[0]) / (1 + bends);
    double begin = seconds[0] - length * roots[0];
    double answer[UNKNOWNS] = {begin, length, SQUARE, CUBE}, off[UNKNOWNS];
    Try tried = {NAN, NAN, INFINITY, INFINITY};
    problem->x = roots;
    problem->expected[BEGIN] = begin;
    problem->expected[LENGTH] = length;
    if (!dw_least_squares(problem, answer, off, &tried.rest_s))
        return tried;
    double squared = (answer[SQUARED] - SQUARE) / problem->expected_deviation[SQUARED],
           cubed = (answer[CUBED] - CUBE) / problem->expected_deviation[CUBED];
    tried.begins_s = answer[BEGIN];
    tried.off_s = off[BEGIN] / 1.96;
    tried.misfit =
        (double)problem->count * pow(tried.rest_s / problem->deviation, 2) + squared * squared + cubed * cubed;
    return tried;
}

static double beforehand(size_t law)
{
    if (law == 0)
        return AT_ONCE;
    return (1 - AT_ONCE) / 2 / (law < POWERS ? POWERS - 1 : RISES);
}

// The mean of all laws, each by how likely it is.
static DwSoftBeginning weigh(const Try *tries)
{
    double least = INFINITY, rest = INFINITY, weights = 0, mean = 0, squares = 0;
    DwSoftBeginning found = {NAN, NAN, INFINITY, -INFINITY, NAN};
    for (size_t law = 0; law < LAWS; law++) {
        least = fmin(least, tries[law].misfit);
        rest = fmin(rest, tries[law].rest_s);
    }
    for (size_t law = 0; law < LAWS; law++) {
        double weight = isfinite(tries[law].misfit) ? exp((least - tries[law].misfit) / 2) : 0;
        if (weight <= 0)
            continue;
        if (tries[law].misfit - least <= NOT_UNLIKELY) {
            found.earliest_s = fmin(found.earliest_s, tries[law].begins_s - 2 * tries[law].off_s);
            found.latest_s = fmax(found.latest_s, tries[law].begins_s + 2 * tries[law].off_s);
        }
        weight *= beforehand(law);
        weights += weight;
        mean += weight * tries[law].begins_s;
        squares += weight * (tries[law].begins_s * tries[law].begins_s + tries[law].off_s * tries[law].off_s);
    }
    found.begins_s = mean /= weights;
    found.doubt_s = 2 * sqrt(fmax(0, squares / weights - mean * mean));
    found.rest_s = rest;
    return found;
}

bool dw_startup_soft_beginning(const double *seconds, const double *speed, size_t count, bool is_late,
                               DwSoftBeginning *found)
{
    if (count <= UNKNOWNS || !(speed[0] > 0) || !(speed[count - 1] > speed[0]))
        return false;
    double *roots = dw_memory_new(LAWS * count, sizeof *roots), *since = dw_memory_new(count, sizeof *since);
    for (size_t i = 0; i < count; i++) {
        since[i] = seconds[i] - seconds[0];
        for (size_t law = 0; law < LAWS; law++)
            roots[law * count + i] = stretched(law, fmax(speed[i], 0));
    }
    DwLeastSquares problem = {
        .law = reached_at,
        .y = since,
        .count = count,
        .unknowns = UNKNOWNS,
        .expected = {0, 0, SQUARE, CUBE},
        .expected_deviation = {WIDE_S, WIDE_S, is_late ? LATE_OFF : SQUARE_OFF, is_late ? LATE_OFF : CUBE_OFF}};
    Try tries[LAWS];
    double sure_s = FIRST_GUESS_S;
    for (size_t round = 0; round < ROUNDS; round++) {
        problem.deviation = sqrt(SHARED) * sure_s;
        sure_s = INFINITY;
        for (size_t law = 0; law < LAWS; law++) {
            tries[law] = try_law(&problem, roots + law * count);
            sure_s = fmin(sure_s, tries[law].rest_s);
        }
        sure_s = fmax(sure_s, SURE_S);
    }
    free(roots);
    bool fits = isfinite(sure_s);
    if (fits) {
        *found = weigh(tries);
        if (is_late)
            found->doubt_s = hypot(found->doubt_s, LATE_SHARE * found->begins_s);
        found->begins_s += seconds[0];
        found->earliest_s += seconds[0];
        found->latest_s += seconds[0];
    }
    free(since);
    return fits;
}
