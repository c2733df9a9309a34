// SPDX-License-Identifier: MIT
// What a person enters, and what the journal can undo.
#include "book/entry/entry.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/money/estimate.h"
#include "book/shop/settings.h"
#include "book/shop/stock.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "shop.h"

#include <math.h>

// The newest line of the journal about row ROW of ENTITY; FIELD may be NULL for any.
static DwJournalLine newest(DwBook *book, const char *entity, int64_t row, const char *field, DwJournal *journal)
{
    ck_book(dw_journal_read(book, entity, row, 0, journal, message));
    for (size_t i = journal->count; i > 0; i--)
        if (!field || strcmp(journal->lines[i - 1].field, field) == 0)
            return journal->lines[i - 1];
    ck_abort_msg("the journal has no such line of %s %lld", entity, (long long)row);
}

static int64_t line_of(DwBook *book, const char *entity, int64_t row, const char *field)
{
    DwJournal journal;
    int64_t id = newest(book, entity, row, field, &journal).id;
    dw_journal_clear(&journal);
    return id;
}

static void set(DwBook *book, DwRecord *record, const char *key, const char *text)
{
    ck_book(dw_record_set(book, record, key, text, message));
}

static int64_t add_finding(DwBook *book, int64_t job, const char *symptom)
{
    DwFinding finding;
    dw_record_init(&finding.record, &dw_finding_entity);
    finding.job_id = job;
    finding.symptom = dw_memory_text(symptom);
    ck_book(dw_entry_add(book, &finding.record, message));
    int64_t id = finding.record.id;
    dw_record_clear(&finding.record);
    return id;
}

// Changes one field and gives the lines that the journal got.
static DwJournalSpan change(DwBook *book, const DwEntity *entity, int64_t id, const char *key, const char *text)
{
    DwRecord *record = dw_memory_new(1, entity->size);
    DwJournalSpan span = {0};
    dw_record_init(record, entity);
    ck_book(dw_record_load(book, record, id, message));
    set(book, record, key, text);
    ck_book(dw_entry_change(book, record, &span, message));
    dw_record_clear(record);
    free(record);
    return span;
}

static void ck_field(DwBook *book, const DwEntity *entity, int64_t id, const char *key, const char *expected)
{
    DwRecord *record = dw_memory_new(1, entity->size);
    dw_record_init(record, entity);
    ck_book(dw_record_load(book, record, id, message));
    char *text = dw_record_text(book, record, dw_field_find(entity, key));
    ck_assert_str_eq(text, expected);
    free(text);
    dw_record_clear(record);
    free(record);
}

