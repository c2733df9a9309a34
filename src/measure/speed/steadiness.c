// SPDX-License-Identifier: MIT
#include "measure/speed/steadiness.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    TURN = 18,           // pieces a turn
    GUARD = 4,           // pieces left out on either side of a step
    LEAST = 3 * TURN,    // of a stretch
    NEAR = 3 * TURN,     // what swings comes back within so many pieces
    STEP = 2 * TURN + 4, // what the comparison of two turns makes of a step, at most
    APART = 4,           // zones nearer than this are one
    KNOCK = 4 * TURN     // what a knock, or a few steps in the room, make of it at most
};

static const double LEAST_PERCENT = 0.04, ALWAYS_PERCENT = 1.5, SIGMAS = 5;
static const double SWING_SHARE = 0.97, SWINGS = 1.3;
static const double SWAYS = 3;         // times what it makes of a turn's mean
static const double SWEEP_PERCENT = 6; // a run that goes one way by this is no deck's fault
static const double STRAIGHT = 0.85;   // of its power is the straight line's
enum { SWEEP_PIECES = 8 };
static const double SAME_TONE = 0.01; // stretches as near to the tone as this are equally near
static const double LEAST_USED = 0.3; // of a piece

typedef struct {
    double *hz; // mean of each piece, gaps bridged
    size_t count;
    double size; // values a piece
} Pieces;

static Pieces pieces_of(const DwToneRun *run, const unsigned char *used, double turn_s)
{
    Pieces pieces = {.size = turn_s * run->rate_hz / TURN};
    pieces.count = (size_t)((double)run->count / pieces.size);
    pieces.hz = dw_memory_new(pieces.count + 1, sizeof *pieces.hz);
    double last = NAN;
    for (size_t i = 0; i < pieces.count; i++) {
        size_t from = (size_t)((double)i * pieces.size), to = (size_t)((double)(i + 1) * pieces.size), kept;
        double mean = dw_statistics_mean_used_narrow(run->deviation_hz + from, used + from, to - from, &kept);
        if (kept && (double)kept >= LEAST_USED * (double)(to - from))
            last = run->centre_hz + mean;
        pieces.hz[i] = last;
    }
    double first = run->centre_hz;
    for (size_t i = pieces.count; i-- > 0;) // what came before the first good piece
        first = pieces.hz[i] = isnan(pieces.hz[i]) ? first : pieces.hz[i];
    return pieces;
}

static double mean_of(const Pieces *pieces, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += pieces->hz[i];
    return to > from ? sum / (double)(to - from) : NAN;
}

// % by which the turn after the boundary before piece I is faster than the turn before it.
static void compare_turns(const Pieces *pieces, float *difference)
{
    for (size_t i = TURN; i + TURN <= pieces->count; i++) {
        double before = mean_of(pieces, i - TURN, i), after = mean_of(pieces, i, i + TURN);
        difference[i] = (float)(100 * (after / before - 1));
    }
}

// The rms within a turn of what is no straight line, the median of all turns, in %.
static double wow_of(const Pieces *pieces)
{
    size_t turns = pieces->count / TURN;
    float *each = dw_memory_new(turns + 1, sizeof *each);
    for (size_t t = 0; t < turns; t++) {
        const double *hz = pieces->hz + t * TURN;
        double mean = mean_of(pieces, t * TURN, (t + 1) * TURN), slope = 0, square = 0, squares = 0;
        for (size_t i = 0; i < TURN; i++) {
            double x = (double)i - (TURN - 1) / 2.0;
            slope += x * (hz[i] - mean);
            square += x * x;
        }
        for (size_t i = 0; i < TURN; i++) {
            double rest = hz[i] - mean - slope / square * ((double)i - (TURN - 1) / 2.0);
            squares += rest * rest;
        }
        each[t] = (float)(100 * sqrt(squares / TURN) / mean);
    }
    double wow = turns ? dw_statistics_quantile(each, turns, 0.5) : 0;
    free(each);
    return wow;
}

static double quantile_of(const float *values, size_t count, double share)
{
    float *sorted = dw_memory_new(count, sizeof *sorted);
    memcpy(sorted, values, count * sizeof *sorted);
    double found = dw_statistics_quantile(sorted, count, share);
    free(sorted);
    return found;
}

// Whether what goes WAY by SIZE at FIRST[AT] comes again on one side of it (STRIDE 1 or -1) after it was gone: within
// NEAR, at least a turn apart, half as far or more. A slide stays away, a step does not come again.
static bool comes_again(const float *first, size_t count, size_t at, float way, float size, int stride)
{
    bool gone = false;
    for (size_t apart = 1; apart <= NEAR; apart++) {
        if (stride < 0 ? at < apart : at + apart >= count)
            return false;
        float there = way * first[stride < 0 ? at - apart : at + apart];
        gone |= there < size / 4;
        if (gone && apart >= TURN && there >= size / 2)
            return true;
    }
    return false;
}

