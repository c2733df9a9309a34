// SPDX-License-Identifier: MIT
#include "measure/side/side_align.h"

#include "measure/side/side_match.h"
#include "measure/side/side_segments.h"
#include "physics/riaa.h"

#include <math.h>

static const double SAME_TONE = 0.02;   // of ln f
static const double SAME_LENGTH = 0.05; // of ln length
static const double LIKE_LENGTH = 0.2;  // the same, of two sweeps one of which may pass for the other
static const double SURE = 4;           // standard deviations
static const double COUNTS = 0.01;      // of the sound channel's amplitude: −40 dB
static const double LEAK_DB = 12;       // under what the plan makes it
enum { FRAMES_LEAST = 20 };

// What the other channel has in phase with the sound one, over the sound one; and its standard deviation.
typedef struct {
    double share, off;
} InPhase;

static InPhase in_phase(const DwSideFinder *finder, const DwSideBand *band, size_t sound)
{
    const DwSideCourse *course = dw_side_finder_course(finder);
    double sum = 0, squares = 0, count = 0, first_s = dw_side_finder_start_s(finder);
    for (size_t i = 0; i < course->count; i++) {
        const DwSideMoment *moment = &course->moments[i];
        double start_s = first_s + (double)i * course->hop_s;
        if (start_s < band->start_s || start_s + course->hop_s > band->end_s || isnan(moment->hz) ||
            !(moment->power[sound] > 0))
            continue;
        double share = (double)moment->common / moment->power[sound];
        sum += share;
        squares += share * share;
        count++;
    }
    if (count < FRAMES_LEAST)
        return (InPhase){NAN, NAN};
    return (InPhase){sum / count, sqrt(fmax(0, squares - sum * sum / count)) / count};
}

static double tone_of(const DwBandPlanBand *band)
{
    return band->broken ? NAN : band->kind == DW_PLAN_TWO_TONE ? band->from_hz : band->frequency_hz;
}

static bool is_there(const DwSideBand *band)
{
    return band->verdict < DW_SIDE_MISSING;
}

static bool is_one_tone(const DwBandPlanBand *a, const DwBandPlanBand *b)
{
    return fabs(log(tone_of(a) / tone_of(b))) < SAME_TONE;
}

// The way that the band at INDEX was cut, as what is left of the other channel tells; DW_PLAN_CHANNELS where it does
// not. A tone of the sound channel alone shows what of it is but leak.
static DwPlanChannel told_channel(const DwSideFinder *finder, const DwBandPlan *plan, size_t index,
                                  const DwSideAlignment *alignment)
{
    size_t sound = alignment->wiring == DW_SIDE_RIGHT_ONLY;
    InPhase own = in_phase(finder, &alignment->bands[index], sound);
    for (size_t k = 0; k < plan->count; k++) {
        const DwBandPlanBand *band = &plan->bands[k];
        if (band->kind != DW_PLAN_TONE || band->channel != (sound ? DW_PLAN_RIGHT : DW_PLAN_LEFT) ||
            !is_there(&alignment->bands[k]) || !is_one_tone(band, &plan->bands[index]))
            continue;
        InPhase leak = in_phase(finder, &alignment->bands[k], sound);
        double more = own.share - leak.share;
        if (fabs(more) > fmax(COUNTS, SURE * hypot(own.off, leak.off)))
            return more > 0 ? DW_PLAN_LATERAL : DW_PLAN_VERTICAL;
    }
    return DW_PLAN_CHANNELS;
}

// The band of the plan that is as the one at INDEX but cut for CHANNEL, the nearest; the plan's count without one.
static size_t counterpart(const DwBandPlan *plan, size_t index, DwPlanChannel channel)
{
    size_t nearest = plan->count, far = plan->count;
    for (size_t k = 0; k < plan->count; k++) {
        const DwBandPlanBand *band = &plan->bands[k];
        size_t apart = k > index ? k - index : index - k;
        if (band->kind == plan->bands[index].kind && band->channel == channel && apart < far &&
            is_one_tone(band, &plan->bands[index]) &&
            fabs(log(band->length_s / plan->bands[index].length_s)) < SAME_LENGTH) {
            nearest = k;
            far = apart;
        }
    }
    return nearest;
}

static bool stands_between(const DwSideAlignment *alignment, size_t one, size_t other)
{
    for (size_t k = (one < other ? one : other) + 1; k < (one < other ? other : one); k++)
        if (is_there(&alignment->bands[k]) && alignment->bands[k].verdict != DW_SIDE_OUT_OF_ORDER)
            return true;
    return false;
}

// Gives what was found of the band at INDEX to the one at OTHER, where that is still missing.
static void hand_over(DwSideAlignment *alignment, size_t index, size_t other)
{
    if (!is_there(&alignment->bands[other])) {
        alignment->bands[other] = alignment->bands[index];
        if (stands_between(alignment, index, other))
            alignment->bands[other].verdict = DW_SIDE_OUT_OF_ORDER;
    }
    alignment->bands[index] = (DwSideBand){DW_SIDE_MISSING, NAN, NAN, 0, 0};
}

