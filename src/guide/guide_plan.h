// SPDX-License-Identifier: MIT
// The work plan as tables: what is done in which order, with which tools, oils and care.
#ifndef DW_GUIDE_GUIDE_PLAN_H
#define DW_GUIDE_GUIDE_PLAN_H

#include "guide/guide_work.h"

// Adds the plan to SHEET: guide.work, guide.tools, and where there are any guide.lubricants and guide.torque.
void dw_guide_plan_add(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, DwSheet *sheet);
// The work plan alone. The caller frees it with dw_sheet_free().
DwSheet *dw_guide_plan_sheet(const DwGuideKnowledge *knowledge, const DwGuideWorks *works);

#endif
