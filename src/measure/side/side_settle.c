// SPDX-License-Identifier: MIT
#include "measure/side/side_align.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/side/side_match.h"
#include "measure/side/side_segments.h"

#include <math.h>
#include <stdlib.h>

static const double LOW_TOP_HZ = 150;                       // below it a sweep is looked for in the low spectra
static const double LATE_S = 4;                             // a sweep found may begin this much earlier or later,
static const double LATE_SHARE = 0.6;                       // or this share of its length
static const double BIN_S = 0.1;                            // of the moments voted for
static const double AGREE_S = 0.25;                         // votes within it agree
static const double LEAST_SHARE = 0.35;                     // of a sweep's frames that have to agree
static const double WHOLE_SHARE = 0.7;                      // between the first and the last of them, of its length
static const double TOUCHES_S = 0.5;                        // one that agrees up to here before its end goes on to it
static const double LATE_LEAST_S = 0.15, LATE_MOST_S = 2.5; // of a tone that is heard late
static const double ENDS_S = 0.3;                           // of where the plan ends it
static const double LOUDER = 2.5;                           // power over the quiet blocks': 4 dB
static const double QUIET = 0.01;                           // of the loud frames' power: silence lies 20 dB below
static const double LEAK_DB = 12;                           // quieter than a band: rather a leak than that one again
static const double LEAK_SURE = 6;                          // standard deviations of a leak that is hardly heard
static const double SHORTER_S = 1;                          // what may be missing of a silent band
enum { LOUD_BLOCKS_MOST = 1 };

// --- sweeps ------------------------------------------------------------------------------

// A sweep as it is played, and the frames that may be part of it.
typedef struct {
    double from_hz, rate; // where it starts; octaves by e a second, signed
    double length_s, low_hz, high_hz;
    double from_s, to_s; // between which it has to begin
    double until_s;      // where what sounds next begins: its frames are none of this one's
    const DwSideCourse *course;
    double course_s; // second of the first frame
} Sweep;

static double frame_s(const Sweep *sweep, size_t i)
{
    return sweep->course_s + ((double)i + 0.5) * sweep->course->hop_s;
}

// The tone of frame I that could be the sweep's; NULL without one.
static const DwSideTone *tone_of(const Sweep *sweep, size_t i)
{
    const DwSideFrame *frame = &sweep->course->frames[i];
    const DwSideTone *tones[2] = {&frame->main, &frame->low};
    for (size_t k = 0; k < 2; k++) {
        double hz = tones[k]->hz;
        bool own = k == 0 ? hz >= LOW_TOP_HZ : hz < LOW_TOP_HZ;
        if (own && hz >= sweep->low_hz && hz <= sweep->high_hz && (k == 1 || sweep->high_hz > LOW_TOP_HZ))
            return tones[k];
    }
    return NULL;
}

// When the sweep must have begun by frame I; NAN where it says nothing of it.
static double begun_s(const Sweep *sweep, size_t i)
{
    const DwSideTone *tone = tone_of(sweep, i);
    if (!tone)
        return NAN;
    double begun = frame_s(sweep, i) - log(tone->hz / sweep->from_hz) / sweep->rate;
    return begun >= sweep->from_s && begun <= sweep->to_s ? begun : NAN;
}

static size_t frame_at(const Sweep *sweep, double second)
{
    double place = fmax(0, (second - sweep->course_s) / sweep->course->hop_s);
    return place < (double)sweep->course->count ? (size_t)place : sweep->course->count;
}

// The moment that most frames agree on; NAN without one.
static double most_agreed(const Sweep *sweep, size_t first, size_t end)
{
    size_t bins = (size_t)((sweep->to_s - sweep->from_s) / BIN_S) + 3, best = 0;
    unsigned *votes = dw_memory_new(bins, sizeof *votes);
    for (size_t i = first; i < end; i++) {
        double begun = begun_s(sweep, i);
        if (!isnan(begun))
            votes[(size_t)((begun - sweep->from_s) / BIN_S) + 1]++;
    }
    unsigned most = 0;
    for (size_t k = 1; k + 1 < bins; k++)
        if (votes[k - 1] + votes[k] + votes[k + 1] > most) {
            most = votes[k - 1] + votes[k] + votes[k + 1];
            best = k;
        }
    free(votes);
    return most ? sweep->from_s + ((double)best - 0.5) * BIN_S : NAN;
}

