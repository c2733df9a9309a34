// SPDX-License-Identifier: MIT
// Questions about the deck: whether it came, how it is driven, whether it may be connected, what of it can hurt.
#include "report/sentence/question.h"

#include "book/job/verdict.h"

#include <stdlib.h>
#include <string.h>

static DwReply none(const DwDossier *d, const void *about, const char *word)
{
    (void)d;
    (void)about;
    (void)word;
    return DW_YES;
}

static DwReply said(const DwDossier *d, const void *about, const char *word)
{
    const char *text = about;
    (void)d;
    (void)word;
    return text && *text ? DW_YES : DW_NOT_KNOWN;
}

static DwReply is(const DwDossier *d, const void *about, const char *word)
{
    (void)d;
    return !about ? DW_NOT_KNOWN : strcmp(about, word) == 0 ? DW_YES : DW_NO;
}

static DwReply one(const DwDossier *d, const void *about, const char *word)
{
    const size_t *count = about;
    (void)d;
    (void)word;
    return !count ? DW_NOT_KNOWN : *count == 1 ? DW_YES : DW_NO;
}

static DwReply several(const DwDossier *d, const void *about, const char *word)
{
    const size_t *count = about;
    (void)d;
    (void)word;
    return !count ? DW_NOT_KNOWN : *count > 1 ? DW_YES : DW_NO;
}

static DwReply any(const DwDossier *d, const void *about, const char *word)
{
    const size_t *count = about;
    (void)d;
    (void)word;
    return !count ? DW_NOT_KNOWN : *count > 0 ? DW_YES : DW_NO;
}

static DwReply arrived(const DwDossier *d, const void *about, const char *word)
{
    char *day = dw_dossier_received(d);
    bool came = *day != '\0';
    (void)about;
    (void)word;
    free(day);
    return came ? DW_YES : d->job.state == DW_JOB_BOOKED ? DW_NO : DW_NOT_KNOWN;
}

static DwReply drive(const DwDossier *d, const void *about, const char *word)
{
    static const char *const words[] = {[DW_DECK_DRIVE_BELT] = "belt",
                                        [DW_DECK_DRIVE_IDLER] = "idler",
                                        [DW_DECK_DRIVE_DIRECT] = "direct",
                                        [DW_DECK_DRIVE_OTHER] = "other"};
    (void)about;
    if (!d->deck.record.id || d->deck.drive == DW_DECK_DRIVE_UNKNOWN)
        return DW_NOT_KNOWN;
    return strcmp(words[d->deck.drive], word) == 0 ? DW_YES : DW_NO;
}

static DwReply drive_known(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    if (!d->deck.record.id || d->deck.drive == DW_DECK_DRIVE_UNKNOWN)
        return DW_NOT_KNOWN;
    return d->deck.drive == DW_DECK_DRIVE_OTHER ? DW_NO : DW_YES;
}

// The platter of a belt or idler drive lifts off; that of a direct drive may be part of its motor.
static DwReply lifts(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    switch ((DwDeckDrive)(d->deck.record.id ? d->deck.drive : DW_DECK_DRIVE_UNKNOWN)) {
    case DW_DECK_DRIVE_BELT:
    case DW_DECK_DRIVE_IDLER:
        return DW_YES;
    case DW_DECK_DRIVE_DIRECT:
        return DW_NO;
    case DW_DECK_DRIVE_UNKNOWN:
    case DW_DECK_DRIVE_OTHER:
        return DW_NOT_KNOWN;
    }
    return DW_NOT_KNOWN;
}

static DwReply unsafe(const DwDossier *d, const void *about, const char *word)
{
    DwReply answer = DW_NOT_KNOWN;
    (void)about;
    (void)word;
    for (size_t i = 0; i < d->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        if (verdict->grade == DW_VERDICT_UNSAFE)
            return DW_YES;
        bool judged = verdict->grade != DW_VERDICT_NONE && verdict->grade != DW_VERDICT_NOT_TESTED;
        if (judged && verdict->aspect == DW_ASPECT_USE)
            answer = DW_NO;
    }
    return answer;
}

// A deck whose safety nobody judged is neither called safe to connect nor unsafe.
static DwReply may_connect(const DwDossier *d, const void *about, const char *word)
{
    DwReply bad = unsafe(d, about, word);
    if (bad == DW_YES || d->intake.modified_mains)
        return DW_NO;
    return bad == DW_NO ? DW_YES : DW_NOT_KNOWN;
}

static DwReply told(const DwDossier *d, const void *about, const char *word)
{
    const DwItemVerdict *verdict = about;
    DwRecords records;
    (void)word;
    if (!verdict ||
        dw_record_list(d->book, &dw_acknowledgement_entity, "verdict_id", verdict->record.id, &records, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    bool any_record = records.count > 0;
    dw_records_clear(&records);
    return any_record ? DW_YES : DW_NO;
}

static DwReply hazard(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    if (dw_dossier_has_hazard(d, word))
        return DW_YES;
    if (strcmp(word, "altered") == 0)
        return d->intake.record.id ? DW_NO : DW_NOT_KNOWN;
    return d->told[strspn(d->told, " \n")] ? DW_NO : DW_NOT_KNOWN;
}

const DwPaperQuestion dw_question_none = {"it stands always", none};
const DwPaperQuestion dw_question_said = {"is it written down?", said};
const DwPaperQuestion dw_question_is = {"is it the {word} one?", is};
const DwPaperQuestion dw_question_one = {"is there one?", one};
const DwPaperQuestion dw_question_several = {"are there several?", several};
const DwPaperQuestion dw_question_any = {"is there any?", any};
const DwPaperQuestion dw_question_arrived = {"did the deck come in?", arrived};
const DwPaperQuestion dw_question_drive = {"is its drive {word}?", drive};
const DwPaperQuestion dw_question_drive_known = {"is its drive one of belt, idler and direct?", drive_known};
const DwPaperQuestion dw_question_lifts = {"does its platter lift off?", lifts};
const DwPaperQuestion dw_question_unsafe = {"is anything on it unsafe?", unsafe};
const DwPaperQuestion dw_question_connect = {"was it judged, and may it be connected?", may_connect};
const DwPaperQuestion dw_question_told = {"was somebody told that it is unsafe?", told};
const DwPaperQuestion dw_question_hazard = {"does the book speak of it: {word}?", hazard};
