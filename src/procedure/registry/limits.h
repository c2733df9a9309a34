// SPDX-License-Identifier: MIT
// The allowed range of each reading by class of deck, from data/limits.
#ifndef DW_PROCEDURE_LIMITS_H
#define DW_PROCEDURE_LIMITS_H

#include "base/inputs.h"
#include "base/sheet.h"
#include "procedure/registry/data_table.h"

// A reading that may be given a limit, and the unit it is shown in.
typedef struct {
    const char *key, *unit;
} DwLimitRow;

// The row of KEY, or NULL.
const DwLimitRow *dw_limit_row_find(const char *key);

// One file of limits, read and checked, and which deck they are asked for. A group [KEY] holds for every deck of the
// class, [KEY on idler] for those with that kind of drive, [KEY on suspended], [KEY on automatic], [KEY on changer] and
// [KEY on linear] for decks that are so, [KEY at 78] for records of 78; the narrower one leads.
enum { DW_LIMITS_KINDS = 5 };

typedef struct {
    DwDataTable table;
    // What the deck is besides its class, the narrowest first: "linear", "changer" … "idler"; not owned.
    const char *are[DW_LIMITS_KINDS];
    size_t are_count;
    bool coarse; // for records of 78
} DwLimits;

// Reads what data/limits/CLASS.ini states for the class, drive and speed in INPUTS (whose words LIMITS then point to);
// to be done before measuring, so that a mistake in it costs no measurement. Status: DW_BAD_INPUT with its line for a
// mistake, and for a file in the folder that is no class's. A file that is not there is DW_OK and gives no limits. The
// caller clears LIMITS with dw_limits_clear(), whatever the status.
DwStatus dw_limits_read(const DwInputs *inputs, DwLimits *limits, DwMessage *message);
// The same of data/NAME, for limits that hang on no class.
DwStatus dw_limits_read_file(const char *name, DwLimits *limits, DwMessage *message);
void dw_limits_clear(DwLimits *limits);
// The upper end of what LIMITS call good for reading KEY, in its unit; NAN where they say nothing of it.
double dw_limits_good_most(const DwLimits *limits, const char *key);
// Likewise of what they allow.
double dw_limits_allowed_most(const DwLimits *limits, const char *key);
// Gives each reading of SHEET the limit stated for its key, and thereby its verdict. A
// reading without a line keeps none; a file that was not there is remarked upon.
void dw_limits_give(const DwLimits *limits, DwSheet *sheet);

#endif
