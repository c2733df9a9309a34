// SPDX-License-Identifier: MIT
// How a job's deck is set: the latest note of each setting of the guide, and
// which of them another has made doubtful since.
#ifndef DW_WEB_SETUP_STATE_H
#define DW_WEB_SETUP_STATE_H

#include "book/job/set_up.h"
#include "guide/guide_setup.h"

enum { DW_SETUP_STATE_MOST = 32 };

typedef struct {
    DwRecords notes;                             // all of the job, oldest first; what follows points into it
    const DwSetUp *found[DW_SETUP_STATE_MOST];   // the latest as received, or NULL
    const DwSetUp *last[DW_SETUP_STATE_MOST];    // the latest of all, or NULL
    const DwSetUp *changed[DW_SETUP_STATE_MOST]; // that changed it last, or NULL
    DwGuideTimes times[DW_SETUP_STATE_MOST];
} DwSetupState;

// Reads the notes of JOB that are of its deck and of the arm called ARM ("" for the deck's own). Clear the state in the
// end.
DwStatus dw_setup_state_read(DwBook *book, int64_t job, const char *arm, DwSetupState *state, DwMessage *message);
void dw_setup_state_clear(DwSetupState *state);

// Why setting INDEX must be looked at again: what was changed after it, and what
// that does; NULL when it need not. The caller frees it with free().
char *dw_setup_state_why(const DwSetupState *state, size_t index);
// How many settings must be looked at again, for a page that only says so.
size_t dw_setup_state_stale(const DwSetupState *state);

#endif
