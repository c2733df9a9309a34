// SPDX-License-Identifier: MIT
// A procedure's sheet kept on a job: --job 0042 --as received.
#include "cli/book_call.h"
#include "procedure/job/job_sheet.h"

DwStatus dw_call_keep(const DwCall *call, DwSheet *sheet, DwMessage *message)
{
    DwPhase phase = DW_PHASE_NONE;
    DwBook *book = NULL;
    int64_t id;
    DwStatus status = dw_job_sheet_phase(call->as, &phase, message);
    if (status == DW_OK)
        status = dw_book_call_open(call->book, call->by, &book, message);
    if (status == DW_OK)
        status = dw_job_sheet_keep(book, call->job, phase, sheet, &id, message);
    dw_book_close(book);
    return status;
}
