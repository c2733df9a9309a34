// SPDX-License-Identifier: MIT
#include "measure/side/side_finder.h"

#include "base/memory.h"
#include "measure/side/side_segments.h"

#include <math.h>
#include <stdlib.h>

static const double STEP_DB = 0.5;     // a change of level that is a step
static const double STEP_SIDE_S = 0.6; // looked at on either side of one

struct DwSideFinder {
    DwSideFrames *frames;
    unsigned channels;
    double start_s;
    DwSideCourse course;
    DwSideSegments segments;
};

DwSideFinder *dw_side_finder_new(double rate_hz, unsigned channels, bool equalise, double start_s)
{
    DwSideFinder *finder = dw_memory_new(1, sizeof *finder);
    finder->frames = dw_side_frames_new(rate_hz, channels, equalise);
    finder->channels = channels;
    finder->start_s = start_s;
    return finder;
}

void dw_side_finder_free(DwSideFinder *finder)
{
    if (!finder)
        return;
    dw_side_frames_free(finder->frames);
    free(finder->course.moments);
    free(finder->segments.items);
    free(finder);
}

void dw_side_finder_push(DwSideFinder *finder, const float *interleaved, size_t count)
{
    dw_side_frames_push(finder->frames, interleaved, count);
}

void dw_side_finder_finish(DwSideFinder *finder)
{
    dw_side_frames_finish(finder->frames);
    size_t count;
    const DwSideFrame *frames = dw_side_frames_all(finder->frames, &count);
    free(finder->course.moments);
    finder->segments.count = 0;
    finder->course = dw_side_course_of(frames, count, dw_side_frames_hop_s(finder->frames));
    dw_side_segments_find_tones(&finder->course, &finder->segments);
    dw_side_segments_find_low_sweeps(&finder->course, &finder->segments);
    dw_side_segments_find_silence(&finder->course, &finder->segments);
    for (size_t i = 0; i < finder->segments.count; i++) {
        finder->segments.items[i].start_s += finder->start_s;
        finder->segments.items[i].end_s += finder->start_s;
        if (finder->channels == 1)
            finder->segments.items[i].channel = DW_PLAN_LATERAL;
    }
}

DwStatus dw_side_finder_check(const DwSideFinder *finder, DwMessage *message)
{
    double second;
    if (dw_side_frames_met_bad_sample(finder->frames, &second))
        return dw_fail(message, DW_BAD_INPUT,
                       "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                       second + finder->start_s);
    return DW_OK;
}

const DwSideSegment *dw_side_finder_segments(const DwSideFinder *finder, size_t *count)
{
    *count = finder->segments.count;
    return finder->segments.items;
}

double dw_side_finder_end_s(const DwSideFinder *finder)
{
    return finder->start_s + dw_side_frames_length_s(finder->frames);
}

// The frame that holds SECOND, or the nearest.
static size_t frame_at(const DwSideFinder *finder, double second)
{
    double place = fmax(0, (second - finder->start_s) / finder->course.hop_s);
    return place < (double)finder->course.count ? (size_t)place : finder->course.count;
}

bool dw_side_finder_range(const DwSideFinder *finder, double from_s, double to_s, double *low_hz, double *high_hz)
{
    double low = INFINITY, high = 0;
    for (size_t i = frame_at(finder, from_s), end = frame_at(finder, to_s); i < end; i++)
        if (!isnan(finder->course.moments[i].hz)) {
            low = fmin(low, finder->course.moments[i].hz);
            high = fmax(high, finder->course.moments[i].hz);
        }
    if (!(high > 0))
        return false;
    *low_hz = low;
    *high_hz = high;
    return true;
}

// The mean level of the tones from FIRST up to END.
static double mean_level_db(const DwSideCourse *course, size_t first, size_t end)
{
    double sum = 0, count = 0;
    for (size_t i = first; i < end; i++)
        if (!isnan(course->moments[i].hz)) {
            sum += (double)course->moments[i].power[0] + course->moments[i].power[1];
            count++;
        }
    return count > 0 ? 10 * log10(2 * sum / count) : NAN;
}

size_t dw_side_finder_steps(const DwSideFinder *finder, double from_s, double to_s, double *level_db, double *start_s,
                            size_t most)
{
    const DwSideCourse *course = &finder->course;
    size_t first = frame_at(finder, from_s + course->hop_s), end = frame_at(finder, to_s);
    size_t side = (size_t)ceil(STEP_SIDE_S / course->hop_s), count = 0, last = first;
    for (size_t i = first + side; i + side < end && count + 1 < most; i++) {
        double jump = fabs(mean_level_db(course, i, i + side) - mean_level_db(course, i - side, i));
        bool highest = jump > STEP_DB;
        for (size_t k = i > first + 2 * side ? i - side : first + side; highest && k <= i + side && k + side < end; k++)
            highest = jump >= fabs(mean_level_db(course, k, k + side) - mean_level_db(course, k - side, k));
        if (!highest)
            continue;
        start_s[count] = finder->start_s + (double)last * course->hop_s;
        level_db[count++] = mean_level_db(course, last, i);
        last = i;
        i += side;
    }
    if (last < end && count < most) {
        start_s[count] = finder->start_s + (double)last * course->hop_s;
        level_db[count++] = mean_level_db(course, last, end);
    }
    return count;
}