// The size of FIRST[AT], of COUNT, where it goes WAY (1 or -1) and what lies near goes as far the other way, by half or
// more: that swings. A step stands alone, whatever other steps the take has.
static float swing_at(const float *first, size_t count, size_t at, float way)
{
    float size = way * first[at], back = 0;
    size_t from = at > NEAR ? at - NEAR : 0, to = at + NEAR < count ? at + NEAR : count;
    for (size_t i = from; size > 0 && i < to && back < size / 2; i++)
        back = fmaxf(back, -way * first[i]);
    return back >= size / 2 ? fmaxf(0, size) : 0;
}

// The same where it comes again the same way before and after: a pulse of each turn of a belt, seen by turns of the
// platter, goes one way alone.
static float pulse_at(const float *first, size_t count, size_t at, float way)
{
    float size = way * first[at];
    bool comes =
        size > 0 && comes_again(first, count, at, way, size, 1) && comes_again(first, count, at, way, size, -1);
    return comes ? size : 0;
}

// Counts DIFFERENCE from its middle, which is the drift's; returned: how large it may be.
static double limit_of(const Pieces *pieces, float *difference)
{
    size_t count = pieces->count - 2 * TURN + 1;
    float *size = dw_memory_new(count, sizeof *size), *first = difference + TURN;
    double drift = quantile_of(first, count, 0.5);
    for (size_t i = 0; i < count; i++) {
        first[i] -= (float)drift;
        size[i] = fabsf(first[i]);
    }
    double sigma = 1.4826 * quantile_of(size, count, 0.5);
    // What swings goes both ways, what steps or slides one way: the lesser of the two is the wow's.
    double swing[2], pulse = 0;
    for (int way = 0; way < 2; way++) {
        for (size_t i = 0; i < count; i++)
            size[i] = swing_at(first, count, i, way ? -1 : 1);
        swing[way] = quantile_of(size, count, SWING_SHARE);
        for (size_t i = 0; i < count; i++)
            size[i] = pulse_at(first, count, i, way ? -1 : 1);
        pulse = fmax(pulse, quantile_of(size, count, SWING_SHARE));
    }
    free(size);
    double usual = fmax(SIGMAS * sigma, SWINGS * fmax(pulse, fmin(swing[0], swing[1])));
    return fmin(fmax(usual, LEAST_PERCENT), fmax(ALWAYS_PERCENT, wow_of(pieces)));
}

// Marks in UNSTEADY the pieces of one zone, the boundaries [FIRST, LAST] being too far apart.
static void mark_zone(const float *difference, size_t count, size_t first, size_t last, unsigned char *unsteady)
{
    bool at_start = first == TURN, at_end = last + TURN == count;
    size_t peak = first;
    for (size_t i = first; i <= last; i++)
        peak = fabsf(difference[i]) > fabsf(difference[peak]) ? i : peak;
    bool goes_on = (at_start && peak == first) || (at_end && peak == last); // a run-up or a run-down, cut off
    size_t inwards = goes_on ? TURN / 3 : 2 * TURN / 3, from = first + inwards,
           to = last > inwards ? last - inwards : 0;
    if (last - first <= STEP && !goes_on) {
        from = peak > GUARD ? peak - GUARD : 0;
        to = peak + GUARD;
    }
    from = at_start ? 0 : from;
    to = at_end || to > count ? count : to;
    if (to > from)
        memset(unsteady + from, 1, to - from);
}

// What lies between the boundaries FIRST and LAST, the outermost ones that are too far apart.
typedef struct {
    size_t first, last;
} Zone;

// Returned: how many zones of DIFFERENCE, of COUNT pieces, are beyond LIMIT; at most COUNT / APART + 1.
static size_t find_zones(const float *difference, size_t count, double limit, Zone *zones)
{
    size_t found = 0;
    for (size_t i = TURN; i + TURN <= count; i++) {
        if (fabs((double)difference[i]) <= limit)
            continue;
        if (found == 0 || i > zones[found - 1].last + APART)
            zones[found++].first = i;
        zones[found - 1].last = i;
    }
    return found;
}

// Whether what happens in ZONE is a knock that the deck swings from: it sways both ways, far beyond what that makes of
// the mean of a turn, and the speed behind it is as before. What holds the platter or loses the speed goes one way.
static bool is_knock(const Pieces *pieces, const float *difference, Zone zone, double limit)
{
    if (zone.first == TURN || zone.last + TURN >= pieces->count || zone.last - zone.first > KNOCK)
        return false;
    size_t from = zone.first > 2 * TURN ? zone.first - 2 * TURN : 0;
    size_t to = zone.last + 2 * TURN < pieces->count ? zone.last + 2 * TURN : pieces->count;
    double before = mean_of(pieces, from, from + TURN), after = mean_of(pieces, to - TURN, to);
    double base = (before + after) / 2, most = 0, up = 0, down = 0;
    for (size_t i = zone.first; i <= zone.last; i++)
        most = fmax(most, fabs((double)difference[i]));
    for (size_t i = zone.first - TURN; i < zone.last + TURN; i++) {
        up = fmax(up, 100 * (pieces->hz[i] / base - 1));
        down = fmax(down, 100 * (1 - pieces->hz[i] / base));
    }
    return 100 * fabs(after / before - 1) <= limit && fmin(up, down) >= SWAYS * most;
}

