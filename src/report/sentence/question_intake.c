// SPDX-License-Identifier: MIT
// Questions about the intake. What nobody looked at is not known; it is never "none".
#include "report/sentence/question.h"

#include "base/text.h"
#include "book/job/visit.h"

#include <stdlib.h>
#include <string.h>

static DwReply risk(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    if (!d->intake.record.id)
        return DW_NOT_KNOWN;
    const DwField *field = dw_field_find(&dw_intake_entity, word);
    const bool *ticked = (const bool *)((const char *)&d->intake + field->offset);
    return *ticked ? DW_YES : DW_NO;
}

static size_t count_of(const DwDossier *d, const DwEntity *entity)
{
    DwRecords records;
    if (!d->intake.record.id ||
        dw_record_list(d->book, entity, "intake_id", d->intake.record.id, &records, NULL) != DW_OK)
        return 0;
    size_t count = records.count;
    dw_records_clear(&records);
    return count;
}

static DwReply accessories(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    if (count_of(d, &dw_accessory_entity))
        return DW_YES;
    return d->intake.record.id && d->intake.none_other_received ? DW_NO : DW_NOT_KNOWN;
}

// Somebody looked when the owner said that the marks are correct.
static DwReply marks(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    if (count_of(d, &dw_mark_entity))
        return DW_YES;
    return d->intake.record.id && d->intake.list_correct ? DW_NO : DW_NOT_KNOWN;
}

static DwReply receipt(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    return d->intake.record.id ? DW_YES : d->job.state == DW_JOB_BOOKED ? DW_NO : DW_NOT_KNOWN;
}

// Whether another deck that came in together with this one is as WORD says.
static DwReply of_visit(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    char *decks = dw_dossier_visitors(d, word);
    DwReply answer = *decks ? DW_YES : DW_NO;
    free(decks);
    return answer;
}

const DwPaperQuestion dw_question_of_visit = {"is another deck that came in together with this one {word}?", of_visit};
const DwPaperQuestion dw_question_risk = {"was it ticked at the intake: {word}?", risk};
const DwPaperQuestion dw_question_accessories = {"was anything received with the deck?", accessories};
const DwPaperQuestion dw_question_marks = {"was the deck looked at, and are there marks on it?", marks};
const DwPaperQuestion dw_question_receipt = {"is there a receipt that the owner may hold?", receipt};
