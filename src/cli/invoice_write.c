// SPDX-License-Identifier: MIT
// An electronic invoice, and a month as a table.
#include "book/money/month.h"
#include "book/money/ubl.h"
#include "cli/invoice_call.h"
#include "cli/tell.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Writes TEXT to the file PATH, with the rights of the book itself, or to the terminal where PATH is NULL.
static DwStatus write_out(const char *path, const char *text, DwMessage *message)
{
    if (!path) {
        fputs(text, stdout);
        return DW_OK;
    }
    DwStatus status = dw_destination_check("--out", path, message);
    if (status != DW_OK)
        return status;
    int handle = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    FILE *file = handle >= 0 ? fdopen(handle, "w") : NULL;
    bool written = file && fputs(text, file) >= 0;
    if (file)
        written = fclose(file) == 0 && written;
    else if (handle >= 0)
        close(handle);
    if (!written)
        return dw_fail(message, DW_FAILED, "%s cannot be written (%s).", path, strerror(errno));
    dw_tell(stdout, "%s is written.\n", path);
    return DW_OK;
}

DwStatus dw_invoice_call_xml(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    char *xml = NULL;
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = dw_ubl_write(call->book, invoice.record.id, &xml, message);
    if (status == DW_OK)
        status = write_out(call->out, xml, message);
    free(xml);
    dw_record_clear(&invoice.record);
    return status;
}

DwStatus dw_invoice_call_month(DwBookCall *call, DwMessage *message)
{
    const char *what = call->word_count > 1 ? call->words[1] : "invoices";
    char *csv = NULL;
    DwStatus status;
    if (strcmp(what, "payments") == 0)
        status = dw_month_payments(call->book, call->words[0], &csv, message);
    else if (strcmp(what, "invoices") == 0)
        status = dw_month_invoices(call->book, call->words[0], &csv, message);
    else
        status = dw_fail(message, DW_BAD_INPUT, "\"%s\" is no table of a month. There are: invoices, payments.", what);
    if (status == DW_OK)
        status = write_out(call->out, csv, message);
    free(csv);
    return status;
}
