// SPDX-License-Identifier: MIT
// Jobs from intake to hand-over.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/comparison.h"
#include "book/money/consent.h"
#include "book/entry/entry.h"
#include "book/entry/work_move.h"
#include "book/job/disposal.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/job/job.h"
#include "book/job/set_up.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "cli/book_call.h"
#include "procedure/job/job_sheet.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static DwStatus open_job(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_book_call_set(call, &job.record, message);
    if (status == DW_OK)
        status = dw_entry_add(call->book, &job.record, message);
    if (status == DW_OK && call->json)
        dw_book_call_print(call, &job.record);
    else if (status == DW_OK)
        dw_tell(stdout, "Job %04lld is booked.\n", (long long)job.number);
    dw_record_clear(&job.record);
    return status;
}

// The number in the call's first word, which was found in the book.
static long long number_of(const DwBookCall *call)
{
    return strtoll(call->words[0], NULL, 10);
}

// The job that the call's first word numbers.
static DwStatus find_job(DwBookCall *call, DwJob *job, DwMessage *message)
{
    dw_record_init(&job->record, &dw_job_entity);
    return dw_job_find(call->book, call->words[0], job, message);
}

DwStatus dw_job_call_id(DwBookCall *call, int64_t *id, DwMessage *message)
{
    DwJob job;
    DwStatus status = find_job(call, &job, message);
    *id = job.record.id;
    dw_record_clear(&job.record);
    return status;
}

static DwStatus show_job(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    DwStatus status = find_job(call, &job, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, &job.record, message);
    if (status == DW_OK && call->operand_count)
        status = dw_entry_change(call->book, &job.record, NULL, message);
    if (status == DW_OK)
        status = dw_job_show(call, &job, message);
    dw_record_clear(&job.record);
    return status;
}

// Moves JOB, unless what the book has of it speaks against STATE and the call is not sure; the page asks too. What
// cannot be at all is said before what is doubtful.
static DwStatus move_surely(const DwBookCall *call, int64_t job, DwJobState state, DwMessage *message)
{
    const char *waiting = dw_book_call_operand(call, "waiting_for"), *note = dw_book_call_operand(call, "note");
    const char *doubt = NULL;
    DwWorkFacts facts;
    DwStatus status = dw_book_begin(call->book, message);
    if (status != DW_OK)
        return status;
    status = dw_work_line_read(call->book, job, &facts, message);
    if (status == DW_OK && !call->sure)
        doubt = dw_work_move_doubt(&facts, state);
    if (status == DW_OK)
        status = dw_job_move(call->book, job, state, waiting ? waiting : "", note ? note : "", message);
    if (status == DW_OK && doubt)
        status = dw_fail(message, DW_BAD_INPUT, "%s The job was not moved. With --sure it is moved all the same.",
                         dw_said(doubt));
    return dw_book_end(call->book, status, message);
}

static DwStatus move_job(DwBookCall *call, DwMessage *message)
{
    static const char *const keys[] = {"waiting_for", "note", NULL};
    const DwField *states = dw_field_find(&dw_job_entity, "state");
    int state = dw_field_choice(states, call->words[1]);
    int64_t job = 0;
    if (state < 0)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is no state of a job. There are: %s.", call->words[1],
                       states->choices);
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = dw_job_call_id(call, &job, message);
    bool reopened = false;
    if (status == DW_OK)
        status = dw_job_is_reopened(call->book, job, (DwJobState)state, &reopened, message);
    if (status == DW_OK)
        status = move_surely(call, job, (DwJobState)state, message);
    if (status != DW_OK)
        return status;
    const char *waiting = dw_book_call_operand(call, "waiting_for");
    dw_tell(stdout, "Job %04lld is %s%s%s%s.\n", number_of(call), reopened ? dw_said("reopened, and ") : "",
            dw_said(dw_job_state_word((DwJobState)state)), waiting ? ": " : "", waiting ? waiting : "");
    return status;
}

