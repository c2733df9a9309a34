// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "book/job/job.h"
#include "book/store/private.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

static const DwField job_fields[] = {
    {"number", "Number", DW_FIELD_INTEGER, offsetof(DwJob, number), .kept = true},
    {"customer_id", "Customer", DW_FIELD_REFERENCE, offsetof(DwJob, customer_id), .refers = "customer",
     .required = true},
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwJob, deck_id), .refers = "deck"},
    {"warranty_of_id", "Warranty return of job", DW_FIELD_REFERENCE, offsetof(DwJob, warranty_of_id), .refers = "job"},
    {"came_with_id", "Came in with job", DW_FIELD_REFERENCE, offsetof(DwJob, came_with_id), .refers = "job"},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwJob, kind),
     .choices = "repair|set-up|service|overhaul|visit|inspection|warranty"},
    {"priority", "Priority", DW_FIELD_CHOICE, offsetof(DwJob, priority), .choices = "normal|rush"},
    {"state", "State", DW_FIELD_CHOICE, offsetof(DwJob, state), .choices = DW_JOB_STATE_WORDS, .kept = true},
    {"waiting_for", "Waiting for", DW_FIELD_TEXT, offsetof(DwJob, waiting_for), .kept = true},
    {"state_since", "Since", DW_FIELD_MOMENT, offsetof(DwJob, state_since), .kept = true},
    {"opened_at", "Opened", DW_FIELD_MOMENT, offsetof(DwJob, opened_at), .kept = true},
    {"place", "Where it stands", DW_FIELD_TEXT, offsetof(DwJob, place)},
    {"screws_place", "Where its screws are", DW_FIELD_TEXT, offsetof(DwJob, screws_place)},
    {"promised_on", "Promised", DW_FIELD_DATE, offsetof(DwJob, promised_on)},
    {"owner_told_at", "Owner last told", DW_FIELD_MOMENT, offsetof(DwJob, owner_told_at), .kept = true},
    {"technician", "Technician", DW_FIELD_TEXT, offsetof(DwJob, technician)},
    {"fault", "Fault", DW_FIELD_TEXT, offsetof(DwJob, fault), .help = "One line in the shop's words."},
    {"not_done", "Not done, and why", DW_FIELD_TEXT, offsetof(DwJob, not_done), .lines = true},
    {"advice", "Advice", DW_FIELD_TEXT, offsetof(DwJob, advice), .lines = true},
    {"next_due_on", "Next service due", DW_FIELD_DATE, offsetof(DwJob, next_due_on)},
};

static const DwField stage_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwStage, job_id), .refers = "job", .required = true},
    {"state", "State", DW_FIELD_CHOICE, offsetof(DwStage, state), .choices = DW_JOB_STATE_WORDS},
    {"waiting_for", "Waiting for", DW_FIELD_TEXT, offsetof(DwStage, waiting_for)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwStage, note)},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwStage, at), .required = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwStage, who)},
};

static const DwField contact_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwContact, job_id), .refers = "job", .required = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwContact, at), .required = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwContact, who)},
    {"how", "How", DW_FIELD_CHOICE, offsetof(DwContact, how), .choices = DW_ROUTE_WORDS},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwContact, words), .required = true, .lines = true, .personal = true},
};

const DwEntity dw_job_entity = {
    "job", "job", sizeof(DwJob), job_fields, sizeof job_fields / sizeof *job_fields, .of_customer = "customer_id = ?1"};
const DwEntity dw_stage_entity = {"stage",
                                  "stage of a job",
                                  sizeof(DwStage),
                                  stage_fields,
                                  sizeof stage_fields / sizeof *stage_fields,
                                  .of_customer = DW_JOBS_OF_CUSTOMER,
                                  .quiet = true};
const DwEntity dw_contact_entity = {"contact",
                                    "contact with the owner",
                                    sizeof(DwContact),
                                    contact_fields,
                                    sizeof contact_fields / sizeof *contact_fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER,
                                    .quiet = true};

const char *dw_job_state_word(DwJobState state)
{
    switch (state) {
    case DW_JOB_BOOKED:
        return "booked";
    case DW_JOB_RECEIVED:
        return "received";
    case DW_JOB_MEASURING:
        return "measuring";
    case DW_JOB_ESTIMATING:
        return "estimating";
    case DW_JOB_WAITING_APPROVAL:
        return "waiting for approval";
    case DW_JOB_WAITING_PART:
        return "waiting for part";
    case DW_JOB_WAITING_SOAK:
        return "waiting for soak";
    case DW_JOB_ON_BENCH:
        return "on the bench";
    case DW_JOB_VERIFYING:
        return "verifying";
    case DW_JOB_READY:
        return "ready";
    case DW_JOB_HANDED_OVER:
        return "handed over";
    case DW_JOB_DECLINED:
        return "declined";
    case DW_JOB_DISPOSED:
        return "disposed of";
    }
    return "";
}

static DwStatus add_stage(DwBook *book, const DwJob *job, const char *note, DwMessage *message)
{
    DwStage stage;
    dw_record_init(&stage.record, &dw_stage_entity);
    stage.job_id = job->record.id;
    stage.state = job->state;
    stage.waiting_for = dw_memory_text(job->waiting_for);
    stage.note = dw_memory_text(note);
    stage.at = dw_memory_text(job->state_since);
    stage.who = dw_memory_text(dw_book_actor(book));
    DwStatus status = dw_record_keep(book, &stage.record, message);
    dw_record_clear(&stage.record);
    return status;
}

