// SPDX-License-Identifier: MIT
// When a deck was switched off, from a course of its speed that ends in a run-down.
#include "measure/speed/startup_run_up.h"

#include "base/memory.h"
#include "dsp/knee_fit.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double FALLEN = 0.95;  // of the highest speed: the recording surely ends in a run-down
static const double FALLING = 0.98; // or may, if a fall explains it
static const double LEFT_BY_FALL =
    0.25;                           // of the squares that a level leaves, at most: nothing else explains it so well
static const double SKIPPED = 0.25; // of the stretch: the end of the run-up
enum { PLACES = 240, LEAST = 12, ENDS = 5, FALL_LEAST = 3 };

// The course in PLACES means at most.
typedef struct {
    double seconds[PLACES], share[PLACES];
    size_t count;
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

double dw_startup_switched_off(const DwSpeedCourse *speed_course, double turn_hz)
{
    if (speed_course->steady_to <= speed_course->steady_from + ENDS)
        return NAN;
    double top = highest(speed_course);
    double end = dw_statistics_mean(speed_course->frequency_hz + speed_course->count - ENDS, ENDS) / top;
    if (end > FALLING)
        return NAN;
    Places places;
    gather(speed_course, top, &places);
    if (places.count < LEAST)
        return NAN;
    DwKneePoints points = {places.seconds, places.share, places.count, turn_hz};
    double least = INFINITY, falls = 0;
    size_t best = 0;
    for (size_t knee = 1; knee + FALL_LEAST < places.count; knee++) {
        double fall, left = dw_knee_fit(&points, knee, &fall);
        if (left < least) {
            least = left;
            falls = fall;
            best = knee;
        }
    }
    bool sure = end < FALLEN && !speed_course->swings;
    if (!sure && (falls < 1 - FALLING || least > LEFT_BY_FALL * dw_knee_fit(&points, places.count, NULL)))
        return NAN;
    return places.seconds[best];
}