START_TEST(a_changed_field_is_undone_and_the_undoing_too)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), finding = add_finding(book, job, "wow");
    DwJournalSpan span = change(book, &dw_finding_entity, finding, "cause", "belt");
    ck_assert_int_eq(span.first, span.last);
    ck_book(dw_journal_undo_span(book, span, message));
    ck_field(book, &dw_finding_entity, finding, "cause", "");
    int64_t undoing = line_of(book, "finding", finding, "cause");
    ck_assert_int_gt(undoing, span.last); // the journal keeps both
    ck_book(dw_journal_undo(book, undoing, message));
    ck_field(book, &dw_finding_entity, finding, "cause", "belt");
    ck_refused(dw_journal_undo(book, 9999, message), "no line 9999");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_value_that_changed_again_is_not_undone)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), finding = add_finding(book, job, "wow");
    DwJournalSpan first = change(book, &dw_finding_entity, finding, "cause", "belt");
    DwJournalSpan second = change(book, &dw_finding_entity, finding, "cause", "idler");
    ck_refused(dw_journal_undo_span(book, first, message), "changed again since: it is now \"idler\"");
    ck_field(book, &dw_finding_entity, finding, "cause", "idler");
    ck_book(dw_journal_undo_span(book, second, message));
    ck_book(dw_journal_undo_span(book, first, message)); // now it can
    ck_field(book, &dw_finding_entity, finding, "cause", "");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(several_fields_are_undone_together_or_not_at_all)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), id = add_finding(book, job, "wow");
    DwFinding finding;
    DwJournalSpan span;
    dw_record_init(&finding.record, &dw_finding_entity);
    ck_book(dw_record_load(book, &finding.record, id, message));
    set(book, &finding.record, "cause", "belt");
    set(book, &finding.record, "test", "another belt");
    ck_book(dw_entry_change(book, &finding.record, &span, message));
    ck_assert_int_eq(span.last, span.first + 1);
    change(book, &dw_finding_entity, id, "cause", "idler");
    ck_refused(dw_journal_undo_span(book, span, message), "Cause was changed again");
    ck_field(book, &dw_finding_entity, id, "test", "another belt"); // the other one stayed too
    ck_refused(dw_journal_undo_span(book, (DwJournalSpan){1, 5000}, message), "not one change");
    dw_record_clear(&finding.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(what_was_added_goes_and_what_went_comes_back)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), id = add_finding(book, job, "hum, <left>");
    change(book, &dw_finding_entity, id, "confirmed", "confirmed");
    DwFinding finding;
    dw_record_init(&finding.record, &dw_finding_entity);
    finding.record.id = id;
    ck_book(dw_entry_remove(book, &finding.record, message));
    ck_refused(dw_record_load(book, &finding.record, id, message), "There is no finding");
    int64_t value = line_of(book, "finding", id, "symptom");
    ck_refused(dw_journal_undo(book, value, message), "Undo the removal");
    int64_t removal = line_of(book, "finding", id, "");
    ck_book(dw_journal_undo(book, removal, message));
    ck_field(book, &dw_finding_entity, id + 1, "symptom", "hum, <left>");
    ck_field(book, &dw_finding_entity, id + 1, "confirmed", "confirmed");
    ck_refused(dw_journal_undo(book, removal, message), "was put back since");
    ck_book(dw_journal_undo(book, line_of(book, "finding", id + 1, ""), message)); // "added"
    ck_refused(dw_record_load(book, &finding.record, id + 1, message), "There is no finding");
    // An id of which the journal speaks is not given to another record.
    ck_assert_int_eq(add_finding(book, job, "hiss"), id + 2);
    dw_record_clear(&finding.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(what_cannot_be_undone_says_why)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), finding = add_finding(book, job, "wow");
    ck_book(dw_job_move(book, job, DW_JOB_RECEIVED, "", "", message));
    ck_refused(dw_journal_undo(book, line_of(book, "job", job, "state"), message), "State is not typed");
    ck_refused(dw_journal_undo(book, line_of(book, "job", job, ""), message), "A job stays in the book");
    int64_t added = line_of(book, "finding", finding, "");
    change(book, &dw_finding_entity, finding, "cause", "belt");
    ck_refused(dw_journal_undo(book, added, message), "changed since it was added");
    DwItemVerdict verdict;
    dw_record_init(&verdict.record, &dw_verdict_entity);
    verdict.job_id = job;
    set(book, &verdict.record, "item", "mains lead");
    set(book, &verdict.record, "grade", "good");
    ck_book(dw_entry_add(book, &verdict.record, message));
    ck_refused(dw_journal_undo(book, line_of(book, "verdict", verdict.record.id, ""), message), "stays in the book");
    int64_t gone = line_of(book, "finding", finding, "cause");
    DwFinding record;
    dw_record_init(&record.record, &dw_finding_entity);
    record.record.id = finding;
    ck_book(dw_entry_remove(book, &record.record, message));
    DwJournal journal;
    ck_book(dw_journal_read(book, "finding", finding, 0, &journal, message));
    for (size_t i = 0; i < journal.count; i++)
        if (journal.lines[i].id < gone && *journal.lines[i].field)
            ck_refused(dw_journal_check_undo(book, &journal.lines[i], message), "was removed since");
    dw_journal_clear(&journal);
    dw_record_clear(&verdict.record);
    dw_record_clear(&record.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_person_does_not_come_back)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwNotice notice;
    dw_record_init(&notice.record, &dw_notice_entity);
    notice.job_id = job;
    set(book, &notice.record, "sent_on", "2026-02-01");
    set(book, &notice.record, "words", "Dear A. Sample");
    ck_book(dw_entry_add(book, &notice.record, message));
    int64_t id = notice.record.id;
    ck_book(dw_entry_remove(book, &notice.record, message));
    ck_refused(dw_journal_undo(book, line_of(book, "notice", id, ""), message), "Enter it anew");
    dw_record_clear(&notice.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_setting_is_undone)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    ck_book(dw_settings_set(book, "warranty.days", "60", message));
    ck_book(dw_settings_set(book, "shop.name", "The Bench", message));
    DwJournal journal;
    ck_book(dw_journal_read(book, "setting", 0, 0, &journal, message));
    ck_book(dw_journal_undo(book, journal.lines[0].id, message));
    ck_assert_int_eq(dw_settings_integer(book, "warranty.days"), 90);
    dw_journal_clear(&journal);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static int64_t add_belt(DwBook *book)
{
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    set(book, &stock.record, "number", "B-590");
    set(book, &stock.record, "name", "Belt 590");
    set(book, &stock.record, "price", "12.50");
    ck_book(dw_entry_add(book, &stock.record, message));
    int64_t id = stock.record.id;
    dw_record_clear(&stock.record);
    DwStockMove move;
    dw_record_init(&move.record, &dw_stock_move_entity);
    move.stock_id = id;
    move.change = 3;
    ck_book(dw_entry_add(book, &move.record, message));
    dw_record_clear(&move.record);
    return id;
}

