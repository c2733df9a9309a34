// SPDX-License-Identifier: MIT
#include "measure/side/side_align.h"

#include "measure/side/side_level.h"
#include "measure/side/side_segments.h"

#include <math.h>

static const double SAME_TONE = 0.02;  // of ln f
static const double LIKE_LENGTH = 0.2; // the same, of two sweeps one of which may pass for the other
static const double LEAK_DB = 12;      // under what the plan makes it

static bool is_there(const DwSideBand *band)
{
    return band->verdict < DW_SIDE_MISSING;
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
    alignment->bands[index] = (DwSideBand){.verdict = DW_SIDE_MISSING, .start_s = NAN, .end_s = NAN};
}

static bool is_of_one(DwSideWiring wiring)
{
    return wiring == DW_SIDE_LEFT_ONLY || wiring == DW_SIDE_RIGHT_ONLY;
}

// The band of the plan that is as the sweep at INDEX, but lost by the wiring; the plan's count without one.
static size_t lost_twin(const DwBandPlan *plan, size_t index, DwSideWiring wiring)
{
    const DwBandPlanBand *own = &plan->bands[index];
    const DwSideGuess guess = {1, NAN, wiring, false, NAN};
    for (size_t k = 0; k < plan->count; k++) {
        const DwBandPlanBand *band = &plan->bands[k];
        if (dw_side_match_is_lost(&guess, band) && !band->broken && band->kind == DW_PLAN_SWEEP &&
            band->cut == own->cut && fabs(log(band->from_hz / own->from_hz)) < SAME_TONE &&
            fabs(log(band->to_hz / own->to_hz)) < SAME_TONE && fabs(log(band->length_s / own->length_s)) < LIKE_LENGTH)
            return k;
    }
    return plan->count;
}

bool dw_side_is_leak(const DwBandPlan *plan, size_t index, const DwSideAlignment *alignment, double level_db)
{
    const DwBandPlanBand *band = &plan->bands[index];
    const DwSideGuess guess = {1, NAN, alignment->wiring, false, NAN};
    return band->kind == DW_PLAN_SWEEP && !band->broken && !dw_side_match_is_lost(&guess, band) &&
           lost_twin(plan, index, alignment->wiring) < plan->count &&
           level_db - dw_side_made_db(band, alignment->wiring) < alignment->level_db - LEAK_DB;
}

void dw_side_tell_leaks(const DwSideFinder *finder, const DwBandPlan *plan, DwSideAlignment *alignment)
{
    size_t count, sound = alignment->wiring == DW_SIDE_RIGHT_ONLY;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    for (size_t j = 0; j < plan->count; j++) {
        if (!is_there(&alignment->bands[j]) ||
            !dw_side_is_leak(plan, j, alignment, segments[alignment->bands[j].first].level_db[sound]))
            continue;
        if (is_of_one(alignment->wiring))
            hand_over(alignment, j, lost_twin(plan, j, alignment->wiring));
        else // of what the two channels do not have in common only a leak is left, which is not worth measuring
            alignment->bands[j] = (DwSideBand){.verdict = DW_SIDE_MISSING, .start_s = NAN, .end_s = NAN};
    }
}
