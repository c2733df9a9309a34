// SPDX-License-Identifier: MIT
// What was measured of the job as received, to stand beside what is heard now. Of the live page only.
#ifndef DW_WEB_LIVE_BEFORE_H
#define DW_WEB_LIVE_BEFORE_H

#include "base/sheet.h"
#include "book/job/job.h"
#include "web/server/request.h"

enum { DW_LIVE_BEFORE_SHEETS = 4 };

// The newest sheet of each procedure whose readings Live shows, too.
typedef struct {
    DwSheet *sheet[DW_LIVE_BEFORE_SHEETS];
    size_t count;
} DwLiveBefore;

// Reads what JOB has; nothing without a job, or while it is measured as received itself.
void dw_live_before_read(const DwWebRequest *request, const DwJob *job, DwLiveBefore *before);
void dw_live_before_clear(DwLiveBefore *before);
// The reading KEY with a value, or NULL.
const DwReading *dw_live_before_find(const DwLiveBefore *before, const char *key);
// The flutter by frequency as Live's own has it, for the script: "1230 - 2000 …" in 0.00001 % from the lowest bin on,
// "-" for none; NULL when there is no such curve. The caller frees it.
char *dw_live_before_spectrum(const DwLiveBefore *before);

#endif
