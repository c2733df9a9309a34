// SPDX-License-Identifier: MIT
// The plan of a test record's side is a file. A device names one of those the
// bench has, or sends its own; it never says where a file lies.
#ifndef DW_WEB_MEASURE_PLAN_H
#define DW_WEB_MEASURE_PLAN_H

#include "web/server/visit.h"

// Whether the quantity KEY is such a file.
bool dw_measure_plan_is(const char *key);
// Writes the fields that take it, CHOSEN standing first; WRONG may be NULL.
void dw_measure_plan_write(DwVisit *visit, const char *key, const char *label, const char *help, const char *chosen,
                           const char *wrong);
// Where the plan lies that was sent or chosen for KEY, and its name: NULL both
// when there is none. False when no plan has the name that was sent. The caller
// frees both with free().
bool dw_measure_plan_find(DwVisit *visit, const char *key, char **path, char **name);

#endif
