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

// "0012 Hollin B2".
static void add_deck(const DwDossier *d, const DwJob *job, DwText *text)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    bool known = job->deck_id && dw_record_load(d->book, &deck.record, job->deck_id, NULL) == DW_OK;
    dw_text_add(text, "%s%04lld %s%s%s", text->length ? "; " : "", (long long)job->number,
                known && deck.make ? deck.make : "–", known && deck.model && *deck.model ? " " : "",
                known && deck.model ? deck.model : "");
    dw_record_clear(&deck.record);
}

char *dw_dossier_visitors(const DwDossier *dossier, const char *word)
{
    DwRecords jobs;
    DwText text = {0};
    if (dw_visit_jobs(dossier->book, dossier->job.record.id, &jobs, NULL) != DW_OK)
        return dw_memory_text("");
    for (size_t i = 0; i < jobs.count; i++) {
        const DwJob *job = (const DwJob *)dw_records_at(&jobs, i);
        if (job->record.id != dossier->job.record.id && dw_dossier_visitor_is(dossier, job, word))
            add_deck(dossier, job, &text);
    }
    dw_records_clear(&jobs);
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}
