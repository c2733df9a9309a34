// SPDX-License-Identifier: MIT
// The parts of the alignment's sheet: the arm itself, its tables and curves,
// and what was found with the move that mends it.
#ifndef DW_PROCEDURE_ALIGN_SHEET_H
#define DW_PROCEDURE_ALIGN_SHEET_H

#include "procedure/align/found_setup.h"

#include "base/sheet.h"

// What good enough means at the bench; common practice, no source.
extern const double dw_align_good_slide_mm;
extern const double dw_align_good_twist_deg;

// One arm of those that stand side by side on the sheet.
typedef struct {
    const char *prefix; // of its curves' keys
    const char *name;   // as the tables and labels call it
    DwArm arm;
    DwTrackingCost cost;
} DwAlignArm;

enum { DW_ALIGN_ARMS_MOST = 6 };

typedef struct {
    DwAlignArm arms[DW_ALIGN_ARMS_MOST];
    size_t count;
} DwAlignArms;

// The worst of everything that ARM may cost when its overhang and offset are
// each as wrong as good enough allows.
DwTrackingCost dw_align_worst_in_tolerance(const DwArmSetup *setup, const DwArm *arm);

// Adds ARM to ARMS; its cost is worked out here. An arm that does not reach
// the grooves is not added.
void dw_align_arms_add(DwAlignArms *arms, const DwArmSetup *setup, const char *prefix, const char *name,
                       const DwArm *arm);

// The readings align.* of the ideal arm, and what the figures stand for.
// FOUND may be mounted elsewhere: then what is to be set is said for there.
void dw_align_sheet_ideal(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, const DwFoundSetup *found,
                          const DwAlignArm *ideal);
// A linear arm's whole sheet; a headshell that contradicts itself is DW_BAD_INPUT with one line.
DwStatus dw_align_sheet_linear(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, DwMessage *message);
// Readings found.* and move.* and their remarks.
void dw_align_sheet_found(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, const DwFoundSetup *found);
// The words to them, from what the arm costs before the move and after it.
void dw_align_remark_found(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found,
                           const DwTrackingCost *before, const DwTrackingCost *after);
// What each kind of headshell would make of it.
void dw_align_sheet_headshells(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup,
                               const DwFoundSetup *found);
// The round before, where it was given, and what its move has gained.
DwStatus dw_align_sheet_rounds(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup,
                               const DwFoundSetup *found, DwAlignArms *arms, DwMessage *message);
// How body and cantilever stand to each other where the cantilever's offset is OFFSET_DEG (NAN where an arm has none).
void dw_align_sheet_skew(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, double offset_deg);
// What found.* would need, when nothing was given.
void dw_align_sheet_not_found(DwSheet *sheet);
// The arms side by side; the errors by radius and what the bench's tolerance costs, for the distance at which it is to
// be set.
void dw_align_sheet_tables(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found, const DwAlignArms *arms);
void dw_align_sheet_curves(DwSheet *sheet, const DwArmSetup *setup, const DwAlignArms *arms);

#endif
