// SPDX-License-Identifier: MIT
#include "sight/platter.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double rest_share = 0.03;                // of the final speed: slower is standing
static const double first_rad = 0.01, last_rad = 0.5; // of the run-up, where its beginning is read
static const double soft_most_s = 1, rise_step_s = 0.02, begin_step_s = 0.004;
static const double nearly = 4;                               // by the sum of squares: two standard deviations
static const double angle_rad = 0.0001, uneven_share = 0.003; // of a frame's angle; of the way, by wow and flutter
static const double speed_half_s = 0.05;
static const double reach_s = 0.03; // of when the edge of the band is passed, 95 %; fitted on drawn courses

// How far a platter has turned U seconds after its motor's torque began to rise, over RISE seconds, to what then stays:
// as a share of that torque's acceleration.
static double run_up(double u, double rise)
{
    if (u <= 0)
        return 0;
    if (u < rise)
        return u * u * u / (6 * rise);
    return rise * rise / 6 + rise * (u - rise) / 2 + (u - rise) * (u - rise) / 2;
}

// How far the course between FROM and TO, less REST, is beside the run-up that begins at BEGAN, by least squares.
static double beside_run_up(const DwPlatterCourse *course, size_t from, size_t to, double rest, double began,
                            double rise)
{
    double along = 0, square = 0, sum = 0;
    for (size_t i = from; i < to; i++) {
        double turn = course->turn[i] - rest, expected = run_up(course->time_s[i] - began, rise);
        double off = hypot(angle_rad, uneven_share * turn);
        turn /= off;
        expected /= off;
        along += turn * expected;
        square += expected * expected;
        sum += turn * turn;
    }
    return square > 0 ? sum - along * along / square : sum;
}

// When the platter began to move, its torque there at once or by and by: of all run-ups the nearest. *DOUBT_S gets half
// of the time within which others are nearly as near.
static double beginning(const DwPlatterCourse *course, double rest, double *doubt_s)
{
    size_t seen = 0, to, from;
    while (seen < course->count && course->turn[seen] - rest < first_rad)
        seen++;
    for (to = seen; to < course->count && course->turn[to] - rest < last_rad; to++)
        ;
    for (from = seen; from > 0 && course->time_s[seen] - course->time_s[from] < soft_most_s; from--)
        ;
    double least = INFINITY, began = course->time_s[seen], first = began, last = began;
    for (int pass = 0; pass < 2; pass++)
        for (double rise = 0; rise <= soft_most_s; rise += rise_step_s)
            for (double at = course->time_s[from]; at <= course->time_s[seen]; at += begin_step_s) {
                double off = beside_run_up(course, from, to, rest, at, rise);
                if (pass == 0 && off < least) {
                    least = off;
                    began = first = last = at;
                }
                if (pass == 1 && off < least + nearly * fmax(1, least / (double)(to - from))) {
                    first = fmin(first, at);
                    last = fmax(last, at);
                }
            }
    *doubt_s = fmax(began - first, last - began);
    return began;
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
        made.begins_s = beginning(course, rest, &made.doubt_s);
        double edge = motion->rate * (1 - band), at = reached(course, speeds, moving, edge);
        made.time_s = at - made.begins_s;
        made.settle_s = fmax(made.time_s, motion->within_s - made.begins_s);
        double most = greatest_after(course, speeds, at, at + 5) / motion->rate - 1;
        made.overshoot = most > band / 2 ? most : 0;
        made.doubt_s = hypot(made.doubt_s, reach_s);
        stood = made.time_s > 0;
    }
    free(speeds);
    if (stood)
        *start = made;
    return stood;
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
    double frame_s = dw_statistics_middle(gaps, course->count - 1);
    free(gaps);
    for (size_t i = NEIGHBOURS; i + NEIGHBOURS + 1 < course->count; i++) {
        double rates[2 * NEIGHBOURS + 1];
        for (size_t k = 0; k < 2 * NEIGHBOURS + 1; k++) {
            size_t at = i + k - NEIGHBOURS;
            rates[k] = (course->turn[at + 1] - course->turn[at]) / (course->time_s[at + 1] - course->time_s[at]);
        }
        double own = rates[NEIGHBOURS], usual = dw_statistics_middle(rates, 2 * NEIGHBOURS + 1);
        double step = (own - usual) * (course->time_s[i + 1] - course->time_s[i]);
        if (fabs(step) < 0.6 * usual * frame_s || usual < 0.5)
            continue;
        if (places++ == 0)
            *first_s = course->time_s[i];
    }
    return places;
}