static void mark_unsteady(const Pieces *pieces, float *difference, unsigned char *unsteady)
{
    double limit = limit_of(pieces, difference);
    Zone *zones = dw_memory_new(pieces->count / APART + 1, sizeof *zones);
    size_t count = find_zones(difference, pieces->count, limit, zones);
    for (size_t i = 0, next; i < count; i = next) {
        for (next = i + 1; next < count && zones[next].last - zones[i].first <= KNOCK;)
            next++;
        if (is_knock(pieces, difference, (Zone){zones[i].first, zones[next - 1].last}, limit))
            continue;
        for (size_t k = i; k < next; k++)
            mark_zone(difference, pieces->count, zones[k].first, zones[k].last, unsteady);
    }
    free(zones);
}

static void add_stretch(const Pieces *pieces, const DwToneRun *run, double stated_hz, size_t from, size_t to,
                        DwSteadiness *steadiness)
{
    if (to - from < LEAST || steadiness->count == DW_STRETCHES_MOST)
        return;
    DwStretch *stretch = &steadiness->stretch[steadiness->count++];
    double middle = 0.5 * (double)(from + to - 1), moment = 0, square = 0;
    *stretch = (DwStretch){.from = (size_t)((double)from * pieces->size),
                           .to = to == pieces->count ? run->count : (size_t)((double)to * pieces->size),
                           .mean_hz = mean_of(pieces, from, to)};
    for (size_t i = from; i < to; i++) {
        double x = (double)i - middle;
        moment += x * pieces->hz[i];
        square += x * x;
    }
    stretch->change = 100 * moment / square * (double)(to - from) / stretch->mean_hz;
    stretch->fit = dw_tone_fit_of(stretch->mean_hz, stated_hz, &stretch->engraved_hz);
}

static double distance(const DwStretch *stretch)
{
    return isfinite(stretch->engraved_hz) ? fabs(log(stretch->mean_hz / stretch->engraved_hz)) : INFINITY;
}

static bool is_better(const DwStretch *a, const DwStretch *b)
{
    if (a->fit != b->fit)
        return a->fit > b->fit;
    if (fabs(distance(a) - distance(b)) > SAME_TONE)
        return distance(a) < distance(b);
    return a->to - a->from > b->to - b->from;
}

// Whether it goes one way nearly all along: a straight line tells most of what it does.
static void look_for_sweep(const Pieces *pieces, DwSteadiness *steadiness)
{
    if (pieces->count < SWEEP_PIECES)
        return;
    double mean = mean_of(pieces, 0, pieces->count), middle = 0.5 * (double)(pieces->count - 1);
    double moment = 0, square = 0, squares = 0;
    for (size_t i = 0; i < pieces->count; i++) {
        double x = (double)i - middle, y = pieces->hz[i] - mean;
        moment += x * y;
        square += x * x;
        squares += y * y;
    }
    double slope = moment / square;
    steadiness->from_hz = mean - slope * middle;
    steadiness->to_hz = mean + slope * middle;
    double change = 100 * fabs(2 * slope * middle / mean);
    steadiness->is_sweep = change > SWEEP_PERCENT && moment * moment > STRAIGHT * square * squares;
}

void dw_steadiness_find(const DwToneRun *run, const unsigned char *used, double turn_s, double stated_hz,
                        DwSteadiness *steadiness)
{
    *steadiness = (DwSteadiness){0};
    Pieces pieces = pieces_of(run, used, turn_s);
    look_for_sweep(&pieces, steadiness);
    if (pieces.count >= LEAST) {
        float *difference = dw_memory_new(pieces.count + 1, sizeof *difference);
        unsigned char *unsteady = dw_memory_new(pieces.count + 1, 1);
        compare_turns(&pieces, difference);
        mark_unsteady(&pieces, difference, unsteady);
        for (size_t i = 0, from = 0; i <= pieces.count; i++)
            if (i == pieces.count || unsteady[i]) {
                add_stretch(&pieces, run, stated_hz, from, i, steadiness);
                from = i + 1;
            }
        free(difference);
        free(unsteady);
    }
    size_t kept = 0;
    for (size_t i = 0; i < steadiness->count; i++) {
        kept += steadiness->stretch[i].to - steadiness->stretch[i].from;
        if (is_better(&steadiness->stretch[i], &steadiness->stretch[steadiness->chosen]))
            steadiness->chosen = i;
    }
    steadiness->left_s = (double)(run->count - kept) / run->rate_hz;
    free(pieces.hz);
}