// What the frames that agree have in common.
typedef struct {
    double begun_s, first_s, last_s;
    double share; // of all frames of a whole sweep
    double power[2], common, count;
} Agreed;

static Agreed agree(const Sweep *sweep, size_t first, size_t end, double about_s)
{
    Agreed agreed = {.first_s = NAN};
    float *begun = dw_memory_new(end - first + 1, sizeof *begun);
    size_t count = 0;
    for (size_t i = first; i < end; i++) {
        double off = begun_s(sweep, i) - about_s;
        if (!(fabs(off) < AGREE_S))
            continue;
        const DwSideTone *tone = tone_of(sweep, i);
        begun[count++] = (float)off;
        agreed.first_s = isnan(agreed.first_s) ? frame_s(sweep, i) : agreed.first_s;
        agreed.last_s = frame_s(sweep, i);
        agreed.power[0] += tone->power[0];
        agreed.power[1] += tone->power[1];
        agreed.common += tone->common;
    }
    agreed.count = (double)count;
    agreed.share = (double)count * sweep->course->hop_s / sweep->length_s;
    agreed.begun_s = count ? about_s + dw_statistics_quantile(begun, count, 0.5) : NAN;
    free(begun);
    return agreed;
}

static bool is_there(const DwSideBand *band)
{
    return band->verdict < DW_SIDE_MISSING;
}

// What sounds nearest to the band at INDEX in the order of the plan: the end of the last before it, the
// start of the first after it, and which those are.
typedef struct {
    double from_s, to_s;
    size_t before, after; // the plan's count where there is none
} Room;

static Room room_of(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index)
{
    Room room = {-INFINITY, INFINITY, plan->count, plan->count};
    for (size_t j = 0; j < alignment->count; j++) {
        const DwSideBand *band = &alignment->bands[j];
        if (!is_there(band) || band->verdict == DW_SIDE_OUT_OF_ORDER || plan->bands[j].kind == DW_PLAN_SILENCE)
            continue;
        if (j < index && band->end_s > room.from_s) {
            room.from_s = band->end_s;
            room.before = j;
        }
        if (j > index && band->start_s < room.to_s) {
            room.to_s = band->start_s;
            room.after = j;
        }
    }
    return room;
}

static Sweep sweep_of(const DwSideFinder *finder, const DwBandPlan *plan, size_t index,
                      const DwSideAlignment *alignment)
{
    const DwBandPlanBand *band = &plan->bands[index];
    const DwSideBand *found = &alignment->bands[index];
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    Sweep sweep = {.from_hz = band->from_hz * ratio,
                   .length_s = band->length_s / ratio,
                   .low_hz = 0.95 * ratio * fmin(band->from_hz, band->to_hz),
                   .high_hz = 1.05 * ratio * fmax(band->from_hz, band->to_hz),
                   .course = dw_side_finder_course_for(finder, dw_side_wired(alignment->wiring, band->channel)),
                   .course_s = dw_side_finder_start_s(finder)};
    sweep.rate = log(band->to_hz / band->from_hz) / sweep.length_s;
    Room room = room_of(plan, alignment, index);
    sweep.from_s = fmax(room.from_s, sweep.course_s);
    sweep.until_s = room.to_s;
    sweep.to_s = fmax(sweep.from_s, fmin(room.to_s, dw_side_finder_end_s(finder)) - 0.5 * sweep.length_s);
    if (is_there(found)) {
        double late_s = fmax(LATE_S, LATE_SHARE * sweep.length_s);
        sweep.from_s = fmax(sweep.from_s, found->start_s - late_s);
        // Another side's plan may put it before what sounds ahead of it: then there is no room.
        sweep.to_s = fmax(sweep.from_s, fmin(fmax(sweep.to_s, found->start_s), found->start_s + late_s));
    }
    return sweep;
}

// Whether what agreed comes out of the channels that the band was cut for.
static bool comes_out_right(const Agreed *agreed, const DwBandPlanBand *band, const DwSideAlignment *alignment,
                            bool mono)
{
    bool both = alignment->wiring <= DW_SIDE_SWAPPED_REVERSED;
    double gain = pow(10, alignment->gain_db / 10);
    const double power[2] = {agreed->power[0] * gain, agreed->power[1]};
    return mono || !both || dw_side_direction(power, agreed->common) == dw_side_wired(alignment->wiring, band->channel);
}