static DwStatus tell_owner(DwBookCall *call, DwMessage *message)
{
    static const char *const keys[] = {"how", NULL};
    const char *typed = dw_book_call_operand(call, "how");
    int how = typed ? dw_field_choice(dw_field_find(&dw_contact_entity, "how"), typed) : DW_ROUTE_NOT_SAID;
    int64_t job = 0;
    if (how < 0)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is none of: " DW_ROUTE_WORDS ".", typed);
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = dw_job_call_id(call, &job, message);
    if (status == DW_OK)
        status = dw_job_tell(call->book, job, (DwRoute)how, call->words[1], message);
    if (status == DW_OK)
        dw_tell(stdout, "It is noted that the owner of job %04lld was told.\n", number_of(call));
    return status;
}

// What hangs on a job and is added with key=value operands.
static const DwEntity *const addable[] = {
    &dw_intake_entity, &dw_verdict_entity, &dw_finding_entity, &dw_operation_entity, &dw_lubrication_entity,
    &dw_part_entity,   &dw_set_up_entity,  &dw_consent_entity, &dw_notice_entity,
};

static const DwEntity *addable_at(size_t index)
{
    return index < sizeof addable / sizeof *addable ? addable[index] : NULL;
}

static const DwEntity *addable_entity(const char *name, DwMessage *message)
{
    DwText names = {0};
    for (size_t i = 0; i < sizeof addable / sizeof *addable; i++) {
        if (strcmp(addable[i]->name, name) == 0) {
            dw_text_clear(&names);
            return addable[i];
        }
        dw_text_add(&names, "%s%s", i ? ", " : "", addable[i]->name);
    }
    dw_fail(message, DW_BAD_INPUT, "\"%s\" cannot be added to a job. It takes: %s.", name, names.chars);
    dw_text_clear(&names);
    return NULL;
}

// Adds the record; an operation without minutes is told what is usual.
static DwStatus add_entity(DwBookCall *call, const DwJob *job, const DwEntity *entity, DwMessage *message)
{
    char *offer = NULL, *id = dw_text_format("%lld", (long long)job->record.id);
    DwRecord *record = dw_record_new(entity);
    DwStatus status = entity == &dw_operation_entity
                          ? dw_book_call_offer(call, "quoted_minutes", job->deck_id, &offer, message)
                          : DW_OK;
    if (status == DW_OK)
        status = dw_record_set(call->book, record, "job_id", id, message);
    if (status == DW_OK)
        status = dw_book_call_add(call, record, message);
    if (status == DW_OK && offer && !call->json)
        puts(offer);
    dw_record_free(record);
    free(offer);
    free(id);
    return status;
}

static DwStatus add_to_job(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    const DwEntity *entity = addable_entity(call->words[1], message);
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = entity ? dw_job_find(call->book, call->words[0], &job, message) : DW_BAD_INPUT;
    if (status == DW_OK)
        status = add_entity(call, &job, entity, message);
    dw_record_clear(&job.record);
    return status;
}

static DwStatus job_fields(DwBookCall *call, DwMessage *message)
{
    const DwEntity *entity = call->word_count ? addable_entity(call->words[0], message) : &dw_job_entity;
    if (!entity)
        return DW_BAD_INPUT;
    dw_book_call_print_fields(entity);
    return DW_OK;
}

static DwStatus acknowledge(DwBookCall *call, DwMessage *message)
{
    int64_t job = 0;
    DwStatus status = dw_job_call_id(call, &job, message);
    if (status == DW_OK)
        status = dw_verdict_acknowledge(call->book, job, call->words[1], call->words[2], message);
    if (status == DW_OK)
        dw_tell(stdout, "It is noted that %s was told that the deck of job %04lld is unsafe.\n", call->words[1],
                number_of(call));
    return status;
}

// When, with what and how surely a reading was taken by hand.
static DwStatus read_hand_operands(const DwBookCall *call, DwMeasurement *measurement, double *uncertainty,
                                   DwMessage *message)
{
    static const char *const keys[] = {"as", "label", "uncertainty", "instrument", NULL};
    const char *as = dw_book_call_operand(call, "as"), *doubt = dw_book_call_operand(call, "uncertainty");
    const char *instrument = dw_book_call_operand(call, "instrument");
    DwStatus status = dw_book_call_only(call, keys, message);
    DwPhase phase = DW_PHASE_NONE;
    if (status == DW_OK)
        status = dw_job_sheet_phase(as, &phase, message);
    measurement->phase = (int)phase;
    *uncertainty = NAN;
    if (status == DW_OK && doubt)
        status = dw_text_number_clear("uncertainty", doubt, message);
    if (status == DW_OK && doubt && (!dw_text_number(doubt, uncertainty) || *uncertainty < 0))
        status = dw_fail(message, DW_BAD_INPUT, "\"%s\" is no uncertainty.", doubt);
    measurement->instrument = dw_memory_text(instrument ? instrument : "");
    return status;
}