static void tell_lateral(const DwSideFinder *finder, const DwBandPlan *plan, DwSideAlignment *alignment)
{
    for (size_t j = 0; j < plan->count; j++) {
        DwPlanChannel channel = plan->bands[j].channel;
        if ((channel != DW_PLAN_LATERAL && channel != DW_PLAN_VERTICAL) || !is_there(&alignment->bands[j]) ||
            isnan(tone_of(&plan->bands[j])))
            continue;
        DwPlanChannel told = told_channel(finder, plan, j, alignment);
        size_t other = told == DW_PLAN_CHANNELS || told == channel ? plan->count : counterpart(plan, j, told);
        if (other < plan->count)
            hand_over(alignment, j, other);
    }
}

static bool is_of_one(DwSideWiring wiring)
{
    return wiring == DW_SIDE_LEFT_ONLY || wiring == DW_SIDE_RIGHT_ONLY;
}

// What the plan makes BAND in the sound channel, behind replay equalisation; NAN where that is not known. A sweep has
// the level of its middle.
static double made_db(const DwBandPlanBand *band, DwSideWiring wiring)
{
    bool one_sided = band->channel == DW_PLAN_LEFT || band->channel == DW_PLAN_RIGHT;
    double share = !one_sided ? M_SQRT1_2 : is_of_one(wiring) ? 1 : 0.5, hz = band->frequency_hz;
    if (band->kind == DW_PLAN_SWEEP && band->cut == DW_PLAN_CUT_VELOCITY)
        hz = sqrt(band->from_hz * band->to_hz);
    else if (band->kind == DW_PLAN_SWEEP)
        hz = band->cut == DW_PLAN_CUT_RIAA ? 1000 : NAN;
    return isnan(hz) ? NAN : 20 * log10(share * band->velocity_cm_s) + dw_riaa_replay_db(hz, false);
}

// How far what was found of the tone at INDEX is over what the plan makes it, in the decibels of the recording; NAN
// where it was not found.
static double over_plan_db(const DwSideFinder *finder, const DwBandPlan *plan, size_t index,
                           const DwSideAlignment *alignment)
{
    const DwBandPlanBand *band = &plan->bands[index];
    if (band->broken || band->kind != DW_PLAN_TONE || !is_there(&alignment->bands[index]))
        return NAN;
    size_t count, sound = alignment->wiring == DW_SIDE_RIGHT_ONLY;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    return segments[alignment->bands[index].first].level_db[sound] - made_db(band, alignment->wiring);
}

// The highest of those of all tones; NAN without one.
static double usual_db(const DwSideFinder *finder, const DwBandPlan *plan, const DwSideAlignment *alignment)
{
    double most = NAN;
    for (size_t j = 0; j < plan->count; j++)
        most = fmax(most, over_plan_db(finder, plan, j, alignment));
    return most;
}

// The band of the plan that is as the sweep at INDEX, but lost by the wiring; the plan's count without one.
static size_t lost_twin(const DwBandPlan *plan, size_t index, DwSideWiring wiring)
{
    const DwBandPlanBand *own = &plan->bands[index];
    const DwSideGuess guess = {1, NAN, wiring, false};
    for (size_t k = 0; k < plan->count; k++) {
        const DwBandPlanBand *band = &plan->bands[k];
        if (dw_side_match_is_lost(&guess, band) && !band->broken && band->kind == DW_PLAN_SWEEP &&
            band->cut == own->cut && fabs(log(band->from_hz / own->from_hz)) < SAME_TONE &&
            fabs(log(band->to_hz / own->to_hz)) < SAME_TONE && fabs(log(band->length_s / own->length_s)) < LIKE_LENGTH)
            return k;
    }
    return plan->count;
}

bool dw_side_is_leak(const DwSideFinder *finder, const DwBandPlan *plan, size_t index, const DwSideAlignment *alignment,
                     double level_db)
{
    const DwBandPlanBand *band = &plan->bands[index];
    const DwSideGuess guess = {1, NAN, alignment->wiring, false};
    return band->kind == DW_PLAN_SWEEP && !band->broken && !dw_side_match_is_lost(&guess, band) &&
           lost_twin(plan, index, alignment->wiring) < plan->count &&
           level_db - made_db(band, alignment->wiring) < usual_db(finder, plan, alignment) - LEAK_DB;
}

static void tell_leaks(const DwSideFinder *finder, const DwBandPlan *plan, DwSideAlignment *alignment)
{
    size_t count, sound = alignment->wiring == DW_SIDE_RIGHT_ONLY;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    for (size_t j = 0; j < plan->count; j++) {
        if (!is_there(&alignment->bands[j]) ||
            !dw_side_is_leak(finder, plan, j, alignment, segments[alignment->bands[j].first].level_db[sound]))
            continue;
        if (is_of_one(alignment->wiring))
            hand_over(alignment, j, lost_twin(plan, j, alignment->wiring));
        else // a leak of what both channels do not have in common is measured for nothing
            alignment->bands[j] = (DwSideBand){DW_SIDE_MISSING, NAN, NAN, 0, 0};
    }
}

void dw_side_tell_apart(const DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment)
{
    if (mono)
        return;
    if (is_of_one(alignment->wiring))
        tell_lateral(finder, plan, alignment);
    tell_leaks(finder, plan, alignment);
}
