// SPDX-License-Identifier: MIT
// The library of models: what decks told, what is shared, and what is not.
#include "book/entry/search.h"
#include "book/job/measurement.h"
#include "book/model/known.h"
#include "book/model/share.h"
#include "book/shop/settings.h"
#include "book/store/bound.h"
#include "book/store/journal.h"
#include "book/store/private.h"
#include "shop.h"

#include <math.h>

static int64_t add_model(DwBook *book, const char *make, const char *name)
{
    DwModel model;
    dw_record_init(&model.record, &dw_model_entity);
    model.make = dw_memory_text(make);
    model.name = dw_memory_text(name);
    ck_book(dw_record_save(book, &model.record, message));
    int64_t id = model.record.id;
    dw_record_clear(&model.record);
    return id;
}

static int64_t add_deck(DwBook *book, const char *serial, const char *pulley)
{
    int64_t deck = shop_deck(book, "Plain", "Two", serial);
    ck_book(dw_deck_set_value(book, deck, "drive.pulley_diameter", pulley, message));
    return deck;
}

static DwModelKnowns read_known(DwBook *book, int64_t model)
{
    DwModelKnowns knowns;
    ck_book(dw_model_known_read(book, model, &knowns, message));
    return knowns;
}

static void expect_known(DwBook *book, int64_t model, const char *key, const char *value, size_t decks, double low,
                         double high)
{
    DwModelKnowns knowns = read_known(book, model);
    const DwModelKnown *known = dw_model_known_best(&knowns, key);
    ck_assert_msg(known != NULL, "%s is not known", key);
    ck_assert_str_eq(known->value, value);
    ck_assert_uint_eq(known->decks, decks);
    if (isfinite(low))
        ck_assert(fabs(known->low - low) < 1e-9 && fabs(known->high - high) < 1e-9);
    dw_model_knowns_clear(&knowns);
}

// The median of 12.1, 12.4, 12.2 and 0.5 in (12.7 mm) is (12.2 + 12.4) / 2, worked by hand.
START_TEST(decks_of_the_model_tell_their_median_and_range)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t model = add_model(book, "PLAIN", "two");
    add_deck(book, "1", "12.1mm");
    add_deck(book, "2", "12.4mm");
    expect_known(book, model, "drive.pulley_diameter", "12.25 mm", 2, 12.1, 12.4);
    add_deck(book, "3", "12.2mm");
    expect_known(book, model, "drive.pulley_diameter", "12.2 mm", 3, 12.1, 12.4);
    add_deck(book, "4", "0.5in");
    expect_known(book, model, "drive.pulley_diameter", "12.3 mm", 4, 12.1, 12.7);
    // What the shop wrote down stands before it, another model's deck and another quantity do not count.
    int64_t other = shop_deck(book, "Plain", "Three", "5");
    ck_book(dw_deck_set_value(book, other, "drive.pulley_diameter", "40mm", message));
    ck_book(dw_deck_set_value(book, other, "arm.overhang", "18mm", message));
    expect_known(book, model, "drive.pulley_diameter", "12.3 mm", 4, 12.1, 12.7);
    ck_book(dw_model_note(book, model, "drive.pulley_diameter", "12.35 mm", "manual", message));
    expect_known(book, model, "drive.pulley_diameter", "12.35 mm", 0, NAN, NAN);
    ck_book(dw_model_note(book, model, "drive.pulley_diameter", "12.36 mm", "manual", message));
    expect_known(book, model, "drive.pulley_diameter", "12.36 mm", 0, NAN, NAN);
    ck_refused(dw_model_note(book, model, "arm.overhang", "18 mm", "manual", message), "nothing that all decks");
    ck_refused(dw_model_note(book, model, "drive.pulley_diameter", "12 kg", "manual", message), "mm");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// A word that no more than half of the decks have is none of the model's.
