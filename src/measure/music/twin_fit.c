// SPDX-License-Identifier: MIT
#include "measure/music/twin_fit.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/music/twin_lines.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const double KNOT_TURNS = 3, SWAY_TURNS = 1;
static const double STIFF = 4;          // times as long
static const double STRAY = 8;          // times the median of what the lines leave
static const double IN_STEP_S = 5e-4;   // of lines and pieces, where one groove is played twice
static const double SPEED_LEAST = 5e-5; // %, half a ppm: what the rest does not tell
// How much farther knots stray than by points on their own, neighbours reading the same music; as often again with each
// jump, over which windows hear both sides. By 49 drawn pairs of 26 s, of which 47 hold.
static const double KNOTS_STRAY = 1.5;
static const double SUPPORTED = 0.1; // of a whole piece's points: a knot that is known

// Drops the points that stray far from all lines and pieces, and lays the pieces anew.
static void leave_out_strays(DwTwinPieces *work, double knot_s)
{
    for (size_t i = 0; i < work->count; i++)
        work->a[i] = fabs(work->rest[i]);
    double most = STRAY * dw_statistics_middle(work->a, work->count);
    size_t kept = 0;
    for (size_t i = 0; i < work->count; i++) {
        if (fabs(work->rest[i]) > most)
            continue;
        work->t[kept] = work->t[i];
        work->y[kept] = work->y[i];
        work->w[kept] = work->w[i];
        work->piece[kept++] = work->piece[i];
    }
    work->count = kept;
    dw_twin_pieces_lay(work, knot_s);
}

// Of COUNT points, those that were left out among them.
static double share_in_step(const DwTwinPieces *work, size_t count)
{
    size_t in_step = 0;
    for (size_t i = 0; i < work->count; i++)
        in_step += fabs(work->rest[i]) < IN_STEP_S;
    return (double)in_step / (double)count;
}

// --- speed and drift -----------------------------------------------------------------

static double rms_of_rest(const DwTwinPieces *work)
{
    double squares = 0, weights = 1e-12;
    for (size_t i = 0; i < work->count; i++) {
        squares += work->w[i] * work->rest[i] * work->rest[i];
        weights += work->w[i];
    }
    return sqrt(squares / weights);
}

// A stretch between two knots that points hold, with none such between them.
typedef struct {
    size_t from, to;
    double length_s, middle_s;
} Held;

// By how many points each knot is held, as a share of those at the end of a whole piece.
static void find_support(const DwTwinPieces *work, double *support)
{
    double weights = 0, whole = (double)work->count / (double)work->knots / 3;
    for (size_t i = 0; i < work->count; i++)
        weights += work->w[i] / (double)work->count;
    for (size_t i = 0; i < work->count; i++) {
        double u = work->place[i], share = work->w[i] / weights / whole;
        support[work->knot[i]] += share * (1 - u) * (1 - u);
        support[work->knot[i] + 1] += share * u * u;
    }
}

static size_t find_held(const DwTwinPieces *work, const double *support, Held *held)
{
    size_t count = 0, before = SIZE_MAX, piece_begins = work->knot[0];
    for (size_t i = 0; i < work->count; i++) {
        bool ends = i + 1 == work->count || work->piece[i + 1] != work->piece[i];
        for (size_t k = before == SIZE_MAX ? piece_begins : before + 1; ends && k <= work->knot[i] + 1; k++) {
            if (support[k] < SUPPORTED)
                continue;
            double from_s = before == SIZE_MAX ? 0 : work->knot_t[before], to_s = work->knot_t[k];
            if (before != SIZE_MAX)
                held[count++] = (Held){before, k, to_s - from_s, (from_s + to_s) / 2};
            before = k;
        }
        if (ends && i + 1 < work->count) {
            piece_begins = work->knot[i + 1];
            before = SIZE_MAX;
        }
    }
    return count;
}

// What a figure is taken from: stretches that are held, and by how much each knot counts.
typedef struct {
    double *support, *share, rest_s;
    Held *held;
    size_t count;
    double length_s;
} Knots;

static Knots read_knots(DwTwinPieces *work)
{
    Knots knots = {.length_s = 1e-3};
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    dw_twin_pieces_take_out(work, work->rest);
    knots.rest_s = rms_of_rest(work);
    knots.support = dw_memory_new(work->knots + 1, sizeof *knots.support);
    knots.share = dw_memory_new(work->knots + 1, sizeof *knots.share);
    knots.held = dw_memory_new(work->knots + 1, sizeof *knots.held);
    find_support(work, knots.support);
    dw_twin_pieces_fit(work, work->y);
    knots.count = find_held(work, knots.support, knots.held);
    for (size_t i = 0; i < knots.count; i++)
        knots.length_s += knots.held[i].length_s;
    return knots;
}

// Returned: what the stretches gain, each by its LEVER.
static double gain_of(const DwTwinPieces *work, Knots *knots, const double *lever)
{
    double gain = 0;
    for (size_t i = 0; i < knots->count; i++) {
        const Held *held = &knots->held[i];
        gain += lever[i] * (work->right[held->to] - work->right[held->from]);
        knots->share[held->to] += lever[i];
        knots->share[held->from] -= lever[i];
    }
    return gain;
}

