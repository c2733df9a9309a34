// SPDX-License-Identifier: MIT
#include "procedure/job/job_guide.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/experience.h"
#include "book/job/finding.h"
#include "book/job/measurement.h"
#include "book/job/minutes.h"
#include "book/job/verdict.h"
#include "book/shop/deck.h"
#include "procedure/registry/data_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

// Years from MADE to today; NAN where the year is not known.
static double age_of(int64_t made)
{
    time_t now = time(NULL);
    struct tm today;
    if (made <= 0 || !gmtime_r(&now, &today))
        return NAN;
    return fmax(0, today.tm_year + 1900 - (double)made);
}

static void take_deck(const DwDeck *deck, DwGuideCase *guide_case)
{
    static const int drives[] = {[DW_DECK_DRIVE_UNKNOWN] = -1,
                                 [DW_DECK_DRIVE_BELT] = DW_GUIDE_BELT,
                                 [DW_DECK_DRIVE_IDLER] = DW_GUIDE_IDLER,
                                 [DW_DECK_DRIVE_DIRECT] = DW_GUIDE_DIRECT,
                                 [DW_DECK_DRIVE_OTHER] = -1};
    guide_case->drive = drives[deck->drive];
    guide_case->age = age_of(deck->made_year);
    if (deck->operation == DW_OPERATION_UNKNOWN)
        return;
    guide_case->traits[DW_GUIDE_AUTOMATIC] = deck->operation != DW_OPERATION_MANUAL;
    guide_case->traits[DW_GUIDE_CHANGER] = deck->operation == DW_OPERATION_CHANGER;
}

// What is noted of the deck: springs, and an arm that is carried along a radius.
static DwStatus take_noted(DwBook *book, int64_t deck, DwGuideCase *guide_case, DwMessage *message)
{
    DwRecords values;
    DwStatus status = dw_record_list(book, &dw_deck_value_entity, "deck_id", deck, &values, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < values.count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(&values, i);
        if (strcmp(value->key, "deck.suspended") == 0)
            guide_case->traits[DW_GUIDE_SUSPENDED] = strcmp(value->value, "yes") == 0;
        if (strcmp(value->key, "arm.kind") == 0)
            guide_case->traits[DW_GUIDE_LINEAR] = strcmp(value->value, "linear") == 0;
    }
    dw_records_clear(&values);
    return DW_OK;
}

static void take_drive(DwGuideCase *guide_case, const char *answer)
{
    DwMessage message;
    char *operand = dw_text_format("drive.kind=%s", answer);
    if (guide_case->drive < 0) // what the book knows of the deck stands
        dw_guide_case_set(guide_case, operand, &message);
    free(operand);
}

// The answers by hand on a sheet that the guide made before.
static void take_answers(const DwSheet *sheet, DwGuideCase *guide_case)
{
    const DwTable *table = dw_sheet_table(sheet, "guide.answers");
    for (size_t r = 0; table && r < table->row_count; r++) {
        const char *key = dw_table_cell(table, r, 0)->word, *answer = dw_table_cell(table, r, 1)->word;
        const char *from = dw_table_cell(table, r, 3)->word;
        if (key && answer && strcmp(key, "drive.kind") == 0) {
            take_drive(guide_case, answer);
            continue;
        }
        if (key && answer && strcmp(key, dw_guide_unheard_key) == 0) {
            dw_guide_case_keep_unheard(guide_case, answer);
            continue;
        }
        int sign = key ? dw_guide_sign_find(guide_case->knowledge, key) : -1;
        if (sign < 0 || !answer || !from || strcmp(from, "answered") != 0)
            continue; // a sign that the files have no longer, or a reading that is taken afresh
        dw_guide_case_take_word(guide_case, (size_t)sign, answer);
    }
}

