// SPDX-License-Identifier: MIT
// The papers of a job as PDF, and the texts that stand on them.
#include "cli/book_call.h"
#include "procedure/limits.h"
#include "report/report.h"

#include "base/text.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

static DwStatus write_report(DwBookCall *call, const char *name, DwMessage *message)
{
    DwReportOptions options = {.paper = call->paper, .words = call->texts, .data_folder = dw_data_folder()};
    if (!call->out)
        return dw_fail(message, DW_BAD_INPUT, "Say where to write it: --out FILE.pdf.");
    return dw_report_write(call->book, name, call->words[0], &options, call->out, message);
}

static DwStatus receipt(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "receipt", message);
}

static DwStatus estimate(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "estimate", message);
}

static DwStatus service(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "service", message);
}

static DwStatus invoice(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "invoice", message);
}

static DwStatus label(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "label", message);
}

static DwStatus transport(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "transport", message);
}

// The file as it is, comments too, to be copied and edited.
static DwStatus print_words(DwBookCall *call, DwMessage *message)
{
    (void)call;
    char *path = dw_text_format("%s/words/papers.ini", dw_data_folder());
    FILE *file = fopen(path, "r");
    DwStatus status = file ? DW_OK : dw_fail(message, DW_FAILED, "%s: cannot open it (%s).", path, strerror(errno));
    char block[4096];
    for (size_t got; file && (got = fread(block, 1, sizeof block, file)) > 0;)
        fwrite(block, 1, got, stdout);
    if (file)
        fclose(file);
    free(path);
    return status;
}

static int run_report(int count, char **arguments)
{
#define OPTIONS "JOB --out FILE.pdf [--paper a4|letter] [--words FILE]"
    static const DwVerb verbs[] = {
        {"receipt", OPTIONS, "What was received, in what condition, and what was agreed.", 1, 1, receipt,
         .writes = true},
        {"estimate", OPTIONS, "The options side by side, with totals.", 1, 1, estimate, .writes = true},
        {"service", OPTIONS, "What was found and done: a page for the customer, the proof behind it.", 1, 1, service,
         .writes = true},
        {"invoice", OPTIONS, "The invoice, with declared parts and warranty.", 1, 1, invoice, .writes = true},
        {"label", OPTIONS, "Labels to cut, with a QR code.", 1, 1, label, .writes = true},
        {"transport", OPTIONS, "How the deck is locked and what to undo.", 1, 1, transport, .writes = true},
        {"words", "", "Print every text of the papers, to copy from and edit.", 0, 0, print_words, .makes = true},
        {NULL},
    };
#undef OPTIONS
    return dw_book_call_run(&dw_command_report, verbs, count, arguments);
}

const DwCommand dw_command_report = {"report", "report VERB …", "Write the papers of a job as PDF.", run_report};