START_TEST(a_part_goes_back_into_stock)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), belt = add_belt(book);
    DwFittedPart part;
    dw_record_init(&part.record, &dw_part_entity);
    part.job_id = job;
    part.stock_id = belt;
    ck_book(dw_entry_add(book, &part.record, message));
    ck_field(book, &dw_stock_entity, belt, "on_hand", "2");
    int64_t fitted = part.record.id;
    ck_book(dw_journal_undo(book, line_of(book, "part", fitted, ""), message));
    ck_field(book, &dw_stock_entity, belt, "on_hand", "3");
    ck_book(dw_journal_undo(book, line_of(book, "part", fitted, ""), message)); // fitted once more
    ck_field(book, &dw_stock_entity, belt, "on_hand", "2");
    ck_field(book, &dw_part_entity, fitted + 1, "name", "Belt 590");
    ck_assert(!dw_entry_is_changed(&dw_part_entity, dw_field_find(&dw_part_entity, "quantity")));
    dw_record_clear(&part.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(an_amount_follows_its_price)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwEstimate estimate;
    DwBillLine line;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    dw_record_init(&line.record, &dw_estimate_line_entity);
    estimate.job_id = job;
    ck_book(dw_entry_add(book, &estimate.record, message));
    line.bill_id = estimate.record.id;
    set(book, &line.record, "name", "service");
    set(book, &line.record, "minutes", "60");
    set(book, &line.record, "price", "40");
    ck_book(dw_entry_add(book, &line.record, message));
    ck_field(book, &dw_estimate_line_entity, line.record.id, "amount", "40.00");
    change(book, &dw_estimate_line_entity, line.record.id, "minutes", "90");
    ck_field(book, &dw_estimate_line_entity, line.record.id, "amount", "60.00");
    change(book, &dw_estimate_line_entity, line.record.id, "amount", "55");
    ck_field(book, &dw_estimate_line_entity, line.record.id, "amount", "55.00");
    int64_t of_job = 0;
    ck_book(dw_entry_job(book, &line.record, &of_job, message));
    ck_assert_int_eq(of_job, job);
    ck_book(dw_entry_remove(book, &estimate.record, message)); // a draft goes with its lines
    ck_refused(dw_record_load(book, &line.record, 1, message), "There is no line");
    dw_record_clear(&estimate.record);
    dw_record_clear(&line.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_job_has_its_journal)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), other = shop_job(book, 1, 1);
    int64_t finding = add_finding(book, job, "wow"), elsewhere = add_finding(book, other, "hum");
    DwIntake intake;
    DwAccessory mat;
    dw_record_init(&intake.record, &dw_intake_entity);
    dw_record_init(&mat.record, &dw_accessory_entity);
    intake.job_id = job;
    ck_book(dw_entry_add(book, &intake.record, message));
    mat.intake_id = intake.record.id;
    set(book, &mat.record, "name", "mat");
    ck_book(dw_entry_add(book, &mat.record, message));
    int64_t mat_id = mat.record.id;
    ck_book(dw_entry_remove(book, &mat.record, message));
    DwJournal journal;
    ck_book(dw_journal_of_job(book, job, 0, &journal, message));
    size_t mats = 0, findings = 0;
    for (size_t i = 0; i < journal.count; i++) {
        mats += strcmp(journal.lines[i].entity, "accessory") == 0 && journal.lines[i].row == mat_id;
        findings += strcmp(journal.lines[i].entity, "finding") == 0 && journal.lines[i].row == finding;
        ck_assert(strcmp(journal.lines[i].entity, "finding") != 0 || journal.lines[i].row != elsewhere);
    }
    ck_assert_uint_eq(findings, 1);
    ck_assert_uint_ge(mats, 4); // added, removed, and what it was
    dw_journal_clear(&journal);
    dw_record_clear(&intake.record);
    dw_record_clear(&mat.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(titles_name_a_record)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t id = shop_first_job(book);
    DwJob job;
    DwDeck deck;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&deck.record, &dw_deck_entity);
    ck_book(dw_record_load(book, &job.record, id, message));
    char *title = dw_entry_title(book, &job.record);
    ck_assert_str_eq(title, "0001");
    free(title);
    title = dw_entry_title(book, &deck.record);
    ck_assert_str_eq(title, "deck 0");
    free(title);
    ck_book(dw_record_load(book, &deck.record, job.deck_id, message));
    title = dw_entry_title(book, &deck.record);
    ck_assert_str_eq(title, "Plain Two S-1234");
    free(title);
    dw_record_clear(&job.record);
    dw_record_clear(&deck.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_clock_keeps_the_moment)
{
    char *before = dw_memory_text(getenv("TZ"));
    setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
    char clock[DW_CLOCK_SIZE], moment[DW_MOMENT_SIZE];
    dw_moment_clock("2026-07-01T10:20:30Z", clock); // two hours ahead in summer, one in winter
    ck_assert_str_eq(clock, "2026-07-01T12:20");
    dw_moment_of_clock("2026-07-01T12:20", moment);
    ck_assert_str_eq(moment, "2026-07-01T10:20:00Z");
    dw_moment_of_clock("2026-01-31T00:30", moment);
    ck_assert_str_eq(moment, "2026-01-30T23:30:00Z");
    dw_moment_of_clock("2026-02-30T00:30", moment);
    ck_assert_str_eq(moment, "");
    dw_moment_clock("noon", clock);
    ck_assert_str_eq(clock, "");
    before ? setenv("TZ", before, 1) : unsetenv("TZ");
    free(before);
}
END_TEST

