// SPDX-License-Identifier: MIT
// What of a side is no tone to the ear: sweeps below hearing and silent groove.
#include "measure/side/side_segments.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double LOW_TOP_HZ = 100, LOW_BOTTOM_HZ = 3.5;
static const double LOW_SHARE = 0.6;     // of what lies about it
static const double LOW_QUIETEST = 3e-6; // of the loud frames' power
static const double LOW_HOLE_S = 0.7;
static const double LOW_WINDOW_S = 0.7; // through which each frame sees a low tone
static const double LOW_JUMP = 0.1;     // of ln f a frame
static const double LOW_STILL = 0.03;   // of ln f: a pitch that is held
static const double LEAST_OCTAVES = 0.8, LEAST_S = 3;
static const double DETOUR = 1.5;     // way to and fro over the way made
static const double EDGE_S = 1.2;     // how far the ends are looked for beyond the tone followed
static const double EDGE_SHARE = 0.5; // of its power, within three frames at the very edge
static const double STANDS_OUT = 2;   // of the power that rumble and hum have elsewhere
static const double ELSEWHERE_S = 4;  // that tell it
static const double HALF_LEAST = 0.1; // of its frames, that a sweep spends in either half of its octaves
static const double BLOCK_S = 0.5;    // of silence judged at a time
static const double STEADY_DB = 3;
static const double SILENCE_LEAST_S = 2.5;

// --- sweeps below hearing -------------------------------------------------------------

typedef struct {
    size_t first, end; // frames
    double first_hz, last_hz, way;
    double power[2], common;
    DwSideShares shares;
    size_t count;
} LowRun;

static bool is_low_tone(const DwSideCourse *course, size_t i)
{
    const DwSideFrame *frame = &course->frames[i];
    double low = dw_side_view_power(course->view, frame->low.power);
    return frame->low.hz > LOW_BOTTOM_HZ && frame->low.hz < LOW_TOP_HZ && low > LOW_SHARE * (double)frame->low_around &&
           low > LOW_QUIETEST * course->loud;
}

static void lengthen(LowRun *run, const DwSideFrame *frame, size_t at)
{
    if (run->count == 0)
        *run = (LowRun){.first = at, .first_hz = frame->low.hz, .last_hz = frame->low.hz};
    run->way += fabs(log2((double)frame->low.hz / run->last_hz));
    run->last_hz = frame->low.hz;
    run->end = at + 1;
    run->power[0] += frame->low.power[0];
    run->power[1] += frame->low.power[1];
    run->common += frame->low.common;
    dw_side_shares_push(&run->shares, frame->low.power, frame->low.common);
    run->count++;
}

// The mean power below 150 Hz of the COUNT frames from FIRST on.
static double low_level(const DwSideCourse *course, size_t first, size_t count)
{
    double sum = 0;
    for (size_t i = first; i < first + count && i < course->count; i++)
        sum += course->frames[i].low_power;
    return sum / (double)count;
}

// Whether frame I holds HZ, or no pitch at all.
static bool holds(const DwSideCourse *course, size_t i, double hz)
{
    return !is_low_tone(course, i) || fabs(log((double)course->frames[i].low.hz / hz)) < LOW_STILL;
}

// Leaves to the motor's rumble what is no more than USUAL before RUN or behind it and holds the pitch at that end.
static void leave_rumble(const DwSideCourse *course, LowRun *run, double usual)
{
    size_t some = (size_t)(1 / course->hop_s), first = run->first, end = run->end;
    while (first + some < end && holds(course, first, run->first_hz) &&
           low_level(course, first, some) < STANDS_OUT * usual)
        first++;
    while (end > first + some && holds(course, end - 1, run->last_hz) &&
           low_level(course, end - some, some) < STANDS_OUT * usual)
        end--;
    run->first = first;
    run->end = end;
}

// The long window smears the ends of a low sweep; the power of the frames themselves does not.
static void find_ends(const DwSideCourse *course, LowRun *run)
{
    size_t far = (size_t)(EDGE_S / course->hop_s), some = (size_t)(1 / course->hop_s);
    double begin = EDGE_SHARE * low_level(course, run->first + some / 2, some);
    double end = EDGE_SHARE * low_level(course, run->end > 2 * some ? run->end - 3 * some / 2 : 0, some);
    size_t first = run->first > far ? run->first - far : 0, last = run->end + far;
    last = last < course->count ? last : course->count;
    size_t inner = run->first + some, outer = run->end > some ? run->end - some : 0;
    while (inner > first && low_level(course, inner - 1, 3) > begin)
        inner--;
    while (outer < last && low_level(course, outer - 1, 3) > end)
        outer++;
    run->first = inner + 1; // the middle of those three
    run->end = outer;
}