static void settle_sweep(const DwSideFinder *finder, const DwBandPlan *plan, size_t index, bool mono,
                         DwSideAlignment *alignment)
{
    DwSideBand *found = &alignment->bands[index];
    Sweep sweep = sweep_of(finder, plan, index, alignment);
    size_t first = frame_at(&sweep, sweep.from_s),
           end = frame_at(&sweep, fmax(sweep.from_s, fmin(sweep.to_s + sweep.length_s, sweep.until_s)));
    double about_s = most_agreed(&sweep, first, end);
    if (isnan(about_s))
        return;
    Agreed agreed = agree(&sweep, first, end, about_s);
    bool there = is_there(found);
    double level_db = 10 * log10(2 * agreed.power[alignment->wiring == DW_SIDE_RIGHT_ONLY] / agreed.count);
    if (agreed.share < LEAST_SHARE || (!there && !comes_out_right(&agreed, &plan->bands[index], alignment, mono)) ||
        (!there && dw_side_is_leak(finder, plan, index, alignment, level_db)))
        return;
    double end_s = agreed.begun_s + sweep.length_s;
    bool whole = agreed.last_s - agreed.first_s > WHOLE_SHARE * sweep.length_s;
    found->start_s = agreed.begun_s;
    if (whole || !there || fabs(end_s - agreed.last_s) < TOUCHES_S)
        found->end_s = fmin(end_s, dw_side_finder_end_s(finder));
    if (!there || ((found->verdict == DW_SIDE_SHORT || found->verdict == DW_SIDE_LONG) && whole))
        found->verdict = whole ? DW_SIDE_FOUND : DW_SIDE_SHORT;
}

// --- tones --------------------------------------------------------------------------------

// Where the band at INDEX begins and ends by the one before it; NAN where that does not tell.
static DwSideBand by_before(const DwBandPlan *plan, size_t index, double ratio, const DwSideAlignment *alignment)
{
    DwSideBand told = {.start_s = NAN, .end_s = NAN};
    const DwSideBand *before = index ? &alignment->bands[index - 1] : NULL;
    if (!before || !is_there(before) || plan->bands[index - 1].kind == DW_PLAN_SILENCE ||
        before->verdict == DW_SIDE_OUT_OF_ORDER)
        return told;
    told.start_s = before->end_s + plan->bands[index - 1].gap_s / ratio;
    told.end_s = told.start_s + plan->bands[index].length_s / ratio;
    return told;
}

// The same by the one after it.
static DwSideBand by_after(const DwBandPlan *plan, size_t index, double ratio, const DwSideAlignment *alignment)
{
    DwSideBand told = {.start_s = NAN, .end_s = NAN};
    const DwSideBand *after = index + 1 < alignment->count ? &alignment->bands[index + 1] : NULL;
    if (!after || !is_there(after) || plan->bands[index + 1].kind == DW_PLAN_SILENCE ||
        after->verdict == DW_SIDE_OUT_OF_ORDER)
        return told;
    told.end_s = after->start_s - plan->bands[index].gap_s / ratio;
    told.start_s = told.end_s - plan->bands[index].length_s / ratio;
    return told;
}

// Whether the band that was FOUND is late and shorter for it, but ends where it was TOLD.
static bool is_late(const DwSideFinder *finder, const DwSideBand *found, const DwSideBand *told)
{
    double late_s = found->start_s - told->start_s,
           missing_s = told->end_s - told->start_s - (found->end_s - found->start_s);
    return fmin(late_s, missing_s) >= LATE_LEAST_S && late_s <= LATE_MOST_S &&
           fabs(found->end_s - told->end_s) <= ENDS_S && told->start_s >= dw_side_finder_start_s(finder);
}

// A tone that is first heard late and is shorter for it, as through a channel that comes and goes, but ends where the
// plan has it from the band before on, begins where the plan has it. Where the band before does not tell, the one after
// does for a channel that is known to come and go (a groove that skips would be as short).
static void settle_tone(const DwSideFinder *finder, const DwBandPlan *plan, size_t index, DwSideAlignment *alignment)
{
    DwSideBand *found = &alignment->bands[index];
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    if (!is_there(found))
        return;
    DwSideBand told = by_before(plan, index, ratio, alignment);
    if (!is_late(finder, found, &told) && (dw_side_finder_breaks(finder, 0) || dw_side_finder_breaks(finder, 1)))
        told = by_after(plan, index, ratio, alignment);
    if (!is_late(finder, found, &told))
        return;
    found->start_s = told.start_s;
    found->verdict = found->verdict == DW_SIDE_SHORT ? DW_SIDE_FOUND : found->verdict;
}

