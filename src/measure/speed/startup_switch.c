// SPDX-License-Identifier: MIT
// When a deck was switched off, from a course of its speed that ends in a run-down.
#include "measure/speed/startup_run_up.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <gsl/gsl_multifit.h>
#include <math.h>
#include <stdlib.h>

static const double FALLEN = 0.95;  // of the highest speed: the recording surely ends in a run-down
static const double FALLING = 0.98; // or may, if a fall explains it
static const double LEFT_BY_FALL =
    0.25;                           // of the squares that a level leaves, at most: nothing else explains it so well
static const double SKIPPED = 0.25; // of the stretch: the end of the run-up
enum { PLACES = 240, LEAST = 12, ENDS = 5, FALL_LEAST = 3, UNKNOWNS = 5 };

// The course in PLACES means at most.
typedef struct {
    double seconds[PLACES], share[PLACES];
    size_t count;
    double turn_hz;
} Places;

static double highest(const DwSpeedCourse *c)
{
    size_t count = c->steady_to - c->steady_from;
    float *values = dw_memory_new(count, sizeof *values);
    for (size_t i = 0; i < count; i++)
        values[i] = (float)c->frequency_hz[c->steady_from + i];
    double top = dw_statistics_quantile(values, count, 0.9);
    free(values);
    return top;
}

// From the end of the run-up to where the speed has fallen for good.
static void gather(const DwSpeedCourse *c, double top, Places *places)
{
    size_t end = c->count;
    while (end > c->steady_from && c->frequency_hz[end - 1] < FALLEN * top)
        end--;
    size_t from = c->steady_from + (size_t)(SKIPPED * (double)(end - c->steady_from)), count = end - from;
    places->count = count < PLACES ? count : PLACES;
    for (size_t i = 0; i < places->count; i++) {
        size_t begin = from + i * count / places->count, size = from + (i + 1) * count / places->count - begin;
        places->seconds[i] = dw_statistics_mean(c->seconds + begin, size);
        places->share[i] = dw_statistics_mean(c->frequency_hz + begin, size) / top;
    }
}

// The squares that a level with what comes once a turn leaves, and from place KNEE on a fall; FALL: what it falls by
// to the end.
static double squares_left(const Places *places, size_t knee, double *fall)
{
    size_t n = places->count, unknowns = knee < n ? UNKNOWNS : UNKNOWNS - 2;
    gsl_matrix *law = gsl_matrix_alloc(n, unknowns), *covariance = gsl_matrix_alloc(unknowns, unknowns);
    gsl_vector *share = gsl_vector_alloc(n), *answer = gsl_vector_alloc(unknowns);
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(n, unknowns);
    double squares, after = 0;
    for (size_t i = 0; i < n; i++) {
        double angle = 2 * M_PI * places->turn_hz * places->seconds[i];
        after = knee < n && i > knee ? places->seconds[i] - places->seconds[knee] : 0;
        const double row[UNKNOWNS] = {1, cos(angle), sin(angle), after, after * after};
        for (size_t k = 0; k < unknowns; k++)
            gsl_matrix_set(law, i, k, row[k]);
        gsl_vector_set(share, i, places->share[i]);
    }
    gsl_multifit_linear(law, share, answer, covariance, &squares, work);
    if (fall)
        *fall = -after * (gsl_vector_get(answer, 3) + after * gsl_vector_get(answer, 4));
    gsl_multifit_linear_free(work);
    gsl_vector_free(answer);
    gsl_vector_free(share);
    gsl_matrix_free(covariance);
    gsl_matrix_free(law);
    return squares;
}

double dw_startup_switched_off(const DwSpeedCourse *speed_course, double turn_hz)
{
    if (speed_course->steady_to <= speed_course->steady_from + ENDS)
        return NAN;
    double top = highest(speed_course);
    double end = dw_statistics_mean(speed_course->frequency_hz + speed_course->count - ENDS, ENDS) / top;
    if (end > FALLING)
        return NAN;
    Places places = {.turn_hz = turn_hz};
    gather(speed_course, top, &places);
    if (places.count < LEAST)
        return NAN;
    double least = INFINITY, falls = 0;
    size_t best = 0;
    for (size_t knee = 1; knee + FALL_LEAST < places.count; knee++) {
        double fall, left = squares_left(&places, knee, &fall);
        if (left < least) {
            least = left;
            falls = fall;
            best = knee;
        }
    }
    bool sure = end < FALLEN && !speed_course->swings;
    if (!sure && (falls < 1 - FALLING || least > LEFT_BY_FALL * squares_left(&places, places.count, NULL)))
        return NAN;
    return places.seconds[best];
}
