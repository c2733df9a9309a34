// SPDX-License-Identifier: MIT
// A case as a sheet: odds, reasons, what to try next, the work plan.
#ifndef DW_GUIDE_GUIDE_SHEET_H
#define DW_GUIDE_GUIDE_SHEET_H

#include "guide/guide_path.h"
#include "guide/guide_plan.h"
#include "guide/guide_work.h"

// What is said of a deck that was brought in for danger, once its tests were passed.
extern const char dw_guide_after_danger[];

// The caller frees it with dw_sheet_free().
DwSheet *dw_guide_sheet(const DwGuideCase *guide_case, const DwGuideReasons *reasons, const DwGuideWorks *works);
// The path alone, with what it led to; PLAIN as an owner reads it. The caller frees it with dw_sheet_free().
DwSheet *dw_guide_path_sheet(const DwGuideCase *guide_case, const DwGuideReasons *reasons, bool plain);
// "The cause is clear: …", one sentence or two. The caller frees it with free().
char *dw_guide_standing_words(const DwGuideCase *guide_case, const DwGuideReasons *reasons);
// What setting WHAT ("arm height", "setup.height", "height") makes doubtful, and why.
// Status: DW_BAD_INPUT where no setting or several are meant. The caller frees *SHEET with dw_sheet_free().
DwStatus dw_guide_recheck(const char *what, DwSheet **sheet, DwMessage *message);

#endif