// --- silent bands ---------------------------------------------------------------------------

// A stretch of seconds.
typedef struct {
    double from_s, to_s;
} Stretch;

// Whether a sweep is heard where block K of those that begin at FROM_S lies: below the split too.
static bool is_swept(const DwSideFinder *finder, double from_s, size_t k)
{
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    double start_s = from_s + (double)k * DW_SIDE_BLOCK_S;
    for (size_t i = 0; i < count; i++)
        if (segments[i].kind == DW_PLAN_SWEEP && segments[i].start_s < start_s + DW_SIDE_BLOCK_S &&
            segments[i].end_s > start_s)
            return true;
    return false;
}

// The longest stretch within WITHIN that is as quiet as its quieter quarter, whatever ticks stand in it.
static Stretch quietest(const DwSideFinder *finder, Stretch within)
{
    Stretch best = {within.from_s, within.from_s};
    size_t count = (size_t)fmax(0, floor((within.to_s - within.from_s) / DW_SIDE_BLOCK_S)), start = 0, loud = 0;
    float *power = dw_memory_new(count + 1, sizeof *power), *sorted = dw_memory_new(count + 1, sizeof *sorted);
    for (size_t k = 0; k < count; k++)
        sorted[k] = power[k] = (float)dw_side_block_power(finder, within.from_s, k);
    double floor_power = count ? dw_statistics_quantile(sorted, count, 0.25) : 0;
    bool quiet = floor_power < QUIET * dw_side_finder_course(finder)->loud;
    for (size_t k = 0; k < count && quiet; k++) {
        loud = power[k] > LOUDER * floor_power || is_swept(finder, within.from_s, k) ? loud + 1 : 0;
        if (loud > LOUD_BLOCKS_MOST)
            start = k + 1;
        else if ((double)(k + 1 - loud - start) * DW_SIDE_BLOCK_S > best.to_s - best.from_s)
            best = (Stretch){within.from_s + (double)start * DW_SIDE_BLOCK_S,
                             within.from_s + (double)(k + 1 - loud) * DW_SIDE_BLOCK_S};
    }
    free(power);
    free(sorted);
    return best;
}

// The end of what is played again of the band at BEFORE just ahead of SECOND; else of that band itself.
static double end_before(const DwSideFinder *finder, const DwSideAlignment *alignment, size_t before, double second)
{
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    const DwSideSegment *own = &segments[alignment->bands[before].first];
    for (size_t i = 0; i < count; i++) {
        bool alike =
            segments[i].kind == own->kind && segments[i].channel == own->channel &&
            fmax(segments[i].level_db[0], segments[i].level_db[1]) > fmax(own->level_db[0], own->level_db[1]) - LEAK_DB;
        if (alike && segments[i].start_s > own->end_s && fabs(segments[i].end_s - second) < TOUCHES_S)
            return segments[i].end_s;
    }
    return alignment->bands[before].end_s;
}

// Whether a band that was not found stands between those at FIRST and LAST in the plan and is short enough to be
// unheard in the SPARE_S of a silence.
static bool is_one_lost(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t first, size_t last,
                        double spare_s)
{
    for (size_t j = first; j < last; j++)
        if (alignment->bands[j].verdict == DW_SIDE_MISSING && plan->bands[j].length_s < spare_s + TOUCHES_S)
            return true;
    return false;
}

// Whether FOUND lies in what is louder than QUIET, as where a band that is lost in a dead channel leaks.
static bool is_louder(const DwSideFinder *finder, const DwSideBand *found, Stretch quiet)
{
    size_t count = (size_t)fmax(0, floor((found->end_s - found->start_s) / DW_SIDE_BLOCK_S)),
           quiet_count = (size_t)fmax(0, floor((quiet.to_s - quiet.from_s) / DW_SIDE_BLOCK_S));
    if (!count || !quiet_count)
        return false;
    return dw_side_blocks_median(finder, found->start_s, count) >
           LOUDER * dw_side_blocks_median(finder, quiet.from_s, quiet_count);
}

