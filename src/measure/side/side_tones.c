// SPDX-License-Identifier: MIT
// Tones and sweeps of a side: frames whose tones follow on one another.
#include "measure/side/side_segments.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double LEAST_SHARE = 0.5;                      // of all power, that a tone must carry
static const double LEAST_LOW_SHARE = 0.6;                  // of what lies about a low tone
static const double QUIETEST = 3e-5;                        // of the loud frames' power (−45 dB): below is no band
static const double QUIET_LOW_HZ = 130;                     // below it hum and rumble pass for tones …
static const double QUIETEST_LOW = 1e-3;                    // … up to −30 dB
static const double SPLIT_FROM_HZ = 100, SPLIT_TO_HZ = 200; // seen in both spectra
static const double SAME_HZ = 0.005;                        // of ln f, from one frame of a tone to the next
static const double SAME_POWER = 1.25;                      // ratio of the same: 1 dB
static const double LEAST_S = 1;                            // of a tone
static const double LEAST_SWEEP_S = 2;
static const double HOLE_S = 0.17; // a tick or dropout
static const double JUMP = 0.05;   // of ln f between frames, and
static const double GLIDE = 0.035; // for each more that a hole leaves out
static const double SWEEP = 0.08;  // of ln f, that is more than a deck's drift
static const double DETOUR = 1.6;  // way to and fro over the way made
static const double STILL = 0.012; // of ln f: a tone before or after a sweep stays within
static const double STILL_S = 1.5;
static const double LEVEL_DB = 3, SIDES_DB = 6; // changes that begin another band
static const double ONE_SIDED = 4;              // ratio of power: 6 dB
static const double SECOND_DB = -50;            // the quieter of two tones over the louder
static const double SECOND_STEADY = 0.004;      // its spread of ln f

typedef struct {
    size_t first, end; // frames
    bool moves;
} Chain;

void dw_side_segments_add(DwSideSegments *segments, DwSideSegment segment)
{
    if (segments->count == segments->room) {
        segments->room = segments->room * 2 + 32;
        segments->items = dw_memory_resize(segments->items, segments->room, sizeof *segments->items);
    }
    segments->items[segments->count++] = segment;
}

// The value that SHARE of COUNT VALUES lie below; NAN of none. Reorders them.
static double quantile(float *values, size_t count, double share)
{
    return count ? dw_statistics_quantile(values, count, share) : NAN;
}

// --- judging frames -----------------------------------------------------------------

double dw_side_view_power(DwSideView view, const float power[2])
{
    return view == DW_SIDE_BOTH_CHANNELS ? (double)power[0] + power[1] : (double)power[view == DW_SIDE_RIGHT_ALONE];
}

// All power of a frame. What lies about the split of the two spectra is in both.
static double all_power(const DwSideFrame *frame, double hz)
{
    bool both = hz > SPLIT_FROM_HZ && hz < SPLIT_TO_HZ;
    return both ? fmax(frame->power, frame->low_power) : (double)frame->power + frame->low_power;
}

static DwSideMoment moment_of(const DwSideFrame *frame, DwSideView view, double loud)
{
    DwSideMoment none = {.hz = NAN};
    double low = dw_side_view_power(view, frame->low.power),
           main_share = dw_side_view_power(view, frame->main.power) / all_power(frame, frame->main.hz);
    double all = (double)frame->power + frame->low_power;
    bool is_low = !isnan(frame->low.hz) && low >= LEAST_LOW_SHARE * (double)frame->low_around &&
                  (double)frame->low_power >= LEAST_SHARE * all_power(frame, frame->low.hz);
    bool is_main = !isnan(frame->main.hz) && main_share >= LEAST_SHARE;
    if (!(all > QUIETEST * loud) || !(is_main || is_low))
        return none;
    const DwSideTone *tone = is_main ? &frame->main : &frame->low;
    if (tone->hz < QUIET_LOW_HZ && all < QUIETEST_LOW * loud)
        return none;
    if (is_main)
        return (DwSideMoment){
            tone->hz, {tone->power[0], tone->power[1]}, tone->common, (float)fmin(1, main_share), false};
    // Through the long window of a low tone the power of this very frame is not seen.
    float scale = low > 0 ? (float)((double)frame->low_power / low) : 1;
    return (DwSideMoment){tone->hz,
                          {scale * tone->power[0], scale * tone->power[1]},
                          scale * tone->common,
                          (float)fmin(1, low / (double)frame->low_around),
                          true};
}