// Every setting whose value is later opened or written to.
static const char *const paths[] = {"shop.logo", "paper.words", "backup.folder"};

static bool is_path(const char *key)
{
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++)
        if (strcmp(paths[i], key) == 0)
            return true;
    return false;
}

// The newest line about the setting KEY.
static int64_t line_of_setting(DwBook *book, const char *key)
{
    return line_of(book, "setting", 0, key);
}

// A file in FOLDER that begins as a PNG does, which any setting of a path takes.
static char *make_picture(const char *folder, const char *name)
{
    char *path = dw_text_format("%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    fputs("\x89PNG\r\n\x1a\n", file);
    fclose(file);
    return path;
}

START_TEST(no_path_is_set_from_away)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    char *one = make_picture(folder, "one.png"), *two = make_picture(folder, "two.png");
    free(make_picture(folder, "attachments/one.png"));
    for (size_t i = 0; dw_settings_at(i); i++) {
        const DwField *field = &dw_settings_at(i)->field;
        ck_assert_msg((field->kind == DW_FIELD_PATH) == is_path(field->key), "%s", field->key);
        if (field->kind != DW_FIELD_PATH)
            continue;
        ck_book(dw_settings_set(book, field->key, one, message));
        ck_book(dw_settings_set(book, field->key, two, message));
        dw_book_set_away(book, true);
        const char *const others[] = {"/dev/zero",      "", two, "x", "attachments/../book.sqlite", "attachments/",
                                      "attachments/a/b"};
        for (size_t k = 0; k < sizeof others / sizeof *others; k++)
            ck_refused(dw_settings_set(book, field->key, others[k], message), "set there alone");
        ck_refused(dw_journal_undo(book, line_of_setting(book, field->key), message), "set there alone");
        // What it is now is not told either.
        ck_refused(dw_journal_undo(book, line_of_setting(book, field->key) - 1, message), "set there alone");
        char *now = dw_settings_text(book, field->key);
        ck_assert_str_eq(now, two);
        free(now);
        dw_book_set_away(book, false);
        ck_book(dw_journal_undo(book, line_of_setting(book, field->key), message));
    }
    dw_book_set_away(book, true);
    ck_book(dw_settings_set(book, "shop.logo", "attachments/one.png", message));
    ck_refused(dw_settings_set(book, "paper.words", "attachments/one.png", message), "set there alone");
    ck_book(dw_settings_set(book, "shop.name", "Any name", message));
    dw_book_close(book);
    free(one);
    free(two);
    shop_remove(folder);
}
END_TEST

DW_SUITE("entry", a_changed_field_is_undone_and_the_undoing_too, a_value_that_changed_again_is_not_undone,
         several_fields_are_undone_together_or_not_at_all, what_was_added_goes_and_what_went_comes_back,
         what_cannot_be_undone_says_why, a_person_does_not_come_back, a_setting_is_undone, a_part_goes_back_into_stock,
         an_amount_follows_its_price, a_job_has_its_journal, titles_name_a_record, a_clock_keeps_the_moment,
         no_path_is_set_from_away)