// Whether the band at INDEX was not found as the wiring leaves nothing of it.
static bool is_lost(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index)
{
    DwSideGuess guess = {1, NAN, alignment->wiring, false};
    return alignment->bands[index].verdict == DW_SIDE_MISSING && dw_side_match_is_lost(&guess, &plan->bands[index]);
}

// Whether the band at INDEX, lost in a dead channel, leaks for its length from FROM_S on, louder than QUIET, which goes
// on behind it where BEHIND, else before it.
static bool leaks(const DwSideFinder *finder, const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index,
                  double from_s, Stretch quiet, bool behind)
{
    enum { AFTER = 2, APART = 2 }; // blocks looked at, and from the leak's end on
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    size_t count = (size_t)fmax(0, floor((quiet.to_s - quiet.from_s) / DW_SIDE_BLOCK_S)),
           length = (size_t)fmax(0, floor(plan->bands[index].length_s / ratio / DW_SIDE_BLOCK_S));
    if (!is_lost(plan, alignment, index) || count == 0 || length <= 2)
        return false;
    double most = LOUDER * dw_side_blocks_median(finder, quiet.from_s, count),
           next_s = behind ? from_s + (double)(length + APART) * DW_SIDE_BLOCK_S
                           : from_s - (double)(AFTER + APART) * DW_SIDE_BLOCK_S;
    return dw_side_blocks_median(finder, from_s + DW_SIDE_BLOCK_S, length - 2) > most &&
           dw_side_blocks_median(finder, next_s, AFTER) < most;
}

// Whether QUIET touches a neighbour that is heard.
static bool touches(const DwSideFinder *finder, const DwSideAlignment *alignment, Stretch quiet, Room room)
{
    return (room.after < alignment->count && fabs(room.to_s - quiet.to_s) < TOUCHES_S) ||
           (room.before < alignment->count &&
            fabs(quiet.from_s - end_before(finder, alignment, room.before, quiet.from_s)) < TOUCHES_S);
}

// ROOM about the silent band at INDEX, ended by what leaks of a lost band beside it where QUIET touches that.
static Room with_leaks(const DwSideFinder *finder, const DwBandPlan *plan, const DwSideAlignment *alignment,
                       size_t index, Stretch quiet, Room room)
{
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    double after_s = index + 1 < plan->count ? quiet.to_s + plan->bands[index + 1].length_s / ratio : NAN;
    if (after_s < room.to_s && leaks(finder, plan, alignment, index + 1, quiet.to_s, quiet, true)) {
        room.to_s = quiet.to_s;
        room.after = index + 1;
    }
    double leak_s = index > 0 ? quiet.from_s - plan->bands[index - 1].length_s / ratio : NAN;
    if (leak_s > room.from_s && leaks(finder, plan, alignment, index - 1, leak_s, quiet, false)) {
        room.from_s = quiet.from_s;
        room.before = index - 1;
    }
    return room;
}

// Where in QUIET the silent band at INDEX begins, so that the leak of the lost one at OTHER next to it stands out of
// the side's own noise as surely as can be; raises SURE to that. NAN where none stands out by more than SURE.
static double by_leak(const DwSideFinder *finder, const DwBandPlan *plan, const DwSideAlignment *alignment,
                      size_t index, size_t other, Stretch quiet, double *sure)
{
    if (other >= plan->count || !is_lost(plan, alignment, other))
        return NAN;
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio, start_s = NAN;
    double own_s = plan->bands[index].length_s / ratio, leak_s = plan->bands[other].length_s / ratio,
           gap_s = plan->bands[other > index ? index : other].gap_s / ratio;
    double way_s = other > index ? own_s + gap_s : -leak_s - gap_s; // from the one's start to the other's
    double last_s = quiet.to_s - fmax(own_s, way_s + leak_s);
    for (double at_s = quiet.from_s + fmax(0, -way_s); at_s <= last_s; at_s += DW_SIDE_BLOCK_S / 4) {
        double louder = dw_side_blocks_louder(finder, at_s + way_s, (size_t)(leak_s / DW_SIDE_BLOCK_S), at_s,
                                              (size_t)(own_s / DW_SIDE_BLOCK_S));
        if (louder > *sure) {
            *sure = louder;
            start_s = at_s;
        }
    }
    return start_s;
}

