// SPDX-License-Identifier: MIT
// Sheets that were measured and not kept yet. They wait here, in memory, and not
// in a hidden field of the page: a sheet with its raster is megabytes, and what
// is kept as evidence must be what the procedure wrote, so it does not leave the
// bench in between. They go when the server ends, after half a day, or when newer
// ones need the room; the page says so.
#ifndef DW_WEB_RESULT_H
#define DW_WEB_RESULT_H

#include "procedure/registry/procedure.h"

typedef struct DwResults DwResults;

// Belongs to the session it was measured in; nobody changes it.
typedef struct {
    char key[65];   // in the address of its page
    char token[65]; // the session's
    const DwProcedure *procedure;
    DwInputs *inputs;
    DwSheet *sheet;
    char job[24]; // the job it was measured for, "" for none
    char as[12];  // received, during, left or ""
} DwResult;

// Sheets set aside until they are kept or dropped. The caller frees them with dw_results_free().
DwResults *dw_results_new(void);
void dw_results_free(DwResults *results);

// Keeps RESULT, whose inputs and sheet it owns from now on, and gives its key.
void dw_results_add(DwResults *results, DwResult result, char key[65]);
// The result KEY of the session TOKEN, or NULL. Valid until it is given back.
const DwResult *dw_results_take(DwResults *results, const char *token, const char *key);
// Whether RESULT may be kept now: once only, however often the button is pressed.
bool dw_results_claim(DwResults *results, const DwResult *result);
// It was not kept after all.
void dw_results_unclaim(DwResults *results, const DwResult *result);
// RESULT may be NULL.
void dw_results_give_back(DwResults *results, const DwResult *result);

#endif
