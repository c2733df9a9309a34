// SPDX-License-Identifier: MIT
// The allowed range of each reading by class of deck, from data/limits.
#ifndef DW_PROCEDURE_LIMITS_H
#define DW_PROCEDURE_LIMITS_H

#include "base/sheet.h"

// The folder of the files a technician may edit: the environment's
// DECKWRIGHT_DATA, else where the program was built or installed.
const char *dw_data_folder(void);

// Gives each reading of SHEET the limit that data/limits/CLASS.ini states for
// its key, and thereby its verdict. A reading without a line keeps none.
DwStatus dw_limits_apply(DwSheet *sheet, const char *class_name, DwMessage *message);
// The same from the file at PATH, for limits that hang on no class.
DwStatus dw_limits_apply_file(DwSheet *sheet, const char *path, DwMessage *message);

// Reads "LOW .. HIGH", either end empty (NAN) when it is open.
bool dw_limits_read_range(const char *text, DwRange *range);

#endif
