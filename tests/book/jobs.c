// SPDX-License-Identifier: MIT
#include "book/job/board.h"
#include "book/shop/cartridge.h"
#include "book/job/intake.h"
#include "book/store/journal.h"
#include "book/store/private.h"
#include "book/entry/search.h"
#include "book/entry/twin.h"
#include "book/job/verdict.h"
#include "shop.h"

START_TEST(a_job_keeps_its_stages)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t id = shop_first_job(book);
    dw_book_set_now(book, "2026-03-03T10:00:00Z");
    ck_book(dw_job_move(book, id, DW_JOB_WAITING_PART, "belt 590 mm", "ordered", message));
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    ck_book(dw_job_find(book, "0001", &job, message));
    ck_assert_int_eq(job.record.id, id);
    ck_assert_int_eq(job.state, DW_JOB_WAITING_PART);
    ck_assert_str_eq(job.waiting_for, "belt 590 mm");
    ck_assert_str_eq(job.state_since, "2026-03-03T10:00:00Z");
    ck_refused(dw_job_find(book, "0002", &job, message), "no job 0002");
    ck_refused(dw_job_find(book, "two", &job, message), "label");
    ck_refused(dw_record_set(book, &job.record, "state", "ready", message), "no \"state\"");
    job.state = DW_JOB_READY; // saving leaves alone what the book keeps
    ck_book(dw_record_set(book, &job.record, "place", "shelf 3", message));
    ck_book(dw_record_save(book, &job.record, message));
    ck_book(dw_record_load(book, &job.record, id, message));
    ck_assert_int_eq(job.state, DW_JOB_WAITING_PART);
    DwRecords stages;
    ck_book(dw_record_list(book, &dw_stage_entity, "job_id", id, &stages, message));
    ck_assert_uint_eq(stages.count, 2);
    const DwStage *last = (const DwStage *)dw_records_at(&stages, 1);
    ck_assert_str_eq(last->at, "2026-03-03T10:00:00Z");
    ck_assert_str_eq(last->note, "ordered");
    dw_records_clear(&stages);
    ck_refused(dw_job_move(book, 99, DW_JOB_READY, "", "", message), "no job number 99");
    dw_record_clear(&job.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static void give(DwBook *book, int64_t job, const char *item, DwAspect aspect, DwVerdict grade)
{
    DwItemVerdict verdict;
    dw_record_init(&verdict.record, &dw_verdict_entity);
    verdict.job_id = job;
    verdict.item = dw_memory_text(item);
    verdict.aspect = (int)aspect;
    verdict.phase = DW_PHASE_AS_RECEIVED;
    verdict.grade = (int)grade;
    ck_book(dw_verdict_give(book, &verdict, message));
    dw_record_clear(&verdict.record);
}

static int state_of(DwBook *book, int64_t id)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    ck_book(dw_record_load(book, &job.record, id, message));
    int state = job.state;
    dw_record_clear(&job.record);
    return state;
}