static DwStatus note_reading(DwBookCall *call, DwMessage *message)
{
    DwMeasurement measurement;
    DwSheet *sheet = NULL;
    double uncertainty;
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&measurement.record, &dw_measurement_entity);
    DwStatus status = read_hand_operands(call, &measurement, &uncertainty, message);
    if (status == DW_OK)
        status = dw_job_find(call->book, call->words[0], &job, message);
    measurement.job_id = job.record.id;
    if (status == DW_OK)
        status = dw_measurement_by_hand(call->words[1], dw_book_call_operand(call, "label"), call->words[2],
                                        uncertainty, &sheet, message);
    if (status == DW_OK)
        status = dw_job_sheet_bound(call->book, &job, sheet, message);
    if (status == DW_OK)
        status = dw_measurement_save(call->book, sheet, &measurement, message);
    if (status == DW_OK)
        dw_tell(stdout, "The reading %s is kept on job %04lld, measurement id %lld.\n", call->words[1], number_of(call),
                (long long)measurement.record.id);
    dw_sheet_free(sheet);
    dw_record_clear(&job.record);
    dw_record_clear(&measurement.record);
    return status;
}

static void print_reading(const char *when, const DwReading *reading)
{
    if (!reading) {
        dw_tell(stdout, "  %s not measured", when);
        return;
    }
    printf("  %s ", when);
    if (reading->word)
        fputs(dw_said_label(reading->word), stdout);
    else
        printf("%.*f %s", reading->digits, reading->value, reading->unit);
}

static void print_pair(const DwPair *pair)
{
    const DwReading *reading = pair->before ? pair->before : pair->after;
    const DwMeasurement *from = pair->before ? pair->before_from : pair->after_from;
    printf("%s%s%s:", dw_said_label(reading->label), *from->speed ? dw_said(", at ") : "", from->speed);
    print_reading(dw_said("as received"), pair->before);
    print_reading(dw_said("as left"), pair->after);
    if (!pair->comparable)
        dw_tell(stdout, "\n    Not comparable: %s\n", pair->reason);
    else if (pair->change == DW_CHANGE_NONE)
        dw_tell(stdout, "  no measurable change\n");
    else if (isfinite(pair->difference))
        dw_tell(stdout, "  change %+.*f %s%s\n", reading->digits, pair->difference, reading->unit,
                pair->change == DW_CHANGE_UNKNOWN ? dw_said(" (uncertainty not stated)") : "");
    else
        puts("");
}

static DwStatus compare(DwBookCall *call, DwMessage *message)
{
    int64_t job = 0;
    DwComparison comparison;
    DwStatus status = dw_job_call_id(call, &job, message);
    if (status == DW_OK)
        status = dw_comparison_make(call->book, job, &comparison, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < comparison.count; i++)
        print_pair(&comparison.pairs[i]);
    if (comparison.count == 0)
        dw_tell(stdout, "Nothing was measured as received or as left.\n");
    dw_comparison_clear(&comparison);
    return DW_OK;
}

static DwStatus print_abandoned(DwBookCall *call, int64_t job, DwMessage *message)
{
    DwAbandoned abandoned;
    DwStatus status = dw_disposal_look(call->book, job, &abandoned, message);
    if (status != DW_OK)
        return status;
    dw_tell(stdout, "Job %04lld: notices sent %lld%s%s", (long long)abandoned.number, (long long)abandoned.notices,
            *abandoned.last_on ? dw_said(", the last on ") : "", abandoned.last_on);
    if (*abandoned.missing)
        dw_tell(stdout, ". Missing: %s.\n", abandoned.missing);
    else
        dw_tell(stdout, ". By the shop's terms it may be disposed of since %s; look at the local law first.\n",
                abandoned.free_on);
    return DW_OK;
}

