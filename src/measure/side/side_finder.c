// SPDX-License-Identifier: MIT
#include "measure/side/side_finder.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/band/channel_breaks.h"
#include "measure/side/side_segments.h"

#include <math.h>
#include <stdlib.h>

static const double STEP_DB = 0.5;     // a change of level that is a step
static const double STEP_SIDE_S = 0.6; // looked at on either side of one
static const double QUIET_SHARE = 0.1; // of a side that is gaps
static const double HUMS = 10;         // power there over the other channel's
static const double QUIET_MOST = 4;    // over that power: what is no gap any more
// Of a channel that is louder in the gaps: the share that one line of the mains has of it where it hums, and where it
// does not. Hiss alone holds none in half of the frames.
static const double HUM_SHARE = 0.2, HISS_SHARE = 0.01;
static const double MAINS_OFF_HZ = 1.2; // what 0.7 s tell
static const double HUM_TOP_HZ = 260;   // of lines that rule the sound of gaps
static const double STEADY_DB = 1.5;    // of a channel while the other comes and goes
enum { BREAKS_LEAST = 3 };
static const double NOTHING_DB = -200;
static const double APART_S = 0.3;     // what one channel's stretch may share with the other's
static const double ONE_TONE = 0.005;  // of ln f
static const double HEARD_SHARE = 0.5; // of a frame's power above rumble that a faint tone holds

struct DwSideFinder {
    DwSideFrames *frames;
    unsigned channels;
    double start_s;
    DwSideView view;                    // looked at now
    DwSideCourse course[DW_SIDE_VIEWS]; // of each
    DwSideSegments tones[DW_SIDE_VIEWS];
    double quiet[DW_SIDE_VIEWS];       // power between the bands
    double mains_share[DW_SIDE_VIEWS]; // of it, of a channel alone: the strongest line of the mains
    bool breaks[2];                    // whether each channel comes and goes while the other plays on
    DwSideSegments segments;           // of the view looked at
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
    for (size_t v = 0; v < DW_SIDE_VIEWS; v++) {
        free(finder->course[v].moments);
        free(finder->tones[v].items);
    }
    free(finder->segments.items);
    free(finder);
}

void dw_side_finder_push(DwSideFinder *finder, const float *interleaved, size_t count)
{
    dw_side_frames_push(finder->frames, interleaved, count);
}

static double quiet_power(const DwSideFrame *frames, size_t count)
{
    float *power = dw_memory_new(count + 1, sizeof *power);
    for (size_t i = 0; i < count; i++)
        power[i] = frames[i].power + frames[i].low_power;
    double quiet = count ? dw_statistics_quantile(power, count, QUIET_SHARE) : 0;
    free(power);
    return quiet;
}

static bool is_mains(double hz)
{
    double at50 = fmax(50, 50 * round(hz / 50)), at60 = fmax(60, 60 * round(hz / 60));
    return fmin(fabs(hz - at50), fabs(hz - at60)) < MAINS_OFF_HZ;
}

// The share of the strongest line of the mains in what CHANNEL gives in the frames that are no louder than QUIET
// allows, in the middle one of them.
static double mains_share(const DwSideFrame *frames, size_t count, size_t channel, double quiet)
{
    float *share = dw_memory_new(count + 1, sizeof *share);
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        double power = (double)frames[i].power + frames[i].low_power;
        if (power > QUIET_MOST * quiet || power <= 0 || isnan(frames[i].low.hz))
            continue;
        share[kept++] = is_mains(frames[i].low.hz) ? (float)fmin(1, frames[i].low.power[channel] / power) : 0;
    }
    double middle = kept ? dw_statistics_quantile(share, kept, 0.5) : 0;
    free(share);
    return middle;
}

static void find_tones(DwSideFinder *finder, DwSideView view)
{
    size_t count;
    const DwSideFrame *frames = dw_side_frames_all(finder->frames, view, &count);
    DwSideCourse *course = &finder->course[view];
    free(course->moments);
    finder->tones[view].count = 0;
    *course = dw_side_course_of(frames, view, count, dw_side_frames_hop_s(finder->frames));
    finder->quiet[view] = quiet_power(frames, count);
    if (view != DW_SIDE_BOTH_CHANNELS)
        finder->mains_share[view] = mains_share(frames, count, view == DW_SIDE_RIGHT_ALONE, finder->quiet[view]);
    dw_side_segments_find_tones(course, &finder->tones[view]);
    dw_side_segments_find_low_sweeps(course, &finder->tones[view]);
}

static double level_of(const DwSideMoment *moment, size_t channel)
{
    return 10 * log10((double)moment->power[channel] + 1e-15);
}

// Whether frame I goes on with the tone of the one before, the channel beside CHANNEL at its level.
static bool plays_on(const DwSideMoment *moments, size_t i, size_t channel)
{
    return i > 0 && !isnan(moments[i].hz) && !isnan(moments[i - 1].hz) && !moments[i].is_low &&
           fabs(level_of(&moments[i], 1 - channel) - level_of(&moments[i - 1], 1 - channel)) < STEADY_DB;
}

