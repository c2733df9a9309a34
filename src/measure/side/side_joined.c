// SPDX-License-Identifier: MIT
#include "measure/side/side_joined.h"

#include <math.h>

static const double ONE_TONE = 0.02;  // of ln f
static const double ONE_LENGTH = 0.1; // of ln length
static const double ALIKE_DB = 3;     // of right over left, from stretch to stretch
static const double IN_PHASE = 0.9;   // correlation

static bool is_tone_in(const DwBandPlanBand *band, DwPlanChannel channel)
{
    return !band->broken && band->kind == DW_PLAN_TONE && band->channel == channel;
}

// Whether a band of a tone, or of another kind, cut for one CHANNEL was found.
static bool is_found(const DwSideAlignment *alignment, const DwBandPlan *plan, DwPlanChannel channel)
{
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->bands[j].broken && plan->bands[j].kind != DW_PLAN_SILENCE && plan->bands[j].channel == channel &&
            alignment->bands[j].verdict < DW_SIDE_MISSING)
            return true;
    return false;
}

// Whether the stretch lies within a band that was found.
static bool is_of_band(const DwSideAlignment *alignment, const DwSideSegment *segment)
{
    double middle_s = (segment->start_s + segment->end_s) / 2;
    for (size_t j = 0; j < alignment->count; j++)
        if (alignment->bands[j].verdict < DW_SIDE_MISSING && middle_s > alignment->bands[j].start_s &&
            middle_s < alignment->bands[j].end_s)
            return true;
    return false;
}

static double balance_db(const DwSideSegment *segment)
{
    return segment->level_db[1] - segment->level_db[0];
}

// Whether both stretches come out of both channels in phase, one as much louder in one of them as the other.
static bool is_alike(const DwSideSegment *segment, const DwSideSegment *like)
{
    return segment->correlation > IN_PHASE && like->correlation > IN_PHASE &&
           fabs(balance_db(segment) - balance_db(like)) < ALIKE_DB;
}

// The stretch after AFTER (−1: the first) that is no band, as long as BAND and of its tone, and comes out as LIKE does
// (NULL: in any way); −1 where there is none.
static long left_over(const DwSideAlignment *alignment, const DwSideSegment *segments, const DwBandPlanBand *band,
                      const DwSideSegment *like, long after)
{
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    for (size_t i = (size_t)(after + 1); i < alignment->segment_count; i++) {
        double length_s = segments[i].end_s - segments[i].start_s;
        bool fits = segments[i].kind == DW_PLAN_TONE &&
                    fabs(log(segments[i].frequency_hz / (band->frequency_hz * ratio))) < ONE_TONE &&
                    fabs(log(length_s * ratio / band->length_s)) < ONE_LENGTH;
        if (fits && !is_of_band(alignment, &segments[i]) && (!like || is_alike(&segments[i], like)))
            return (long)i;
    }
    return -1;
}

// A stretch of a band of tones cut for both channels alike that was found; NULL without one.
static const DwSideSegment *lateral_of(const DwSideAlignment *alignment, const DwSideSegment *segments,
                                       const DwBandPlan *plan)
{
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->bands[j].broken && plan->bands[j].channel == DW_PLAN_LATERAL && alignment->bands[j].count > 0 &&
            (plan->bands[j].kind == DW_PLAN_TONE || plan->bands[j].kind == DW_PLAN_STEPS) &&
            alignment->bands[j].verdict < DW_SIDE_MISSING)
            return &segments[alignment->bands[j].first];
    return NULL;
}

// The first band of a tone cut for CHANNEL; NULL without one.
static const DwBandPlanBand *cut_for(const DwBandPlan *plan, DwPlanChannel channel)
{
    for (size_t j = 0; j < plan->count; j++)
        if (is_tone_in(&plan->bands[j], channel))
            return &plan->bands[j];
    return NULL;
}

bool dw_side_is_joined(const DwSideAlignment *alignment, const DwSideSegment *segments, const DwBandPlan *plan)
{
    const DwBandPlanBand *left = cut_for(plan, DW_PLAN_LEFT), *right = cut_for(plan, DW_PLAN_RIGHT);
    if (!left || !right || is_found(alignment, plan, DW_PLAN_LEFT) || is_found(alignment, plan, DW_PLAN_RIGHT))
        return false;
    const DwSideSegment *like = lateral_of(alignment, segments, plan);
    long one = left_over(alignment, segments, left, like, -1);
    if (one < 0)
        return false;
    long other = left_over(alignment, segments, right, &segments[one], -1);
    return other >= 0 && (other != one || left_over(alignment, segments, right, &segments[one], one) >= 0);
}