static DwStatus take_sheets(DwBook *book, int64_t job, DwGuideCase *guide_case, DwMessage *message)
{
    DwRecords measurements;
    DwStatus status = dw_measurement_standing(book, job, &measurements, message);
    if (status != DW_OK)
        return status;
    DwSheet *last = NULL;
    for (size_t i = 0; status == DW_OK && i < measurements.count; i++) {
        DwSheet *sheet;
        status = dw_measurement_sheet((const DwMeasurement *)dw_records_at(&measurements, i), &sheet, message);
        if (status != DW_OK)
            break;
        dw_guide_case_take_sheet(guide_case, sheet);
        bool guide = strcmp(sheet->procedure, "guide") == 0;
        dw_sheet_free(guide ? last : sheet);
        last = guide ? sheet : last;
    }
    if (last)
        take_answers(last, guide_case);
    dw_sheet_free(last);
    dw_records_clear(&measurements);
    return status;
}

static DwStatus take_verdicts(DwBook *book, int64_t job, DwGuideCase *guide_case, DwMessage *message)
{
    DwRecords verdicts;
    DwStatus status = dw_verdict_standing(book, job, &verdicts, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&verdicts, i);
        if (verdict->grade == DW_VERDICT_UNSAFE)
            dw_guide_case_unsafe(guide_case, verdict->item);
    }
    dw_records_clear(&verdicts);
    return DW_OK;
}

static int fault_named(const DwGuideKnowledge *knowledge, const char *name)
{
    for (size_t f = 0; f < knowledge->fault_count; f++)
        if (strcasecmp(name, knowledge->faults[f].name) == 0)
            return (int)f;
    return -1;
}

static void take_own_row(const DwExperienceRow *row, DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    DwGuideShare share = {(double)row->decks, (double)row->of_model, (double)row->returned};
    int fault = fault_named(knowledge, row->cause);
    if (fault >= 0)
        dw_guide_case_own(guide_case, (size_t)fault, share);
    else
        dw_guide_case_own_unlisted(guide_case, row->cause, share);
}

// The complaint that is asked as the first LENGTH bytes of WORDS say, whatever their case and the blanks around them;
// -1 without one.
static int complaint_asked(const DwGuideKnowledge *knowledge, const char *words, size_t length)
{
    static const char blanks[] = " \t\r";
    while (length > 0 && strchr(blanks, *words)) {
        words++;
        length--;
    }
    while (length > 0 && strchr(blanks, words[length - 1]))
        length--;
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        if (strncasecmp(knowledge->signs[i].ask, words, length) == 0 && !knowledge->signs[i].ask[length])
            return (int)i;
    return -1;
}

// Adds the complaints of ROW, a line each, to COUNTS for FAULT. A line that stands there twice counts once, for which
// SEEN, of each complaint, keeps NUMBER, the row's own; a deck of which no complaint is listed says nothing of any.
static void add_complaints(const DwExperienceComplaint *row, const DwGuideKnowledge *knowledge, size_t fault,
                           size_t number, size_t *seen, const DwGuideSaid *counts)
{
    bool any = false;
    for (const char *line = row->symptom; *line; line += strspn(line, "\n")) {
        size_t length = strcspn(line, "\n");
        int sign = complaint_asked(knowledge, line, length);
        line += length;
        any |= sign >= 0;
        if (sign < 0 || seen[sign] == number)
            continue;
        seen[sign] = number;
        counts->brought[(size_t)sign * knowledge->fault_count + fault] += (double)row->decks;
        counts->said[(size_t)sign * knowledge->fault_count + fault] += (double)row->alone;
    }
    if (any)
        counts->alone[fault] += (double)row->alone;
}

static void take_own_complaints(const DwExperience *own, DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    size_t pairs = knowledge->symptom_count * knowledge->fault_count + 1;
    DwGuideSaid counts = {.brought = dw_memory_new(pairs, sizeof *counts.brought),
                          .said = dw_memory_new(pairs, sizeof *counts.said),
                          .alone = dw_memory_new(knowledge->fault_count + 1, sizeof *counts.alone)};
    size_t *seen = dw_memory_new(knowledge->symptom_count + 1, sizeof *seen);
    int fault = -1;
    for (size_t i = 0; i < own->complaint_count; i++) {
        if (i == 0 || strcmp(own->complaints[i].cause, own->complaints[i - 1].cause) != 0)
            fault = fault_named(knowledge, own->complaints[i].cause);
        if (fault >= 0)
            add_complaints(&own->complaints[i], knowledge, (size_t)fault, i + 1, seen, &counts);
    }
    free(seen);
    dw_guide_case_own_complaints(guide_case, counts);
}

