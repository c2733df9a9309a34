// SPDX-License-Identifier: MIT
#include "measure/music/partial_course.h"

#include "base/memory.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

static const double BLOCK_HZ = 1200, WINDOW_S = 0.16, POINT_HZ = 80;
enum { POINTS_A_VALUE = 4, SMOOTHED = 5, REFINED = 3 };
static const double REFINE_HZ = 8;
static const double RAMP_S = 0.9; // of the weights, at both ends
static const double VIBRATO_LOW_HZ = 3.5, VIBRATO_HIGH_HZ = 8.5, VIBRATO_PERCENT = 0.25, VIBRATO_SHARE = 0.35;

// --- the course ----------------------------------------------------------------

static double path_at(const float *smooth, size_t count, double spectrum)
{
    if (spectrum <= 0)
        return smooth[0];
    size_t i = (size_t)spectrum;
    if (i + 1 >= count)
        return smooth[count - 1];
    return smooth[i] + (smooth[i + 1] - smooth[i]) * (spectrum - (double)i);
}

static float *smooth_path(const DwPartial *partial)
{
    float *smooth = dw_memory_new(partial->count, sizeof *smooth);
    for (size_t i = 0; i < partial->count; i++) {
        size_t reach = SMOOTHED / 2;
        reach = i < reach ? i : reach;
        reach = partial->count - 1 - i < reach ? partial->count - 1 - i : reach;
        double sum = 0;
        for (size_t k = i - reach; k <= i + reach; k++)
            sum += partial->hz[k];
        smooth[i] = (float)(sum / (double)(2 * reach + 1));
    }
    return smooth;
}

// A partial mixed down to nothing along its path, in blocks.
typedef struct {
    double complex *block;
    double *hz; // of the path in each
    size_t count, length;
    double first_s; // the middle of the first
    double rate_hz; // of blocks
} Mixed;

// The frequency that PATH has at AT_S.
typedef struct {
    double first_s, step_s;
    const float *hz;
    size_t count;
} Path;

static Mixed mix_down(const DwPartials *partials, const DwPartial *partial, const Path *path, const float *samples,
                      size_t count, double rate_hz)
{
    Mixed mixed = {.length = (size_t)fmax(1, round(rate_hz / BLOCK_HZ))};
    double begin_s = partials->first_s + (double)partial->from * partials->hop_s;
    double end_s = begin_s + (double)(partial->count - 1) * partials->hop_s;
    size_t first = (size_t)(fmax(0, begin_s - WINDOW_S / 2) * rate_hz);
    size_t last = (size_t)((end_s + WINDOW_S / 2) * rate_hz);
    last = last < count ? last : count;
    mixed.count = (last - first) / mixed.length;
    mixed.rate_hz = rate_hz / (double)mixed.length;
    mixed.first_s = ((double)first + (double)mixed.length / 2) / rate_hz;
    mixed.block = dw_memory_new(mixed.count + 1, sizeof *mixed.block);
    mixed.hz = dw_memory_new(mixed.count + 1, sizeof *mixed.hz);
    double complex turn = 1;
    for (size_t b = 0; b < mixed.count; b++) {
        double at_s = mixed.first_s + (double)b / mixed.rate_hz;
        mixed.hz[b] = path_at(path->hz, path->count, (at_s - path->first_s) / path->step_s);
        double complex step = cexp(-2 * M_PI * I * mixed.hz[b] / rate_hz), sum = 0;
        const float *from = samples + first + b * mixed.length;
        for (size_t n = 0; n < mixed.length; n++) {
            sum += from[n] * turn;
            turn *= step;
        }
        turn /= cabs(turn);
        mixed.block[b] = sum;
    }
    return mixed;
}

// The window's sum around block AT.
static double complex windowed(const Mixed *mixed, const double *window, size_t half, size_t at)
{
    double complex sum = 0;
    for (size_t k = 0; k <= 2 * half; k++)
        sum += window[k] * mixed->block[at + k - half];
    return sum;
}

static void weigh(DwPartialCourse *course)
{
    double sum = 0;
    for (size_t i = 0; i < course->count; i++)
        sum += course->weight[i];
    double mean = sum / (double)course->count, length_s = (double)course->count * course->step_s;
    double ramp = fmin(RAMP_S, length_s / 2);
    for (size_t i = 0; i < course->count; i++) {
        double energy = course->weight[i];
        double edge_s = fmin((double)i + 0.5, (double)course->count - (double)i - 0.5) * course->step_s;
        double rise = edge_s < ramp ? sin(M_PI / 2 * edge_s / ramp) : 1;
        course->weight[i] = (float)(rise * rise * energy / (energy + mean / 2));
    }
}

