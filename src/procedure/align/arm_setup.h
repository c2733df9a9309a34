// SPDX-License-Identifier: MIT
// The arm that a technician described, whichever of its four measures were
// given, and the alignment it is to have.
#ifndef DW_PROCEDURE_ARM_SETUP_H
#define DW_PROCEDURE_ARM_SETUP_H

#include "base/inputs.h"
#include "physics/arm_found.h"
#include "physics/arm_optimum.h"

typedef enum {
    DW_ARM_PIVOTED,
    DW_ARM_UNDERHUNG,
    DW_ARM_LINEAR,
} DwArmKind;

typedef struct {
    DwArmKind kind;
    DwGroove groove;
    DwTrackingSignal signal;
    DwNulls nulls; // of the alignment; an underhung arm has no outer one (NAN)
    DwAim aim;     // by what one setting is better than another
    // The cantilever against the cartridge's body, positive inwards. Offsets are the cantilever's.
    double skew_deg;
    bool has_skew; // it was given
    DwArm ideal;   // the alignment on this arm's mounting
    // More was stated than fixes the mounting: the arm as its maker made it,
    // completed by the offset or length that makes its worst |error|/radius least.
    bool has_stated;
    DwArm stated;
    bool stated_completed;
} DwArmSetup;

// Reads arm.*, align.* and record.* of INPUTS. What is too little, contradicts
// itself or no arm can do is DW_BAD_INPUT with one line.
DwStatus dw_arm_setup_read(const DwInputs *inputs, DwArmSetup *setup, DwMessage *message);

// The part of it that needs no arm: kind, grooves, signal and null radii; a
// linear arm's null radii are undefined. The arms are left undefined too.
DwStatus dw_arm_setup_read_record(const DwInputs *inputs, DwArmSetup *setup, DwMessage *message);

// The null radii of the alignment called METHOD for the arm of SETUP.
DwStatus dw_arm_setup_nulls(const DwInputs *inputs, const char *method, DwArmKind kind, DwGroove groove, DwNulls *nulls,
                            DwMessage *message);

// The arm with NULLS whose pivot is PIVOT_TO_SPINDLE_MM from the spindle, underhung or not.
DwArm dw_arm_setup_at_distance(DwArmKind kind, DwNulls nulls, double pivot_to_spindle_mm);

// The arm that template draws for SETUP: as its maker states it, unless an alignment is asked for by name.
DwArm dw_arm_setup_drawn(const DwInputs *inputs, const DwArmSetup *setup, bool *as_stated);

// Brings the underhung ARM from METHOD's closed form, which counts in sines, to the
// true optimum with what FREE leaves: its errors are too large for sines. Other
// methods than the three optima leave it as it is.
void dw_arm_setup_refine(const char *method, DwOptimumFree free, DwGroove groove, DwArm *arm);

// "Löfgren A (Baerwald)" for "loefgren_a" …; for a straight arm what it is best by, for the names belong to arms with
// an offset.
const char *dw_arm_setup_method_name(DwArmKind kind, const char *method);

#endif
