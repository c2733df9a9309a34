// SPDX-License-Identifier: MIT
#include "measure/side/side_align.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/side/side_match.h"
#include "measure/side/side_segments.h"
#include "measure/side/side_silence.h"

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
    DwSideRoom room = dw_side_room_of(plan, alignment, index);
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
        (!there && dw_side_is_leak(plan, index, alignment, level_db)))
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

// The channel in which the start of BAND is heard best where one of them comes and goes: its own, of one in both the
// steady one; 2 where neither does.
static size_t best_heard(const DwSideFinder *finder, const DwBandPlanBand *band, DwSideWiring wiring)
{
    DwPlanChannel heard = dw_side_wired(wiring, band->channel);
    bool left = dw_side_finder_breaks(finder, 0), right = dw_side_finder_breaks(finder, 1);
    if (heard == DW_PLAN_LEFT || heard == DW_PLAN_RIGHT)
        return (heard == DW_PLAN_RIGHT ? right : left) ? heard == DW_PLAN_RIGHT : 2;
    return left != right ? left : 2;
}

// A tone through a channel that comes and goes begins where it begins in the other one, else where what little the bad
// contact lets through begins.
static void settle_faint(const DwSideFinder *finder, const DwBandPlan *plan, size_t index, DwSideAlignment *alignment)
{
    const DwBandPlanBand *band = &plan->bands[index];
    DwSideBand *found = &alignment->bands[index];
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    size_t channel = is_there(found) && !isnan(band->frequency_hz) ? best_heard(finder, band, alignment->wiring) : 2;
    if (channel == 2)
        return;
    double whole_s = band->length_s / ratio,
           least_s = fmax(found->end_s - whole_s - ENDS_S, dw_side_room_of(plan, alignment, index).from_s);
    found->start_s = dw_side_finder_heard_from(finder, channel, band->frequency_hz * ratio, found->start_s, least_s);
    if (found->verdict == DW_SIDE_SHORT && !dw_side_is_short((found->end_s - found->start_s) / whole_s))
        found->verdict = DW_SIDE_FOUND;
}

void dw_side_settle(const DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment)
{
    DwSideGuess guess = {1, NAN, alignment->wiring, mono, NAN};
    for (size_t j = 0; j < plan->count; j++) {
        // What is lost in a dead channel leaves a leak at most, which the frames of another sweep would outvote.
        bool sought = is_there(&alignment->bands[j]) || !dw_side_match_is_lost(&guess, &plan->bands[j]);
        if (!plan->bands[j].broken && plan->bands[j].kind == DW_PLAN_SWEEP && sought &&
            alignment->bands[j].verdict != DW_SIDE_OTHER_CHANNEL)
            settle_sweep(finder, plan, j, mono, alignment);
    }
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->bands[j].broken && plan->bands[j].kind != DW_PLAN_SILENCE && plan->bands[j].kind != DW_PLAN_SWEEP) {
            settle_faint(finder, plan, j, alignment);
            settle_tone(finder, plan, j, alignment);
        }
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->bands[j].broken && plan->bands[j].kind == DW_PLAN_SILENCE)
            dw_side_settle_silence(finder, plan, j, alignment);
}
