// SPDX-License-Identifier: MIT
// The service report, for the owner: two pages at most. What it rests on is the proof, a paper of its own.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/finding.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "book/money/consent.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <stdlib.h>
#include <string.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

// An answer to one of page one's questions: what it rests on, and its words.
typedef struct {
    DwVerdict grade;
    const char *kind; // of the sentence "answer.KIND"
    char *item;
} Answer;

static bool any_near(const DwDossier *d, DwAspect aspect)
{
    for (size_t i = 0; i < d->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        if (verdict->aspect == (int)aspect && verdict->grade == DW_VERDICT_CANNOT_TELL)
            return true;
    }
    return false;
}

// What the verdicts of an aspect say, none of which is worse than serviceable.
static const char *kind_of_rest(const DwDossier *d, DwAspect aspect, const DwOverall *overall)
{
    if (overall->grade == DW_VERDICT_GOOD)
        return "good";
    if (overall->grade == DW_VERDICT_SERVICEABLE)
        return "serviceable";
    if (overall->grade == DW_VERDICT_CANNOT_TELL)
        return "near";
    if (overall->not_tested)
        return overall->tested && !any_near(d, aspect) ? "partly" : "untested";
    return dw_standing_judged(d, aspect) ? "measured" : "unknown";
}

// The worst verdict answers, unless a reading that stands is worse.
static Answer answer_of(const DwDossier *d, DwAspect aspect, const DwOverall *overall)
{
    const DwReading *reading = dw_standing_beyond(d, aspect);
    bool bad = overall->grade >= DW_VERDICT_ATTENTION && overall->grade <= DW_VERDICT_UNSAFE;
    if (reading && (!bad || reading->verdict > overall->grade))
        return (Answer){reading->verdict, "reading", dw_standing_reading_name(d, reading)};
    const char *kind = !bad                                     ? kind_of_rest(d, aspect, overall)
                       : overall->grade == DW_VERDICT_ATTENTION ? "soon"
                       : overall->grade == DW_VERDICT_REPLACE   ? "replace"
                                                                : "unsafe";
    return (Answer){overall->grade, kind, dw_memory_text(overall->item)};
}

static DwStatus add_answers(DwDossier *d, DwMessage *message)
{
    static const char *const questions[] = {"question.use", "question.records", "question.performance"};
    DwOverall overall[DW_ASPECT_COUNT];
    DwPieceAnswer answers[DW_ASPECT_APPEARANCE];
    char *words[DW_ASPECT_APPEARANCE];
    DwStatus status = dw_verdict_overall(d->book, d->job.record.id, overall, message);
    if (status != DW_OK)
        return status;
    for (int i = 0; i < DW_ASPECT_APPEARANCE; i++) {
        Answer answer = answer_of(d, (DwAspect)i, &overall[i]);
        char *key = dw_text_format("answer.%s", answer.kind);
        words[i] = dw_sentence(d, "service", key, answer.kind, "item", answer.item, NULL);
        answers[i] = (DwPieceAnswer){say(d, questions[i]), answer.grade, words[i]};
        free(key);
        free(answer.item);
    }
    dw_piece_answers(d->flow, answers, DW_ASPECT_APPEARANCE);
    for (int i = 0; i < DW_ASPECT_APPEARANCE; i++)
        free(words[i]);
    dw_verdict_overall_clear(overall);
    return DW_OK;
}

// The names of what hangs on the job, in one list; of operations those that were done.
static char *name_all(const DwDossier *d, const DwEntity *entity, const char *key)
{
    DwRecords records;
    if (dw_dossier_records(d, entity, &records, NULL) != DW_OK)
        return dw_memory_text("");
    char **names = dw_memory_new(records.count + 1, sizeof *names);
    size_t count = 0;
    for (size_t i = 0; i < records.count; i++) {
        const DwRecord *record = dw_records_at(&records, i);
        if (entity != &dw_operation_entity || dw_operation_is_done((const DwOperation *)record))
            names[count++] = dw_dossier_field(d, record, key);
        // Most findings tell of nothing that was done.
        if (count && !*names[count - 1])
            free(names[--count]);
    }
    char *list = dw_dossier_list_typed(d, names, count);
    for (size_t i = 0; i < count; i++)
        free(names[i]);
    free(names);
    dw_records_clear(&records);
    return list;
}

// Adds the sentence KEY, with NAME filled in by VALUE (which it frees), where it stands.
static void add_to(const DwDossier *d, DwText *text, const char *key, const char *name, char *value)
{
    dw_text_begin_sentence(value);
    char *sentence = dw_sentence(d, "service", key, NULL, name, value, NULL);
    if (*sentence)
        dw_text_add(text, "%s%s", text->length ? " " : "", sentence);
    free(sentence);
    free(value);
}

