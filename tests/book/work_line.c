// SPDX-License-Identifier: MIT
// Where a job stands. Source (trade): the rules are the shop's own, common practice.
#include "book/money/consent.h"
#include "book/entry/entry.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/job/measurement.h"
#include "book/job/set_up.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "book/entry/work_line.h"
#include "shop.h"

#include <math.h>

// A job at which nothing is left to do.
static const DwWorkFacts whole = {.intake = true,
                                  .words = true,
                                  .list = true,
                                  .list_correct = true,
                                  .use_tested = 1,
                                  .as_received = 2,
                                  .as_left = 2,
                                  .findings = 1,
                                  .verdicts = 3,
                                  .estimate = DW_LINE_ACCEPTED,
                                  .answer = DW_LINE_AGREED,
                                  .operations = 2,
                                  .set_up_left = 4,
                                  .invoice = DW_LINE_INVOICE_ISSUED};

static void ck_station(DwWorkFacts facts, DwStationKind kind, DwStationState state, const char *words)
{
    DwStation stations[DW_STATION_COUNT];
    dw_work_line_judge(&facts, stations);
    for (DwStationKind i = DW_STATION_INTAKE; i < DW_STATION_COUNT; i++) {
        ck_assert_msg((stations[i].state == DW_STATION_DONE) == (i != kind), "%s: %s", dw_station_word(i),
                      stations[i].missing);
        ck_assert_int_eq(*stations[i].missing == '\0', stations[i].state == DW_STATION_DONE);
    }
    ck_assert_int_eq(dw_work_line_now(stations), kind);
    if (kind < DW_STATION_COUNT) {
        ck_assert_int_eq(stations[kind].state, state);
        ck_assert_msg(strstr(stations[kind].missing, words) != NULL, "%s", stations[kind].missing);
    }
}

#define CK(field, value, kind, state, words)                                                                           \
    do {                                                                                                               \
        DwWorkFacts facts = whole;                                                                                     \
        facts.field = value;                                                                                           \
        ck_station(facts, kind, state, words);                                                                         \
    } while (0)

START_TEST(each_station_needs_its_own)
{
    ck_station(whole, DW_STATION_COUNT, DW_STATION_DONE, "");
    CK(intake, false, DW_STATION_INTAKE, DW_STATION_OPEN, "not taken in");
    CK(words, false, DW_STATION_INTAKE, DW_STATION_OPEN, "owner's words");
    CK(list, false, DW_STATION_INTAKE, DW_STATION_OPEN, "none other");
    CK(list_correct, false, DW_STATION_INTAKE, DW_STATION_OPEN, "list is correct");
    CK(use_tested, 0, DW_STATION_SAFETY, DW_STATION_OPEN, "safe to use");
    CK(unsafe_open, 1, DW_STATION_SAFETY, DW_STATION_STALE, "unsafe");
    CK(as_received, 0, DW_STATION_AS_RECEIVED, DW_STATION_OPEN, "as received");
    CK(findings, 0, DW_STATION_FINDINGS, DW_STATION_OPEN, "Nothing was found");
    CK(findings_untried, 1, DW_STATION_FINDINGS, DW_STATION_OPEN, "not tried");
    CK(verdicts, 0, DW_STATION_FINDINGS, DW_STATION_OPEN, "verdict");
    CK(operations, 0, DW_STATION_WORK, DW_STATION_OPEN, "No operation");
    CK(operations_open, 1, DW_STATION_WORK, DW_STATION_OPEN, "not done");
    CK(set_up_left, 0, DW_STATION_SET_UP, DW_STATION_OPEN, "No setting");
    CK(set_up_stale, "The arm's height was changed after the azimuth.", DW_STATION_SET_UP, DW_STATION_STALE, "azimuth");
    CK(as_left, 0, DW_STATION_AS_LEFT, DW_STATION_OPEN, "as left");
    CK(work_after_left, 1, DW_STATION_AS_LEFT, DW_STATION_STALE, "after the last");
    CK(unmatched, 3, DW_STATION_AS_LEFT, DW_STATION_OPEN, "again");
    CK(invoice, DW_LINE_INVOICE_DRAFT, DW_STATION_PAPERS, DW_STATION_OPEN, "issued");
    CK(invoice, DW_LINE_NO_INVOICE, DW_STATION_PAPERS, DW_STATION_OPEN, "no invoice");
}
END_TEST

