// SPDX-License-Identifier: MIT
#include "book/job/disposal.h"

#include "base/memory.h"
#include "base/tongue.h"
#include "book/shop/settings.h"
#include "book/store/private.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const DwField disposal_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwDisposal, job_id), .refers = "job", .required = true},
    {"disposed_on", "Disposed of on", DW_FIELD_DATE, offsetof(DwDisposal, disposed_on), .required = true},
    {"how", "How", DW_FIELD_CHOICE, offsetof(DwDisposal, how),
     .choices = "sold|given away|recycled|kept by the shop|sent back"},
    {"amount", "What it brought", DW_FIELD_AMOUNT, offsetof(DwDisposal, amount), .not_negative = true},
    {"witness", "Witness", DW_FIELD_TEXT, offsetof(DwDisposal, witness)},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwDisposal, words), .lines = true},
    {"terms", "Terms", DW_FIELD_TEXT, offsetof(DwDisposal, terms), .lines = true, .kept = true},
    {"at", "Written down", DW_FIELD_MOMENT, offsetof(DwDisposal, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwDisposal, who), .kept = true},
};

const DwEntity dw_disposal_entity = {"disposal",
                                     "disposal",
                                     sizeof(DwDisposal),
                                     disposal_fields,
                                     sizeof disposal_fields / sizeof *disposal_fields,
                                     .of_customer = DW_JOBS_OF_CUSTOMER};

// What the owner agreed to at intake.
typedef struct {
    char at[DW_MOMENT_SIZE]; // when the deck was taken in; "" for never
    int64_t accepted;
    bool stood; // terms for decks left behind
} Intake;

static DwStatus read_intake(DwBook *book, int64_t job, Intake *intake, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT at, terms_accepted FROM intake WHERE job_id = ?");
    dw_query_bind_integer(&query, job);
    if (dw_query_step(&query)) {
        snprintf(intake->at, sizeof intake->at, "%s", dw_query_text(&query, 0));
        intake->accepted = dw_query_integer(&query, 1);
    }
    DwStatus status = dw_query_end(&query, message);
    char *terms = dw_settings_text_at(book, "storage.terms", intake->at);
    intake->stood = *intake->at && *terms;
    free(terms);
    return status;
}

char *dw_disposal_terms(DwBook *book, int64_t job)
{
    Intake intake = {.accepted = 0};
    bool known = read_intake(book, job, &intake, NULL) == DW_OK && intake.stood;
    return known ? dw_settings_text_at(book, "storage.terms", intake.at) : dw_memory_text("");
}

// The number that stood at intake or stands today: the one that lets a deck stay longer.
static int64_t longer(DwBook *book, const char *key, const Intake *intake)
{
    char *then = dw_settings_text_at(book, key, intake->at);
    int64_t was = strtoll(then, NULL, 10), now = dw_settings_integer(book, key);
    free(then);
    return was > now ? was : now;
}

// Counts the notices of the stay that goes on: those from the day on which the deck was here and began to wait. Two of
// one day are one: an owner has no time between them.
static DwStatus read_notices(DwBook *book, const DwJob *job, const Intake *intake, DwAbandoned *read,
                             int64_t *last_notices, DwMessage *message)
{
    char since[DW_DATE_SIZE];
    dw_moment_day(strcmp(job->state_since, intake->at) > 0 ? job->state_since : intake->at, since);
    DwQuery query = dw_query_begin(
        book, "SELECT count(DISTINCT sent_on), coalesce(max(sent_on), ''), coalesce(sum(kind = 'last notice'), 0) "
              "FROM notice WHERE job_id = ? AND sent_on >= ?");
    dw_query_bind_integer(&query, job->record.id);
    dw_query_bind_text(&query, since);
    if (dw_query_step(&query)) {
        read->notices = dw_query_integer(&query, 0);
        snprintf(read->last_on, sizeof read->last_on, "%s", dw_query_text(&query, 1));
        *last_notices = dw_query_integer(&query, 2);
    }
    return dw_query_end(&query, message);
}

static bool has_terms(DwBook *book)
{
    char *terms = dw_settings_text(book, "storage.terms");
    bool has = *terms && dw_settings_integer(book, "storage.notices") > 0;
    free(terms);
    return has;
}

static void __attribute__((format(printf, 2, 3))) tell_missing(DwAbandoned *read, const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    char *said = dw_say_in(dw_tongue_of_program(), pattern, arguments);
    va_end(arguments);
    snprintf(read->missing, sizeof read->missing, "%s", said);
    free(said);
}

