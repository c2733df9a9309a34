// SPDX-License-Identifier: MIT
// The service report. Its first page is for the customer and says all that a
// customer needs; the proof stands behind it.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "report/papers.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

static DwStatus add_answers(DwDossier *d, DwMessage *message)
{
    static const char *const questions[] = {"question.use", "question.records", "question.performance"};
    DwOverall overall[DW_ASPECT_COUNT];
    DwPieceAnswer answers[DW_ASPECT_APPEARANCE];
    char *by[DW_ASPECT_APPEARANCE];
    DwStatus status = dw_verdict_overall(d->book, d->job.record.id, overall, message);
    if (status != DW_OK)
        return status;
    for (int i = 0; i < DW_ASPECT_APPEARANCE; i++) {
        bool worse = overall[i].grade != DW_VERDICT_GOOD && *overall[i].item;
        by[i] = worse ? dw_paper_words_fill(d->words, "service", "decided_by", "item", overall[i].item, NULL)
                      : dw_memory_text("");
        answers[i] = (DwPieceAnswer){say(d, questions[i]), overall[i].grade, by[i]};
    }
    dw_piece_answers(d->flow, answers, DW_ASPECT_APPEARANCE);
    for (int i = 0; i < DW_ASPECT_APPEARANCE; i++)
        free(by[i]);
    dw_verdict_overall_clear(overall);
    return DW_OK;
}

// One sentence of all that was done: an operation without minutes was only planned.
static DwStatus add_done(DwDossier *d, DwMessage *message)
{
    DwRecords operations, parts;
    DwStatus status = dw_dossier_records(d, &dw_operation_entity, &operations, message);
    if (status != DW_OK)
        return status;
    status = dw_dossier_records(d, &dw_part_entity, &parts, message);
    char **names = dw_memory_new(operations.count + parts.count + 1, sizeof *names);
    size_t done = 0, fitted = 0;
    for (size_t i = 0; status == DW_OK && i < operations.count; i++) {
        const DwOperation *operation = (const DwOperation *)dw_records_at(&operations, i);
        if (operation->actual_minutes || operation->done_at)
            names[done++] = operation->name;
    }
    for (size_t i = 0; status == DW_OK && i < parts.count; i++)
        names[done + fitted++] = ((const DwPart *)dw_records_at(&parts, i))->name;
    if (done)
        names[0][0] = (char)toupper((unsigned char)names[0][0]);
    char *work = dw_dossier_list(d, names, done), *new = dw_dossier_list(d, names + done, fitted);
    char *text =
        dw_paper_words_fill(d->words, "service", fitted ? "done.parts" : "done.work", "work", work, "parts", new, NULL);
    dw_dossier_add_section(d, "service", "done", done ? text : say(d, "done.nothing"));
    free(text);
    free(work);
    free(new);
    free(names);
    dw_records_clear(&operations);
    if (status == DW_OK)
        dw_records_clear(&parts);
    return status;
}

static void add_not_tested(DwDossier *d)
{
    char **items = dw_memory_new(d->verdicts.count + 1, sizeof *items);
    size_t count = 0;
    for (size_t i = 0; i < d->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        if (verdict->grade == DW_VERDICT_NOT_TESTED)
            items[count++] = verdict->item;
    }
    const char *key = count ? "untested.items" : d->verdicts.count ? "untested.none" : "untested.nothing";
    char *list = dw_dossier_list(d, items, count);
    char *text = dw_paper_words_fill(d->words, "service", key, "items", list, NULL);
    char *whole = dw_text_format("%s\n%s", text, d->job.not_done ? d->job.not_done : "");
    dw_dossier_add_section(d, "service", "untested", whole);
    free(whole);
    free(text);
    free(list);
    free(items);
}

static DwStatus add_first_page(DwDossier *d, size_t numbers, DwMessage *message)
{
    dw_dossier_add_brief_head(d, say(d, "title"));
    DwStatus status = dw_dossier_add_unsafe(d, message);
    if (status != DW_OK)
        return status;
    dw_piece_paragraph(d->flow, say(d, "remark"));
    dw_piece_paragraph(d->flow, d->job.fault ? d->job.fault : "");
    status = add_answers(d, message);
    if (status != DW_OK)
        return status;
    dw_service_add_numbers(d, numbers);
    status = add_done(d, message);
    if (status == DW_OK)
        add_not_tested(d);
    return status;
}

// The first page is one page: where words take more of it, fewer numbers stand on it.
static DwStatus fit_first_page(DwDossier *d, DwMessage *message)
{
    size_t pages = 2;
    for (size_t numbers = DW_SERVICE_NUMBERS_MOST; pages > 1; numbers -= 2) {
        dw_flow_clear(d->flow);
        DwStatus status = add_first_page(d, numbers, message);
        if (status != DW_OK)
            return status;
        DwPlacement *placements;
        dw_flow_place(d->flow, &placements, &pages);
        free(placements);
        if (numbers == 0)
            break;
    }
    return DW_OK;
}

DwStatus dw_paper_service(DwDossier *d, DwMessage *message)
{
    DwStatus status = dw_comparison_make(d->book, d->job.record.id, &d->comparison, message);
    if (status == DW_OK)
        status = fit_first_page(d, message);
    if (status != DW_OK)
        return status;
    size_t proof = d->flow->count;
    status = dw_service_add_findings(d, message);
    if (status == DW_OK)
        dw_service_add_measurements(d);
    if (status == DW_OK)
        status = dw_service_add_setup(d, message);
    if (status == DW_OK)
        dw_service_add_charts(d);
    if (status == DW_OK)
        status = dw_service_add_work(d, message);
    if (status == DW_OK)
        status = dw_service_add_photos(d, message);
    if (status == DW_OK)
        status = dw_service_add_close(d, message);
    // A job of which nothing is known yet goes on below its first page's words.
    if (status == DW_OK && d->comparison.count + d->verdicts.count > 0)
        d->flow->pieces[proof].new_page = true;
    return status;
}
