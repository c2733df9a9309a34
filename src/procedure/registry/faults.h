// SPDX-License-Identifier: MIT
// What a fault of the channels means for the rest of a sheet.
#ifndef DW_PROCEDURE_FAULTS_H
#define DW_PROCEDURE_FAULTS_H

#include "base/sheet.h"

// Where SHEET says that a fault of the channels stands, it comes first, and no reading that is
// made of the channels keeps a verdict of good: it is marked with the fault instead.
void dw_faults_apply(DwSheet *sheet);

#endif