// The median power of what lies below 150 Hz in the rest of the side; 0 where too little is left to tell.
static double usual_power(const DwSideCourse *course, const LowRun *run)
{
    float *elsewhere = dw_memory_new(course->count + 1, sizeof *elsewhere);
    size_t count = 0;
    for (size_t i = 0; i < course->count; i++)
        if (i < run->first || i >= run->end)
            elsewhere[count++] = course->frames[i].low_power;
    bool is_known = (double)count * course->hop_s > ELSEWHERE_S;
    double usual = is_known ? dw_statistics_quantile(elsewhere, count, 0.5) : 0;
    free(elsewhere);
    return usual;
}

// Whether RUN is more than USUAL: hum and rumble may seem to glide from one pitch to another, but they are everywhere.
static bool stands_out(const LowRun *run, double usual)
{
    return (run->power[0] + run->power[1]) / (double)run->count > STANDS_OUT * usual;
}

// Whether RUN spends its time on the way: what holds one pitch nearly all along and ends with a jump is no sweep.
static bool goes_evenly(const DwSideCourse *course, const LowRun *run)
{
    double middle = sqrt(run->first_hz * run->last_hz);
    bool rises = run->last_hz > run->first_hz;
    size_t before = 0, count = 0;
    for (size_t i = run->first; i < run->end; i++)
        if (is_low_tone(course, i)) {
            before += ((double)course->frames[i].low.hz < middle) == rises;
            count++;
        }
    double share = count ? (double)before / (double)count : 0;
    return share > HALF_LEAST && share < 1 - HALF_LEAST;
}

static bool overlaps(const DwSideSegment *segment, double start_s, double end_s)
{
    return fmin(segment->end_s, end_s) - fmax(segment->start_s, start_s) > 0.5 * (segment->end_s - segment->start_s);
}

// Leaves to the tones of other bands what rumble under them joined to the run: those that end in its first half, or
// begin in its second. A pilot tone does neither.
static void leave_tones(const DwSideSegments *segments, double *start_s, double *end_s)
{
    double middle_s = (*start_s + *end_s) / 2;
    for (size_t i = 0; i < segments->count; i++) {
        const DwSideSegment *other = &segments->items[i];
        if (other->kind != DW_PLAN_TONE || !(other->frequency_hz > 2 * LOW_TOP_HZ))
            continue;
        if (other->end_s < middle_s)
            *start_s = fmax(*start_s, other->end_s);
        if (other->start_s > middle_s)
            *end_s = fmin(*end_s, other->start_s);
    }
}

// Adds the run as a sweep, in place of what was found along with it: a pilot
// tone, or parts of the sweep itself. A sweep that goes on above is left alone.
static void keep_run(const DwSideCourse *course, LowRun run, DwSideSegments *segments)
{
    double octaves = fabs(log2(run.last_hz / run.first_hz)), usual = run.count ? usual_power(course, &run) : 0;
    if (run.count == 0 || octaves < LEAST_OCTAVES || run.way > DETOUR * octaves ||
        (double)(run.end - run.first) * course->hop_s < LEAST_S || !stands_out(&run, usual) ||
        !goes_evenly(course, &run))
        return;
    leave_rumble(course, &run, usual);
    find_ends(course, &run);
    double start_s = (double)run.first * course->hop_s, end_s = (double)run.end * course->hop_s;
    leave_tones(segments, &start_s, &end_s);
    for (size_t i = 0; i < segments->count; i++) {
        const DwSideSegment *other = &segments->items[i];
        if (other->kind == DW_PLAN_SWEEP && fmax(other->from_hz, other->to_hz) > 2 * LOW_TOP_HZ &&
            other->start_s < end_s && other->end_s > start_s)
            return;
    }
    size_t kept = 0;
    for (size_t i = 0; i < segments->count; i++)
        if (!overlaps(&segments->items[i], start_s, end_s))
            segments->items[kept++] = segments->items[i];
    segments->count = kept;
    double scale = 1 / (double)run.count;
    DwSideSegment segment = {
        .kind = DW_PLAN_SWEEP,
        .channel = dw_side_direction(run.power, run.common),
        .start_s = start_s,
        .end_s = end_s,
        .frequency_hz = NAN,
        .from_hz = run.first_hz,
        .to_hz = run.last_hz,
        .level_db = {10 * log10(2 * scale * run.power[0] + 1e-20), 10 * log10(2 * scale * run.power[1] + 1e-20)},
        .correlation = dw_side_correlation(run.power, run.common),
        .high_db = NAN,
        .purity = LOW_SHARE,
    };
    dw_side_shares_read(&run.shares, fmax(1, LOW_WINDOW_S / course->hop_s), &segment);
    dw_side_segments_add(segments, segment);
}

