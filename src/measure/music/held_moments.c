// SPDX-License-Identifier: MIT
// What is told beside the lines: when notes were held, what is common at each angle of the turn, how far flutter can be
// ruled out, and the pitch against a stated tuning.
#include "measure/music/held_analysis.h"

#include "base/memory.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double GAP_S = 1;          // moments closer than this are one
static const double GAIN_AT_TOP = 0.55; // of the courses at 6 Hz, by their window
static const double STEADY = 0.15;      // %, rms about its own mean: two and a half cents
static const double TOGETHER = 3;       // partials that make a common value
static const double ENSEMBLE_CENTS = 4; // that players keep to their own tuning; common practice, no source
enum { TUNING_NOTES_LEAST = 4 };

static double end_of(const DwPartialCourse *course)
{
    return course->first_s + (double)course->count * course->step_s;
}

// --- moments ---------------------------------------------------------------------

// Courses come in order of their beginnings.
void dw_held_moments_find(DwHeld *held)
{
    const DwHeldFit *fit = &held->fit;
    held->moment = dw_memory_new(fit->count + 1, sizeof *held->moment);
    double end_s = -INFINITY;
    for (size_t j = 0; j < fit->count; j++) {
        const DwPartialCourse *course = &fit->courses[j];
        if (held->moments == 0 || course->first_s > held->moment[held->moments - 1].to_s + GAP_S)
            held->moment[held->moments++] = (DwHeldMoment){.from_s = course->first_s, .to_s = end_of(course)};
        DwHeldMoment *moment = &held->moment[held->moments - 1];
        moment->partials++;
        moment->notes += j == 0 || course->note >= moment->notes; // counted anew below
        moment->to_s = fmax(moment->to_s, end_of(course));
        held->held_s += fmax(0, end_of(course) - fmax(end_s, course->first_s));
        end_s = fmax(end_s, end_of(course));
    }
}

static void share_out(DwHeld *held)
{
    const DwHeldFit *fit = &held->fit;
    char *seen = dw_memory_new(fit->notes + 1, 1);
    double all = 0;
    for (size_t m = 0, j = 0; m < held->moments; m++) {
        DwHeldMoment *moment = &held->moment[m];
        moment->notes = 0;
        for (size_t k = 0; k < moment->partials; k++, j++) {
            const DwPartialCourse *course = &fit->courses[j];
            moment->notes += !seen[course->note];
            seen[course->note] = 1;
            for (size_t i = 0; i < course->count; i++)
                moment->share += course->weight[i] / course->spread;
        }
        all += moment->share;
    }
    for (size_t m = 0; m < held->moments && all > 0; m++)
        held->moment[m].share /= all;
    free(seen);
}

// --- the turn and the flutter ------------------------------------------------------

typedef struct {
    double *sum, *weight, *partials;
    size_t count;
    double step_s, from_s;
} Common;

// The lines at AT_S, as COURSE keeps them.
static double lines_at(const DwHeldFit *fit, const DwPartialCourse *course, double at_s)
{
    double sum = 0;
    for (size_t l = 0; l < fit->lines; l++) {
        double angle = 2 * M_PI * fit->line[l].rate_hz * (at_s - fit->middle_s);
        sum += dw_partial_course_gain(course, fit->line[l].rate_hz) *
               (fit->line[l].vector.real * cos(angle) + fit->line[l].vector.imaginary * sin(angle));
    }
    return sum;
}

// A straight line through what a course has beside the lines, by its weights.
static void own_trend(const DwHeldFit *fit, const DwPartialCourse *course, double *level, double *slope)
{
    double w = 1e-12, wu = 0, wuu = 0, wr = 0, wur = 0;
    for (size_t i = 0; i < course->count; i++) {
        double weight = course->weight[i], u = (double)i;
        double rest = course->percent[i] - lines_at(fit, course, course->first_s + u * course->step_s);
        w += weight;
        wu += weight * u;
        wuu += weight * u * u;
        wr += weight * rest;
        wur += weight * u * rest;
    }
    double spread = wuu - wu * wu / w;
    *slope = spread > 1e-9 ? (wur - wu * wr / w) / spread : 0;
    *level = (wr - *slope * wu) / w;
}

static void add_course(DwHeld *held, const DwPartialCourse *course, Common *common)
{
    const DwHeldFit *fit = &held->fit;
    double level, slope;
    own_trend(fit, course, &level, &slope);
    for (size_t i = 0; i < course->count; i++) {
        double at_s = course->first_s + (double)i * course->step_s, weight = course->weight[i] / course->spread;
        double rest = course->percent[i] - level - slope * (double)i;
        double turns = fit->line[0].rate_hz * (at_s - fit->middle_s);
        size_t angle = (size_t)((turns - floor(turns)) * DW_HELD_TURN_POINTS) % DW_HELD_TURN_POINTS;
        held->turn_percent[angle] += weight * rest;
        held->turn_seconds[angle] += weight;
        size_t at = (size_t)((at_s - common->from_s) / common->step_s);
        if (at >= common->count)
            continue;
        common->sum[at] += weight * (rest - lines_at(fit, course, at_s));
        common->weight[at] += weight;
        common->partials[at] += course->weight[i] > 0.2;
    }
}