// Takes the tone of frame NEXT to frame I for that of frame I too, where it goes on and rumble alone outweighs it.
static void carry_on(DwSideCourse *course, size_t i, size_t next)
{
    const DwSideFrame *frame = &course->frames[i];
    const DwSideMoment *known = &course->moments[next];
    double power = dw_side_view_power(course->view, frame->main.power),
           more = power / dw_side_view_power(course->view, known->power), all = all_power(frame, frame->main.hz);
    if (!isnan(course->moments[i].hz) || isnan(known->hz) || known->is_low || !(frame->main.hz > SPLIT_TO_HZ) ||
        !(all > QUIETEST * course->loud) || power < LEAST_SHARE * (double)frame->power ||
        !(fabs(log((double)frame->main.hz / known->hz)) < SAME_HZ) || !(more < SAME_POWER && more * SAME_POWER > 1))
        return;
    course->moments[i] = (DwSideMoment){frame->main.hz,
                                        {frame->main.power[0], frame->main.power[1]},
                                        frame->main.common,
                                        (float)fmin(1, power / all),
                                        false};
}

DwSideCourse dw_side_course_of(const DwSideFrame *frames, DwSideView view, size_t count, double hop_s)
{
    DwSideCourse course = {.frames = frames, .view = view, .count = count, .hop_s = hop_s};
    float *power = dw_memory_new(count + 1, sizeof *power);
    for (size_t i = 0; i < count; i++)
        power[i] = frames[i].power + frames[i].low_power;
    course.loud = count ? quantile(power, count, 0.9) : 0;
    free(power);
    course.moments = dw_memory_new(count + 1, sizeof *course.moments);
    for (size_t i = 0; i < count; i++)
        course.moments[i] = moment_of(&frames[i], view, course.loud);
    for (size_t i = 1; i < count; i++)
        carry_on(&course, i, i - 1);
    for (size_t i = count; i > 1; i--)
        carry_on(&course, i - 2, i - 1);
    return course;
}

// --- chains of frames ---------------------------------------------------------------

// The first chain of frames whose tones follow on one another, from FROM on.
static Chain next_chain(const DwSideCourse *course, size_t from)
{
    const DwSideMoment *moments = course->moments;
    while (from < course->count && isnan(moments[from].hz))
        from++;
    Chain chain = {.first = from, .end = from};
    size_t last = from, hole = (size_t)(HOLE_S / course->hop_s);
    for (size_t i = from; i < course->count && i - last <= hole + 1; i++) {
        if (isnan(moments[i].hz))
            continue;
        double jump = fabs(log(moments[i].hz / moments[last].hz)), bins = moments[i].is_low ? 2 / moments[i].hz : 0;
        if (i > from && jump > JUMP + GLIDE * (double)(i - last - 1) + bins)
            break;
        last = i;
        chain.end = i + 1;
    }
    return chain;
}

// The mean of ln f from FIRST up to END.
static double mean_octave(const DwSideCourse *course, size_t first, size_t end)
{
    double sum = 0, count = 0;
    for (size_t i = first; i < end; i++)
        if (!isnan(course->moments[i].hz)) {
            sum += log(course->moments[i].hz);
            count++;
        }
    return count > 0 ? sum / count : NAN;
}

// Whether the chain goes steadily up or down by more than a deck's drift.
static bool is_sweep(const DwSideCourse *course, const Chain *chain)
{
    size_t part = (size_t)ceil(0.25 / course->hop_s), length = chain->end - chain->first;
    if (length < 4 * part || (double)length * course->hop_s < LEAST_SWEEP_S)
        return false;
    double begin = mean_octave(course, chain->first, chain->first + part), last = begin, way = 0;
    for (size_t i = chain->first + part; i + part <= chain->end; i += part) {
        double here = mean_octave(course, i, i + part);
        if (isnan(here))
            continue;
        way += fabs(here - last);
        last = here;
    }
    return fabs(last - begin) > SWEEP && way < DETOUR * fabs(last - begin);
}

