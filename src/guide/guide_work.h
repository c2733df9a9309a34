// SPDX-License-Identifier: MIT
// From what is found to a work plan: remedies in a sensible order, those with the same
// opening together.
#ifndef DW_GUIDE_GUIDE_WORK_H
#define DW_GUIDE_GUIDE_WORK_H

#include "guide/guide_reason.h"

#include <stdbool.h>

typedef struct {
    size_t remedy;
    size_t fault;       // the likeliest that it puts right
    double least, most; // minutes; NAN where operations.ini has them
    bool counted;       // its minutes are those of an earlier work, which is the same operation: its own are 0
} DwGuideWork;

typedef struct {
    DwGuideWork *works;
    size_t count;
} DwGuideWorks;

// The works for the faults that are found, or for the likeliest one where that is more likely than
// not. The caller frees works->works with free().
void dw_guide_work(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwGuideWorks *works);
// The same for COUNT faults named by their places.
void dw_guide_work_for(const DwGuideKnowledge *knowledge, const size_t *faults, size_t count, DwGuideWorks *works);

#endif