static DwStatus list_abandoned(DwBookCall *call, DwMessage *message)
{
    enum { MOST = 1000 };
    int64_t jobs[MOST];
    size_t count = 0;
    DwStatus status = dw_disposal_waiting(call->book, jobs, MOST, &count, message);
    for (size_t i = 0; status == DW_OK && i < count; i++)
        status = print_abandoned(call, jobs[i], message);
    if (status == DW_OK && !count)
        dw_tell(stdout, "No deck waits for its owner.\n");
    return status;
}

static DwStatus dispose(DwBookCall *call, DwMessage *message)
{
    DwDisposal disposal;
    dw_record_init(&disposal.record, &dw_disposal_entity);
    DwStatus status = dw_job_call_id(call, &disposal.job_id, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, &disposal.record, message);
    if (status == DW_OK && !dw_book_call_operand(call, "how"))
        status = dw_fail(message, DW_BAD_INPUT, "Say what became of it: how=%s.",
                         dw_field_find(&dw_disposal_entity, "how")->choices);
    if (status == DW_OK)
        status = dw_disposal_record(call->book, &disposal, message);
    if (status == DW_OK)
        dw_book_call_print(call, &disposal.record);
    dw_record_clear(&disposal.record);
    return status;
}

static const DwVerb *job_verbs(void)
{
    static const DwVerb verbs[] = {
        {"open", "customer_id=NUMBER [deck_id=NUMBER] [key=value …]", "Book a job.", 0, 0, open_job, .operands = true,
         .json = true},
        {"show", "JOB [key=value …]", "Show a job, or change what is given.", 1, 1, show_job, .operands = true,
         .json = true},
        {"move", "JOB STATE [waiting_for=…] [note=…]", "Move a job to another state.", 2, 2, move_job, .operands = true,
         .asks = true},
        {"tell", "JOB WORDS [how=telephone]", "Note that the owner was told.", 2, 2, tell_owner, .operands = true},
        {"add", "JOB KIND key=value …",
         "Add an intake, verdict, finding, operation (quoted_minutes=usual), lubrication, part, set_up, consent or "
         "notice.",
         2, 2, add_to_job, .operands = true, .json = true, .asks = true},
        {"visit", "JOB [OTHER]",
         "List the jobs that came in together with JOB; with OTHER, say that it came in with that.", 1, 2,
         dw_job_call_visit, .json = true},
        {"plan", "JOB", "Put the work that was agreed to (else what the guide plans) on the bench, and list its steps.",
         1, 1, dw_job_call_plan, .json = true},
        {"tick", "JOB STEP [minutes=…]", "Tick off a step of the plan.", 2, 2, dw_job_call_tick, .operands = true,
         .json = true},
        {"untick", "JOB STEP", "Take the tick away again.", 2, 2, dw_job_call_untick, .json = true},
        {"leave-out", "JOB STEP WHY", "Say why a step is not done; the report says it.", 3, 3, dw_job_call_leave_out,
         .json = true},
        {"note", "JOB KEY VALUE as=received [label=…] [uncertainty=…] [instrument=…]", "Keep a reading taken by hand.",
         3, 3, note_reading, .operands = true},
        {"attach", "JOB FILE [kind=…] [caption=…] [key=value …]", "Keep a photograph, a recording or a document.", 2, 2,
         dw_job_call_attach, .operands = true, .json = true},
        {"acknowledge", "JOB PERSON WORDS", "Write down who was told that the deck leaves unsafe.", 3, 3, acknowledge},
        {"compare", "JOB", "Compare what was measured as left with what was measured as received.", 1, 1, compare},
        {"abandoned", "", "List the decks that wait for their owners, and what the shop's terms still ask for.", 0, 0,
         list_abandoned},
        {"dispose", "JOB how=sold [amount=…] [witness=…] [words=…] [disposed_on=…]",
         "Write down what became of a deck that nobody fetched, once the shop's terms allow it.", 1, 1, dispose,
         .operands = true, .json = true},
        {"fields", "[KIND]", "List the keys that can be given.", 0, 1, job_fields, .makes = true},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_job = {"job",
                                  "job VERB …",
                                  "Keep jobs from intake to hand-over in the job book.",
                                  .verbs = job_verbs,
                                  .own = &dw_job_entity,
                                  .kind_at = addable_at};
