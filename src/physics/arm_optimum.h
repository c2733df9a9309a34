// SPDX-License-Identifier: MIT
// The best arm by search, without the closed forms: to check them, to equalise
// true angles, and for cases they do not cover, such as a cartridge that
// stands at the end of its slots.
#ifndef DW_PHYSICS_ARM_OPTIMUM_H
#define DW_PHYSICS_ARM_OPTIMUM_H

#include "physics/tracking.h"

typedef enum {
    DW_OPTIMUM_PEAK_WEIGHTED, // least worst |error|/radius
    DW_OPTIMUM_RMS_WEIGHTED,  // least mean square of error/radius
    DW_OPTIMUM_PEAK_ERROR,    // least worst |error|
} DwOptimumCriterion;

// How the error is counted.
typedef enum {
    DW_OPTIMUM_SINES,    // sin φ − sin β, as the closed forms do
    DW_OPTIMUM_ANGLES,   // φ − β
    DW_OPTIMUM_TANGENTS, // tan(φ − β), as distortion does
} DwOptimumForm;

// What may be changed.
typedef enum {
    DW_OPTIMUM_OFFSET,            // pivot and effective length stand
    DW_OPTIMUM_LENGTH,            // pivot and offset stand
    DW_OPTIMUM_DISTANCE,          // effective length and offset stand
    DW_OPTIMUM_BOTH_LENGTHS,      // overhang and offset stand
    DW_OPTIMUM_OUTER_NULL,        // pivot and inner null stand
    DW_OPTIMUM_LENGTH_AND_OFFSET, // the pivot stands
} DwOptimumFree;

typedef struct {
    DwOptimumCriterion criterion;
    DwOptimumForm form;
    DwOptimumFree free;
} DwOptimumTask;

// Searches the best arm near *ARM.
//
// Given: what is sought, the groove radii [mm], and an arm of which what stands
// is right and what is free is a first guess: lengths within 30 mm of the best
// (both lengths within 120 mm), the offset within 15°.
// Returned: whether a best was found inside that; *ARM is written only then.
// Accuracy: 1e-6 mm and 1e-6° where the criterion is a worst value, 1e-4 for
// the mean square, whose minimum is round.
// Reference: golden section (physics/profile.h), nested where two are free.
bool dw_arm_optimum_find(DwOptimumTask task, DwGroove groove, DwArm *arm);

#endif
