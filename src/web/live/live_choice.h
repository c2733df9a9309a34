// SPDX-License-Identifier: MIT
// What can be listened to: the inputs of this computer by their names, and
// recordings of the book by their ids. A device never names a file.
#ifndef DW_WEB_LIVE_CHOICE_H
#define DW_WEB_LIVE_CHOICE_H

#include "base/status.h"
#include "web/server/visit.h"

// Writes the list to choose from, with the recordings of JOB, or the newest of
// all for 0.
void dw_live_choice_write(DwVisit *visit, int64_t job);

typedef struct {
    char *input; // as dw_live_open() takes it
    char *label;
} DwLiveChoice;

// Finds what VALUE of that list stands for. Anything else is DW_BAD_INPUT. The
// caller clears it.
DwStatus dw_live_choice_find(DwVisit *visit, const char *value, DwLiveChoice *choice, DwMessage *message);
void dw_live_choice_clear(DwLiveChoice *choice);

#endif