START_TEST(words_count_by_majority)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t model = add_model(book, "Plain", "Two"), decks[4];
    static const char *const kinds[] = {"synchronous", "induction", "induction", "synchronous"};
    for (int i = 0; i < 4; i++) {
        char serial[2] = {(char)('1' + i), '\0'};
        decks[i] = shop_deck(book, "Plain", "Two", serial);
        ck_book(dw_deck_set_value(book, decks[i], "drive.motor_kind", kinds[i], message));
        DwModelKnowns knowns = read_known(book, model);
        const DwModelKnown *known = dw_model_known_best(&knowns, "drive.motor_kind");
        static const char *const usual[] = {"synchronous", NULL, "induction", NULL};
        if (usual[i])
            ck_assert_str_eq(known->value, usual[i]);
        else
            ck_assert_ptr_null(known);
        dw_model_knowns_clear(&knowns);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static int64_t keep_reading(DwBook *book, int64_t job, DwPhase phase, double value, bool given)
{
    DwMeasurement measurement;
    DwInputs *inputs = dw_inputs_new();
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    ck_book(dw_inputs_set(inputs, "drive.pulley_diameter", "99mm", message));
    if (given)
        dw_sheet_add_input(sheet, inputs, dw_quantity_find("drive.pulley_diameter"));
    DwReading *reading = dw_sheet_add_reading(sheet, "speed.error", "Speed error", value, "%", 2);
    dw_reading_set_limit(reading, (DwRange){-1, 1}, (DwRange){NAN, NAN}, "test");
    reading = dw_sheet_add_reading(sheet, "force.tracking", "Tracking force", 18, "mN", 1); // the cartridge's
    dw_reading_set_limit(reading, (DwRange){10, 20}, (DwRange){NAN, NAN}, "test");
    dw_record_init(&measurement.record, &dw_measurement_entity);
    measurement.job_id = job;
    measurement.phase = (int)phase;
    ck_book(dw_measurement_save(book, sheet, &measurement, message));
    int64_t id = measurement.record.id;
    dw_record_clear(&measurement.record);
    dw_sheet_free(sheet);
    dw_inputs_free(inputs);
    return id;
}

// What a sheet was made with may have come from the model: it never counts as found on a deck. Readings count as left.
START_TEST(sheets_give_readings_as_left_and_no_dimensions)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t model = add_model(book, "Plain", "Two"), job = shop_first_job(book);
    int64_t deck = 0;
    ck_book(dw_query_number(book, "SELECT deck_id FROM job WHERE id = ?", job, &deck, message));
    DwDeck mine;
    dw_record_init(&mine.record, &dw_deck_entity);
    ck_book(dw_record_load(book, &mine.record, deck, message));
    dw_field_replace(&mine.make, "Plain");
    dw_field_replace(&mine.model, "Two");
    ck_book(dw_record_save(book, &mine.record, message));
    dw_record_clear(&mine.record);
    keep_reading(book, job, DW_PHASE_AS_RECEIVED, 2.5, true);
    keep_reading(book, job, DW_PHASE_AS_LEFT, 0.4, true);
    int64_t last = keep_reading(book, job, DW_PHASE_AS_LEFT, 0.20000123, true);
    for (int round = 0; round < 2; round++) {
        DwModelKnowns knowns = read_known(book, model);
        ck_assert_ptr_null(dw_model_known_best(&knowns, "drive.pulley_diameter"));
        size_t readings = 0;
        for (size_t i = 0; i < knowns.count; i++)
            if (knowns.items[i].about == DW_MODEL_READING) {
                readings++;
                ck_assert_str_eq(knowns.items[i].value, round ? "0.4 %" : "0.2 %");
            }
        ck_assert_uint_eq(readings, 1);
        dw_model_knowns_clear(&knowns);
        if (round == 0)
            ck_book(dw_measurement_withdraw(book, last, "wrong record", message));
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static void add_bound(DwBook *book, double high, const char *source)
{
    DwBound bound;
    dw_record_init(&bound.record, &dw_bound_entity);
    bound.make = dw_memory_text("Plain");
    bound.model = dw_memory_text("Two");
    bound.key = dw_memory_text("wow.weighted");
    bound.high = high;
    bound.low = NAN;
    bound.good_low = bound.good_high = NAN;
    bound.source = dw_memory_text(source);
    ck_book(dw_record_save(book, &bound.record, message));
    dw_record_clear(&bound.record);
}

static void add_fault(DwBook *book, int64_t model, const char *fault, const char *remedy)
{
    DwModelFault entry;
    dw_record_init(&entry.record, &dw_model_fault_entity);
    entry.model_id = model;
    entry.fault = dw_memory_text(fault);
    entry.remedy = dw_memory_text(remedy);
    entry.seen = 3;
    ck_book(dw_record_save(book, &entry.record, message));
    dw_record_clear(&entry.record);
}

// Longer than a line of a key file, with everything in it that such files take for something else.
static char *awkward_text(void)
{
    DwText text = {0};
    for (int i = 0; i < 40; i++)
        dw_text_add(&text, "%s", i % 5 ? "ä ; # = [x]  \\ word " : "\n\tline\\n ");
    return dw_text_take(&text);
}

static DwStatus import_text(DwBook *book, const char *text, DwShareTaken *taken, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_parse(text, strlen(text), "shared.ini", &file, message);
    if (status == DW_OK)
        status = dw_share_read(book, &file, "shared.ini", taken, message);
    dw_keyfile_clear(&file);
    return status;
}

// A shop with a model, two decks with owners, a fault and a limit; as a file.
static char *make_shared(DwBook *book, char **remedy)
{
    int64_t model = add_model(book, "Plain", "Two"), customer = shop_customer(book, "Edda Marlow");
    int64_t deck = add_deck(book, "SERIAL-77", "12.1mm");
    ck_book(dw_deck_give(book, deck, customer, message));
    add_deck(book, "SERIAL-78", "12.3mm");
    ck_book(dw_settings_set(book, "shop.name", "North; Bench", message));
    *remedy = awkward_text();
    add_fault(book, model, "Belt slack", *remedy);
    add_bound(book, 0.2, "manual");
    char *text = NULL;
    ck_book(dw_share_write(book, model, &text, message));
    return text;
}

START_TEST(what_is_shared_comes_back_whole_and_names_nobody)
{
    char *one = shop_folder(), *two = shop_folder(), *remedy;
    DwBook *book = shop_open(one);
    DwShareTaken taken;
    char *text = make_shared(book, &remedy);
    static const char *const secret[] = {"Edda", "Marlow", "SERIAL", "tester"};
    for (size_t i = 0; i < sizeof secret / sizeof *secret; i++)
        ck_assert_ptr_null(strstr(text, secret[i]));
    ck_refused(import_text(book, text, &taken, message), "written by this book");
    dw_book_close(book);
    book = shop_open(two);
    for (int round = 0; round < 2; round++) { // twice says the same once
        ck_book(import_text(book, text, &taken, message));
        ck_assert_int_eq(taken.added, round == 0);
        ck_assert_uint_eq(taken.builds, 1);
        ck_assert_uint_eq(taken.faults, 1);
        ck_assert_uint_eq(taken.limits, round == 0);
        ck_assert_uint_eq(taken.limits_left, round);
        DwRecords faults, values;
        ck_book(dw_record_list(book, &dw_model_fault_entity, NULL, 0, &faults, message));
        ck_book(dw_record_list(book, &dw_model_value_entity, NULL, 0, &values, message));
        ck_assert_uint_eq(faults.count, 1);
        ck_assert_uint_eq(values.count, 1);
        const DwModelFault *fault = (const DwModelFault *)dw_records_at(&faults, 0);
        ck_assert_str_eq(fault->remedy, remedy);
        ck_assert_int_eq(fault->seen, 3);
        ck_assert_ptr_nonnull(strstr(fault->shared_by, "North; Bench ("));
        dw_records_clear(&faults);
        dw_records_clear(&values);
        expect_known(book, taken.model, "drive.pulley_diameter", "12.2 mm", 2, 12.1, 12.3);
    }
    // What another shared is not given out as one's own, and one's own decks stand before it.
    char *again = NULL;
    ck_book(dw_share_write(book, taken.model, &again, message));
    ck_assert_ptr_null(strstr(again, "pulley"));
    ck_assert_ptr_null(strstr(again, "Belt slack"));
    add_deck(book, "9", "12.9mm");
    expect_known(book, taken.model, "drive.pulley_diameter", "12.9 mm", 1, 12.9, 12.9);
    free(again);
    free(text);
    free(remedy);
    dw_book_close(book);
    shop_remove(one);
    shop_remove(two);
}
END_TEST

START_TEST(a_limit_of_one_s_own_stays)
{
    char *one = shop_folder(), *two = shop_folder(), *remedy;
    DwBook *book = shop_open(one);
    DwShareTaken taken;
    char *text = make_shared(book, &remedy);
    dw_book_close(book);
    book = shop_open(two);
    add_bound(book, 0.3, "our own");
    ck_book(import_text(book, text, &taken, message));
    ck_assert_uint_eq(taken.limits, 0);
    ck_assert_uint_eq(taken.limits_left, 1);
    bool found = false;
    DwLimit limit;
    ck_book(dw_bound_find(book, "", "plain", "TWO", "wow.weighted", &found, &limit, message));
    ck_assert(found && limit.high == 0.3);
    free(limit.source);
    free(text);
    free(remedy);
    dw_book_close(book);
    shop_remove(one);
    shop_remove(two);
}
END_TEST

#define HEAD "[model]\nformat = 1\nmake = A\nname = B\nbook = 0123\n"

START_TEST(a_file_that_is_wrong_anywhere_leaves_nothing)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    static const char *const wrong[][2] = {
        {"", "lacks format"},
        {"[model]\nformat = 1\nmake = A\nname = B\n", "lacks book"},
        {"[model]\nformat = 2\nmake = A\nname = B\nbook = 0123\n", "format 2"},
        {"[model]\nformat = 1\nname = B\nbook = 0123\n", "no Make"},
        {"[build drive.poles]\nvalue = 8\n" HEAD, "does not come first"},
        {HEAD "colour = red\n", "line 6"},
        {HEAD "[build drive.pulley_diameter]\nvalue = 12 kg\n", "line 7"},
        {HEAD "[build drive.pulley_diameter]\nvalue = 12 mm\nlow = 13\nhigh = 12\n", "line 7"},
        {HEAD "[build arm.overhang]\nvalue = 12 mm\n", "nothing that all decks"},
        {HEAD "[build drive.poles]\nvalue = 8\ndecks = -1\n", "line 8"},
        {HEAD "[build drive.poles]\nvalue = 8\nvalue = 9\n", "given twice"},
        {HEAD "[fault 1]\nfault = cut off\\\n", "cut off"},
        {HEAD "[fault 1]\nfault = odd \\q\n", "means nothing"},
        {HEAD "[fault 1]\nremedy = none\n", "no Fault"},
        {HEAD "[fault 1]\nfault = a\nshared_by = me\n", "no shared_by"},
        {HEAD "[limit wow.weighted]\nhigh = 1\n", "no Source"},
        {HEAD "[customer 1]\nname = x\n", "no part of a model"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        DwShareTaken taken;
        int64_t models = 0;
        ck_refused(import_text(book, wrong[i][0], &taken, message), wrong[i][1]);
        ck_book(dw_query_number(book, "SELECT count(*) FROM model", 0, &models, message));
        ck_assert_int_eq(models, 0);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_model_is_one_and_found_by_its_words)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t model = add_model(book, "Plain", "Two"), found = 0;
    DwModel twin;
    dw_record_init(&twin.record, &dw_model_entity);
    twin.make = dw_memory_text("PLAIN");
    twin.name = dw_memory_text("two");
    ck_refused(dw_record_save(book, &twin.record, message), "");
    dw_record_clear(&twin.record);
    ck_book(dw_model_of_deck(book, shop_deck(book, "plain", "TWO", "1"), &found, message));
    ck_assert_int_eq(found, model);
    DwHits hits;
    ck_book(dw_search_words(book, "plain two", 5, &hits, message));
    ck_assert_uint_eq(hits.count, 2);
    dw_hits_clear(&hits);
    DwJournal journal;
    ck_book(dw_journal_read(book, "model", model, 0, &journal, message));
    ck_assert_uint_ge(journal.count, 1);
    ck_book(dw_journal_undo(book, journal.lines[0].id, message));
    dw_journal_clear(&journal);
    ck_book(dw_model_find(book, "plain", "two", &found, message));
    ck_assert_int_eq(found, 0);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("models", decks_of_the_model_tell_their_median_and_range, words_count_by_majority,
         sheets_give_readings_as_left_and_no_dimensions, what_is_shared_comes_back_whole_and_names_nobody,
         a_limit_of_one_s_own_stays, a_file_that_is_wrong_anywhere_leaves_nothing,
         a_model_is_one_and_found_by_its_words)