DwStatus dw_job_open(DwBook *book, DwJob *job, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_query_number(book, "SELECT coalesce(max(number), 0) + 1 FROM job", 0, &job->number, message);
    job->state = DW_JOB_BOOKED;
    dw_field_stamp(book, &job->state_since, NULL);
    dw_field_stamp(book, &job->opened_at, NULL);
    if (status == DW_OK)
        status = dw_record_keep(book, &job->record, message);
    if (status == DW_OK)
        status = add_stage(book, job, "", message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        job->record.id = 0;
    return status;
}

DwStatus dw_job_find(DwBook *book, const char *number, DwJob *job, DwMessage *message)
{
    char *end;
    errno = 0;
    long long value = strtoll(number, &end, 10);
    if (errno || end == number || *end || value < 1)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is not a job's number. It stands on the label, such as 0042.",
                       number);
    int64_t id = 0;
    DwStatus status = dw_query_number(book, "SELECT id FROM job WHERE number = ?", value, &id, message);
    if (status == DW_OK && id == 0)
        return dw_fail(message, DW_BAD_INPUT, "There is no job %04lld in the book.", value);
    return status == DW_OK ? dw_record_load(book, &job->record, id, message) : status;
}

// The schema refuses it too; this names the item.
static DwStatus check_safe(DwBook *book, const DwJob *job, DwMessage *message)
{
    if (job->state != DW_JOB_READY && job->state != DW_JOB_HANDED_OVER)
        return DW_OK;
    DwQuery query = dw_query_begin(
        book,
        "SELECT item FROM verdict AS v WHERE v.job_id = ?1 AND v.grade = 'unsafe' AND v.id = (SELECT max(id) FROM "
        "verdict WHERE job_id = ?1 AND item = v.item) AND NOT EXISTS (SELECT 1 FROM acknowledgement WHERE "
        "verdict_id = v.id) ORDER BY v.id LIMIT 1");
    dw_query_bind_integer(&query, job->record.id);
    char *item = dw_query_step(&query) ? dw_memory_text(dw_query_text(&query, 0)) : NULL;
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && item)
        status = dw_fail(message, DW_BAD_INPUT,
                         "Job %04lld is unsafe (%s). Make it safe and give the item another verdict, or write down who "
                         "was told that it leaves unsafe.",
                         (long long)job->number, item);
    free(item);
    return status;
}

DwStatus dw_job_is_reopened(DwBook *book, int64_t job, DwJobState state, bool *reopened, DwMessage *message)
{
    int64_t over = 0;
    DwStatus status =
        dw_query_number(book, "SELECT count(*) FROM job WHERE id = ? AND state = 'handed over'", job, &over, message);
    if (status == DW_OK)
        *reopened = over && state != DW_JOB_HANDED_OVER;
    return status;
}

// A deck is disposed of by its record alone, and then it is gone.
static DwStatus check_gone(DwBook *book, const DwJob *job, DwJobState state, DwMessage *message)
{
    int64_t recorded = 0;
    DwStatus status =
        dw_query_number(book, "SELECT count(*) FROM disposal WHERE job_id = ?", job->record.id, &recorded, message);
    if (status == DW_OK && state == DW_JOB_DISPOSED && !recorded)
        return dw_fail(message, DW_BAD_INPUT, "Write down what became of the deck: 'deckwright job dispose %04lld'.",
                       (long long)job->number);
    if (status == DW_OK && job->state == DW_JOB_DISPOSED)
        return dw_fail(message, DW_BAD_INPUT, "The deck of job %04lld was disposed of; it is not here any more.",
                       (long long)job->number);
    return status;
}

DwStatus dw_job_move(DwBook *book, int64_t id, DwJobState state, const char *waiting_for, const char *note,
                     DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    status = dw_record_load(book, &job.record, id, message);
    if (status == DW_OK)
        status = check_gone(book, &job, state, message);
    bool over = status == DW_OK && job.state == DW_JOB_HANDED_OVER;
    if (status == DW_OK) {
        job.state = (int)state;
        dw_field_replace(&job.waiting_for, waiting_for);
        dw_field_stamp(book, &job.state_since, NULL);
        status = check_safe(book, &job, message);
    }
    if (status == DW_OK && over && state == DW_JOB_READY)
        status =
            dw_fail(message, DW_BAD_INPUT,
                    "Job %04lld is handed over; its deck is not here to be ready. Take it in again first: received.",
                    (long long)job.number);
    if (status == DW_OK)
        status = dw_record_keep(book, &job.record, message);
    if (status == DW_OK)
        status = add_stage(book, &job, note, message);
    dw_record_clear(&job.record);
    return dw_book_end(book, status, message);
}

DwStatus dw_job_tell(DwBook *book, int64_t id, DwRoute how, const char *words, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwJob job;
    DwContact contact;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&contact.record, &dw_contact_entity);
    status = dw_record_load(book, &job.record, id, message);
    if (status == DW_OK) {
        dw_field_stamp(book, &job.owner_told_at, NULL);
        status = dw_record_keep(book, &job.record, message);
    }
    if (status == DW_OK) {
        contact.job_id = id;
        dw_field_stamp(book, &contact.at, &contact.who);
        contact.how = (int)how;
        contact.words = dw_memory_text(words);
        status = dw_record_keep(book, &contact.record, message);
    }
    dw_record_clear(&job.record);
    dw_record_clear(&contact.record);
    return dw_book_end(book, status, message);
}

bool dw_job_waits_for_owner(DwJobState state)
{
    return state == DW_JOB_READY || state == DW_JOB_DECLINED;
}