static void centre(DwPartialCourse *course)
{
    double sum = 0, weights = 1e-9;
    for (size_t i = 0; i < course->count; i++) {
        sum += course->weight[i] * course->percent[i];
        weights += course->weight[i];
    }
    double mean = sum / weights;
    for (size_t i = 0; i < course->count; i++)
        course->percent[i] = (float)(course->percent[i] - mean);
    course->mean_hz *= exp(mean / 100);
}

// The strongest line of COURSE between the rates that musicians shake at.
static void find_vibrato(DwPartialCourse *course)
{
    double total = 0, best = 0;
    for (size_t i = 1; i < course->count; i++)
        total += pow(course->percent[i] - course->percent[i - 1], 2);
    for (double hz = VIBRATO_LOW_HZ; hz <= VIBRATO_HIGH_HZ; hz += 0.25) {
        double complex sum = 0;
        double weights = 1e-9;
        for (size_t i = 0; i < course->count; i++) {
            double w = course->weight[i];
            sum += w * course->percent[i] * cexp(-2 * M_PI * I * hz * (double)i * course->step_s);
            weights += w;
        }
        double power = 2 * pow(cabs(sum) / weights, 2);
        double stepped = power * 4 * pow(sin(M_PI * hz * course->step_s), 2); // as differences see it
        if (power > best && stepped * (double)course->count > VIBRATO_SHARE * total) {
            best = power;
            course->vibrato_hz = hz;
        }
    }
    course->vibrato_percent = sqrt(2 * best);
    if (course->vibrato_percent < VIBRATO_PERCENT)
        course->vibrato_hz = 0;
}

static void read_values(DwPartialCourse *course, const Mixed *mixed)
{
    size_t half = (size_t)(WINDOW_S / 2 * mixed->rate_hz);
    size_t step = (size_t)lround(mixed->rate_hz / POINT_HZ), span = step * POINTS_A_VALUE;
    if (mixed->count < 2 * half + 1 + span)
        return;
    course->count = (mixed->count - 2 * half - 1) / span;
    course->first_s = mixed->first_s + ((double)half + (double)span / 2) / mixed->rate_hz;
    course->step_s = (double)span / mixed->rate_hz;
    course->percent = dw_memory_new(course->count, sizeof *course->percent);
    course->weight = dw_memory_new(course->count, sizeof *course->weight);
    double *window = dw_memory_new(2 * half + 1, sizeof *window);
    for (size_t k = 0; k <= 2 * half; k++)
        window[k] = 1 + cos(M_PI * ((double)k - (double)half) / ((double)half + 1));
    course->mean_hz = mixed->hz[mixed->count / 2];
    double complex before = windowed(mixed, window, half, half);
    for (size_t i = 0; i < course->count; i++) {
        double complex pair = 0;
        double path = 0;
        for (size_t p = 0; p < POINTS_A_VALUE; p++) {
            size_t at = half + i * span + (p + 1) * step;
            double complex now = windowed(mixed, window, half, at);
            pair += now * conj(before);
            before = now;
            for (size_t k = at - step; k < at; k++)
                path += mixed->hz[k] / (double)span;
        }
        double hz = path + carg(pair) * mixed->rate_hz / (double)step / (2 * M_PI);
        course->percent[i] = (float)(100 * log(hz / course->mean_hz));
        course->weight[i] = (float)cabs(pair);
    }
    free(window);
}

// Each value of the course as the mean of itself and its neighbours, by their weights.
static void smooth_values(const DwPartialCourse *course, const double *values, double *smooth)
{
    for (size_t i = 0; i < course->count; i++) {
        double sum = 0, weights = 1e-12;
        for (size_t k = i > 0 ? i - 1 : 0; k <= i + 1 && k < course->count; k++) {
            sum += course->weight[k] * values[k];
            weights += course->weight[k];
        }
        smooth[i] = sum / weights;
    }
}

// The course as the path of a next time: nearer to what the partial does than that of the spectra, which lags behind.
// What smoothing took is smoothed and given back, so that of wow nothing is lost: noise draws each course towards its
// path, so that what a path lacks the course would lack too.
static float *refine_path(const DwPartialCourse *course, const Path *before)
{
    float *hz = dw_memory_new(course->count, sizeof *hz);
    double *rest = dw_memory_new(course->count, sizeof *rest), *first = dw_memory_new(course->count, sizeof *first),
           *second = dw_memory_new(course->count, sizeof *second);
    for (size_t i = 0; i < course->count; i++)
        rest[i] = course->percent[i];
    smooth_values(course, rest, first);
    for (size_t i = 0; i < course->count; i++)
        rest[i] -= first[i];
    smooth_values(course, rest, second);
    for (size_t i = 0; i < course->count; i++) {
        double at_s = course->first_s + (double)i * course->step_s;
        double was = path_at(before->hz, before->count, (at_s - before->first_s) / before->step_s);
        double now = course->mean_hz * exp((first[i] + second[i]) / 100);
        hz[i] = (float)(was + fmin(fmax(now - was, -REFINE_HZ), REFINE_HZ));
    }
    free(rest);
    free(first);
    free(second);
    return hz;
}

