// SPDX-License-Identifier: MIT
// The tables of the data folder, which a technician may edit. What a table may say is
// stated by who reads it; anything else in it is refused with its line.
#ifndef DW_PROCEDURE_DATA_TABLE_H
#define DW_PROCEDURE_DATA_TABLE_H

#include "base/keyfile.h"
#include "base/place.h"
#include "base/quantity.h"

// What may stand in a group.
typedef struct {
    const char *group;       // its name; NULL for any
    const char *const *keys; // NULL last; NULL for any
} DwDataGroup;

typedef struct {
    char *path;
    DwKeyfile file; // without lines where the file is not there
    char *missing;  // why it cannot be opened: "PATH cannot be opened (…)"; NULL when it is there
} DwDataTable;

// Reads NAME ("limits/hifi.ini"); GROUPS says what may stand in it, COUNT of them.
// Status: DW_BAD_INPUT with its line for what is no key file, a group or key that is not of
// it, and a key that stands twice in a group. A file that is not there is DW_OK.
// The caller clears TABLE with dw_data_table_clear(), whatever the status.
DwStatus dw_data_table_read(const char *name, const DwDataGroup *groups, size_t count, DwDataTable *table,
                            DwMessage *message);
void dw_data_table_clear(DwDataTable *table);
// The line of KEY in GROUP, or NULL.
const DwKeyLine *dw_data_table_line(const DwDataTable *table, const char *group, const char *key);

// The number on LINE of TABLE in UNIT of DIMENSION; a bare one is in UNIT.
DwStatus dw_data_table_number(const DwDataTable *table, const DwKeyLine *line, DwDimension dimension, const char *unit,
                              double *value, DwMessage *message);
// The same of "LOW .. HIGH", either end empty (NAN) when it is open. A unit behind HIGH is
// also LOW's. UNIT may be one that only a reading has ("% peak"): then it must stand so.
DwStatus dw_data_table_range(const DwDataTable *table, const DwKeyLine *line, const char *unit, DwRange *range,
                             DwMessage *message);

#endif
