// SPDX-License-Identifier: MIT
#include "sight/platter.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static const double rest_share = 0.03;                // of the final speed: slower is standing
static const double first_rad = 0.01, last_rad = 0.5; // of the run-up, where its beginning is read
static const double speed_half_s = 0.05;

// When the platter began to move: of a torque that is there at once the root of the angle grows evenly.
static double beginning(const DwPlatterCourse *course, size_t first, double rest, double *doubt_s)
{
    double n = 0, t = 0, r = 0, tt = 0, tr = 0, seen = course->time_s[first];
    size_t i = first;
    while (i < course->count && course->turn[i] - rest < first_rad)
        seen = course->time_s[i++];
    for (; i < course->count && course->turn[i] - rest < last_rad; i++) {
        double time = course->time_s[i] - seen, root = sqrt(course->turn[i] - rest);
        n++;
        t += time;
        r += root;
        tt += time * time;
        tr += time * root;
    }
    double slope = n * tt - t * t > 0 ? (n * tr - t * r) / (n * tt - t * t) : 0;
    double began = slope > 0 ? seen + (t - r / slope) / n : seen;
    // Before it was last seen at rest it cannot have moved far; what a soft start leaves open is between.
    *doubt_s = 0.02 + fabs(began - seen) / 3;
    return fmin(began, seen);
}

// The first frame of COURSE from FROM on whose speed is within BAND of FINAL; more exactly between two frames.
static double reached(const DwPlatterCourse *course, const double *speeds, size_t from, double edge)
{
    for (size_t i = from; i < course->count; i++) {
        if (speeds[i] < edge)
            continue;
        if (i == from || speeds[i] <= speeds[i - 1])
            return course->time_s[i];
        double share = (edge - speeds[i - 1]) / (speeds[i] - speeds[i - 1]);
        return course->time_s[i - 1] + share * (course->time_s[i] - course->time_s[i - 1]);
    }
    return NAN;
}

static double greatest_after(const DwPlatterCourse *course, const double *speeds, double from_s, double to_s)
{
    double most = 0;
    for (size_t i = 0; i < course->count; i++)
        if (course->time_s[i] >= from_s && course->time_s[i] <= to_s)
            most = fmax(most, speeds[i]);
    return most;
}

bool dw_platter_start(const DwPlatterCourse *course, const DwPlatterMotion *motion, double band, DwPlatterStart *start)
{
    double *speeds = dw_platter_speeds(course, speed_half_s);
    size_t moving = 0;
    while (moving < course->count && fabs(speeds[moving]) < rest_share * motion->rate)
        moving++;
    bool stood = moving >= 3 && moving < motion->first + motion->count;
    DwPlatterStart made = {0};
    if (stood) {
        double rest = 0;
        size_t standing = moving > 3 ? moving - 2 : 1;
        for (size_t i = 0; i < standing; i++)
            rest += course->turn[i] / (double)standing;
        made.begins_s = beginning(course, 0, rest, &made.doubt_s);
        double edge = motion->rate * (1 - band), at = reached(course, speeds, moving, edge);
        made.time_s = at - made.begins_s;
        made.settle_s = fmax(made.time_s, motion->within_s - made.begins_s);
        double most = greatest_after(course, speeds, at, at + 5) / motion->rate - 1;
        made.overshoot = most > band / 2 ? most : 0;
        made.doubt_s = hypot(made.doubt_s, 0.03);
        stood = made.time_s > 0;
    }
    free(speeds);
    if (stood)
        *start = made;
    return stood;
}

static int compare(const void *a, const void *b)
{
    double one = *(const double *)a, two = *(const double *)b;
    return (one > two) - (one < two);
}

static double middle_of(double *values, size_t count)
{
    qsort(values, count, sizeof *values, compare);
    return values[count / 2];
}

size_t dw_platter_missing(const DwPlatterCourse *course, double *first_s)
{
    enum { NEIGHBOURS = 5 };
    size_t places = 0;
    if (course->count < 4 * NEIGHBOURS)
        return 0;
    double *gaps = dw_memory_new(course->count, sizeof *gaps);
    for (size_t i = 0; i + 1 < course->count; i++)
        gaps[i] = course->time_s[i + 1] - course->time_s[i];
    double frame_s = middle_of(gaps, course->count - 1);
    free(gaps);
    for (size_t i = NEIGHBOURS; i + NEIGHBOURS + 1 < course->count; i++) {
        double rates[2 * NEIGHBOURS + 1];
        for (size_t k = 0; k < 2 * NEIGHBOURS + 1; k++) {
            size_t at = i + k - NEIGHBOURS;
            rates[k] = (course->turn[at + 1] - course->turn[at]) / (course->time_s[at + 1] - course->time_s[at]);
        }
        double own = rates[NEIGHBOURS], usual = middle_of(rates, 2 * NEIGHBOURS + 1);
        double step = (own - usual) * (course->time_s[i + 1] - course->time_s[i]);
        if (fabs(step) < 0.6 * usual * frame_s || usual < 0.5)
            continue;
        if (places++ == 0)
            *first_s = course->time_s[i];
    }
    return places;
}