// What the shop itself confirmed on other decks, by the faults' names.
static DwStatus take_own(DwBook *book, int64_t job, DwGuideCase *guide_case, DwMessage *message)
{
    DwExperience own;
    DwStatus status = dw_experience_read(book, job, &own, message);
    if (status != DW_OK)
        return status;
    const DwGuideShare with[DW_GUIDE_TRAITS] = {
        [DW_GUIDE_AUTOMATIC] = {.decks = (double)own.automatic.decks, .of_model = (double)own.automatic.of_model},
        [DW_GUIDE_CHANGER] = {.decks = (double)own.changer.decks, .of_model = (double)own.changer.of_model}};
    dw_guide_case_own_all(guide_case, (DwGuideShare){.decks = (double)own.decks, .of_model = (double)own.of_model},
                          with);
    for (size_t i = 0; i < own.count; i++)
        take_own_row(&own.rows[i], guide_case);
    if (own.complaint_count)
        take_own_complaints(&own, guide_case);
    dw_experience_clear(&own);
    return DW_OK;
}

// Whether one of FINDINGS says that CAUSE was confirmed.
static bool is_confirmed(const DwRecords *findings, const char *cause)
{
    int yes = dw_field_choice(dw_field_find(&dw_finding_entity, "confirmed"), "confirmed");
    for (size_t i = 0; i < findings->count; i++) {
        const DwFinding *finding = (const DwFinding *)dw_records_at(findings, i);
        if (finding->confirmed == yes && finding->cause && strcasecmp(finding->cause, cause) == 0)
            return true;
    }
    return false;
}

// What the job's own findings say was confirmed.
static DwStatus take_confirmed(DwBook *book, int64_t job, DwGuideCase *guide_case, DwMessage *message)
{
    DwRecords findings;
    DwStatus status = dw_record_list(book, &dw_finding_entity, "job_id", job, &findings, message);
    if (status != DW_OK)
        return status;
    for (size_t f = 0; f < guide_case->knowledge->fault_count; f++)
        if (is_confirmed(&findings, guide_case->knowledge->faults[f].name))
            dw_guide_case_confirm(guide_case, f);
    dw_records_clear(&findings);
    return DW_OK;
}

DwStatus dw_job_guide_take(DwBook *book, const DwJob *job, DwGuideCase *guide_case, DwMessage *message)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = job->deck_id ? dw_record_load(book, &deck.record, job->deck_id, message) : DW_OK;
    if (status == DW_OK && job->deck_id)
        take_deck(&deck, guide_case);
    dw_record_clear(&deck.record);
    if (status == DW_OK && job->deck_id)
        status = take_noted(book, job->deck_id, guide_case, message);
    if (status == DW_OK)
        status = take_verdicts(book, job->record.id, guide_case, message);
    if (status == DW_OK)
        status = take_own(book, job->record.id, guide_case, message);
    if (status == DW_OK)
        status = take_confirmed(book, job->record.id, guide_case, message);
    return status == DW_OK ? take_sheets(book, job->record.id, guide_case, message) : status;
}

static void fill(const DwGuideCase *guide_case, const DwMinutesList *list, const char *operation, DwGuideWork *work)
{
    static const DwDeckDrive drives[] = {DW_DECK_DRIVE_BELT, DW_DECK_DRIVE_IDLER, DW_DECK_DRIVE_DIRECT};
    const DwMinutesWork *minutes = dw_minutes_list_find(list, operation);
    bool automatic = guide_case->traits[DW_GUIDE_AUTOMATIC] == 1;
    for (int d = 0; minutes && d < DW_GUIDE_DRIVES; d++) {
        if (guide_case->drive >= 0 && guide_case->drive != d)
            continue;
        double least = (double)minutes->drives[drives[d]].least, most = (double)minutes->drives[drives[d]].most;
        if (automatic) {
            least += (double)minutes->automatic.least;
            most += (double)minutes->automatic.most;
        }
        if (most > 0) {
            work->least = fmin(work->least, least); // of NAN and a number the number
            work->most = fmax(work->most, most);
        }
    }
}