// Whether CHANNEL goes and comes back while the other plays on.
static bool comes_and_goes(const DwSideFinder *finder, size_t channel)
{
    const DwSideCourse *course = &finder->course[channel ? DW_SIDE_LEFT_ALONE : DW_SIDE_RIGHT_ALONE];
    DwChannelBreaks breaks = {0};
    dw_channel_breaks_forget(&breaks);
    for (size_t i = 0; i < course->count; i++) {
        if (!plays_on(course->moments, i, channel))
            dw_channel_breaks_forget(&breaks);
        else
            dw_channel_breaks_push(&breaks, level_of(&course->moments[i], channel),
                                   level_of(&course->moments[i], 1 - channel));
    }
    return breaks.returns >= BREAKS_LEAST;
}

void dw_side_finder_finish(DwSideFinder *finder)
{
    dw_side_frames_finish(finder->frames);
    for (size_t v = 0; v < (finder->channels > 1 ? DW_SIDE_VIEWS : 1); v++)
        find_tones(finder, (DwSideView)v);
    for (size_t c = 0; finder->channels > 1 && c < 2; c++)
        finder->breaks[c] = comes_and_goes(finder, c);
    dw_side_finder_look(finder, DW_SIDE_BOTH_CHANNELS);
}

bool dw_side_finder_is_loud(const DwSideFinder *finder, size_t channel)
{
    const double *quiet = finder->quiet + DW_SIDE_LEFT_ALONE;
    return finder->channels > 1 && quiet[channel] > HUMS * quiet[1 - channel];
}

static bool overlaps(const DwSideSegment *one, const DwSideSegment *other)
{
    return fmin(one->end_s, other->end_s) - fmax(one->start_s, other->start_s) > APART_S;
}

static bool stands_apart(const DwSideSegments *segments, const DwSideSegment *one)
{
    for (size_t i = 0; i < segments->count; i++)
        if (overlaps(&segments->items[i], one))
            return false;
    return true;
}

// Whether the stretch is no louder in VIEW's channel than what is heard there between the bands, hum that a line of it
// rules, and no band. Where that channel alone hums it hides what it holds: there this does not tell.
static bool is_of_gaps(const DwSideFinder *finder, DwSideView view, const DwSideSegment *one)
{
    size_t channel = view == DW_SIDE_RIGHT_ALONE;
    double power = pow(10, one->level_db[channel] / 10) / 2;
    return one->frequency_hz < HUM_TOP_HZ && power < QUIET_MOST * finder->quiet[view] &&
           !dw_side_finder_is_loud(finder, channel);
}

// Adds what the other channel holds where this one, looked at in VIEW, holds nothing but the sound of its gaps.
static void add_other(const DwSideFinder *finder, DwSideView view, DwSideView other, DwSideSegments *segments)
{
    DwSideSegments added = {0};
    size_t kept = 0, own = segments->count;
    for (size_t i = 0; i < finder->tones[other].count; i++) {
        const DwSideSegment *one = &finder->tones[other].items[i];
        bool free_there = !is_of_gaps(finder, other, one);
        for (size_t k = 0; k < own && free_there; k++)
            free_there = is_of_gaps(finder, view, &segments->items[k]) || !overlaps(&segments->items[k], one);
        if (free_there)
            dw_side_segments_add(&added, *one);
    }
    for (size_t k = 0; k < own; k++)
        if (!is_of_gaps(finder, view, &segments->items[k]) || stands_apart(&added, &segments->items[k]))
            segments->items[kept++] = segments->items[k];
    segments->count = kept;
    for (size_t i = 0; i < added.count; i++)
        dw_side_segments_add(segments, added.items[i]);
    free(added.items);
}

// Takes all for CHANNEL's, and what the other holds for nothing.
static void take_for_one(DwSideSegments *segments, DwPlanChannel channel)
{
    for (size_t i = 0; i < segments->count; i++) {
        segments->items[i].channel = channel;
        segments->items[i].level_db[channel == DW_PLAN_LEFT] = NOTHING_DB;
        segments->items[i].correlation = 0;
    }
}

static bool is_part(const DwSideSegment *part, const DwSideSegment *whole)
{
    return part->kind == DW_PLAN_TONE && part->channel == whole->channel &&
           fabs(log(part->frequency_hz / whole->frequency_hz)) < ONE_TONE && part->start_s > whole->start_s - APART_S &&
           part->end_s < whole->end_s + APART_S;
}

// Makes whole what one channel alone shows in parts, or late, of a tone that both together show whole.
static void join_parts(const DwSideSegments *wholes, DwSideSegments *segments)
{
    for (size_t w = 0; w < wholes->count; w++) {
        const DwSideSegment *whole = &wholes->items[w];
        DwSideSegment *first = NULL;
        size_t kept = 0;
        for (size_t i = 0; i < segments->count && whole->kind == DW_PLAN_TONE; i++) {
            bool part = is_part(&segments->items[i], whole);
            if (part && first)
                continue;
            segments->items[kept] = segments->items[i];
            first = part ? &segments->items[kept] : first;
            kept++;
        }
        segments->count = whole->kind == DW_PLAN_TONE ? kept : segments->count;
        if (first) {
            first->start_s = whole->start_s;
            first->end_s = whole->end_s;
        }
    }
}