// How many frames from one end of the chain hold still.
static size_t still_frames(const DwSideCourse *course, const Chain *chain, bool at_end)
{
    size_t length = chain->end - chain->first, still = 0;
    double first_hz = NAN;
    for (size_t n = 0; n < length; n++) {
        double hz = course->moments[at_end ? chain->end - 1 - n : chain->first + n].hz;
        if (isnan(hz))
            continue;
        if (isnan(first_hz))
            first_hz = hz;
        if (fabs(log(hz / first_hz)) > STILL)
            break;
        still = n + 1;
    }
    return (double)still * course->hop_s >= STILL_S ? still : 0;
}

// --- where a steady tone becomes another band ---------------------------------------

typedef struct {
    double power[2], common;
} Sum;

static Sum sum_moments(const DwSideCourse *course, size_t first, size_t end)
{
    Sum sum = {0};
    size_t count = 0;
    for (size_t i = first; i < end; i++)
        if (!isnan(course->moments[i].hz)) {
            sum.power[0] += course->moments[i].power[0];
            sum.power[1] += course->moments[i].power[1];
            sum.common += course->moments[i].common;
            count++;
        }
    for (size_t c = 0; c < 2 && count; c++)
        sum.power[c] /= (double)count;
    sum.common /= count ? (double)count : 1;
    return sum;
}

// The middle ones of the moments from FIRST up to END: what a tick in one of them does not move.
static Sum middle_moments(const DwSideCourse *course, size_t first, size_t end)
{
    float *values = dw_memory_new(3 * (end - first) + 1, sizeof *values);
    size_t most = end - first, count = 0;
    for (size_t i = first; i < end; i++)
        if (!isnan(course->moments[i].hz)) {
            values[count] = course->moments[i].power[0];
            values[most + count] = course->moments[i].power[1];
            values[2 * most + count++] = course->moments[i].common;
        }
    Sum sum = {0};
    if (count)
        sum = (Sum){{quantile(values, count, 0.5), quantile(values + most, count, 0.5)},
                    quantile(values + 2 * most, count, 0.5)};
    free(values);
    return sum;
}

static double level_of(const DwSideCourse *course, const Sum *sum)
{
    const float power[2] = {(float)sum->power[0], (float)sum->power[1]};
    return 10 * log10(dw_side_view_power(course->view, power) + 1e-20);
}

static double sides_of(const Sum *sum)
{
    double most = fmax(sum->power[0], sum->power[1]) * 1e-3 + 1e-20; // 30 dB apart is enough to tell
    return 10 * log10((sum->power[0] + most) / (sum->power[1] + most));
}

// What is heard from frame FIRST up to END.
typedef Sum SumOf(const DwSideCourse *course, size_t first, size_t end);

// How much changes at frame AT, in units of what begins another band.
static double change_at(const DwSideCourse *course, const Chain *chain, size_t at, size_t reach, SumOf *sum_of)
{
    Sum before = sum_of(course, at > chain->first + reach ? at - reach : chain->first, at);
    Sum after = sum_of(course, at, at + reach < chain->end ? at + reach : chain->end);
    double level = fabs(level_of(course, &after) - level_of(course, &before)) / LEVEL_DB;
    if (course->view != DW_SIDE_BOTH_CHANNELS)
        return level; // the other channel may do as it likes
    double sides = fabs(sides_of(&after) - sides_of(&before)) / SIDES_DB;
    bool both = dw_side_direction(before.power, before.common) >= DW_PLAN_LATERAL &&
                dw_side_direction(after.power, after.common) >= DW_PLAN_LATERAL;
    double turned = both && (before.common < 0) != (after.common < 0) ? 2 : 0;
    return fmax(turned, fmax(level, sides));
}

// The first frame after START at which the chain becomes another band, or its end.
static size_t find_change(const DwSideCourse *course, const Chain *chain, size_t start)
{
    size_t reach = (size_t)ceil(0.25 / course->hop_s);
    for (size_t i = start + reach; i + reach <= chain->end; i++) {
        double change = change_at(course, chain, i, reach, sum_moments);
        if (change < 1 || change_at(course, chain, i, reach, middle_moments) < 1)
            continue;    // what a tick alone makes of it is no change
        size_t best = i; // the change is felt around its place: take the place itself
        for (size_t k = i + 1; k < i + 2 * reach && k + 2 <= chain->end; k++) {
            double here = change_at(course, chain, k, reach, sum_moments);
            if (here > change) {
                change = here;
                best = k;
            }
        }
        return best;
    }
    return chain->end;
}