// Whether a work before PLACE is OPERATION too.
static bool was_counted(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, size_t place,
                        const char *operation)
{
    for (size_t i = 0; i < place; i++) {
        const char *earlier = knowledge->remedies[works->works[i].remedy].operation;
        if (earlier && strcmp(earlier, operation) == 0)
            return true;
    }
    return false;
}

DwStatus dw_job_guide_minutes(const DwGuideCase *guide_case, DwGuideWorks *works, DwMessage *message)
{
    DwMinutesList list = {0};
    char *path = dw_text_format("%s/operations.ini", dw_data_folder());
    DwStatus status = access(path, R_OK) == 0 ? dw_minutes_list_read(path, &list, message) : DW_OK;
    for (size_t i = 0; status == DW_OK && i < works->count; i++) {
        const char *operation = guide_case->knowledge->remedies[works->works[i].remedy].operation;
        DwGuideWork *work = &works->works[i];
        work->counted = operation && was_counted(guide_case->knowledge, works, i, operation);
        if (work->counted)
            work->least = work->most = 0;
        else if (operation)
            fill(guide_case, &list, operation, work);
    }
    dw_minutes_list_clear(&list);
    free(path);
    return status;
}

// What the owner complained of, as questions; "" for nothing.
static char *complaints(const DwGuideCase *guide_case)
{
    DwText text = {0};
    for (size_t i = 0; i < guide_case->knowledge->symptom_count; i++)
        if (guide_case->evidence[i].answer == DW_GUIDE_YES)
            dw_text_add(&text, "%s%s", text.length ? "\n" : "", guide_case->knowledge->signs[i].ask);
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}

// The tests that were made, by name; "" for none.
static char *tests_made(const DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    DwText text = {0};
    for (size_t t = 0; t < knowledge->test_count; t++) {
        bool made = false;
        for (size_t k = 0; k < knowledge->tests[t].sign_count; k++)
            made |= guide_case->evidence[knowledge->tests[t].signs[k]].turn > 0;
        if (made)
            dw_text_add(&text, "%s%s", text.length ? "; " : "", knowledge->tests[t].name);
    }
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}

DwStatus dw_job_guide_confirm(DwBook *book, const DwJob *job, const DwGuideCase *guide_case, const char *fault,
                              bool *added, DwMessage *message)
{
    *added = false;
    int place = dw_guide_fault_find(guide_case->knowledge, fault);
    if (place < 0)
        return dw_fail(message, DW_BAD_INPUT, "There is no fault '%s'. 'deckwright guide list faults' shows them.",
                       fault);
    const char *cause = guide_case->knowledge->faults[place].name;
    if (guide_case->confirmed && guide_case->confirmed[place])
        return DW_OK;
    DwFinding finding;
    dw_record_init(&finding.record, &dw_finding_entity);
    finding.job_id = job->record.id;
    finding.symptom = complaints(guide_case);
    if (!*finding.symptom) {
        free(finding.symptom);
        finding.symptom = dw_memory_text(job->fault && *job->fault ? job->fault : cause);
    }
    finding.test = tests_made(guide_case);
    finding.cause = dw_memory_text(cause);
    finding.confirmed = dw_field_choice(dw_field_find(&dw_finding_entity, "confirmed"), "confirmed");
    finding.confidence = dw_field_choice(dw_field_find(&dw_finding_entity, "confidence"), "certain");
    DwStatus status = dw_record_save(book, &finding.record, message);
    *added = status == DW_OK;
    dw_record_clear(&finding.record);
    return status;
}