START_TEST(an_unsafe_deck_does_not_become_ready_unsaid)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    ck_refused(dw_verdict_acknowledge(book, job, "Ada", "told", message), "nothing to acknowledge");
    give(book, job, "mains cord", DW_ASPECT_USE, DW_VERDICT_UNSAFE);
    give(book, job, "speed", DW_ASPECT_PERFORMANCE, DW_VERDICT_GOOD);
    ck_refused(dw_job_move(book, job, DW_JOB_READY, "", "", message), "mains cord");
    ck_refused(dw_job_move(book, job, DW_JOB_HANDED_OVER, "", "", message), "mains cord");
    ck_assert_int_eq(state_of(book, job), DW_JOB_BOOKED);
    // No way around it: the schema itself refuses, whoever writes.
    ck_refused(dw_query_run(book, "UPDATE job SET state = 'ready'", message), "unsafe");
    ck_book(dw_job_move(book, job, DW_JOB_DECLINED, "", "", message)); // it stays here, so it may be declined
    ck_refused(dw_verdict_acknowledge(book, job, "Ada", "", message), "Words");
    ck_refused(dw_verdict_acknowledge(book, job, "", "told", message), "Told to");
    ck_book(
        dw_verdict_acknowledge(book, job, "Ada Sample", "Leaves with the cord cut off; told not to use it.", message));
    ck_book(dw_job_move(book, job, DW_JOB_READY, "", "", message));
    // A new unsafe finding takes it back, and the old acknowledgement does not cover it.
    give(book, job, "mains cord", DW_ASPECT_USE, DW_VERDICT_UNSAFE);
    ck_assert_int_eq(state_of(book, job), DW_JOB_VERIFYING);
    ck_refused(dw_job_move(book, job, DW_JOB_READY, "", "", message), "mains cord");
    give(book, job, "mains cord", DW_ASPECT_USE, DW_VERDICT_GOOD); // made safe
    ck_book(dw_job_move(book, job, DW_JOB_READY, "", "", message));
    ck_refused(dw_query_run(book,
                            "INSERT INTO verdict (revision, job_id, item, aspect, phase, grade, at) "
                            "VALUES (1, 1, 'x', 'use', 'as left', 'unsafe', 'y')",
                            message),
               "verifying");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(overall_verdicts_are_the_worst_and_never_an_average)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwOverall overall[DW_ASPECT_COUNT];
    give(book, job, "stylus", DW_ASPECT_RECORDS, DW_VERDICT_REPLACE);
    give(book, job, "tracking force", DW_ASPECT_RECORDS, DW_VERDICT_GOOD);
    give(book, job, "speed", DW_ASPECT_PERFORMANCE, DW_VERDICT_GOOD);
    give(book, job, "rumble", DW_ASPECT_PERFORMANCE, DW_VERDICT_NOT_TESTED);
    ck_book(dw_verdict_overall(book, job, overall, message));
    ck_assert_int_eq(overall[DW_ASPECT_USE].grade, DW_VERDICT_NOT_TESTED); // nobody looked: no pass
    ck_assert_int_eq(overall[DW_ASPECT_RECORDS].grade, DW_VERDICT_REPLACE);
    ck_assert_str_eq(overall[DW_ASPECT_RECORDS].item, "stylus");
    ck_assert_int_eq(overall[DW_ASPECT_PERFORMANCE].grade, DW_VERDICT_NOT_TESTED);
    ck_assert_uint_eq(overall[DW_ASPECT_PERFORMANCE].tested, 1);
    ck_assert_uint_eq(overall[DW_ASPECT_PERFORMANCE].not_tested, 1);
    dw_verdict_overall_clear(overall);
    give(book, job, "stylus", DW_ASPECT_RECORDS, DW_VERDICT_GOOD); // a new one: the latest stands
    give(book, job, "rumble", DW_ASPECT_PERFORMANCE, DW_VERDICT_ATTENTION);
    ck_book(dw_verdict_overall(book, job, overall, message));
    ck_assert_int_eq(overall[DW_ASPECT_RECORDS].grade, DW_VERDICT_GOOD);
    ck_assert_int_eq(overall[DW_ASPECT_PERFORMANCE].grade, DW_VERDICT_ATTENTION);
    dw_verdict_overall_clear(overall);
    give(book, job, "mains lead", DW_ASPECT_USE, DW_VERDICT_UNSAFE);
    give(book, job, "lamp", DW_ASPECT_USE, DW_VERDICT_REPLACE); // does not outdo what can hurt someone
    ck_book(dw_verdict_overall(book, job, overall, message));
    ck_assert_int_eq(overall[DW_ASPECT_USE].grade, DW_VERDICT_UNSAFE);
    ck_assert_str_eq(overall[DW_ASPECT_USE].item, "mains lead");
    dw_verdict_overall_clear(overall);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(the_board_tells_what_waits_and_since_when)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t first = shop_first_job(book), customer = shop_customer(book, "Ben Model");
    int64_t second = shop_job(book, customer, 0), third = shop_job(book, customer, 0);
    ck_book(dw_job_move(book, first, DW_JOB_WAITING_APPROVAL, "answer to version 1", "", message));
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    ck_book(dw_record_load(book, &job.record, first, message));
    ck_book(dw_record_set(book, &job.record, "promised_on", "2026-03-08", message));
    ck_book(dw_record_save(book, &job.record, message));
    ck_book(dw_record_load(book, &job.record, second, message));
    ck_book(dw_record_set(book, &job.record, "priority", "rush", message));
    ck_book(dw_record_save(book, &job.record, message));
    dw_record_clear(&job.record);
    ck_book(dw_job_move(book, third, DW_JOB_HANDED_OVER, "", "", message));
    dw_book_set_now(book, "2026-03-05T09:00:00Z");
    ck_book(dw_job_tell(book, first, DW_ROUTE_TELEPHONE, "asked for an answer", message));
    dw_book_set_now(book, "2026-03-10T12:00:00Z");
    DwBoard board;
    ck_book(dw_board_read(book, &board, message));
    ck_assert_uint_eq(board.count, 2);
    ck_assert_int_eq(board.rows[0].job_id, second);
    ck_assert(board.rows[0].rush);
    ck_assert_int_eq(board.rows[0].days_untold, 9); // never told: since it was opened
    ck_assert_str_eq(board.rows[0].told_on, "");
    const DwBoardRow *row = &board.rows[1];
    ck_assert_str_eq(row->customer, "Ada Sample");
    ck_assert_str_eq(row->deck, "Plain Two");
    ck_assert_str_eq(row->waiting_for, "answer to version 1");
    ck_assert_int_eq(row->days, 9);
    ck_assert(row->overdue);
    ck_assert_str_eq(row->told_on, "2026-03-05");
    ck_assert_int_eq(row->days_untold, 5);
    dw_board_clear(&board);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static void expect_hits(DwBook *book, const char *words, const char *titles)
{
    DwHits hits;
    DwText found = {0};
    ck_book(dw_search_words(book, words, 10, &hits, message));
    for (size_t i = 0; i < hits.count; i++)
        dw_text_add(&found, "%s%s", i ? "|" : "", hits.hits[i].title);
    ck_assert_str_eq(found.chars ? found.chars : "", titles);
    dw_text_clear(&found);
    dw_hits_clear(&hits);
}

