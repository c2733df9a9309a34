// SPDX-License-Identifier: MIT
// A case as a sheet: odds, reasons, what to try next, the work plan.
#ifndef DW_GUIDE_GUIDE_SHEET_H
#define DW_GUIDE_GUIDE_SHEET_H

#include "guide/guide_work.h"

// The question of the kind of drive.
extern const char dw_guide_drive_question[];
// What is said of a deck that was brought in for danger, once its tests were passed.
extern const char dw_guide_after_danger[];

// The caller frees it with dw_sheet_free().
DwSheet *dw_guide_sheet(const DwGuideCase *guide_case, const DwGuideReasons *reasons, const DwGuideWorks *works);
// The work plan alone. The caller frees it with dw_sheet_free().
DwSheet *dw_guide_plan_sheet(const DwGuideCase *guide_case, const DwGuideWorks *works);
// "The cause is clear: …", one sentence or two. The caller frees it with free().
char *dw_guide_standing_words(const DwGuideCase *guide_case, const DwGuideReasons *reasons);
// What was answered of SIGN, to be read: "yes", "no, then yes". The caller frees it with free().
char *dw_guide_spoken_word(const DwGuideCase *guide_case, size_t sign);
// What setting WHAT ("arm height", "setup.height", "height") makes doubtful, and why.
// Status: DW_BAD_INPUT where no setting or several are meant. The caller frees *SHEET with dw_sheet_free().
DwStatus dw_guide_recheck(const char *what, DwSheet **sheet, DwMessage *message);

#endif