// --- stretches --------------------------------------------------------------------

DwPlanChannel dw_side_direction(const double power[2], double common)
{
    if (power[0] > ONE_SIDED * power[1])
        return DW_PLAN_LEFT;
    if (power[1] > ONE_SIDED * power[0])
        return DW_PLAN_RIGHT;
    return common < 0 ? DW_PLAN_VERTICAL : DW_PLAN_LATERAL;
}

double dw_side_correlation(const double power[2], double common)
{
    double scale = sqrt(power[0] * power[1]);
    return scale > 0 ? common / scale : 0;
}

// The share of a Hann window's energy that lies after its PLACE (0 to 1).
static double energy_after(double place)
{
    double a = 2 * M_PI * place;
    return 1 - (1.5 * a - 2 * sin(a) + 0.25 * sin(2 * a)) / (3 * M_PI);
}

// Where within its frame a tone begins that leaves SHARE of its energy there.
static double place_of(double share)
{
    double low = 0, high = 1;
    for (int i = 0; i < 30; i++) {
        double middle = (low + high) / 2;
        *(energy_after(middle) > share ? &low : &high) = middle;
    }
    return low;
}

// Seconds from the edge frame AT to where the tone begins in it (or, from its
// end, where it ends), by its power over that of the frame INNER.
static double edge_s(const DwSideCourse *course, size_t at, size_t inner)
{
    const DwSideMoment *edge = &course->moments[at], *full = &course->moments[inner];
    double share = dw_side_view_power(course->view, edge->power) / dw_side_view_power(course->view, full->power);
    if (!(share < 1))
        return 0;
    return course->hop_s * (edge->is_low ? 1 - share : place_of(share));
}

// The tone four times higher or more that sounds all along, if there is one.
static void look_for_second(const DwSideCourse *course, const Chain *chain, DwSideSegment *segment)
{
    size_t length = chain->end - chain->first, count = 0;
    float *hz = dw_memory_new(length, sizeof *hz), *ratio = dw_memory_new(length, sizeof *ratio);
    for (size_t i = chain->first; i < chain->end; i++) {
        const DwSideFrame *frame = &course->frames[i];
        const DwSideMoment *moment = &course->moments[i];
        if (isnan(moment->hz))
            continue;
        bool far = moment->is_low && !isnan(frame->main.hz); // then the main tone is the second
        hz[count] = far ? frame->main.hz : frame->second_hz;
        double second = far ? dw_side_view_power(course->view, frame->main.power) : frame->second;
        ratio[count++] = (float)(second / dw_side_view_power(course->view, moment->power));
    }
    double low = quantile(hz, count, 0.2), high = quantile(hz, count, 0.8), level = quantile(ratio, count, 0.5);
    double second_hz = quantile(hz, count, 0.5);
    free(hz);
    free(ratio);
    if (!(log(high / low) < SECOND_STEADY) || !(10 * log10(level) > SECOND_DB) || second_hz < 4 * segment->frequency_hz)
        return;
    segment->kind = DW_PLAN_TWO_TONE;
    segment->from_hz = segment->frequency_hz;
    segment->frequency_hz = second_hz;
    segment->high_db = 10 * log10(level);
}

static double median_hz(const DwSideCourse *course, size_t first, size_t end)
{
    float *hz = dw_memory_new(end - first + 1, sizeof *hz);
    size_t count = 0;
    for (size_t i = first; i < end; i++)
        if (!isnan(course->moments[i].hz))
            hz[count++] = course->moments[i].hz;
    double median = quantile(hz, count, 0.5);
    free(hz);
    return median;
}

static double median_share(const DwSideCourse *course, const Chain *chain)
{
    float *share = dw_memory_new(chain->end - chain->first + 1, sizeof *share);
    for (size_t i = chain->first; i < chain->end; i++)
        share[i - chain->first] = course->moments[i].share;
    double median = quantile(share, chain->end - chain->first, 0.5);
    free(share);
    return median;
}

