// SPDX-License-Identifier: MIT
// The oils of data/oils.ini, which a technician may edit.
#ifndef DW_PROCEDURE_OIL_LIST_H
#define DW_PROCEDURE_OIL_LIST_H

#include "physics/oil.h"

#include <stddef.h>

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

#endif
