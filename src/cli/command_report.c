// SPDX-License-Identifier: MIT
// The papers of a job as PDF, and the texts that stand on them.
#include "book/job/wording.h"
#include "cli/book_call.h"
#include "cli/command.h"
#include "procedure/registry/data_table.h"
#include "report/report.h"

#include "base/text.h"
#include "base/tongue.h"
#include "cli/tell.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static DwStatus write_report(DwBookCall *call, const char *name, DwMessage *message)
{
    static const char *const keys[] = {"kind", "invoice", NULL};
    DwReportOptions options = {.paper = call->paper,
                               .words = call->texts,
                               .notice = dw_book_call_operand(call, "kind"),
                               .invoice = dw_book_call_operand(call, "invoice"),
                               .data_folder = dw_data_folder()};
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status != DW_OK)
        return status;
    if (!call->out)
        return dw_fail(message, DW_BAD_INPUT, "Say where to write it: --out FILE.pdf.");
    status = dw_destination_check_pdf(N_("paper"), call->out, message);
    if (status != DW_OK)
        return status;
    char *lost = NULL;
    bool electronic = false;
    options.lost = &lost;
    options.electronic = &electronic;
    status = dw_report_write(call->book, name, call->words[0], &options, call->out, message);
    if (lost)
        dw_tell(
            stderr,
            "deckwright: Pictures of job %s that could not be read: %s. The paper does without them. 'deckwright book "
            "mend BACKUP' takes files from a backup.\n",
            call->words[0], lost);
    call->flagged = lost != NULL;
    free(lost);
    if (status == DW_OK)
        dw_tell(stdout, "%s is written%s.\n", call->out,
                electronic ? dw_said(", with the electronic invoice in it") : "");
    return status;
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

static DwStatus proof(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "proof", message);
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

static DwStatus notice(DwBookCall *call, DwMessage *message)
{
    return write_report(call, "notice", message);
}

static DwStatus edit(DwBookCall *call, DwMessage *message)
{
    DwReportOptions options = {.data_folder = dw_data_folder()};
    const char **words = call->words;
    DwStatus status = dw_report_edit(call->book, words[1], words[0], &options, words[2], words[3], message);
    if (status == DW_OK)
        dw_tell(stdout, "%s of the %s says so on this job's paper from now on.\n", words[2], words[1]);
    return status;
}

static DwStatus drop(DwBookCall *call, DwMessage *message)
{
    const char **words = call->words;
    DwStatus status = dw_report_drop(call->book, words[1], words[0], words[2], message);
    if (status == DW_OK)
        dw_tell(stdout, "%s of the %s says again what it said before.\n", words[2], words[1]);
    return status;
}

// All texts of a paper, an asterisk before those that are edited for the job.
static DwStatus list_texts(DwBookCall *call, DwMessage *message)
{
    static const char *const keys[] = {"kind", "invoice", NULL};
    DwReportOptions options = {.notice = dw_book_call_operand(call, "kind"), .data_folder = dw_data_folder()};
    DwReportTexts texts = {0};
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = dw_report_texts(call->book, call->words[1], call->words[0], &options, &texts, message);
    for (size_t i = 0; i < texts.count; i++)
        printf("%s%s = %s\n", texts.texts[i].edited ? "* " : "  ", texts.texts[i].key, texts.texts[i].text);
    dw_report_texts_clear(&texts);
    return status;
}

static DwStatus edits(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    DwRecords records;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_job_find(call->book, call->words[0], &job, message);
    if (status == DW_OK)
        status = dw_wording_of_job(call->book, job.record.id, &records, message);
    dw_record_clear(&job.record);
    if (status != DW_OK)
        return status;
    if (records.count == 0)
        dw_tell(stdout, "No text of the job's papers is edited.\n");
    for (size_t i = 0; i < records.count; i++) {
        const DwWording *wording = (const DwWording *)dw_records_at(&records, i);
        printf("%s %s %s%s%s = %s\n", call->words[0], wording->paper, wording->key, *wording->locale ? " " : "",
               wording->locale, wording->text);
    }
    dw_records_clear(&records);
    return DW_OK;
}

// On what each sentence of the papers depends.
static DwStatus print_sentences(DwBookCall *call, DwMessage *message)
{
    (void)call;
    (void)message;
    char *line;
    for (size_t i = 0; (line = dw_report_sentence(i)); i++) {
        puts(line);
        free(line);
    }
    return DW_OK;
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

static const DwVerb *report_verbs(void)
{
#define OPTIONS "JOB --out FILE.pdf [--paper a4|letter] [--words FILE]"
    static const DwVerb verbs[] = {
        {"receipt", OPTIONS, "What was received, in what condition, and what was agreed.", 1, 1, receipt,
         .writes = true},
        {"estimate", OPTIONS, "The options side by side, with totals.", 1, 1, estimate, .writes = true},
        {"service", OPTIONS, "For the owner: what was wrong, done and paid, and what to do; two pages.", 1, 1, service,
         .writes = true},
        {"proof", OPTIONS, "What the service report rests on: readings, settings, charts, photographs.", 1, 1, proof,
         .writes = true},
        {"invoice", "JOB [invoice=2026-0003] --out FILE.pdf [--paper a4|letter] [--words FILE]",
         "The invoice, with declared parts and warranty; the newest that was given out.", 1, 1, invoice,
         .operands = true, .writes = true},
        {"label", OPTIONS, "Labels to cut, with a QR code.", 1, 1, label, .writes = true},
        {"transport", OPTIONS, "How the deck is locked and what to undo.", 1, 1, transport, .writes = true},
        {"notice",
         "JOB [kind=ready|reminder|storage-charge|last-notice] --out FILE.pdf [--paper a4|letter] [--words FILE]",
         "A letter that the deck is ready or waits; the newest that is noted on the job.", 1, 1, notice,
         .operands = true, .writes = true},
        {"texts", "JOB PAPER [kind=…]", "List every text that stands on a paper of the job, with its key.", 2, 2,
         list_texts, .operands = true},
        {"edit", "JOB PAPER KEY TEXT", "Say a text otherwise on this job's paper, now and when it is printed again.", 4,
         4, edit},
        {"edits", "JOB", "List what was edited on the job's papers.", 1, 1, edits},
        {"drop", "JOB PAPER KEY", "Let a text say again what it said before it was edited.", 3, 3, drop},
        {"sentences", "", "Tell of every sentence of the papers what in the book lets it be printed.", 0, 0,
         print_sentences, .makes = true},
        {"words", "", "Print every text of the papers, to copy from and edit.", 0, 0, print_words, .makes = true},
        {NULL},
    };
#undef OPTIONS
    return verbs;
}

const DwCommand dw_command_report = {"report", "report VERB …", "Write the papers of a job as PDF.",
                                     .verbs = report_verbs};