void dw_side_shares_push(DwSideShares *shares, const float power[2], double common)
{
    for (size_t c = 0; c < 2; c++)
        if (power[c] > 0) { // by Welford's way
            double share = common / power[c], off = share - shares->mean[c];
            shares->mean[c] += off / ++shares->count[c];
            shares->squares[c] += off * (share - shares->mean[c]);
        }
}

void dw_side_shares_read(const DwSideShares *shares, double alike, DwSideSegment *segment)
{
    for (size_t c = 0; c < 2; c++) {
        double count = shares->count[c];
        segment->shared[c] = count > 1 ? shares->mean[c] : NAN;
        segment->shared_off[c] = count > 1 ? sqrt(alike * shares->squares[c] / (count * (count - 1))) : NAN;
    }
}

static void share_in_common(const DwSideCourse *course, const Chain *chain, DwSideSegment *segment)
{
    DwSideShares shares = {0};
    for (size_t i = chain->first; i < chain->end; i++)
        if (!isnan(course->moments[i].hz))
            dw_side_shares_push(&shares, course->moments[i].power, course->moments[i].common);
    dw_side_shares_read(&shares, 1, segment);
}

static void add_chain(const DwSideCourse *course, const Chain *chain, DwSideSegments *segments)
{
    size_t length = chain->end - chain->first, part = length / 8 + 1;
    if ((double)length * course->hop_s < (chain->moves ? LEAST_SWEEP_S : LEAST_S))
        return;
    Sum sum = sum_moments(course, chain->first, chain->end),
        begin = sum_moments(course, chain->first + 1, chain->first + part + 1),
        end = sum_moments(course, chain->end - part - 1, chain->end - 1);
    DwSideSegment segment = {
        .kind = chain->moves ? DW_PLAN_SWEEP : DW_PLAN_TONE,
        .channel = dw_side_direction(sum.power, sum.common),
        .start_s = (double)chain->first * course->hop_s + edge_s(course, chain->first, chain->first + 2),
        .end_s = (double)chain->end * course->hop_s - edge_s(course, chain->end - 1, chain->end - 3),
        .frequency_hz = NAN,
        .from_hz = NAN,
        .to_hz = NAN,
        .level_db = {10 * log10(2 * sum.power[0] + 1e-20), 10 * log10(2 * sum.power[1] + 1e-20)},
        .correlation = dw_side_correlation(sum.power, sum.common),
        .high_db = NAN,
        .rise_db = level_of(course, &end) - level_of(course, &begin),
        .purity = median_share(course, chain),
    };
    share_in_common(course, chain, &segment);
    if (chain->moves) {
        segment.from_hz = median_hz(course, chain->first, chain->first + 3);
        segment.to_hz = median_hz(course, chain->end - 3, chain->end);
    } else {
        segment.frequency_hz = median_hz(course, chain->first, chain->end);
        look_for_second(course, chain, &segment);
    }
    dw_side_segments_add(segments, segment);
}

static void add_steady(const DwSideCourse *course, const Chain *chain, DwSideSegments *segments)
{
    for (size_t start = chain->first; start < chain->end;) {
        size_t end = find_change(course, chain, start);
        add_chain(course, &(Chain){start, end, false}, segments);
        start = end;
    }
}

// A sweep may stand between tones that it begins and ends with.
static void add_moving(const DwSideCourse *course, Chain chain, DwSideSegments *segments)
{
    size_t head = still_frames(course, &chain, false), tail = still_frames(course, &chain, true);
    Chain middle = {chain.first + head, chain.end - tail, true};
    if (middle.first >= middle.end || !is_sweep(course, &middle)) {
        add_steady(course, &chain, segments);
        return;
    }
    if (head)
        add_steady(course, &(Chain){chain.first, middle.first, false}, segments);
    add_chain(course, &middle, segments);
    if (tail)
        add_steady(course, &(Chain){middle.end, chain.end, false}, segments);
}

void dw_side_segments_find_tones(const DwSideCourse *course, DwSideSegments *segments)
{
    for (size_t from = 0; from < course->count;) {
        Chain chain = next_chain(course, from);
        from = chain.end > from ? chain.end : course->count;
        if (chain.end == chain.first)
            continue;
        if (is_sweep(course, &chain))
            add_moving(course, chain, segments);
        else
            add_steady(course, &chain, segments);
    }
}
