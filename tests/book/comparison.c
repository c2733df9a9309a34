// SPDX-License-Identifier: MIT
#include "book/store/bound.h"
#include "book/job/comparison.h"
#include "book/shop/register.h"
#include "book/store/private.h"
#include "book/job/verdict.h"
#include "shop.h"

#include <math.h>

// A sheet as the speed procedure would make it from a recording.
static DwSheet *speed_sheet(const char *speed, double error, double uncertainty, const char *radius)
{
    DwInputs *inputs = dw_inputs_new();
    dw_inputs_set(inputs, "deck.speed", speed, NULL);
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    dw_sheet_set_subject(sheet, "take.wav");
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("deck.speed"));
    if (radius) {
        dw_inputs_set(inputs, "record.radius", radius, NULL);
        dw_sheet_add_input(sheet, inputs, dw_quantity_find("record.radius"));
    }
    dw_inputs_free(inputs);
    dw_sheet_add_reading(sheet, "speed.error", "Speed error", error, "%", 2)->uncertainty = uncertainty;
    return sheet;
}

static int64_t keep(DwBook *book, int64_t job, DwSheet *sheet, DwPhase phase, const char *record, const char *chain,
                    const char *instrument)
{
    DwMeasurement measurement;
    dw_record_init(&measurement.record, &dw_measurement_entity);
    measurement.job_id = job;
    measurement.phase = (int)phase;
    measurement.test_record = dw_memory_text(record);
    measurement.chain = dw_memory_text(chain);
    measurement.instrument = dw_memory_text(instrument);
    ck_book(dw_measurement_save(book, sheet, &measurement, message));
    int64_t id = measurement.record.id;
    dw_record_clear(&measurement.record);
    dw_sheet_free(sheet);
    return id;
}

static void keep_by_hand(DwBook *book, int64_t job, DwPhase phase, const char *key, const char *label, const char *text,
                         double uncertainty, const char *instrument)
{
    DwSheet *sheet = NULL;
    ck_book(dw_measurement_by_hand(key, label, text, uncertainty, &sheet, message));
    keep(book, job, sheet, phase, "", "", instrument);
}

static DwPair *pair_of(DwComparison *comparison, const char *key, const char *speed)
{
    for (size_t i = 0; i < comparison->count; i++) {
        DwPair *pair = &comparison->pairs[i];
        const DwReading *reading = pair->before ? pair->before : pair->after;
        const DwMeasurement *from = pair->before ? pair->before_from : pair->after_from;
        if (strcmp(reading->key, key) == 0 && (!speed || strncmp(from->speed, speed, strlen(speed)) == 0))
            return pair;
    }
    ck_abort_msg("no pair for %s", key);
    return NULL;
}