// What was agreed to and is not done, each with its reason where one was given: "bearing cleaned (no time)".
static char *name_left(const DwDossier *d)
{
    DwRecords open;
    size_t planned = 0;
    if (dw_consent_open_work(d->book, d->job.record.id, &open, &planned, NULL) != DW_OK)
        return dw_memory_text("");
    char **names = dw_memory_new(open.count + 1, sizeof *names);
    for (size_t i = 0; i < open.count; i++) {
        const DwOperation *operation = (const DwOperation *)dw_records_at(&open, i);
        bool said = operation->left_out && *operation->left_out;
        names[i] =
            said ? dw_text_format("%s (%s)", operation->name, operation->left_out) : dw_memory_text(operation->name);
    }
    char *list = dw_dossier_list_typed(d, names, open.count);
    for (size_t i = 0; i < open.count; i++)
        free(names[i]);
    free(names);
    dw_records_clear(&open);
    return list;
}

static void add_done(DwDossier *d)
{
    size_t same, changed;
    DwText text = {0};
    add_to(d, &text, "done.work", "work", name_all(d, &dw_operation_entity, "name"));
    add_to(d, &text, "done.parts", "parts", name_all(d, &dw_part_entity, "name"));
    add_to(d, &text, "done.oiled", "points", name_all(d, &dw_lubrication_entity, "point"));
    add_to(d, &text, "done.set", "settings", dw_dossier_changed_settings(d, &same, &changed));
    add_to(d, &text, "done.found", "actions", name_all(d, &dw_finding_entity, "action"));
    add_to(d, &text, "done.left", "items", name_left(d));
    add_to(d, &text, "done.nothing", "none", dw_memory_text(""));
    add_to(d, &text, "done.unknown", "none", dw_memory_text(""));
    dw_dossier_add_section(d, "service", "done", text.length ? text.chars : "");
    dw_text_clear(&text);
}

// The items that were not tested, and the questions that no tested item answers.
static char *name_untested(const DwDossier *d)
{
    static const char *const questions[] = {"untested.use", "untested.records", "untested.performance"};
    char **items = dw_memory_new(d->verdicts.count + DW_ASPECT_APPEARANCE, sizeof *items);
    size_t named[DW_ASPECT_COUNT] = {0}, count = 0;
    for (size_t i = 0; i < d->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        named[verdict->aspect]++;
        if (verdict->grade == DW_VERDICT_NOT_TESTED || verdict->grade == DW_VERDICT_NONE)
            items[count++] = verdict->item;
    }
    for (int aspect = 0; aspect < DW_ASPECT_APPEARANCE; aspect++)
        if (!named[aspect])
            items[count++] = (char *)say(d, questions[aspect]);
    char *list = dw_dossier_list_typed(d, items, count);
    free(items);
    return list;
}

static void add_not_tested(DwDossier *d)
{
    static const char *const keys[] = {"untested.items", "untested.measured", "untested.nothing", "untested.none"};
    char *items = name_untested(d);
    DwText text = {0};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        char *sentence = dw_sentence(d, "service", keys[i], NULL, "items", items, NULL);
        dw_text_add(&text, "%s", sentence);
        free(sentence);
    }
    dw_text_add(&text, "\n%s", d->job.not_done ? d->job.not_done : "");
    dw_dossier_add_section(d, "service", "untested", text.chars);
    dw_text_clear(&text);
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
    dw_service_add_todo(d);
    dw_service_add_numbers(d, numbers);
    add_done(d);
    add_not_tested(d);
    return DW_OK;
}

static size_t count_pages(const DwDossier *d)
{
    DwPlacement *placements;
    size_t pages;
    dw_flow_place(d->flow, &placements, &pages);
    free(placements);
    return pages;
}

// The first page is one page: where words take more of it, fewer NUMBERS stand on it.
static DwStatus fit_first_page(DwDossier *d, size_t *numbers, DwMessage *message)
{
    for (*numbers = DW_SERVICE_NUMBERS_MOST;; *numbers -= 2) {
        dw_flow_clear(d->flow);
        DwStatus status = add_first_page(d, *numbers, message);
        if (status != DW_OK || *numbers == 0 || count_pages(d) <= 1)
            return status;
    }
}

// What does not fit on one page stands on a second of its own, unless the first page's words already run on to it.
static DwStatus fill(DwDossier *d, size_t numbers, bool words_in_full, DwMessage *message)
{
    dw_flow_clear(d->flow);
    DwStatus status = add_first_page(d, numbers, message);
    size_t second = d->flow->count;
    if (status == DW_OK)
        status = dw_service_add_rest(d, words_in_full, message);
    if (status == DW_OK)
        d->flow->pieces[second].new_page_if_many = true;
    return status;
}

DwStatus dw_paper_service(DwDossier *d, DwMessage *message)
{
    enum { PAGES_MOST = 2 };
    size_t numbers = 0;
    DwStatus status = dw_comparison_make(d->book, d->job.record.id, &d->comparison, message);
    if (status == DW_OK) {
        dw_service_read_settings(d);
        status = fit_first_page(d, &numbers, message);
    }
    if (status == DW_OK)
        status = fill(d, numbers, true, message);
    if (status == DW_OK && count_pages(d) > PAGES_MOST)
        status = fill(d, numbers, false, message);
    return status;
}
