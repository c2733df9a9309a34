// SPDX-License-Identifier: MIT
#include "synth/course.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

void dw_course_add(DwCourse *course, const char *cause, double frequency_hz, double peak_percent, double phase_rad)
{
    if (course->count == course->room) {
        course->room = course->room * 2 + 8;
        course->lines = dw_memory_resize(course->lines, course->room, sizeof *course->lines);
    }
    course->lines[course->count++] =
        (DwSpeedLine){cause, frequency_hz, peak_percent, remainder(phase_rad, 2 * M_PI), 0};
}

void dw_course_add_radial(DwCourse *course, const char *cause, double frequency_hz, double radial_percent_mm,
                          double phase_rad)
{
    dw_course_add(course, cause, frequency_hz, radial_percent_mm / course->radius_mm, phase_rad);
    course->lines[course->count - 1].radial_percent_mm = radial_percent_mm;
}

double dw_course_peak(const DwCourse *course, const DwSpeedLine *line)
{
    return (line->radial_percent_mm != 0 ? line->radial_percent_mm / course->radius_mm : line->peak_percent) / 100;
}

void dw_course_clear(DwCourse *course)
{
    free(course->lines);
    *course = (DwCourse){0};
}

// What is still missing of the speed, as a share of it.
static double missing(const DwCourse *course, double seconds)
{
    if (course->run_up_s <= 0)
        return 0;
    double share = exp(-(seconds + course->lead_s) / course->run_up_s);
    return share < 1e-20 ? 0 : share;
}

double dw_course_share(const DwCourse *course, double seconds)
{
    return 1 - missing(course, seconds);
}

double dw_course_deviation(const DwCourse *course, double seconds)
{
    double sum = course->error + course->drift_per_s * seconds;
    for (size_t i = 0; i < course->count; i++) {
        const DwSpeedLine *line = &course->lines[i];
        sum += dw_course_peak(course, line) * sin(2 * M_PI * line->frequency_hz * seconds + line->phase_rad);
    }
    return sum - (1 + sum) * missing(course, seconds);
}

// An antiderivative of g(t)·E(t), term by term:
//   ∫ E dt = −τE;  ∫ t·E dt = −τ(t + τ)E;
//   ∫ sin(ωt + φ)·E dt = −E·(k·sin(ωt + φ) + ω·cos(ωt + φ))/(k² + ω²), k = 1/τ.
static double missing_sum(const DwCourse *course, double seconds)
{
    double share = missing(course, seconds);
    if (share == 0)
        return 0;
    double time = course->run_up_s;
    double sum = (1 + course->error) * time + course->drift_per_s * time * (seconds + time);
    for (size_t i = 0; i < course->count; i++) {
        const DwSpeedLine *line = &course->lines[i];
        double omega = 2 * M_PI * line->frequency_hz;
        double angle = omega * seconds + line->phase_rad;
        sum += dw_course_peak(course, line) * (sin(angle) / time + omega * cos(angle)) /
               (1 / (time * time) + omega * omega);
    }
    return -share * sum;
}

static double antiderivative(const DwCourse *course, double seconds)
{
    double sum = course->drift_per_s * seconds * seconds / 2 - missing_sum(course, seconds);
    for (size_t i = 0; i < course->count; i++) {
        const DwSpeedLine *line = &course->lines[i];
        double omega = 2 * M_PI * line->frequency_hz;
        sum -= dw_course_peak(course, line) / omega * cos(omega * seconds + line->phase_rad);
    }
    return sum;
}

void dw_course_close(DwCourse *course)
{
    course->origin = antiderivative(course, 0);
}

double dw_course_gained(const DwCourse *course, double seconds)
{
    return antiderivative(course, seconds) - course->origin;
}