START_TEST(a_sheet_comes_back_and_its_readings_are_rows)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwTestRecord disc;
    dw_record_init(&disc.record, &dw_test_record_entity);
    disc.name = dw_memory_text("Disc A");
    ck_book(dw_record_save(book, &disc.record, message));
    DwSheet *sheet = speed_sheet("45", 0.31, 0.02, NULL);
    sheet->readings[0].flags = DW_FLAG_SHORT;
    dw_reading_set_limit(&sheet->readings[0], (DwRange){-1, 1.5}, (DwRange){-0.3, 0.3}, "a source");
    int64_t id = keep(book, job, sheet, DW_PHASE_AS_RECEIVED, "Disc A", "Chain 1", "");
    DwMeasurement measurement;
    dw_record_init(&measurement.record, &dw_measurement_entity);
    ck_book(dw_record_load(book, &measurement.record, id, message));
    ck_assert_str_eq(measurement.who, "tester");
    ck_assert_str_eq(measurement.test_record, "Disc A");
    DwSheet *again = NULL;
    ck_book(dw_measurement_sheet(&measurement, &again, message));
    ck_assert_double_eq_tol(again->readings[0].value, 0.31, 1e-12);
    ck_assert_str_eq(again->subject, "take.wav");
    dw_sheet_free(again);
    DwRecords rows;
    ck_book(dw_record_list(book, &dw_kept_reading_entity, "measurement_id", id, &rows, message));
    ck_assert_uint_eq(rows.count, 1);
    const DwKeptReading *row = (const DwKeptReading *)dw_records_at(&rows, 0);
    ck_assert_double_eq_tol(row->value, 0.31, 1e-12);
    ck_assert_int_eq(row->grade, DW_VERDICT_SERVICEABLE);
    ck_assert_int_eq(row->flags, DW_FLAG_SHORT);
    ck_assert_double_eq_tol(row->good_high, 0.3, 1e-12);
    dw_records_clear(&rows);
    ck_book(dw_record_load(book, &disc.record, disc.record.id, message));
    ck_assert_int_eq(disc.plays, 1);
    dw_record_clear(&disc.record);
    ck_assert_int_eq(dw_query_run(book, "UPDATE reading SET value = 0", NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_query_run(book, "UPDATE measurement SET phase = 'as left'", NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_query_run(book, "DELETE FROM measurement", NULL), DW_BAD_INPUT);
    ck_refused(dw_measurement_withdraw(book, id, "", message), "why");
    ck_book(dw_measurement_withdraw(book, id, "wrong band", message));
    ck_refused(dw_measurement_withdraw(book, id, "again", message), "withdrawn already");
    ck_book(dw_measurement_standing(book, job, &rows, message));
    ck_assert_uint_eq(rows.count, 0);
    dw_records_clear(&rows);
    dw_record_clear(&measurement.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(the_same_reading_on_the_same_record_is_compared)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    keep(book, job, speed_sheet("33.3333", 1.20, 0.03, "100 mm"), DW_PHASE_AS_RECEIVED, "Disc A", "Chain 1", "");
    keep(book, job, speed_sheet("45", 0.10, 0.04, NULL), DW_PHASE_AS_RECEIVED, "Disc A", "Chain 1", "");
    keep(book, job, speed_sheet("33.3333", 0.70, 0.03, "100 mm"), DW_PHASE_DURING, "Disc A", "Chain 1", "");
    keep(book, job, speed_sheet("33.3333", 0.05, 0.04, "100 mm"), DW_PHASE_AS_LEFT, "Disc A", "Chain 1", "");
    keep(book, job, speed_sheet("45", 0.14, 0.03, NULL), DW_PHASE_AS_LEFT, "Disc A", "Chain 1", "");
    DwComparison comparison;
    ck_book(dw_comparison_make(book, job, &comparison, message));
    ck_assert_uint_eq(comparison.count, 2); // one a speed
    const DwPair *slow = pair_of(&comparison, "speed.error", "33"), *fast = pair_of(&comparison, "speed.error", "45");
    ck_assert_msg(slow->comparable, "%s", slow->reason);
    ck_assert_double_eq_tol(slow->difference, -1.15, 1e-9);
    ck_assert_int_eq(slow->change, DW_CHANGE_REAL);
    ck_assert(fast->comparable);
    ck_assert_int_eq(fast->change, DW_CHANGE_NONE); // 0.04 lies within √(0.04² + 0.03²) = 0.05
    dw_comparison_clear(&comparison);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(what_cannot_be_compared_says_why)
{
    static const struct {
        const char *record_before, *chain_before, *radius_before, *record_after, *chain_after, *radius_after, *reason;
    } cases[] = {
        {"Disc A", "Chain 1", NULL, "Disc B", "Chain 1", NULL,
         "The test record differs: Disc A as received, Disc B as left."},
        {"Disc A", "Chain 1", NULL, "Disc A", "Chain 2", NULL,
         "The recording chain differs: Chain 1 as received, Chain 2 as left."},
        {"Disc A", "Chain 1", NULL, "", "Chain 1", NULL, "The test record is not stated as left."},
        {"Disc A", "", NULL, "Disc A", "", NULL, "The recording chain is stated neither as received nor as left."},
        {"Disc A", "Chain 1", "100 mm", "Disc A", "Chain 1", "60 mm", "Groove radius differs"},
        {"Disc A", "Chain 1", "100 mm", "Disc A", "Chain 1", NULL, "Groove radius is stated as received"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *folder = shop_folder();
        DwBook *book = shop_open(folder);
        int64_t job = shop_first_job(book);
        keep(book, job, speed_sheet("45", 1, 0.1, cases[i].radius_before), DW_PHASE_AS_RECEIVED, cases[i].record_before,
             cases[i].chain_before, "");
        keep(book, job, speed_sheet("45", 0, 0.1, cases[i].radius_after), DW_PHASE_AS_LEFT, cases[i].record_after,
             cases[i].chain_after, "");
        DwComparison comparison;
        ck_book(dw_comparison_make(book, job, &comparison, message));
        ck_assert_uint_eq(comparison.count, 1);
        const DwPair *pair = &comparison.pairs[0];
        ck_assert(!pair->comparable);
        ck_assert_int_eq(pair->change, DW_CHANGE_UNKNOWN);
        ck_assert(isnan(pair->difference));
        ck_assert_msg(strncmp(pair->reason, cases[i].reason, strlen(cases[i].reason)) == 0, "%s", pair->reason);
        dw_comparison_clear(&comparison);
        dw_book_close(book);
        shop_remove(folder);
    }
}
END_TEST

START_TEST(what_was_measured_last_stands_as_left)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    keep_by_hand(book, job, DW_PHASE_AS_RECEIVED, "shop.force", "Tracking force", "1.54 g", 0.03, "Scale 1");
    keep_by_hand(book, job, DW_PHASE_AS_LEFT, "shop.force", "Tracking force", "1.52 g", 0.03, "Scale 1");
    keep_by_hand(book, job, DW_PHASE_AS_LEFT, "shop.force", "Tracking force", "1.50 g", 0.03, "Scale 2");
    DwComparison comparison;
    ck_book(dw_comparison_make(book, job, &comparison, message));
    const DwPair *force = pair_of(&comparison, "shop.force", NULL);
    ck_assert_double_eq_tol(force->after->value, 1.50, 1e-12);
    ck_assert(!force->comparable);
    ck_assert_str_eq(force->reason, "The instrument differs: Scale 1 as received, Scale 2 as left.");
    dw_comparison_clear(&comparison);
    // The first as received that it can be compared with is held against it.
    keep_by_hand(book, job, DW_PHASE_AS_RECEIVED, "shop.force", "Tracking force", "1.58 g", 0.03, "Scale 2");
    ck_book(dw_comparison_make(book, job, &comparison, message));
    force = pair_of(&comparison, "shop.force", NULL);
    ck_assert(force->comparable);
    ck_assert_double_eq_tol(force->before->value, 1.58, 1e-12);
    ck_assert_double_eq_tol(force->after->value, 1.50, 1e-12);
    dw_comparison_clear(&comparison);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(readings_by_hand_are_compared_on_the_same_instrument)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    keep_by_hand(book, job, DW_PHASE_AS_RECEIVED, "shop.force", "Tracking force", "3.40 g", 0.03, "Scale 1");
    keep_by_hand(book, job, DW_PHASE_AS_LEFT, "shop.force", "Tracking force", "1.80 g", 0.03, "Scale 1");
    keep_by_hand(book, job, DW_PHASE_AS_RECEIVED, "shop.lift", "Lift", "0.8 s", NAN, "Watch");
    keep_by_hand(book, job, DW_PHASE_AS_LEFT, "shop.lift", "Lift", "3 s", NAN, "Video");
    keep_by_hand(book, job, DW_PHASE_AS_RECEIVED, "shop.cover", "Cover", "dull", NAN, "eye");
    keep_by_hand(book, job, DW_PHASE_AS_LEFT, "shop.cover", "Cover", "clear", NAN, "eye");
    keep_by_hand(book, job, DW_PHASE_AS_LEFT, "record.radius", NULL, "100 mm", NAN, "rule");
    DwComparison comparison;
    ck_book(dw_comparison_make(book, job, &comparison, message));
    const DwPair *force = pair_of(&comparison, "shop.force", NULL), *lift = pair_of(&comparison, "shop.lift", NULL);
    const DwPair *cover = pair_of(&comparison, "shop.cover", NULL),
                 *radius = pair_of(&comparison, "record.radius", NULL);
    ck_assert(force->comparable);
    ck_assert_double_eq_tol(force->difference, -1.6, 1e-9);
    ck_assert_str_eq(force->before->unit, "g");
    ck_assert_int_eq(force->before->digits, 2);
    ck_assert(!lift->comparable);
    ck_assert_str_eq(lift->reason, "The instrument differs: Watch as received, Video as left.");
    ck_assert(cover->comparable);
    ck_assert_int_eq(cover->change, DW_CHANGE_REAL);
    ck_assert_str_eq(radius->reason, "It was not measured as received.");
    dw_comparison_clear(&comparison);
    DwSheet *sheet = NULL;
    ck_refused(dw_measurement_by_hand("record.radius", NULL, "9 g", NAN, &sheet, message), "not a unit");
    ck_refused(dw_measurement_by_hand("shop.own", NULL, "9", NAN, &sheet, message), "label");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_reading_measured_unsafe_holds_the_deck)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwSheet *sheet = NULL;
    ck_book(dw_measurement_by_hand("shop.leakage", "Touch voltage", "0.9 V", 0.05, &sheet, message));
    sheet->readings[0].verdict = DW_VERDICT_UNSAFE;
    keep(book, job, sheet, DW_PHASE_AS_RECEIVED, "", "", "Meter");
    ck_refused(dw_job_move(book, job, DW_JOB_READY, "", "", message), "Touch voltage");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(the_shops_limits_hold_for_model_before_class)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    static const char *const bounds[][5] = {// class, make, model, high, source
                                            {"vintage", "", "", "0.3", "common practice"},
                                            {"", "Plain", "Two", "0.5", "service sheet"}};
    for (size_t i = 0; i < 2; i++) {
        DwBound bound;
        dw_record_init(&bound.record, &dw_bound_entity);
        static const char *const keys[] = {"class", "make", "model", "high", "source"};
        for (size_t k = 0; k < 5; k++)
            ck_book(dw_record_set(book, &bound.record, keys[k], bounds[i][k], message));
        ck_book(dw_record_set(book, &bound.record, "key", "speed.error", message));
        ck_book(dw_record_save(book, &bound.record, message));
        dw_record_clear(&bound.record);
    }
    DwSheet *sheet = speed_sheet("45", 0.4, 0.01, NULL);
    ck_book(dw_bound_apply(book, "vintage", "PLAIN", "two", sheet, message));
    ck_assert_int_eq(sheet->readings[0].verdict, DW_VERDICT_GOOD);
    ck_assert_str_eq(sheet->readings[0].limit->source, "service sheet");
    ck_book(dw_bound_apply(book, "vintage", "Plain", "Three", sheet, message));
    ck_assert_int_eq(sheet->readings[0].verdict, DW_VERDICT_ATTENTION);
    dw_sheet_free(sheet);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(an_instrument_is_only_as_good_as_its_last_check)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    DwInstrument scale;
    dw_record_init(&scale.record, &dw_instrument_entity);
    scale.name = dw_memory_text("Scale 1");
    scale.check_days = 30;
    ck_book(dw_record_save(book, &scale.record, message));
    DwCheckState state;
    char day[DW_DATE_SIZE];
    ck_book(dw_instrument_state(book, scale.record.id, &state, day, message));
    ck_assert_int_eq(state, DW_CHECK_NEVER);
    static const struct {
        double found;
        DwCheckState state;
    } checks[] = {{2.02, DW_CHECK_VALID}, {2.04, DW_CHECK_FAILED}, {1.98, DW_CHECK_VALID}};
    for (size_t i = 0; i < 3; i++) {
        DwInstrumentCheck check;
        dw_record_init(&check.record, &dw_instrument_check_entity);
        check.instrument_id = scale.record.id;
        check.expected = 2;
        check.tolerance = 0.02;
        check.found = checks[i].found;
        ck_book(dw_instrument_check(book, &check, message));
        dw_record_clear(&check.record);
        ck_book(dw_instrument_state(book, scale.record.id, &state, day, message));
        ck_assert_int_eq(state, checks[i].state);
    }
    dw_book_set_now(book, "2026-04-01T10:00:00Z");
    ck_book(dw_instrument_state(book, scale.record.id, &state, day, message));
    ck_assert_int_eq(state, DW_CHECK_OVERDUE);
    ck_assert_str_eq(day, "2026-03-01");
    dw_record_clear(&scale.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(what_it_was_measured_with_is_supplied_afterwards)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), copy = 0;
    keep(book, job, speed_sheet("33", 0.9, 0.02, NULL), DW_PHASE_AS_RECEIVED, "Disc A", "Chain 1", "");
    int64_t left = keep(book, job, speed_sheet("33", 0.1, 0.02, NULL), DW_PHASE_AS_LEFT, "", "Chain 2", "");
    DwComparison comparison;
    ck_book(dw_comparison_make(book, job, &comparison, message));
    ck_assert(!pair_of(&comparison, "speed.error", NULL)->comparable);
    dw_comparison_clear(&comparison);
    const DwSupplied both = {.test_record = "Disc A", .chain = "Chain 1"}, none = {.chain = "Chain 2"};
    ck_refused(dw_measurement_supply(book, left, &both, "", &copy, message), "how it is known");
    ck_refused(dw_measurement_supply(book, left, &none, "the log", &copy, message), "says already");
    ck_refused(dw_measurement_supply(book, left, &(DwSupplied){.test_record = "No such"}, "the log", &copy, message),
               "in the register");
    ck_refused(dw_measurement_supply(book, left, &(DwSupplied){.instrument = "Scale"}, "the log", &copy, message),
               "no instrument");
    ck_book(dw_measurement_supply(book, left, &both, "the log of the day", &copy, message));
    ck_book(dw_comparison_make(book, job, &comparison, message));
    DwPair *pair = pair_of(&comparison, "speed.error", NULL);
    ck_assert_msg(pair->comparable, "%s", pair->reason);
    ck_assert_double_eq_tol(pair->difference, -0.8, 1e-12);
    ck_assert_int_eq(pair->after_from->record.id, copy);
    dw_comparison_clear(&comparison);
    DwMeasurement old, new;
    dw_record_init(&old.record, &dw_measurement_entity);
    dw_record_init(&new.record, &dw_measurement_entity);
    ck_book(dw_record_load(book, &old.record, left, message));
    ck_book(dw_record_load(book, &new.record, copy, message));
    ck_assert_str_eq(old.test_record, "");
    ck_assert_ptr_nonnull(strstr(old.withdrawn_why, "the log of the day"));
    ck_assert_str_eq(new.at, old.at);
    ck_assert_ptr_nonnull(strstr(new.sheet, "the log of the day"));
    ck_assert_ptr_nonnull(strstr(new.sheet, "(before: Chain 2)"));
    ck_refused(dw_measurement_supply(book, left, &both, "again", &copy, message), "took its place");
    dw_record_clear(&old.record);
    dw_record_clear(&new.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// What was reckoned from numbers played no record, and what was read by hand has no chain.
START_TEST(nothing_is_supplied_that_was_not_used)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), copy = 0;
    keep(book, job, speed_sheet("33", 0.9, 0.02, NULL), DW_PHASE_AS_RECEIVED, "Disc A", "Chain 1", "");
    DwSheet *sheet = dw_sheet_new("force", "Tracking force");
    dw_sheet_add_reading(sheet, "force.tracking_g", "Tracking force", 1.8, "g", 2);
    int64_t reckoned = keep(book, job, sheet, DW_PHASE_AS_LEFT, "", "", "");
    const DwSupplied disc = {.test_record = "Disc A"};
    ck_refused(dw_measurement_supply(book, reckoned, &disc, "the log", &copy, message), "from numbers");
    DwSheet *read = NULL;
    ck_book(dw_measurement_by_hand("note", "Cover", "dull", NAN, &read, message));
    int64_t hand = keep(book, job, read, DW_PHASE_AS_LEFT, "", "", "");
    ck_refused(dw_measurement_supply(book, hand, &disc, "the log", &copy, message), "by hand");
    DwMeasurement left;
    dw_record_init(&left.record, &dw_measurement_entity);
    ck_book(dw_record_load(book, &left.record, reckoned, message));
    ck_assert(!left.withdrawn_at || !*left.withdrawn_at);
    dw_record_clear(&left.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// A sheet that is put right keeps its place among those of its phase: what was measured last still counts.
START_TEST(a_supplied_sheet_is_as_old_as_it_was)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), copy = 0;
    keep(book, job, speed_sheet("33", 0.9, 0.02, NULL), DW_PHASE_AS_RECEIVED, "Disc A", "Chain 1", "");
    int64_t first = keep(book, job, speed_sheet("33", 0.5, 0.02, NULL), DW_PHASE_AS_LEFT, "Disc B", "Chain 1", "");
    ck_book(dw_query_run(book, "DROP TRIGGER measurement_unchanged", message));
    ck_book(dw_query_run(book, "UPDATE measurement SET at = '2026-01-01T08:00:00Z' WHERE phase = 'as left'", message));
    keep(book, job, speed_sheet("33", 0.1, 0.02, NULL), DW_PHASE_AS_LEFT, "Disc A", "Chain 1", "");
    ck_book(dw_measurement_supply(book, first, &(DwSupplied){.test_record = "Disc A"}, "its sleeve", &copy, message));
    DwComparison comparison;
    ck_book(dw_comparison_make(book, job, &comparison, message));
    ck_assert_double_eq_tol(pair_of(&comparison, "speed.error", NULL)->after->value, 0.1, 1e-12);
    dw_comparison_clear(&comparison);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("comparison", a_sheet_comes_back_and_its_readings_are_rows, the_same_reading_on_the_same_record_is_compared,
         what_cannot_be_compared_says_why, what_was_measured_last_stands_as_left,
         readings_by_hand_are_compared_on_the_same_instrument, a_reading_measured_unsafe_holds_the_deck,
         the_shops_limits_hold_for_model_before_class, what_it_was_measured_with_is_supplied_afterwards,
         nothing_is_supplied_that_was_not_used, a_supplied_sheet_is_as_old_as_it_was,
         an_instrument_is_only_as_good_as_its_last_check)