DwSideSound dw_side_finder_sound(const DwSideFinder *finder, size_t channel)
{
    double share = finder->mains_share[DW_SIDE_LEFT_ALONE + channel];
    return share > HUM_SHARE ? DW_SIDE_SOUND_HUM : share < HISS_SHARE ? DW_SIDE_SOUND_HISS : DW_SIDE_SOUND_EITHER;
}

void dw_side_finder_look(DwSideFinder *finder, DwSideView view)
{
    view = finder->channels > 1 ? view : DW_SIDE_BOTH_CHANNELS;
    DwSideView other = view == DW_SIDE_LEFT_ALONE ? DW_SIDE_RIGHT_ALONE : DW_SIDE_LEFT_ALONE;
    DwSideSegments *segments = &finder->segments;
    segments->count = 0;
    finder->view = view;
    for (size_t i = 0; i < finder->tones[view].count; i++)
        dw_side_segments_add(segments, finder->tones[view].items[i]);
    bool alone = view != DW_SIDE_BOTH_CHANNELS;
    if (alone && dw_side_finder_is_loud(finder, view == DW_SIDE_LEFT_ALONE))
        take_for_one(segments, view == DW_SIDE_LEFT_ALONE ? DW_PLAN_LEFT : DW_PLAN_RIGHT);
    else if (alone) {
        add_other(finder, view, other, segments);
        join_parts(&finder->tones[DW_SIDE_BOTH_CHANNELS], segments);
    }
    dw_side_segments_find_silence(&finder->course[view], segments);
    for (size_t i = 0; i < segments->count; i++) {
        segments->items[i].start_s += finder->start_s;
        segments->items[i].end_s += finder->start_s;
        if (finder->channels == 1)
            segments->items[i].channel = DW_PLAN_LATERAL;
    }
}

bool dw_side_finder_breaks(const DwSideFinder *finder, size_t channel)
{
    return finder->breaks[channel];
}

double dw_side_finder_heard_from(const DwSideFinder *finder, size_t channel, double hz, double from_s, double least_s)
{
    enum { HOLE = 2 }; // frames in which the contact clicks
    DwSideView view = channel ? DW_SIDE_RIGHT_ALONE : DW_SIDE_LEFT_ALONE;
    const DwSideCourse *course = &finder->course[finder->channels > 1 ? view : DW_SIDE_BOTH_CHANNELS];
    double least = fmax(0, (least_s - finder->start_s) / course->hop_s),
           from = fmax(0, (from_s - finder->start_s) / course->hop_s);
    size_t first = from < (double)course->count ? (size_t)from : course->count, begun = first;
    for (size_t i = first; i > 0 && (double)(i - 1) >= least && begun - i <= HOLE; i--) {
        const DwSideFrame *frame = &course->frames[i - 1];
        bool heard = fabs(log((double)frame->main.hz / hz)) < ONE_TONE &&
                     dw_side_view_power(course->view, frame->main.power) > HEARD_SHARE * (double)frame->power;
        begun = heard ? i - 1 : begun;
    }
    return begun < first ? finder->start_s + (double)begun * course->hop_s : from_s;
}

const DwSideCourse *dw_side_finder_course(const DwSideFinder *finder)
{
    return &finder->course[finder->view];
}

const DwSideCourse *dw_side_finder_course_for(const DwSideFinder *finder, DwPlanChannel channel)
{
    bool right = channel == DW_PLAN_RIGHT;
    DwSideView hidden = right ? DW_SIDE_LEFT_ALONE : DW_SIDE_RIGHT_ALONE;
    if (finder->view != hidden || (channel != DW_PLAN_LEFT && !right) || dw_side_finder_is_loud(finder, right))
        return dw_side_finder_course(finder);
    return &finder->course[right ? DW_SIDE_RIGHT_ALONE : DW_SIDE_LEFT_ALONE];
}

double dw_side_finder_start_s(const DwSideFinder *finder)
{
    return finder->start_s;
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
    const DwSideCourse *course = &finder->course[finder->view];
    double place = fmax(0, (second - finder->start_s) / course->hop_s);
    return place < (double)course->count ? (size_t)place : course->count;
}

bool dw_side_finder_range(const DwSideFinder *finder, double from_s, double to_s, double *low_hz, double *high_hz)
{
    const DwSideMoment *moments = finder->course[finder->view].moments;
    double low = INFINITY, high = 0;
    for (size_t i = frame_at(finder, from_s), end = frame_at(finder, to_s); i < end; i++)
        if (!isnan(moments[i].hz)) {
            low = fmin(low, moments[i].hz);
            high = fmax(high, moments[i].hz);
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
    const DwSideCourse *course = &finder->course[finder->view];
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
