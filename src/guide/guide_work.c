// SPDX-License-Identifier: MIT
#include "guide/guide_work.h"

#include "base/memory.h"

static const double likely = 0.5;

static bool is_planned(const DwGuideWorks *works, size_t remedy)
{
    for (size_t i = 0; i < works->count; i++)
        if (works->works[i].remedy == remedy)
            return true;
    return false;
}

// Of the same order of work, what stands first in the file comes first.
static bool comes_before(const DwGuideKnowledge *knowledge, size_t a, size_t b)
{
    double left = knowledge->remedies[a].order, right = knowledge->remedies[b].order;
    return left < right || (left <= right && a < b);
}

static void add_work(const DwGuideKnowledge *knowledge, size_t fault, size_t remedy, DwGuideWorks *works)
{
    const DwGuideRemedy *row = &knowledge->remedies[remedy];
    works->works = dw_memory_resize(works->works, works->count + 1, sizeof *works->works);
    size_t place = works->count++;
    for (; place > 0 && comes_before(knowledge, remedy, works->works[place - 1].remedy); place--)
        works->works[place] = works->works[place - 1];
    works->works[place] = (DwGuideWork){remedy, fault, row->minutes_least, row->minutes_most, false};
}

void dw_guide_work_for(const DwGuideKnowledge *knowledge, const size_t *faults, size_t count, DwGuideWorks *works)
{
    *works = (DwGuideWorks){0};
    for (size_t i = 0; i < count; i++) {
        const DwGuideFault *fault = &knowledge->faults[faults[i]];
        for (size_t k = 0; k < fault->remedy_count; k++)
            if (!is_planned(works, fault->remedies[k]))
                add_work(knowledge, faults[i], fault->remedies[k], works);
    }
}

void dw_guide_work(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwGuideWorks *works)
{
    size_t count = reasons->found;
    while (count < reasons->count && reasons->chance[reasons->order[count]] > likely)
        count++;
    dw_guide_work_for(guide_case->knowledge, reasons->order, count, works);
}