static DwPartialCourse follow_path(const DwPartials *partials, const DwPartial *partial, const Path *path,
                                   const float *samples, size_t count, double rate_hz)
{
    DwPartialCourse course = {.level = partial->level};
    Mixed mixed = mix_down(partials, partial, path, samples, count, rate_hz);
    read_values(&course, &mixed);
    free(mixed.block);
    free(mixed.hz);
    return course;
}

DwPartialCourse dw_partial_course_follow(const DwPartials *partials, const DwPartial *partial, const float *samples,
                                         size_t count, double rate_hz)
{
    float *smooth = smooth_path(partial);
    Path path = {partials->first_s + (double)partial->from * partials->hop_s, partials->hop_s, smooth, partial->count};
    DwPartialCourse course = follow_path(partials, partial, &path, samples, count, rate_hz);
    if (course.count == 0) {
        free(smooth);
        return course;
    }
    float *before = smooth;
    for (int pass = 0; pass < REFINED; pass++) {
        float *refined = refine_path(&course, &path);
        path = (Path){course.first_s, course.step_s, refined, course.count};
        dw_partial_course_clear(&course);
        course = follow_path(partials, partial, &path, samples, count, rate_hz);
        free(before);
        before = refined;
    }
    free(before);
    weigh(&course);
    centre(&course);
    find_vibrato(&course);
    return course;
}

// What an average over LENGTH_S leaves of a sine.
static double averaged(double rate_hz, double length_s)
{
    double angle = M_PI * rate_hz * length_s;
    return fabs(angle) > 1e-6 ? sin(angle) / angle : 1;
}

double dw_partial_course_gain(const DwPartialCourse *course, double rate_hz)
{
    double value = averaged(rate_hz, course->step_s), turns = rate_hz * WINDOW_S;
    double window = fabs(turns - 1) > 1e-6 ? averaged(rate_hz, WINDOW_S) / (1 - turns * turns) : 0.5;
    double smooth = (1 + 2 * cos(2 * M_PI * rate_hz * course->step_s)) / 3;
    double path = value * value * smooth * (2 - smooth); // drawn straight from value to value
    return value * window / (1 - value * (1 - window) * path);
}

void dw_partial_course_clear(DwPartialCourse *course)
{
    free(course->percent);
    free(course->weight);
    *course = (DwPartialCourse){0};
}

// --- notes ---------------------------------------------------------------------

enum { HARMONICS = 16 };

static double end_of(const DwPartialCourse *course)
{
    return course->first_s + (double)course->count * course->step_s;
}

// Whether the shorter of the two sounds for most of its time beside the other, and they begin alike.
static bool together(const DwPartialCourse *a, const DwPartialCourse *b)
{
    double both = fmin(end_of(a), end_of(b)) - fmax(a->first_s, b->first_s);
    return both > 0.4 * fmin((double)a->count * a->step_s, (double)b->count * b->step_s);
}

// Whether B goes on where A ended, at the same pitch.
static bool goes_on(const DwPartialCourse *a, const DwPartialCourse *b)
{
    return fabs(b->first_s - end_of(a)) < 0.6 && fabs(log(b->mean_hz / a->mean_hz)) < 0.012;
}

// Whether the higher of two frequencies is a partial of the lower.
static bool harmonic(double low_hz, double high_hz)
{
    double times = high_hz / low_hz, off = fabs(times - round(times));
    return round(times) <= HARMONICS && off / times < 0.004 + 0.0002 * times;
}

bool dw_partial_course_is_root(const DwPartialCourse *courses, size_t count, size_t index)
{
    const DwPartialCourse *own = &courses[index];
    for (size_t k = 0; k < count && courses[k].first_s < end_of(own); k++)
        if (k != index && courses[k].mean_hz < 0.75 * own->mean_hz && together(&courses[k], own) &&
            harmonic(courses[k].mean_hz, own->mean_hz))
            return false;
    return true;
}

size_t dw_partial_course_name_notes(DwPartialCourse *courses, size_t count)
{
    size_t notes = 0;
    for (size_t i = 0; i < count; i++) {
        size_t found = notes;
        for (size_t k = i; k-- > 0 && found == notes;) {
            double low = fmin(courses[i].mean_hz, courses[k].mean_hz),
                   high = fmax(courses[i].mean_hz, courses[k].mean_hz);
            if ((together(&courses[i], &courses[k]) && harmonic(low, high)) || goes_on(&courses[k], &courses[i]))
                found = courses[k].note;
            if (courses[i].first_s - courses[k].first_s > 60)
                break;
        }
        courses[i].note = found;
        notes += found == notes;
    }
    return notes;
}
