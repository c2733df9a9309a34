// SPDX-License-Identifier: MIT
// Questions about what was done, judged and measured.
#include "report/sentence/question.h"

#include "book/job/finding.h"
#include "book/job/set_up.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "book/money/consent.h"
#include "report/papers.h"
#include "report/standing.h"

#include <stdlib.h>
#include <string.h>

static size_t count_of(const DwDossier *d, const DwEntity *entity)
{
    DwRecords records;
    if (dw_dossier_records(d, entity, &records, NULL) != DW_OK)
        return 0;
    size_t count = records.count;
    dw_records_clear(&records);
    return count;
}

// An operation without minutes and day was only planned.
static DwReply operations(const DwDossier *d, const void *about, const char *word)
{
    DwRecords records;
    (void)about;
    (void)word;
    if (dw_dossier_records(d, &dw_operation_entity, &records, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    DwReply answer = records.count ? DW_NO : DW_NOT_KNOWN;
    for (size_t i = 0; i < records.count; i++)
        if (dw_operation_is_done((const DwOperation *)dw_records_at(&records, i)))
            answer = DW_YES;
    dw_records_clear(&records);
    return answer;
}

// Whether what was agreed to and planned is not all done; not known where nothing was planned by an agreement.
static DwReply work_open(const DwDossier *d, const void *about, const char *word)
{
    DwRecords open;
    size_t planned = 0;
    (void)about;
    (void)word;
    if (dw_consent_open_work(d->book, d->job.record.id, &open, &planned, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    DwReply answer = !planned ? DW_NOT_KNOWN : open.count ? DW_YES : DW_NO;
    dw_records_clear(&open);
    return answer;
}

static DwReply of_work(const DwDossier *d, const DwEntity *entity)
{
    if (count_of(d, entity))
        return DW_YES;
    return operations(d, NULL, NULL) == DW_YES ? DW_NO : DW_NOT_KNOWN;
}

static DwReply parts(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    return of_work(d, &dw_part_entity);
}

static DwReply oiled(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    return of_work(d, &dw_lubrication_entity);
}

// Known only of a setting that was looked at before and after.
static DwReply was_set(const DwDossier *d, const void *about, const char *word)
{
    size_t same = 0, changed = 0;
    (void)about;
    (void)word;
    char *names = dw_dossier_changed_settings(d, &same, &changed);
    free(names);
    return changed ? DW_YES : same ? DW_NO : DW_NOT_KNOWN;
}

// Whether the job is over without work having been its purpose.
static bool ended_without(const DwDossier *d)
{
    bool over = dw_job_waits_for_owner((DwJobState)d->job.state) || d->job.state == DW_JOB_HANDED_OVER;
    char *kind = dw_dossier_field(d, &d->job.record, "kind");
    bool inspection = strcmp(kind, "inspection") == 0;
    free(kind);
    return d->job.state == DW_JOB_DECLINED || (over && inspection);
}

// What was told of a deck that leaves unsafe may say what was done to it, a plug cut off or a tag put on.
static bool anybody_told(const DwDossier *d)
{
    for (size_t i = 0; i < d->verdicts.count; i++)
        if (dw_question_told.ask(d, dw_records_at(&d->verdicts, i), NULL) == DW_YES)
            return true;
    return false;
}

static DwReply worked(const DwDossier *d, const void *about, const char *word)
{
    if (operations(d, about, word) == DW_YES || parts(d, about, word) == DW_YES || oiled(d, about, word) == DW_YES ||
        was_set(d, about, word) == DW_YES)
        return DW_YES;
    return ended_without(d) && !anybody_told(d) ? DW_NO : DW_NOT_KNOWN;
}

// Whether a finding's own words tell what was done about it.
static bool is_told_of_findings(const DwDossier *d)
{
    DwRecords findings;
    bool told = false;
    if (dw_dossier_records(d, &dw_finding_entity, &findings, NULL) != DW_OK)
        return false;
    for (size_t i = 0; i < findings.count; i++) {
        const DwFinding *finding = (const DwFinding *)dw_records_at(&findings, i);
        told = told || (finding->action && *finding->action);
    }
    dw_records_clear(&findings);
    return told;
}

// What was done about a finding stands in free words, "ordered" or "soldered anew": they are printed where no work is
// written down, and nothing is said against them.
static DwReply only_found(const DwDossier *d, const void *about, const char *word)
{
    if (worked(d, about, word) == DW_YES)
        return DW_NO;
    return is_told_of_findings(d) ? DW_YES : DW_NOT_KNOWN;
}

static DwReply work_noted(const DwDossier *d, const void *about, const char *word)
{
    return is_told_of_findings(d) ? DW_YES : worked(d, about, word);
}

// Every item was tested, and each of the customer's questions rests on one.
static DwReply tested(const DwDossier *d, const void *about, const char *word)
{
    size_t judged[DW_ASPECT_COUNT] = {0};
    DwReply answer = d->verdicts.count ? DW_YES : DW_NOT_KNOWN;
    (void)about;
    (void)word;
    for (size_t i = 0; i < d->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        bool is_judged = verdict->grade != DW_VERDICT_NOT_TESTED && verdict->grade != DW_VERDICT_NONE;
        judged[verdict->aspect] += is_judged;
        if (!is_judged)
            answer = DW_NO;
    }
    for (int aspect = 0; aspect < DW_ASPECT_APPEARANCE; aspect++)
        if (answer == DW_YES && !judged[aspect])
            answer = DW_NO;
    return answer;
}

static DwReply proof(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    if (d->comparison.count + d->verdicts.count + count_of(d, &dw_finding_entity))
        return DW_YES;
    return count_of(d, &dw_operation_entity) ? DW_NO : DW_NOT_KNOWN;
}

static DwReply path_leads(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    DwSheet *path = dw_service_path(d);
    DwReply answer = !path ? DW_NOT_KNOWN : dw_service_path_leads(path) ? DW_YES : DW_NO;
    dw_sheet_free(path);
    return answer;
}

static DwReply looked_over(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    return d->verdicts.count ? DW_YES : d->comparison.count ? DW_NO : DW_NOT_KNOWN;
}

static DwReply beyond(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    if (dw_standing_beyond(d, DW_ASPECT_RECORDS) || dw_standing_beyond(d, DW_ASPECT_PERFORMANCE))
        return DW_YES;
    bool judged = dw_standing_judged(d, DW_ASPECT_RECORDS) || dw_standing_judged(d, DW_ASPECT_PERFORMANCE);
    return judged ? DW_NO : DW_NOT_KNOWN;
}

// Nothing is to be done only where everything was judged and is at least serviceable.
static DwReply todo(const DwDossier *d, const void *about, const char *word)
{
    bool advised = (d->job.advice && *d->job.advice) || (d->job.next_due_on && *d->job.next_due_on);
    DwReply answer = advised ? DW_YES : tested(d, about, word) == DW_YES ? DW_NO : DW_NOT_KNOWN;
    if (answer == DW_NO && beyond(d, about, word) == DW_YES)
        answer = DW_NOT_KNOWN;
    for (size_t i = 0; i < d->verdicts.count && answer != DW_YES; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        if (verdict->action && *verdict->action)
            answer = DW_YES;
        else if (verdict->grade != DW_VERDICT_GOOD && verdict->grade != DW_VERDICT_SERVICEABLE)
            answer = DW_NOT_KNOWN;
    }
    return answer;
}

static DwReply measured(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    return d->comparison.count ? DW_YES : d->verdicts.count ? DW_NO : DW_NOT_KNOWN;
}

static DwReply compared(const DwDossier *d, const void *about, const char *word)
{
    const DwPair *pair = about;
    (void)d;
    (void)word;
    return !pair || !pair->before || !pair->after ? DW_NOT_KNOWN : pair->comparable ? DW_YES : DW_NO;
}

static DwReply doubtful(const DwDossier *d, const void *about, const char *word)
{
    const DwReading *reading = about;
    (void)d;
    (void)word;
    return !reading ? DW_NOT_KNOWN : reading->flags ? DW_YES : DW_NO;
}

static DwReply settings(const DwDossier *d, const void *about, const char *word)
{
    DwRecords found = {0}, left = {0};
    (void)about;
    (void)word;
    if (dw_set_up_standing(d->book, d->job.record.id, DW_PHASE_AS_LEFT, &left, NULL) != DW_OK ||
        dw_set_up_standing(d->book, d->job.record.id, DW_PHASE_AS_RECEIVED, &found, NULL) != DW_OK) {
        dw_records_clear(&left);
        return DW_NOT_KNOWN;
    }
    DwReply answer = left.count ? DW_YES : found.count ? DW_NO : DW_NOT_KNOWN;
    dw_records_clear(&left);
    dw_records_clear(&found);
    return answer;
}

static DwReply lines_drawn(const DwDossier *d, const void *about, const char *word)
{
    const DwDrawn *drawn = about;
    (void)d;
    (void)word;
    return !drawn || !drawn->drawn ? DW_NOT_KNOWN : drawn->with_both ? DW_YES : DW_NO;
}

const DwPaperQuestion dw_question_worked = {"was anything done to the deck?", worked};
const DwPaperQuestion dw_question_work_noted = {"was anything done to the deck, or told of a finding?", work_noted};
const DwPaperQuestion dw_question_only_found = {"do the findings alone tell what was done?", only_found};
const DwPaperQuestion dw_question_work_open = {"was work that was agreed to and planned left undone?", work_open};
const DwPaperQuestion dw_question_operations = {"was an operation done?", operations};
const DwPaperQuestion dw_question_parts = {"was a part fitted?", parts};
const DwPaperQuestion dw_question_oiled = {"was anything oiled or greased?", oiled};
const DwPaperQuestion dw_question_set = {"was a setting changed?", was_set};
const DwPaperQuestion dw_question_tested = {"was each item, and each question of page one, judged?", tested};
const DwPaperQuestion dw_question_looked_over = {"was a part given a verdict, or was anything measured?", looked_over};
const DwPaperQuestion dw_question_beyond = {"does a reading stand beyond its limit?", beyond};
const DwPaperQuestion dw_question_path_leads = {"did the guide's questions lead to a cause?", path_leads};
const DwPaperQuestion dw_question_proof = {"was anything found, judged or measured?", proof};
const DwPaperQuestion dw_question_todo = {"is anything left for the owner to do?", todo};
const DwPaperQuestion dw_question_measured = {"was anything measured as received or as left?", measured};
const DwPaperQuestion dw_question_compared = {"can the two readings be compared?", compared};
const DwPaperQuestion dw_question_doubtful = {"is anything doubtful about the reading?", doubtful};
const DwPaperQuestion dw_question_settings = {"is it noted how the deck was left set?", settings};
const DwPaperQuestion dw_question_lines_drawn = {"are lines of both phases drawn?", lines_drawn};
