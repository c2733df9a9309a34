// SPDX-License-Identifier: MIT
// What the procedures of the drive share, and what they leave to sources of their own. Within this room only.
#ifndef DW_PROCEDURE_DRIVE_PARTS_H
#define DW_PROCEDURE_DRIVE_PARTS_H

#include "base/inputs.h"
#include "base/sheet.h"
#include "measure/speed/startup.h"
#include "physics/oil.h"
#include "procedure/input/drive_inputs.h"
#include "procedure/registry/procedure.h"

#include <stddef.h>

// The platter's moment of inertia (kg·m²): as stated, else from mass and
// diameters; NAN where neither was given.
double dw_platter_inertia(const DwInputs *inputs);

// Reads all of PATH and tells SHEET what was recorded. BAND_PERCENT: within which
// a speed counts as reached; NAN where none is asked for. The caller frees *STARTUP
// with dw_startup_free().
DwStatus dw_startup_recording_take(const char *path, const DwInputs *inputs, double band_percent, DwSheet *sheet,
                                   DwStartup **startup, DwMessage *message);

// The run-down part of `bearing`: times at speeds, fitted, and before against after.

// Adds what `bearing.at`, or a recording of the tone running down in its place, and
// `bearing.before` give to SHEET.
DwStatus dw_bearing_add_run_down(const DwRequest *request, DwSheet *sheet, DwMessage *message);

// The belt of a belt drive: length, stretch, grip, creep and how it is judged.

// Creep as a fraction, or NAN where torque, modulus or section were not given.
double dw_drive_belt_creep(const DwInputs *inputs, const DwDrive *drive);

// Adds the belt's readings, remarks and cautions, judged by data/belt.ini.
DwStatus dw_drive_belt_judge(const DwInputs *inputs, const DwDriveStep *step, DwSheet *sheet, DwMessage *message);

// The oils of data/oils.ini, which a technician may edit.

typedef struct {
    char name[40];
    char scale[40];       // the standard that names it
    char grade[40];       // the range it stands for, as written
    double at_40, at_100; // mm²/s
    DwOil oil;
} DwListedOil;

typedef struct {
    DwListedOil *oils;
    size_t count;
    char missing[400]; // why the list is empty; "" when it is not
} DwOilList;

// Reads the list. Status: DW_BAD_INPUT with its line for a mistake in the file, and for an
// oil without both viscosities; a file that is not there is an empty list. The caller clears it with
// dw_oil_list_clear().
DwStatus dw_oil_list_read(DwOilList *list, DwMessage *message);
void dw_oil_list_clear(DwOilList *list);
// The oil called NAME, letters of either case; or NULL.
const DwListedOil *dw_oil_list_find(const DwOilList *list, const char *name);

// Remarks on SHEET which grade of ISO 3448 and of SAE J306 an oil of AT_40 and
// AT_100 mm²/s (at 40 and 100 °C) is; between grades it says so.
DwStatus dw_oil_scales_remark(DwSheet *sheet, double at_40, double at_100, DwMessage *message);

#endif
