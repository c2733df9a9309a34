// SPDX-License-Identifier: MIT
// A procedure's sheet kept on a job: --job 0042 --as received. What the book knows of the job goes into the
// procedure's inputs first, as it does in the bench's forms.
#include "base/memory.h"
#include "base/text.h"
#include "cli/book_call.h"
#include "procedure/job/job_sheet.h"

#include <stdlib.h>
#include <string.h>

// Whether CALL gives KEY, as an operand or as the procedure's bare word.
static bool is_typed(const DwProcedure *procedure, const DwCall *call, const char *key)
{
    bool bare = procedure->bare_word && procedure->recordings_most == 0 && call->word_count > 0;
    return dw_inputs_given(call->inputs, key) || (bare && strcmp(procedure->bare_word, key) == 0);
}

// The keys of KNOWN that CALL does not give.
static char *name_known(const DwProcedure *procedure, const DwInputs *known, const DwCall *call)
{
    DwText keys = {0};
    for (const char *const *key = procedure->quantities; *key; key++)
        if (dw_inputs_given(known, *key) && !is_typed(procedure, call, *key))
            dw_text_add(&keys, "%s%s ", keys.length ? "" : " ", *key);
    return keys.length ? dw_text_take(&keys) : NULL;
}

// What the book knows of the job that CALL names. *OWN: the keys that it knows of this very job and deck, not of its
// model, which says so itself; the caller frees it with free().
static DwStatus read_known(const DwProcedure *procedure, const DwCall *call, DwInputs *known, char **own,
                           DwMessage *message)
{
    DwPhase phase = DW_PHASE_NONE;
    DwBook *book = NULL;
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_job_sheet_phase(call->as, &phase, message);
    if (status == DW_OK)
        status = dw_book_call_open(call->book, call->by, &book, message);
    if (status == DW_OK)
        status = dw_job_find(book, call->job, &job, message);
    if (status == DW_OK)
        status = dw_job_sheet_prefill_own(book, &job, phase, procedure, call->inputs, known, message);
    if (status == DW_OK)
        *own = name_known(procedure, known, call);
    if (status == DW_OK && job.deck_id)
        status = dw_job_model_prefill(book, job.deck_id, procedure, call->inputs, known, message);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status;
}

DwStatus dw_call_know(int count, char **arguments, const DwProcedure *procedure, DwCall *call, DwMessage *message)
{
    DwInputs *known = dw_inputs_new();
    char *from_book = NULL;
    DwStatus status = read_known(procedure, call, known, &from_book, message);
    if (status != DW_OK) {
        free(from_book);
        dw_inputs_free(known);
        return status;
    }
    DwCall again;
    status = dw_call_read(count, arguments, procedure, known, &again, message);
    if (status != DW_OK) {
        free(from_book);
        return status;
    }
    dw_call_clear(call);
    *call = again;
    call->from_book = from_book;
    return DW_OK;
}

static bool is_from_book(const DwCall *call, const char *key)
{
    char *word = dw_text_format(" %s ", key);
    bool found = call->from_book && strstr(call->from_book, word);
    free(word);
    return found;
}

// Says on SHEET which of its inputs came from the book.
static void add_remark(const DwCall *call, DwSheet *sheet)
{
    DwText said = {0};
    for (size_t i = 0; i < sheet->input_count; i++) {
        const DwSheetInput *input = &sheet->inputs[i];
        if (is_from_book(call, input->key))
            dw_text_add(&said, "%s%s=%s%s%s", said.length ? ", " : "", input->key, input->text, *input->unit ? " " : "",
                        input->unit);
    }
    if (said.length)
        dw_sheet_remark(sheet, "From the job book: %s.", said.chars);
    dw_text_clear(&said);
}

DwStatus dw_keep_sheet(const char *folder, const char *actor, const char *job, const char *as, DwSheet *sheet,
                       DwMessage *message)
{
    DwPhase phase = DW_PHASE_NONE;
    DwBook *book = NULL;
    int64_t id = 0;
    DwStatus status = dw_job_sheet_phase(as, &phase, message);
    if (status == DW_OK)
        status = dw_book_call_open(folder, actor, &book, message);
    if (status == DW_OK)
        status = dw_job_sheet_keep(book, job, phase, sheet, &id, message);
    if (status == DW_OK) // said on what is printed alone: what is kept knows where it is
        dw_sheet_remark(sheet, "Kept on job %04lld, measurement id %lld.", strtoll(job, NULL, 10), (long long)id);
    dw_book_close(book);
    return status;
}

DwStatus dw_call_keep(const DwCall *call, DwSheet *sheet, DwMessage *message)
{
    add_remark(call, sheet);
    return dw_keep_sheet(call->book, call->by, call->job, call->as, sheet, message);
}