START_TEST(search_finds_names_serials_and_numbers)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t customer = shop_customer(book, "Zoë Müller-Sample");
    int64_t deck = shop_deck(book, "Plain", "Two", "S-1234/B");
    shop_job(book, customer, deck);
    expect_hits(book, "muller", "Zoë Müller-Sample");
    expect_hits(book, "MÜL zo", "Zoë Müller-Sample");
    expect_hits(book, "S-12", "Plain Two");
    expect_hits(book, "1234", "Plain Two");
    expect_hits(book, "0001", "0001");
    expect_hits(book, "1", "0001|Plain Two"); // jobs first
    expect_hits(book, "pla two", "Plain Two");
    expect_hits(book, "plain three", "");
    expect_hits(book, "", "");
    expect_hits(book, "\" OR * NEAR( ^ -", ""); // no language of its own
    DwDeck changed;
    dw_record_init(&changed.record, &dw_deck_entity);
    ck_book(dw_record_load(book, &changed.record, deck, message));
    ck_book(dw_record_set(book, &changed.record, "serial", "T-9", message));
    ck_book(dw_record_save(book, &changed.record, message));
    dw_record_clear(&changed.record);
    expect_hits(book, "1234", "");
    expect_hits(book, "t-9", "Plain Two");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(search_finds_a_telephone_number_and_swapped_letters)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t lena = shop_customer(book, "Lena Grove");
    shop_customer(book, "Otis Thorn");
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    ck_book(dw_record_load(book, &customer.record, lena, message));
    ck_book(dw_record_set(book, &customer.record, "phone", "+00 (555) 012-1", message));
    ck_book(dw_record_save(book, &customer.record, message));
    dw_record_clear(&customer.record);
    static const char *const numbers[] = {"005550121", "5550121", "+00 555 0121", "555-0121"};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        expect_hits(book, numbers[i], "Lena Grove");
    expect_hits(book, "5550122", "");
    expect_hits(book, "Gorve", "Lena Grove");
    expect_hits(book, "thron", "Otis Thorn");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// Of a large book most words are leapt over; the one meant is found wherever it stands among them, and whichever letter
