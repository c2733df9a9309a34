// SPDX-License-Identifier: MIT
// Where a procedure's call writes to, looked at before anything is measured: ten minutes of a
// test record are not to be lost to a mistyped folder.
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/job.h"
#include "book/store/folder.h"
#include "chart/draw/whole_file.h"
#include "chart/sheet/sheet_chart.h"
#include "cli/book_call.h"
#include "procedure/job/job_sheet.h"
#include "procedure/side/plan_file.h"

#include <libgen.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

static bool is_same_file(const char *a, const char *b)
{
    struct stat first, second;
    return stat(a, &first) == 0 && stat(b, &second) == 0 && first.st_dev == second.st_dev &&
           first.st_ino == second.st_ino;
}

static bool is_any_of(const char *path, const char *const *others, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (is_same_file(path, others[i]))
            return true;
    return false;
}

// Whether PATH is a recording, deck file or plan that CALL reads, by whatever name or link.
static bool is_read(const DwCall *call, const char *path)
{
    char *plan = dw_inputs_given(call->inputs, "record.plan")
                     ? dw_plan_file_path(dw_inputs_word(call->inputs, "record.plan"))
                     : NULL;
    bool same = is_any_of(path, call->words, call->word_count) || is_any_of(path, call->decks, call->deck_count) ||
                (plan && is_same_file(path, plan));
    free(plan);
    return same;
}

DwStatus dw_destination_check(const char *option, const char *path, DwMessage *message)
{
    return dw_folder_owns(path)
               ? dw_fail(message, DW_BAD_INPUT,
                         "%s %s belongs to a job book and is not written over. Choose another place.", option, path)
               : DW_OK;
}

DwStatus dw_destination_check_pdf(const char *what, const char *path, DwMessage *message)
{
    size_t length = strlen(path);
    if (length < 5 || strcasecmp(path + length - 4, ".pdf") != 0)
        return dw_fail(message, DW_BAD_INPUT, "A %s is written as .pdf; “%s” does not end in it.", dw_said(what), path);
    return dw_destination_check("--out", path, message);
}

static DwStatus refuse_read(const DwCall *call, const char *option, const char *path, DwMessage *message)
{
    return is_read(call, path)
               ? dw_fail(message, DW_BAD_INPUT,
                         "%s %s is what this call reads; it would be written over. Give another name.", option, path)
               : DW_OK;
}

// Whether A and B, of which neither needs to be there yet, are one name in one folder.
static bool is_same_name(const char *a, const char *b)
{
    char *first[2] = {dw_text_format("%s", a), dw_text_format("%s", a)};
    char *second[2] = {dw_text_format("%s", b), dw_text_format("%s", b)};
    bool same =
        strcmp(basename(first[0]), basename(second[0])) == 0 && is_same_file(dirname(first[1]), dirname(second[1]));
    for (size_t i = 0; i < 2; i++) {
        free(first[i]);
        free(second[i]);
    }
    return same || is_same_file(a, b);
}

static DwStatus check_out(const DwCall *call, DwMessage *message)
{
    DwStatus status = dw_destination_check_pdf(N_("template"), call->out, message);
    if (status == DW_OK)
        status = refuse_read(call, "--out", call->out, message);
    if (status == DW_OK && call->chart && is_same_name(call->chart, call->out))
        status =
            dw_fail(message, DW_BAD_INPUT, "--chart and --out both name %s. Give one of them another name.", call->out);
    return status == DW_OK ? dw_whole_file_check(call->out, message) : status;
}

static DwStatus check_job(const DwCall *call, DwMessage *message)
{
    DwPhase phase;
    DwBook *book = NULL;
    DwJob job;
    DwStatus status = dw_job_sheet_phase(call->as, &phase, message);
    if (status == DW_OK)
        status = dw_book_call_open(call->book, call->by, &book, message);
    if (status != DW_OK)
        return status;
    dw_record_init(&job.record, &dw_job_entity);
    status = dw_job_find(book, call->job, &job, message);
    if (status == DW_OK && (job.state == DW_JOB_HANDED_OVER || job.state == DW_JOB_DISPOSED))
        status = dw_fail(message, DW_BAD_INPUT,
                         "Job %04lld was handed over. Open a new job for this stay, or move it back first: deckwright "
                         "job move %lld received.",
                         (long long)job.number, (long long)job.number);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status;
}

DwStatus dw_call_check_destinations(const DwCall *call, DwMessage *message)
{
    DwStatus status = DW_OK;
    if (call->chart)
        status = refuse_read(call, "--chart", call->chart, message);
    if (status == DW_OK && call->chart)
        status = dw_destination_check("--chart", call->chart, message);
    if (status == DW_OK && call->chart)
        status = dw_sheet_chart_check(call->chart, message);
    if (status == DW_OK && call->out)
        status = check_out(call, message);
    return status == DW_OK && call->job ? check_job(call, message) : status;
}