START_TEST(consent_is_judged_by_its_last_word)
{
    CK(over_agreed, true, DW_STATION_ESTIMATE, DW_STATION_STALE, "above the amount");
    CK(ran_out, true, DW_STATION_ESTIMATE, DW_STATION_STALE, "ran out");
    CK(estimate, DW_LINE_ISSUED, DW_STATION_ESTIMATE, DW_STATION_STALE, "newer version");
    CK(answer, DW_LINE_WAITS, DW_STATION_ESTIMATE, DW_STATION_OPEN, "think");
    CK(answer, DW_LINE_REFUSED, DW_STATION_COUNT, DW_STATION_DONE, ""); // a refusal is an answer
    DwWorkFacts facts = whole;
    facts.answer = DW_LINE_NO_ANSWER;
    ck_station(facts, DW_STATION_ESTIMATE, DW_STATION_OPEN, "No amount");
    facts.estimate = DW_LINE_NO_ESTIMATE;
    facts.ceiling = true; // agreed to at the counter
    ck_station(facts, DW_STATION_COUNT, DW_STATION_DONE, "");
    facts.estimate = DW_LINE_DRAFT;
    ck_station(facts, DW_STATION_ESTIMATE, DW_STATION_OPEN, "not given out");
    facts.estimate = DW_LINE_ISSUED;
    ck_station(facts, DW_STATION_ESTIMATE, DW_STATION_OPEN, "not answered");
}
END_TEST

static void measure(DwBook *book, int64_t job, DwPhase phase, const char *key, const char *text)
{
    DwSheet *sheet = NULL;
    DwMeasurement measurement;
    dw_record_init(&measurement.record, &dw_measurement_entity);
    measurement.job_id = job;
    measurement.phase = (int)phase;
    ck_book(dw_measurement_by_hand(key, key, text, NAN, &sheet, message));
    ck_book(dw_measurement_save(book, sheet, &measurement, message));
    dw_sheet_free(sheet);
    dw_record_clear(&measurement.record);
}

static DwWorkFacts facts_of(DwBook *book, int64_t job)
{
    DwWorkFacts facts;
    ck_book(dw_work_line_read(book, job, &facts, message));
    return facts;
}

static int64_t add(DwBook *book, DwRecord *record, const char *const *pairs)
{
    for (size_t i = 0; pairs[i]; i += 2)
        ck_book(dw_record_set(book, record, pairs[i], pairs[i + 1], message));
    ck_book(dw_entry_add(book, record, message));
    int64_t id = record->id;
    dw_record_clear(record);
    return id;
}