// Twice the rms of what is common beside the lines: notes' own restlessness is in it, so that the deck's is less.
static double flutter_limit(const Common *common)
{
    double squares = 0, count = 0;
    for (size_t i = 0; i < common->count; i++)
        if (common->partials[i] >= TOGETHER) {
            double value = common->sum[i] / common->weight[i];
            squares += value * value;
            count++;
        }
    if (count < 60)
        return NAN;
    double independent = count / 3; // the window reaches over three values
    return 2 * sqrt(squares / count) / GAIN_AT_TOP * (1 + 1.645 / sqrt(2 * independent));
}

// Whether the course stands still, but for the lines: no vibrato, no slide, no bend that lasts.
static bool is_steady(const DwHeldFit *fit, const DwPartialCourse *course, bool found)
{
    if (course->vibrato_hz > 0)
        return false;
    double squares = 0, weights = 1e-12;
    for (size_t i = 0; i < course->count; i++) {
        double rest = course->percent[i];
        if (found)
            rest -= lines_at(fit, course, course->first_s + (double)i * course->step_s);
        squares += course->weight[i] * rest * rest;
        weights += course->weight[i];
    }
    return squares / weights < STEADY * STEADY;
}

void dw_held_steady_find(DwHeld *held)
{
    const DwHeldFit *fit = &held->fit;
    double end_s = -INFINITY;
    held->steady_s = 0;
    held->steady = 0;
    for (size_t j = 0; j < fit->count; j++) {
        const DwPartialCourse *course = &fit->courses[j];
        if (!is_steady(fit, course, held->found))
            continue;
        held->steady++;
        held->steady_s += fmax(0, end_of(course) - fmax(end_s, course->first_s));
        end_s = fmax(end_s, end_of(course));
    }
}

static Common find_common(DwHeld *held)
{
    const DwHeldFit *fit = &held->fit;
    Common common = {.step_s = 0.05, .from_s = fit->from_s};
    common.count = (size_t)((fit->to_s - fit->from_s) / common.step_s) + 1;
    common.sum = dw_memory_new(common.count, sizeof(double));
    common.weight = dw_memory_new(common.count, sizeof(double));
    common.partials = dw_memory_new(common.count, sizeof(double));
    memset(held->turn_percent, 0, sizeof held->turn_percent);
    memset(held->turn_seconds, 0, sizeof held->turn_seconds);
    for (size_t j = 0; j < fit->count; j++)
        add_course(held, &fit->courses[j], &common);
    return common;
}

static void end_common(Common *common)
{
    free(common->sum);
    free(common->weight);
    free(common->partials);
}

double dw_held_other_rate(DwHeld *held, double low_hz, double high_hz)
{
    Common common = find_common(held);
    double length_s = fmax(held->fit.to_s - held->fit.from_s, 1), best = 0, found = low_hz;
    for (double hz = low_hz; hz <= high_hz; hz += 0.25 / length_s) {
        double complex at = 1, step = cexp(-2 * M_PI * I * hz * common.step_s), sum = 0;
        for (size_t i = 0; i < common.count; i++, at *= step)
            sum += common.sum[i] * at;
        if (cabs(sum) > best) {
            best = cabs(sum);
            found = hz;
        }
    }
    end_common(&common);
    return found;
}

void dw_held_turn_find(DwHeld *held)
{
    Common common = find_common(held);
    for (size_t a = 0; a < DW_HELD_TURN_POINTS; a++)
        held->turn_percent[a] = held->turn_seconds[a] > 0 ? held->turn_percent[a] / held->turn_seconds[a] : NAN;
    held->flutter_limit = flutter_limit(&common);
    end_common(&common);
    share_out(held);
}

// --- tuning ------------------------------------------------------------------------

// The pitch of each held partial that is no other's harmonic, modulo a semitone of equal temperament from the stated
// tuning, as a mean on the circle.
void dw_held_tuning_find(DwHeld *held)
{
    const DwHeldFit *fit = &held->fit;
    DwHeldTuning *tuning = &held->tuning;
    if (!isfinite(held->settings.tuning_hz))
        return;
    double complex sum = 0;
    for (size_t j = 0; j < fit->count; j++)
        if (fit->courses[j].vibrato_hz <= 0 && dw_partial_course_is_root(fit->courses, fit->count, j)) {
            sum += cexp(2 * M_PI * I * 12 * log2(fit->courses[j].mean_hz / held->settings.tuning_hz));
            tuning->notes++;
        }
    if (tuning->notes < TUNING_NOTES_LEAST)
        return;
    double length = fmin(cabs(sum) / (double)tuning->notes, 1 - 1e-9);
    tuning->cents = 100 * carg(sum) / (2 * M_PI);
    tuning->spread_cents = 100 * sqrt(-2 * log(length)) / (2 * M_PI);
    tuning->off_cents = hypot(ENSEMBLE_CENTS, 1.96 * tuning->spread_cents / sqrt((double)tuning->notes));
}
