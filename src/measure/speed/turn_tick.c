// SPDX-License-Identifier: MIT
#include "measure/speed/turn_tick.h"

#include "base/memory.h"
#include "measure/tone/jolt.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static const double SIGMAS = 8;      // over the usual roughness: as the mask's ticks
static const double APART_S = 0.02;  // what is nearer than this is one tick
static const double REACH_S = 0.004; // of a row's ticks about its line
static const double LEAST_HEARD = 0.6;
enum { LEAST_TICKS = 4, FIT_PASSES = 3 };

typedef struct {
    double *seconds;
    size_t count, room;
} Events;

static void add_event(Events *events, double seconds)
{
    if (events->count == events->room) {
        events->room = events->room * 2 + 64;
        events->seconds = dw_memory_resize(events->seconds, events->room, sizeof *events->seconds);
    }
    events->seconds[events->count++] = seconds;
}

// Every jolt of amplitude or frequency, at the middle of what it shakes.
static Events list_events(const DwToneRun *run)
{
    Events events = {0};
    double amplitude = fmax(dw_jolt_roughness(run->amplitude, NULL, run->count), 1e-12);
    double frequency = fmax(dw_jolt_roughness(run->deviation_hz, NULL, run->count), 1e-9 * run->centre_hz);
    size_t apart = (size_t)ceil(APART_S * run->rate_hz), quiet = apart;
    double weight = 0, moment = 0;
    for (size_t n = 1; n + 1 < run->count; n++) {
        double jolt = dw_jolt_at(run->amplitude + n) / amplitude;
        double jump = dw_jolt_at(run->deviation_hz + n) / frequency;
        double loud = jolt * jolt + jump * jump;
        if (loud > SIGMAS * SIGMAS) {
            weight += loud;
            // A phase difference stands half a value before the amplitude.
            moment += jolt * jolt * (double)n + jump * jump * ((double)n - 0.5);
            quiet = 0;
        } else if (++quiet == apart && weight > 0) {
            add_event(&events, run->start_s + moment / weight / run->rate_hz);
            weight = moment = 0;
        }
    }
    return events;
}

// How many turns have an event within REACH_S of PHASE (turns) at RATE_HZ.
static size_t count_row(const Events *events, double rate_hz, double phase)
{
    size_t heard = 0;
    double last = -INFINITY;
    for (size_t i = 0; i < events->count; i++) {
        double turns = events->seconds[i] * rate_hz - phase, whole = round(turns);
        if (fabs(turns - whole) <= REACH_S * rate_hz && whole != last) {
            heard++;
            last = whole;
        }
    }
    return heard;
}

// What no row at RATE_HZ is fuller than: events by phase, in cells as wide as a row, two of them next to each other.
static size_t row_at_most(const Events *events, double rate_hz)
{
    enum { CELLS_MOST = 256 };
    uint32_t cells[CELLS_MOST] = {0};
    double wide = 2 * REACH_S * rate_hz;
    size_t count = wide * CELLS_MOST > 1 ? (size_t)(1 / wide) : CELLS_MOST, most = 0;
    if (count < 2)
        return events->count;
    for (size_t i = 0; i < events->count; i++) {
        double turns = events->seconds[i] * rate_hz, phase = turns - (double)(int64_t)turns;
        size_t cell = (size_t)(phase * (double)count);
        cells[cell < count ? cell : count - 1]++;
    }
    for (size_t i = 0; i < count; i++) {
        size_t both = cells[i] + cells[(i + 1) % count];
        most = both > most ? both : most;
    }
    return most;
}

// The fullest row of LEAST and more over all rates within the share, and how full the best row
// apart from it is: ticks of several scratches must not be taken for one another.
static size_t find_row(const Events *events, double rate_hz, double within, double span_s, size_t least,
                       DwTurnTick *tick, size_t *rival)
{
    // So fine that a row is not missed for a rate between two tried.
    double step = 0.5 * REACH_S / span_s;
    long steps = lround(ceil(within / step));
    size_t best = 0;
    double best_phase = 0;
    for (long k = -steps; k <= steps; k++) {
        double rate = rate_hz * (1 + (double)k * step);
        size_t at_most = row_at_most(events, rate);
        if (at_most < least || at_most <= best)
            continue;
        for (size_t i = 0; i < events->count; i++) { // each event in turn as the row's first guess
            size_t heard = count_row(events, rate, events->seconds[i] * rate);
            if (heard > best) {
                best = heard;
                tick->rate_hz = rate;
                best_phase = events->seconds[i] * rate;
            }
        }
    }
    tick->first_s = best ? best_phase / tick->rate_hz : NAN;
    *rival = 0;
    for (size_t i = 0; best && i < events->count; i++) {
        double phase = events->seconds[i] * tick->rate_hz, off = remainder(phase - best_phase, 1);
        size_t heard = fabs(off) > 3 * REACH_S * tick->rate_hz ? count_row(events, tick->rate_hz, phase) : 0;
        *rival = heard > *rival ? heard : *rival;
    }
    return best;
}

// A straight line through the times of the row's ticks against their turns.
static void fit_row(const Events *events, DwTurnTick *tick)
{
    double n = 0, sum_k = 0, sum_t = 0, sum_kk = 0, sum_kt = 0, origin = tick->first_s;
    for (size_t i = 0; i < events->count; i++) {
        double since = events->seconds[i] - origin, k = round(since * tick->rate_hz);
        if (fabs(since * tick->rate_hz - k) > REACH_S * tick->rate_hz)
            continue;
        n++;
        sum_k += k;
        sum_t += since;
        sum_kk += k * k;
        sum_kt += k * since;
    }
    double slope = (n * sum_kt - sum_k * sum_t) / (n * sum_kk - sum_k * sum_k), level = (sum_t - slope * sum_k) / n;
    double squares = 0, first = INFINITY;
    for (size_t i = 0; i < events->count; i++) {
        double since = events->seconds[i] - origin, k = round(since * tick->rate_hz);
        if (fabs(since * tick->rate_hz - k) > REACH_S * tick->rate_hz)
            continue;
        double left = since - level - slope * k;
        squares += left * left;
        first = fmin(first, k);
    }
    tick->rate_hz = 1 / slope;
    tick->first_s = origin + level + slope * first;
    tick->heard = (size_t)n;
    tick->off_s = sqrt(squares / fmax(1, n - 2) / n);
}

bool dw_turn_tick_find(const DwToneRun *run, double rate_hz, double within, DwTurnTick *tick)
{
    enum { EVENTS_MOST = 1500 }; // more than these are crackle, not ticks
    *tick = (DwTurnTick){.rate_hz = rate_hz};
    Events events = list_events(run);
    double span_s = (double)run->count / run->rate_hz;
    tick->turns = (size_t)(span_s * rate_hz);
    size_t rival = 0, heard = 0, least = (size_t)fmax(LEAST_TICKS, ceil(LEAST_HEARD * (double)tick->turns));
    if (events.count <= EVENTS_MOST && events.count >= least)
        heard = find_row(&events, rate_hz, within, span_s, least, tick, &rival);
    bool found = heard >= least && heard >= 2 * rival;
    for (int pass = 0; found && pass < FIT_PASSES; pass++)
        fit_row(&events, tick);
    free(events.seconds);
    return found;
}