// How far that may be off, 95 %: by how well the points tell the knots, of which the first and last count most.
static double off_of(const DwTwinPieces *work, const Knots *knots)
{
    double variance = 0, pieces = work->piece[work->count - 1] + 1.0;
    for (size_t k = 0; k < work->knots; k++)
        variance += knots->support[k] < SUPPORTED ? 0 : pow(knots->share[k], 2) * 2 / knots->support[k];
    return KNOTS_STRAY * pieces * 1.96 * knots->rest_s * sqrt(variance);
}

static void clear_knots(Knots *knots)
{
    free(knots->support);
    free(knots->share);
    free(knots->held);
}

// What the lines, which are taken out, may leave between one end and the other, 95 %, in %: each by how far it may be
// off.
static double swing_off(const DwTwinFit *fit)
{
    double squares = 0;
    for (size_t l = 0; l < fit->lines; l++)
        squares += pow(fit->line[l].off / (2 * M_PI * fit->line[l].rate_hz * fit->length_s), 2);
    return sqrt(2 * squares);
}

// How far a speed that sways by SWAY about its DRIFT a second may be off for what both hold without its being heard, 95
// %, in seconds of the course. Of what drifts, one end heard less than the other shows too much of the other.
static double unheard_off(const DwTwinCourse *course, double length_s, double sway, double drift)
{
    double unheard_s = hypot(hypot(course->before_s, course->after_s), course->gaps_s);
    double askew_s = fabs(course->before_s - course->after_s) / 2;
    return hypot(1.96 * sway * unheard_s, drift * askew_s * length_s);
}

// How the speed sways from stretch to stretch about the straight line of DRIFT a second through it: rms, as a ratio.
static double sway_of(const DwTwinPieces *work, const Knots *knots, double mean, double middle_s, double drift)
{
    double squares = 0;
    for (size_t i = 0; i < knots->count; i++) {
        const Held *held = &knots->held[i];
        double pace = (work->right[held->to] - work->right[held->from]) / held->length_s;
        squares += held->length_s * pow(pace - mean - drift * (held->middle_s - middle_s), 2);
    }
    return sqrt(squares / knots->length_s);
}

// What the course gains from beginning to end of each piece.
static void measure_speed(DwTwinPieces *work, double ratio, DwTwinFit *fit)
{
    Knots knots = read_knots(work);
    double *lever = dw_memory_new(knots.count + 1, sizeof *lever);
    for (size_t i = 0; i < knots.count; i++)
        lever[i] = 1 / knots.length_s;
    fit->rest_s = knots.rest_s;
    fit->length_s = knots.length_s;
    fit->speed = 100 * (ratio + gain_of(work, &knots, lever) - 1);
    fit->speed_off = hypot(hypot(100 * off_of(work, &knots), SPEED_LEAST), swing_off(fit));
    free(lever);
    clear_knots(&knots);
}

// The straight line through the speed over all stretches that are held, by least squares: whatever wanders within them
// counts as it does in the speed.
static void measure_drift(DwTwinPieces *work, const DwTwinCourse *course, double ratio, DwTwinFit *fit)
{
    Knots knots = read_knots(work);
    double *lever = dw_memory_new(knots.count + 1, sizeof *lever), middle_s = 0, spread = 1e-9;
    for (size_t i = 0; i < knots.count; i++)
        middle_s += knots.held[i].length_s * knots.held[i].middle_s / knots.length_s;
    for (size_t i = 0; i < knots.count; i++) {
        const Held *held = &knots.held[i];
        lever[i] = held->middle_s - middle_s;
        spread += held->length_s * (lever[i] * lever[i] + held->length_s * held->length_s / 12);
    }
    for (size_t i = 0; i < knots.count; i++)
        lever[i] /= spread;
    double drift = gain_of(work, &knots, lever), mean = fit->speed / 100 + 1 - ratio;
    fit->drift = 100 * 60 * drift / ratio;
    fit->drift_off = hypot(100 * 60 * off_of(work, &knots) / ratio, sqrt(12) * SPEED_LEAST / (knots.length_s / 60));
    double sway = sway_of(work, &knots, mean, middle_s, drift);
    double unheard = 100 * unheard_off(course, knots.length_s, sway, drift) / knots.length_s;
    fit->speed_off = hypot(fit->speed_off, unheard);
    fit->drift_off = hypot(fit->drift_off, 60 * 6 * hypot(unheard, swing_off(fit)) / knots.length_s);
    free(lever);
    clear_knots(&knots);
}

bool dw_twin_fit(const DwTwinCourse *course, double ratio, double turn_hz, DwTwinFit *fit)
{
    *fit = (DwTwinFit){0};
    DwTwinPieces work;
    if (!dw_twin_pieces_init(course, ratio, STIFF * KNOT_TURNS / turn_hz, &work))
        return false;
    size_t points = work.count;
    // Pieces that long do not bend to points that stray together at an end.
    for (int round = 0; round < 3; round++) {
        dw_twin_lines_find(&work, ratio, turn_hz, fit);
        leave_out_strays(&work, (round < 1 ? STIFF : 1) * KNOT_TURNS / turn_hz);
    }
    dw_twin_lines_refit(&work, ratio, fit);
    fit->in_step = share_in_step(&work, points);
    dw_twin_lines_straighten(&work, ratio, fit);
    // The lines are out: shorter pieces follow a speed that sways to the very ends.
    dw_twin_pieces_lay(&work, SWAY_TURNS / turn_hz);
    measure_speed(&work, ratio, fit);
    measure_drift(&work, course, ratio, fit);
    dw_twin_pieces_clear(&work);
    return true;
}
