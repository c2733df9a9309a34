// SPDX-License-Identifier: MIT
// The mean frequency of a recorded tone, for procedures that compare recordings.
#ifndef DW_PROCEDURE_RECORDED_TONE_H
#define DW_PROCEDURE_RECORDED_TONE_H

#include "base/sheet.h"
#include "physics/rates.h"

typedef struct {
    double frequency_hz;
    double off_hz; // half-width of its 95 % interval, the clock's error not in it; NAN when too short to tell
    double speed_rpm;
} DwRecordedTone;

// Measures the steady tone in the recording PATH as `speed` does, with the same
// quantities. SHEET is told what was recorded. Status: as of `speed`.
DwStatus dw_recorded_tone_measure(const char *path, const DwInputs *inputs, DwSheet *sheet, DwRecordedTone *tone,
                                  DwMessage *message);

// Fills SHEET with all that `speed` measures of PATH, the lines traced to the parts
// of DRIVE (NULL: not described); DESCRIBED, which may be the same sheet, is told
// what was recorded.
DwStatus dw_recorded_tone_speed(const char *path, const DwInputs *inputs, const DwDrive *drive, DwSheet *described,
                                DwSheet *sheet, DwMessage *message);

#endif