// is wrong.
START_TEST(search_finds_what_is_misspelt_among_thousands)
{
    static const char *const meant[][2] = {{"Hobbard Ash", "nobbard"},     {"Quentin Ash", "qentin"},
                                           {"Zwirner Ash", "zwriner"},     {"Aberforth Ash", "oberfort"},
                                           {"Wordless Ash", "wrodles"},    {"Øresund Ash", "øresumd"},
                                           {"Worm5000x Ash", "wrom5000x"}, {"Kx7vortex Ash", "kxvvortex"}};
    enum { MEANT = sizeof meant / sizeof *meant };
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    ck_book(dw_book_begin(book, message));
    ck_book(dw_query_run(book,
                         "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 2999) INSERT INTO "
                         "customer (revision, name, phone, route) SELECT 1, 'Word' || i || ' Gardener' || "
                         "char(97 + i % 26, 97 + i / 26 % 26, 97 + i / 676), '0' || (700000 + 7 * i), 'email' FROM n",
                         message));
    ck_book(dw_book_end(book, DW_OK, message));
    for (int i = 0; i < 200; i++) { // words with a figure are read as others are
        char name[] = "Kx7aalamp Ash";
        name[3] = (char)('a' + i / 20);
        name[4] = (char)('a' + i % 20);
        shop_customer(book, name);
    }
    shop_customer(book, "7elmet Ash");
    for (size_t i = 0; i < MEANT; i++)
        shop_customer(book, meant[i][0]);
    for (size_t i = 0; i < MEANT; i++)
        expect_hits(book, meant[i][1], meant[i][0]);
    expect_hits(book, "ward1234", "Word1234 Gardenermvb"); // 1234 = 1 * 676 + 21 * 26 + 12
    expect_hits(book, "gaddenermvb", "Word1234 Gardenermvb");
    expect_hits(book, "xylophonist", "");
    expect_hits(book, "helmet", ""); // a number is no word misspelt
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static size_t count_twins(DwBook *book, const DwEntity *entity, int64_t id)
{
    DwRecord *record = dw_record_new(entity);
    DwRecords twins;
    ck_book(dw_record_load(book, record, id, message));
    ck_book(dw_twin_find(book, record, &twins, message));
    size_t count = twins.count;
    dw_records_clear(&twins);
    dw_record_free(record);
    return count;
}

static void set_of(DwBook *book, const DwEntity *entity, int64_t id, const char *key, const char *value)
{
    DwRecord *record = dw_record_new(entity);
    ck_book(dw_record_load(book, record, id, message));
    ck_book(dw_record_set(book, record, key, value, message));
    ck_book(dw_record_save(book, record, message));
    dw_record_free(record);
}

START_TEST(who_may_stand_twice_is_found)
{
    const DwEntity *customer = &dw_customer_entity, *deck = &dw_deck_entity;
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t one = shop_customer(book, "Lena Grove"), other = shop_customer(book, "Otis Thorn");
    ck_assert_uint_eq(count_twins(book, customer, one), 0); // neither has an address or a number: that is no likeness
    set_of(book, customer, other, "name", " LENA grove");
    ck_assert_uint_eq(count_twins(book, customer, one), 1);
    set_of(book, customer, other, "name", "Lena Groves");
    ck_assert_uint_eq(count_twins(book, customer, one), 0);
    set_of(book, customer, one, "email", "lena@example.org");
    set_of(book, customer, other, "email", "Lena@Example.org ");
    ck_assert_uint_eq(count_twins(book, customer, one), 1);
    set_of(book, customer, other, "email", "");
    ck_assert_uint_eq(count_twins(book, customer, one), 0);
    set_of(book, customer, one, "phone", "(0555) 012-1");
    set_of(book, customer, other, "phone", "0555/01.21");
    ck_assert_uint_eq(count_twins(book, customer, other), 1);
    set_of(book, customer, one, "phone", "0 12");
    set_of(book, customer, other, "phone", "012");
    ck_assert_uint_eq(count_twins(book, customer, one), 0); // so short a number is an extension of anybody's

    int64_t job = shop_first_job(book);
    DwJob first;
    dw_record_init(&first.record, &dw_job_entity);
    ck_book(dw_record_load(book, &first.record, job, message));
    int64_t same = shop_deck(book, "plain", "Two again", "s-1234 ");
    ck_assert_uint_eq(count_twins(book, deck, first.deck_id), 1);
    set_of(book, deck, same, "make", "Other");
    ck_assert_uint_eq(count_twins(book, deck, first.deck_id), 0);
    dw_record_clear(&first.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(an_intake_has_its_list_and_its_map)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwIntake intake;
    dw_record_init(&intake.record, &dw_intake_entity);
    ck_refused(dw_intake_of_job(book, job, &intake, message), "no intake yet");
    intake.job_id = job;
    intake.at = dw_memory_text("2026-03-01T10:00:00Z");
    ck_book(dw_record_set(book, &intake.record, "words", "It growls, then it's fine; \"like the sea\".", message));
    ck_book(dw_record_set(book, &intake.record, "ceiling", "120", message));
    ck_book(dw_record_save(book, &intake.record, message));
    DwAccessory accessory;
    dw_record_init(&accessory.record, &dw_accessory_entity);
    accessory.intake_id = intake.record.id;
    accessory.name = dw_memory_text("counterweight");
    accessory.received = true;
    ck_book(dw_record_save(book, &accessory.record, message));
    dw_record_clear(&accessory.record);
    dw_record_clear(&intake.record);
    ck_book(dw_intake_of_job(book, job, &intake, message));
    ck_assert_str_eq(intake.words, "It growls, then it's fine; \"like the sea\".");
    ck_assert(intake.ceiling == 12000);
    ck_assert(intake.contact_before == DW_AMOUNT_NONE);
    DwIntake second = intake;
    second.record.id = 0;
    ck_refused(dw_record_save(book, &second.record, message), "the same Job");
    DwRecords list;
    ck_book(dw_record_list(book, &dw_accessory_entity, "intake_id", intake.record.id, &list, message));
    ck_assert_uint_eq(list.count, 1);
    dw_records_clear(&list);
    dw_record_clear(&intake.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(evidence_cannot_be_changed)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    give(book, job, "speed", DW_ASPECT_PERFORMANCE, DW_VERDICT_GOOD);
    ck_book(dw_job_tell(book, job, DW_ROUTE_TELEPHONE, "said", message));
    ck_book(dw_query_run(book, "UPDATE customer SET phone = '1'", message));
    static const char *const attempts[] = {
        "DELETE FROM journal",
        "UPDATE journal SET new_value = 'other'",
        "UPDATE journal SET at = '2000-01-01T00:00:00Z'",
        "UPDATE journal SET who = 'nobody'",
        "UPDATE journal SET new_value = '(erased)'", // no line here is personal
        "UPDATE journal SET personal = 1",
        "DELETE FROM stage",
        "UPDATE stage SET at = '2000-01-01T00:00:00Z'",
        "UPDATE contact SET words = 'never said'",
        "UPDATE contact SET at = '2000-01-01T00:00:00Z'",
        "DELETE FROM contact",
        "UPDATE verdict SET grade = 'replace'",
        "DELETE FROM verdict",
    };
    for (size_t i = 0; i < sizeof attempts / sizeof *attempts; i++)
        ck_assert_msg(dw_query_run(book, attempts[i], NULL) == DW_BAD_INPUT, "%s", attempts[i]);
    ck_book(dw_query_run(book, "UPDATE contact SET words = '(erased)'", message)); // a person's data may go
    DwJournal before;
    ck_book(dw_journal_read(book, NULL, 0, 1, &before, message));
    ck_assert_uint_eq(before.count, 1);
    dw_journal_clear(&before);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(stylus_hours_add_up)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    DwCartridge cartridge;
    DwStylus stylus;
    dw_record_init(&cartridge.record, &dw_cartridge_entity);
    dw_record_init(&stylus.record, &dw_stylus_entity);
    ck_book(dw_record_set(book, &cartridge.record, "force_low_mn", "1.5 g", message));
    ck_assert_double_eq_tol(cartridge.force_low_mn, 14.709975, 1e-6); // 9.80665 mN a gram of force: exact by definition
    ck_book(dw_record_save(book, &cartridge.record, message));
    stylus.cartridge_id = cartridge.record.id;
    ck_book(dw_record_save(book, &stylus.record, message));
    ck_book(dw_stylus_play(book, stylus.record.id, 0.75, message));
    ck_book(dw_stylus_play(book, stylus.record.id, 1.5, message));
    ck_refused(dw_stylus_play(book, stylus.record.id, -1, message), "more than 0");
    ck_book(dw_record_load(book, &stylus.record, stylus.record.id, message));
    ck_assert_double_eq_tol(stylus.hours, 2.25, 1e-12);
    dw_record_clear(&stylus.record);
    dw_record_clear(&cartridge.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("jobs", a_job_keeps_its_stages, an_unsafe_deck_does_not_become_ready_unsaid,
         overall_verdicts_are_the_worst_and_never_an_average, the_board_tells_what_waits_and_since_when,
         search_finds_names_serials_and_numbers, search_finds_a_telephone_number_and_swapped_letters,
         search_finds_what_is_misspelt_among_thousands, who_may_stand_twice_is_found,
         an_intake_has_its_list_and_its_map, evidence_cannot_be_changed, stylus_hours_add_up)