void dw_side_segments_find_low_sweeps(const DwSideCourse *course, DwSideSegments *segments)
{
    LowRun run = {0};
    for (size_t i = 0; i < course->count; i++) {
        if (!is_low_tone(course, i))
            continue;
        const DwSideFrame *frame = &course->frames[i];
        bool follows = run.count && (double)(i - run.end) * course->hop_s < LOW_HOLE_S &&
                       fabs(log((double)frame->low.hz / run.last_hz)) < LOW_JUMP + 1 / (double)frame->low.hz;
        if (!follows) {
            keep_run(course, run, segments);
            run.count = 0;
        }
        lengthen(&run, frame, i);
    }
    keep_run(course, run, segments);
}

// --- silence --------------------------------------------------------------------------

// The median power above 120 Hz of COUNT frames, so that a tick does not count.
static double median_power(const DwSideCourse *course, size_t first, size_t count)
{
    float values[64];
    count = count < 64 ? count : 64;
    for (size_t i = 0; i < count; i++)
        values[i] = course->frames[first + i].power;
    return 10 * log10(2 * dw_statistics_quantile(values, count, 0.5) + 1e-20);
}

static void add_silence(const DwSideCourse *course, size_t first, size_t end, double level_db, DwSideSegments *segments)
{
    if ((double)(end - first) * course->hop_s < SILENCE_LEAST_S)
        return;
    dw_side_segments_add(segments, (DwSideSegment){
                                       .kind = DW_PLAN_SILENCE,
                                       .channel = DW_PLAN_LATERAL,
                                       .start_s = (double)first * course->hop_s,
                                       .end_s = (double)end * course->hop_s,
                                       .frequency_hz = NAN,
                                       .from_hz = NAN,
                                       .to_hz = NAN,
                                       .level_db = {level_db, level_db},
                                       .high_db = NAN,
                                   });
}

// Parts the frames from FIRST up to END into stretches of one level.
static void part_silence(const DwSideCourse *course, size_t first, size_t end, DwSideSegments *segments)
{
    size_t block = (size_t)ceil(BLOCK_S / course->hop_s), start = first;
    double level_db = NAN, blocks = 0;
    for (size_t i = first; i < end; i += block) {
        size_t count = end - i < block ? end - i : block;
        double here = median_power(course, i, count);
        if (blocks > 0 && fabs(here - level_db) > STEADY_DB) {
            add_silence(course, start, i, level_db, segments);
            start = i;
            blocks = 0;
        }
        blocks++;
        level_db = blocks > 1 ? level_db + (here - level_db) / blocks : here;
    }
    add_silence(course, start, end, level_db, segments);
}

static int by_start(const void *a, const void *b)
{
    double x = ((const DwSideSegment *)a)->start_s, y = ((const DwSideSegment *)b)->start_s;
    return (x > y) - (x < y);
}

void dw_side_segments_find_silence(const DwSideCourse *course, DwSideSegments *segments)
{
    size_t tones = segments->count, at = 0;
    if (tones)
        qsort(segments->items, tones, sizeof *segments->items, by_start);
    for (size_t i = 0; i <= tones; i++) {
        double end_s = i < tones ? segments->items[i].start_s : (double)course->count * course->hop_s;
        size_t end = (size_t)(end_s / course->hop_s);
        if (end > at + 1)
            part_silence(course, at, end, segments);
        if (i < tones)
            at = (size_t)ceil(segments->items[i].end_s / course->hop_s);
    }
    if (segments->count)
        qsort(segments->items, segments->count, sizeof *segments->items, by_start);
}
