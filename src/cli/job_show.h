// SPDX-License-Identifier: MIT
// A job on the command line.
#ifndef DW_CLI_JOB_SHOW_H
#define DW_CLI_JOB_SHOW_H

#include "cli/book_call.h"

// Prints JOB with all that hangs on it: by name, or with --json in full as one object.
DwStatus dw_job_show(DwBookCall *call, const DwJob *job, DwMessage *message);

#endif