// The same by the surer of its two neighbours.
static double by_leaks(const DwSideFinder *finder, const DwBandPlan *plan, const DwSideAlignment *alignment,
                       size_t index, Stretch quiet)
{
    double sure = LEAK_SURE;
    double before = index ? by_leak(finder, plan, alignment, index, index - 1, quiet, &sure) : NAN,
           after = by_leak(finder, plan, alignment, index, index + 1, quiet, &sure);
    return isnan(after) ? before : after;
}

// Between its neighbours the band lies where the plan's gaps put it, from the one that the quiet touches.
static void settle_silence(const DwSideFinder *finder, const DwBandPlan *plan, size_t index, DwSideAlignment *alignment)
{
    DwSideBand *found = &alignment->bands[index];
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    Room room = room_of(plan, alignment, index);
    double first_s = dw_side_finder_start_s(finder), end_s = dw_side_finder_end_s(finder);
    double length_s = plan->bands[index].length_s / ratio;
    Stretch quiet = quietest(finder, (Stretch){fmax(room.from_s, first_s), fmin(room.to_s, end_s)});
    if (!touches(finder, alignment, quiet, room))
        room = with_leaks(finder, plan, alignment, index, quiet, room);
    bool begins = room.before == plan->count, ends = room.after == plan->count;
    double before_s = begins ? 0 : plan->bands[room.before].gap_s / ratio, after_s = plan->bands[index].gap_s / ratio;
    double spare_s = quiet.to_s - quiet.from_s - length_s;
    if (spare_s < -SHORTER_S) {
        if (is_there(found) && is_louder(finder, found, quiet))
            *found = (DwSideBand){DW_SIDE_MISSING, NAN, NAN, 0, 0};
        return;
    }
    double start_s = quiet.from_s + spare_s / 2;
    double last_s = begins ? first_s
                    : is_there(&alignment->bands[room.before])
                        ? end_before(finder, alignment, room.before, quiet.from_s)
                        : room.from_s;
    bool from_before = !begins && fabs(quiet.from_s - last_s) < TOUCHES_S,
         from_after = !ends && fabs(room.to_s - quiet.to_s) < TOUCHES_S;
    // A band that was not found may stand unheard in the quiet: then the other end of it tells better.
    bool lost_before = is_one_lost(plan, alignment, begins ? 0 : room.before + 1, index, spare_s),
         lost_after = is_one_lost(plan, alignment, index + 1, room.after, spare_s);
    if ((from_after && (lost_before || !from_before)) || (lost_before && !lost_after && spare_s > before_s + after_s))
        start_s = quiet.to_s - fmin(after_s, fmax(0, spare_s)) - length_s;
    else if (from_before || (lost_after && !lost_before && spare_s > before_s + after_s))
        start_s = (from_before ? last_s : quiet.from_s) + fmin(before_s, fmax(0, spare_s));
    double leak_s = from_before || from_after ? NAN : by_leaks(finder, plan, alignment, index, quiet);
    start_s = isnan(leak_s) ? start_s : leak_s;
    found->start_s = fmax(first_s, start_s);
    found->end_s = fmin(end_s, start_s + length_s);
    found->verdict = DW_SIDE_FOUND;
}

void dw_side_settle(const DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment)
{
    DwSideGuess guess = {1, NAN, alignment->wiring, mono};
    for (size_t j = 0; j < plan->count; j++) {
        // What is lost in a dead channel leaves a leak at most, which the frames of another sweep would outvote.
        bool sought = is_there(&alignment->bands[j]) || !dw_side_match_is_lost(&guess, &plan->bands[j]);
        if (!plan->bands[j].broken && plan->bands[j].kind == DW_PLAN_SWEEP && sought &&
            alignment->bands[j].verdict != DW_SIDE_OTHER_CHANNEL)
            settle_sweep(finder, plan, j, mono, alignment);
    }
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->bands[j].broken && plan->bands[j].kind != DW_PLAN_SILENCE && plan->bands[j].kind != DW_PLAN_SWEEP)
            settle_tone(finder, plan, j, alignment);
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->bands[j].broken && plan->bands[j].kind == DW_PLAN_SILENCE)
            settle_silence(finder, plan, j, alignment);
}
