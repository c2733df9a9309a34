// SPDX-License-Identifier: MIT
// Whether a recording is the side that its plan says, and which other plan fits it.
#ifndef DW_PROCEDURE_OTHER_PLAN_H
#define DW_PROCEDURE_OTHER_PLAN_H

#include "procedure/side/side_parts.h"

// How well a plan and a recording fit, shares of 0 to 1.
typedef struct {
    double explained; // of the seconds of tones and sweeps heard, those that are a band of the plan
    double played;    // of the plan's seconds of tones and sweeps, those found
} DwPlanFit;

// Given: the stretches of a side, COUNT of them, and how they were aligned with PLAN.
DwPlanFit dw_other_plan_fit(const DwBandPlan *plan, const DwSideAlignment *alignment, const DwSideSegment *segments,
                            size_t count);
// Under half of both: chance alone finds a tone that many records hold.
bool dw_other_plan_is_doubtful(DwPlanFit fit);

// Less than a side's own plan usually shares with a take that is whole: another may fit better.
bool dw_other_plan_is_worth_a_look(DwPlanFit fit);

// Looks for a plan that fits what FINDER heard far better than FIT says of the one at PATH: among those that came
// with the program and those beside PATH. MONO as for dw_side_find. Returned: how record.plan would name it, or NULL;
// the caller frees it with free(). FINDER is left as the search leaves it: look again before it is used.
char *dw_other_plan_find(const char *path, DwSideFinder *finder, bool mono, DwPlanFit fit);

#endif