static void set_missing(DwBook *book, const Intake *intake, int64_t last_notices, DwAbandoned *read)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    int64_t wanted = longer(book, "storage.notices", intake);
    if (!has_terms(book))
        tell_missing(
            read, "%s",
            dw_said("the shop's terms: how many notices, how long to wait, and their words are to be set first"));
    else if (!intake->accepted)
        tell_missing(read, "%s", dw_said("the owner's yes to the terms at intake"));
    else if (!intake->stood)
        tell_missing(read,
                     "terms for decks left behind that its owner saw: the shop had none when it was taken in, on %.10s",
                     intake->at);
    else if (read->notices < wanted)
        tell_missing(read, "notices: %lld of %lld were sent", (long long)read->notices, (long long)wanted);
    else if (!last_notices)
        tell_missing(read, "%s", dw_said("the last notice, which says what will become of the deck"));
    else if (strcmp(today, read->free_on) < 0)
        tell_missing(read, "time: until %s", read->free_on);
}

static DwStatus look(DwBook *book, const DwJob *job, DwAbandoned *abandoned, DwMessage *message)
{
    DwAbandoned read = {.job = job->record.id, .number = job->number};
    Intake intake = {.accepted = 0};
    int64_t last_notices = 0;
    if (!dw_job_waits_for_owner((DwJobState)job->state))
        return dw_fail(message, DW_BAD_INPUT, "Job %04lld is %s: its deck does not wait for its owner.",
                       (long long)job->number, dw_job_state_word((DwJobState)job->state));
    DwStatus status = read_intake(book, job->record.id, &intake, message);
    if (status == DW_OK)
        status = read_notices(book, job, &intake, &read, &last_notices, message);
    if (status != DW_OK)
        return status;
    if (*read.last_on)
        dw_moment_add_days(read.last_on, (long)longer(book, "storage.wait_days", &intake), read.free_on);
    set_missing(book, &intake, last_notices, &read);
    *abandoned = read;
    return DW_OK;
}

DwStatus dw_disposal_look(DwBook *book, int64_t id, DwAbandoned *abandoned, DwMessage *message)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_record_load(book, &job.record, id, message);
    if (status == DW_OK)
        status = look(book, &job, abandoned, message);
    dw_record_clear(&job.record);
    return status;
}

DwStatus dw_disposal_waiting(DwBook *book, int64_t *jobs, size_t most, size_t *count, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT id FROM job WHERE state IN ('ready', 'declined') ORDER BY state_since, id LIMIT ?");
    dw_query_bind_integer(&query, (int64_t)most);
    *count = 0;
    while (*count < most && dw_query_step(&query))
        jobs[(*count)++] = dw_query_integer(&query, 0);
    return dw_query_end(&query, message);
}

static DwStatus check(DwBook *book, const DwDisposal *disposal, DwMessage *message)
{
    DwAbandoned abandoned;
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    DwStatus status = dw_disposal_look(book, disposal->job_id, &abandoned, message);
    if (status != DW_OK)
        return status;
    if (*abandoned.missing)
        return dw_fail(message, DW_BAD_INPUT, "The deck of job %04lld may not be disposed of yet. What is missing: %s.",
                       (long long)abandoned.number, abandoned.missing);
    if (strcmp(disposal->disposed_on, abandoned.free_on) < 0)
        return dw_fail(message, DW_BAD_INPUT, "Disposed of on %s: the terms let it go from %s on.",
                       disposal->disposed_on, abandoned.free_on);
    return dw_moment_days_between(today, disposal->disposed_on) > 1
               ? dw_fail(message, DW_BAD_INPUT, "Disposed of on %s: that is still to come.", disposal->disposed_on)
               : DW_OK;
}

DwStatus dw_disposal_record(DwBook *book, DwDisposal *disposal, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (!disposal->disposed_on)
        dw_field_replace(&disposal->disposed_on, today);
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = check(book, disposal, message);
    free(disposal->terms);
    disposal->terms = dw_disposal_terms(book, disposal->job_id);
    dw_field_stamp(book, &disposal->at, &disposal->who);
    if (status == DW_OK)
        status = dw_record_keep(book, &disposal->record, message);
    if (status == DW_OK)
        status = dw_job_move(book, disposal->job_id, DW_JOB_DISPOSED, "", "", message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        disposal->record.id = 0;
    return status;
}
