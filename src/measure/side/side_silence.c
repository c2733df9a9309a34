// SPDX-License-Identifier: MIT
#include "measure/side/side_silence.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/side/side_match.h"
#include "measure/side/side_segments.h"

#include <math.h>
#include <stdlib.h>

static const double TOUCHES_S = 0.5;                 // apart: what sounds and the quiet beside it
static const double LOUDER = 2.5;                    // power over the quiet blocks': 4 dB
static const double QUIET = 0.01;                    // of the loud frames' power: silence lies 20 dB below
static const double LEAK_DB = 12;                    // quieter than a band: rather a leak than that one again
static const double LEAK_SURE = 6;                   // standard deviations of a leak that is hardly heard
static const double SHORTER_S = 1;                   // what may be missing of a silent band
static const double SPEECH_GAP_S = 2;                // between the end of speech and a band, at most
static const double ON_TIME_S = 0.3, OFF_TIME_S = 1; // off the plan's time: it fits, and it does not
enum { LOUD_BLOCKS_MOST = 1, UNHEARD_MOST = 12 };

static bool is_there(const DwSideBand *band)
{
    return band->verdict < DW_SIDE_MISSING;
}

DwSideRoom dw_side_room_of(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index)
{
    DwSideRoom room = {-INFINITY, INFINITY, plan->count, plan->count};
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
    if (!alignment->bands[before].count)
        return alignment->bands[before].end_s; // it was found by its frames alone
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
    DwSideGuess guess = {1, NAN, alignment->wiring, false, NAN};
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
static bool touches(const DwSideFinder *finder, const DwSideAlignment *alignment, Stretch quiet, DwSideRoom room)
{
    return (room.after < alignment->count && fabs(room.to_s - quiet.to_s) < TOUCHES_S) ||
           (room.before < alignment->count &&
            fabs(quiet.from_s - end_before(finder, alignment, room.before, quiet.from_s)) < TOUCHES_S);
}

// ROOM about the silent band at INDEX, ended by what leaks of a lost band beside it where QUIET touches that.
static DwSideRoom with_leaks(const DwSideFinder *finder, const DwBandPlan *plan, const DwSideAlignment *alignment,
                             size_t index, Stretch quiet, DwSideRoom room)
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

// What the time between two bands that are heard, with nothing but quiet in it, tells of a silent one.
typedef struct {
    double on_s, off_s; // least off the plan's time: with it played, and without it
    double start_s;     // where it begins then
} ByTime;

// Any of the bands of the plan after FIRST and before NEXT that nothing is heard of may have been played from FROM_S to
// TO_S, each followed by its gap.
static ByTime by_time(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index, size_t first, size_t next,
                      Stretch between)
{
    ByTime told = {INFINITY, INFINITY, NAN};
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    for (unsigned played = 0; next - first <= UNHEARD_MOST && played < 1u << (next - first - 1); played++) {
        double at_s = between.from_s + plan->bands[first].gap_s / ratio, start_s = NAN;
        bool may_be = true;
        for (size_t j = first + 1; j < next && may_be; j++) {
            if (!(played >> (j - first - 1) & 1))
                continue;
            may_be = plan->bands[j].kind == DW_PLAN_SILENCE || is_lost(plan, alignment, j);
            start_s = j == index ? at_s : start_s;
            at_s += (plan->bands[j].length_s + plan->bands[j].gap_s) / ratio;
        }
        double off_s = may_be ? fabs(at_s - between.to_s) : INFINITY;
        if (!isnan(start_s) && off_s < told.on_s)
            told = (ByTime){off_s, told.off_s, start_s};
        else if (isnan(start_s))
            told.off_s = fmin(told.off_s, off_s);
    }
    return told;
}

// A quiet stretch between what is heard at its ends.
typedef struct {
    DwSideRoom room;
    Stretch quiet;
    double last_s;                // the end of what is heard before it
    bool from_before, from_after; // whether it touches that, and what is heard after it
} Place;

static Place place_of(const DwSideFinder *finder, const DwBandPlan *plan, size_t index,
                      const DwSideAlignment *alignment)
{
    Place place = {.room = dw_side_room_of(plan, alignment, index)};
    double first_s = dw_side_finder_start_s(finder), end_s = dw_side_finder_end_s(finder);
    place.quiet = quietest(finder, (Stretch){fmax(place.room.from_s, first_s), fmin(place.room.to_s, end_s)});
    if (!touches(finder, alignment, place.quiet, place.room))
        place.room = with_leaks(finder, plan, alignment, index, place.quiet, place.room);
    bool begins = place.room.before == plan->count, ends = place.room.after == plan->count;
    place.last_s = begins ? first_s : place.room.from_s;
    if (!begins && is_there(&alignment->bands[place.room.before]))
        place.last_s = end_before(finder, alignment, place.room.before, place.quiet.from_s);
    place.from_before = !begins && fabs(place.quiet.from_s - place.last_s) < TOUCHES_S;
    place.from_after = !ends && fabs(place.room.to_s - place.quiet.to_s) < TOUCHES_S;
    return place;
}

// Where the band at INDEX begins by the plan's gap from the neighbour that the quiet touches. A band that was not found
// may stand unheard in the quiet: then the other end of it tells better.
static double by_gap(const DwBandPlan *plan, size_t index, const DwSideAlignment *alignment, const Place *place)
{
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    bool begins = place->room.before == plan->count;
    double length_s = plan->bands[index].length_s / ratio, after_s = plan->bands[index].gap_s / ratio,
           before_s = begins ? 0 : plan->bands[place->room.before].gap_s / ratio,
           spare_s = place->quiet.to_s - place->quiet.from_s - length_s;
    bool lost_before = is_one_lost(plan, alignment, begins ? 0 : place->room.before + 1, index, spare_s),
         lost_after = is_one_lost(plan, alignment, index + 1, place->room.after, spare_s),
         is_wide = spare_s > before_s + after_s;
    if ((place->from_after && (lost_before || !place->from_before)) || (lost_before && !lost_after && is_wide))
        return place->quiet.to_s - fmin(after_s, fmax(0, spare_s)) - length_s;
    if (place->from_before || (lost_after && !lost_before && is_wide))
        return (place->from_before ? place->last_s : place->quiet.from_s) + fmin(before_s, fmax(0, spare_s));
    return place->quiet.from_s + spare_s / 2;
}

// Whether QUIET, which touches one neighbour only, leaves no room for the band at INDEX and the plan's gap there, but
// does for one that the wiring loses.
static bool is_anothers(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index, const Place *place)
{
    if (place->from_before == place->from_after)
        return false;
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio,
           quiet_s = place->quiet.to_s - place->quiet.from_s;
    size_t first = place->room.before == plan->count ? 0 : place->room.before + 1, end = place->room.after;
    double before_s = first ? plan->bands[first - 1].gap_s : 0;
    bool fits = false;
    for (size_t j = first; j < end; j++) {
        double needed_s = plan->bands[j].length_s + (place->from_after ? plan->bands[j].gap_s : before_s);
        if (j == index && needed_s / ratio < quiet_s + OFF_TIME_S)
            return false;
        fits = fits || (is_lost(plan, alignment, j) && needed_s / ratio < quiet_s + ON_TIME_S &&
                        needed_s / ratio > quiet_s - SPEECH_GAP_S);
    }
    return fits;
}

void dw_side_settle_silence(const DwSideFinder *finder, const DwBandPlan *plan, size_t index,
                            DwSideAlignment *alignment)
{
    DwSideBand *found = &alignment->bands[index];
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    Place place = place_of(finder, plan, index, alignment);
    ByTime time = {NAN, NAN, NAN};
    if (place.from_before && place.from_after)
        time = by_time(plan, alignment, index, place.room.before, place.room.after,
                       (Stretch){place.last_s, place.room.to_s});
    double length_s = plan->bands[index].length_s / ratio;
    bool is_short = place.quiet.to_s - place.quiet.from_s < length_s - SHORTER_S,
         not_played = (time.off_s < ON_TIME_S && time.on_s > OFF_TIME_S) || is_anothers(plan, alignment, index, &place);
    if (not_played || (is_short && is_there(found) && is_louder(finder, found, place.quiet)))
        *found = (DwSideBand){.verdict = DW_SIDE_MISSING, .start_s = NAN, .end_s = NAN};
    if (is_short || not_played)
        return;
    double leak_s = place.from_before || place.from_after ? NAN : by_leaks(finder, plan, alignment, index, place.quiet);
    double start_s = time.on_s < ON_TIME_S && time.off_s > OFF_TIME_S ? time.start_s
                     : isnan(leak_s)                                  ? by_gap(plan, index, alignment, &place)
                                                                      : leak_s;
    found->start_s = fmax(dw_side_finder_start_s(finder), start_s);
    found->end_s = fmin(dw_side_finder_end_s(finder), start_s + length_s);
    found->verdict = DW_SIDE_FOUND;
}