START_TEST(the_book_is_read_as_it_fills)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t job = shop_first_job(book);
    DwWorkFacts facts = facts_of(book, job);
    DwStation stations[DW_STATION_COUNT];
    dw_work_line_judge(&facts, stations);
    for (DwStationKind i = DW_STATION_INTAKE; i < DW_STATION_COUNT; i++)
        ck_assert_int_eq(stations[i].state, DW_STATION_OPEN);

    DwIntake intake;
    dw_record_init(&intake.record, &dw_intake_entity);
    int64_t id =
        add(book, &intake.record, (const char *const[]){"job_id", "1", "words", "it hums", "ceiling", "80", NULL});
    facts = facts_of(book, job);
    ck_assert(facts.intake && facts.words && facts.ceiling && !facts.list && !facts.list_correct);
    DwAccessory mat;
    dw_record_init(&mat.record, &dw_accessory_entity);
    mat.intake_id = id;
    add(book, &mat.record, (const char *const[]){"name", "mat", "received", "yes", NULL});
    ck_assert(facts_of(book, job).list);

    DwItemVerdict verdict;
    dw_record_init(&verdict.record, &dw_verdict_entity);
    add(book, &verdict.record,
        (const char *const[]){"job_id", "1", "item", "mains lead", "aspect", "use", "grade", "unsafe", NULL});
    facts = facts_of(book, job);
    ck_assert_int_eq(facts.unsafe_open, 1);
    ck_assert_int_eq(facts.use_tested, 1);
    ck_book(dw_verdict_acknowledge(book, job, "A. Sample", "Do not plug it in.", message));
    ck_assert_int_eq(facts_of(book, job).unsafe_open, 0);

    measure(book, job, DW_PHASE_AS_RECEIVED, "shop.cover", "cracked");
    measure(book, job, DW_PHASE_AS_RECEIVED, "shop.mat", "worn");
    dw_book_set_now(book, "2026-03-02T10:00:00Z");
    measure(book, job, DW_PHASE_AS_LEFT, "shop.mat", "new");
    facts = facts_of(book, job);
    ck_assert_int_eq(facts.as_received, 2);
    ck_assert_int_eq(facts.as_left, 1);
    ck_assert_int_eq(facts.unmatched, 1);
    ck_assert_int_eq(facts.work_after_left, 0);

    DwOperation operation;
    dw_record_init(&operation.record, &dw_operation_entity);
    id = add(book, &operation.record, (const char *const[]){"job_id", "1", "name", "clean", NULL});
    ck_assert_int_eq(facts_of(book, job).operations_open, 1);
    dw_record_init(&operation.record, &dw_operation_entity);
    ck_book(dw_record_load(book, &operation.record, id, message));
    ck_book(dw_record_set(book, &operation.record, "done_at", "2026-03-03T09:00:00Z", message));
    ck_book(dw_entry_change(book, &operation.record, NULL, message));
    dw_record_clear(&operation.record);
    facts = facts_of(book, job);
    ck_assert_int_eq(facts.operations_open, 0);
    ck_assert_int_eq(facts.work_after_left, 1); // done a day after it was measured as left
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(an_estimate_is_followed_to_the_invoice)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t job = shop_first_job(book);
    DwEstimate estimate;
    DwBillLine line;
    DwConsent consent;
    DwInvoice invoice;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    int64_t id = add(book, &estimate.record, (const char *const[]){"job_id", "1", NULL});
    ck_assert_int_eq(facts_of(book, job).estimate, DW_LINE_DRAFT);
    dw_record_init(&line.record, &dw_estimate_line_entity);
    line.bill_id = id;
    add(book, &line.record, (const char *const[]){"name", "service", "amount", "100", NULL});
    ck_book(dw_estimate_issue(book, id, message));
    ck_assert_int_eq(facts_of(book, job).estimate, DW_LINE_ISSUED);
    ck_assert(!facts_of(book, job).ran_out);
    dw_book_set_now(book, "2026-05-01T10:00:00Z"); // it holds for 30 days
    ck_assert(facts_of(book, job).ran_out);
    dw_book_set_now(book, "2026-03-02T10:00:00Z");
    dw_record_init(&consent.record, &dw_consent_entity);
    consent.job_id = job;
    consent.estimate_id = id;
    add(book, &consent.record, (const char *const[]){"person", "A. Sample", "answer", "agreed", NULL});
    DwWorkFacts facts = facts_of(book, job);
    ck_assert_int_eq(facts.answer, DW_LINE_AGREED);
    ck_assert_int_eq(facts.estimate, DW_LINE_ACCEPTED);
    dw_record_init(&invoice.record, &dw_invoice_entity);
    ck_book(dw_invoice_draft(book, job, id, DW_TIER_FULL, &invoice, message));
    facts = facts_of(book, job);
    ck_assert_int_eq(facts.invoice, DW_LINE_INVOICE_DRAFT);
    ck_assert(!facts.over_agreed);
    DwBillLine extra;
    dw_record_init(&extra.record, &dw_invoice_line_entity);
    extra.bill_id = invoice.record.id;
    add(book, &extra.record, (const char *const[]){"name", "stylus", "kind", "part", "amount", "0.01", NULL});
    ck_assert(facts_of(book, job).over_agreed);
    dw_record_clear(&invoice.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_job_moves_on)
{
    DwJobState next[8];
    for (DwJobState state = DW_JOB_BOOKED; state <= DW_JOB_DECLINED; state++) {
        size_t count = dw_work_line_next(state, next, 8);
        ck_assert_int_eq(count == 0, state == DW_JOB_HANDED_OVER);
        for (size_t i = 0; i < count; i++)
            ck_assert_int_ne(next[i], state);
    }
    ck_assert_uint_eq(dw_work_line_next(DW_JOB_VERIFYING, next, 1), 1);
    ck_assert_int_eq(next[0], DW_JOB_READY);
}
END_TEST

DW_SUITE("work line", each_station_needs_its_own, consent_is_judged_by_its_last_word, the_book_is_read_as_it_fills,
         an_estimate_is_followed_to_the_invoice, a_job_moves_on)
