// SPDX-License-Identifier: MIT
// The other decks of a visit, on the papers of one of them.
#include "base/memory.h"
#include "book/job/visit.h"
#include "report/dossier.h"

#include <stdlib.h>
#include <string.h>

static bool is_taken_in(const DwDossier *d, const DwJob *job)
{
    DwRecords intakes;
    if (dw_record_list(d->book, &dw_intake_entity, "job_id", job->record.id, &intakes, NULL) != DW_OK)
        return false;
    bool taken = intakes.count > 0;
    dw_records_clear(&intakes);
    return taken;
}

bool dw_dossier_visitor_is(const DwDossier *dossier, const DwJob *job, const char *word)
{
    bool ready = dw_job_waits_for_owner((DwJobState)job->state);
    bool left = job->state == DW_JOB_HANDED_OVER || job->state == DW_JOB_DISPOSED;
    if (strcmp(word, "ready") == 0)
        return ready && is_taken_in(dossier, job);
    if (strcmp(word, "not ready") == 0)
        return !ready && !left && is_taken_in(dossier, job);
    return is_taken_in(dossier, job);
}

typedef struct {
    const DwDossier *dossier;
    const char *word;
    DwText text;
} Visitors;

// "0012 Hollin B2".
static DwStatus add_deck(DwBook *book, const DwJob *job, void *user, DwMessage *message)
{
    DwDeck deck;
    Visitors *visitors = user;
    DwText *text = &visitors->text;
    (void)message;
    if (!dw_dossier_visitor_is(visitors->dossier, job, visitors->word))
        return DW_OK;
    dw_record_init(&deck.record, &dw_deck_entity);
    bool known = job->deck_id && dw_record_load(book, &deck.record, job->deck_id, NULL) == DW_OK;
    dw_text_add(text, "%s%04lld %s%s%s", text->length ? "; " : "", (long long)job->number,
                known && deck.make ? deck.make : "–", known && deck.model && *deck.model ? " " : "",
                known && deck.model ? deck.model : "");
    dw_record_clear(&deck.record);
    return DW_OK;
}

char *dw_dossier_visitors(const DwDossier *dossier, const char *word)
{
    Visitors visitors = {.dossier = dossier, .word = word};
    dw_visit_each(dossier->book, dossier->job.record.id, add_deck, &visitors, NULL);
    dw_text_add(&visitors.text, "%s", "");
    return dw_text_take(&visitors.text);
}
