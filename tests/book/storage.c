// SPDX-License-Identifier: MIT
#include "book/store/attachment.h"
#include "book/care/backup.h"
#include "book/care/check.h"
#include "book/store/private.h"
#include "book/store/schema.h"
#include "book/entry/search.h"
#include "shop.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/wait.h>

static void expect_sound(DwBook *book)
{
    DwCheckReport report;
    ck_book(dw_check_book(book, true, &report, message));
    ck_assert_msg(report.problems.count == 0, "%s", report.problems.count ? report.problems.lines[0] : "");
    dw_check_report_clear(&report);
}

static int64_t number(DwBook *book, const char *sql)
{
    int64_t found = -1;
    ck_book(dw_query_number(book, sql, 0, &found, message));
    return found;
}

static int64_t attach(DwBook *book, int64_t job, const char *content)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.job_id = job;
    ck_book(dw_attachment_add_bytes(book, &attachment, "a/b/photo.jpg", content, strlen(content), message));
    int64_t id = attachment.record.id;
    dw_record_clear(&attachment.record);
    return id;
}

START_TEST(nobody_else_can_read_the_book)
{
    umask(0); // the least careful of shells
    char *parent = shop_folder(), *folder = dw_text_format("%s/shop", parent);
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    int64_t id = attach(book, job, "picture");
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    ck_book(dw_record_load(book, &attachment.record, id, message));
    ck_assert_str_eq(attachment.original_name, "photo.jpg");
    // SHA-256 of "picture" by coreutils' sha256sum.
    ck_assert_str_eq(attachment.digest, "2cea274d0bedc39ec4ab6ba9e59ec889e3ed6fb56a1cf088a64d9b383378dc97");
    char *path = dw_attachment_path(book, &attachment);
    char *const paths[] = {dw_text_format("%s", folder), dw_text_format("%s/book.sqlite", folder),
                           dw_text_format("%s/book.sqlite-wal", folder), dw_text_format("%s/attachments", folder),
                           path};
    static const mode_t modes[] = {0700, 0600, 0600, 0700, 0600};
    for (size_t i = 0; i < 5; i++) {
        struct stat status;
        ck_assert_int_eq(stat(paths[i], &status), 0);
        ck_assert_msg((status.st_mode & 0777) == modes[i], "%s: %o", paths[i], status.st_mode & 0777u);
        free(paths[i]);
    }
    expect_sound(book);
    ck_book(dw_attachment_remove(book, id, message));
    expect_sound(book);
    ck_assert_int_eq(number(book, "SELECT count(*) FROM attachment"), 0);
    dw_record_clear(&attachment.record);
    dw_book_close(book);
    free(folder);
    shop_remove(parent);
}
END_TEST

START_TEST(what_cannot_be_attached_leaves_nothing)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    ck_refused(dw_attachment_add(book, &attachment, "/nowhere/photo.jpg", message), "/nowhere/photo.jpg");
    ck_refused(dw_attachment_add(book, &attachment, folder, message), folder);
    attachment.job_id = 99; // no such job: the file that was written already goes again
    ck_refused(dw_attachment_add_bytes(book, &attachment, "x.png", "x", 1, message), "not in the book");
    dw_record_clear(&attachment.record);
    DwCheckReport report;
    ck_book(dw_check_book(book, true, &report, message));
    ck_assert_uint_eq(report.swept + report.set_aside + report.problems.count + report.attachments, 0);
    dw_check_report_clear(&report);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static void scribble(const char *folder, const char *name, const char *content)
{
    char *path = dw_text_format("%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    fputs(content, file);
    fclose(file);
    free(path);
}

START_TEST(the_check_finds_what_is_wrong)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    int64_t changed = attach(book, job, "picture"), missing = attach(book, job, "another");
    scribble(folder, "attachments/0123.jpg.part", "half");
    scribble(folder, "attachments/0123.jpg", "without a row");
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    ck_book(dw_record_load(book, &attachment.record, changed, message));
    char *name = dw_text_format("attachments/%s", attachment.file);
    scribble(folder, name, "pictura"); // the same size
    free(name);
    ck_book(dw_record_load(book, &attachment.record, missing, message));
    char *path = dw_attachment_path(book, &attachment);
    ck_assert_int_eq(unlink(path), 0);
    free(path);
    ck_book(dw_book_begin(book, message));
    ck_book(dw_query_run(book, "UPDATE customer SET route = 'pigeon'", message));
    ck_book(dw_query_run(book, "UPDATE job SET state = 'verifying'", message));
    ck_book(dw_book_end(book, DW_OK, message));
    DwCheckReport report;
    ck_book(dw_check_book(book, true, &report, message));
    ck_assert_uint_eq(report.swept, 1);
    ck_assert_uint_eq(report.set_aside, 1);
    ck_assert_uint_eq(report.problems.count, 4);
    ck_assert_ptr_nonnull(strstr(report.problems.lines[0], "Job 1"));
    ck_assert_ptr_nonnull(strstr(report.problems.lines[1], "pigeon"));
    ck_assert_ptr_nonnull(strstr(report.problems.lines[2], "was changed"));
    ck_assert_ptr_nonnull(strstr(report.problems.lines[3], "missing"));
    dw_check_report_clear(&report);
    char *orphan = dw_text_format("%s/orphans/0123.jpg", folder);
    ck_assert_int_eq(access(orphan, F_OK), 0); // set aside, not deleted
    free(orphan);
    dw_record_clear(&attachment.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// What the book wrote is sealed; what got into the database by another way shows, and stays within reach.
START_TEST(an_entry_that_was_changed_from_without_is_named)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    shop_first_job(book);
    DwProblems problems = {0};
    ck_book(dw_check_seals(book, &problems, message));
    ck_assert_uint_eq(problems.count, 0);
    ck_book(dw_query_run(book, "UPDATE customer SET phone = '1234'", message));
    ck_book(dw_query_run(book, "UPDATE seal SET digest = digest + 1 WHERE name = 'job'", message));
    ck_book(dw_query_run(book, "INSERT INTO seal VALUES ('deck', 99, 1)", message));
    ck_book(dw_check_seals(book, &problems, message));
    ck_assert_uint_eq(problems.count, 3);
    ck_assert_ptr_nonnull(strstr(problems.lines[0], "Entry 1 of customer"));
    ck_assert_ptr_nonnull(strstr(problems.lines[1], "Entry 99 of deck"));
    ck_assert_ptr_nonnull(strstr(problems.lines[2], "Entry 1 of job"));
    dw_problems_clear(&problems);
    ck_book(dw_check_accept(book, message));
    ck_book(dw_check_seals(book, &problems, message));
    ck_assert_uint_eq(problems.count, 0);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(the_quick_check_sees_a_size_and_a_missing_invoice)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), cut = attach(book, job, "picture");
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    ck_book(dw_record_load(book, &attachment.record, cut, message));
    char *name = dw_text_format("attachments/%s", attachment.file);
    scribble(folder, name, "pict");
    free(name);
    dw_record_clear(&attachment.record);
    ck_book(dw_book_begin(book, message));
    ck_book(dw_query_run(book,
                         "INSERT INTO invoice (revision, job_id, number, state) VALUES (1, 1, 1, 'issued'), "
                         "(1, 1, 3, 'issued')",
                         message));
    ck_book(dw_book_end(book, DW_OK, message));
    DwCheckReport report;
    ck_book(dw_check_book(book, false, &report, message));
    ck_assert_uint_eq(report.problems.count, 2);
    ck_assert_ptr_nonnull(strstr(report.problems.lines[0], "Invoice 2 is missing"));
    ck_assert_ptr_nonnull(strstr(report.problems.lines[1], "has another size"));
    dw_check_report_clear(&report);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(several_changes_are_kept_together_or_not_at_all)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    ck_book(dw_book_begin(book, message));
    shop_customer(book, "One");
    ck_book(dw_book_begin(book, message));
    shop_customer(book, "Two");
    ck_assert_int_eq(dw_book_end(book, DW_BAD_INPUT, NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_book_end(book, DW_OK, NULL), DW_FAILED); // the inner failure was not handed on
    ck_assert_int_eq(number(book, "SELECT count(*) FROM customer"), 0);
    ck_assert_int_eq(number(book, "SELECT count(*) FROM journal"), 0);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

enum { WRITERS = 3, JOBS_EACH = 15 };

static void write_jobs(const char *folder)
{
    DwBook *book = NULL;
    if (dw_book_open(folder, &book, NULL) != DW_OK)
        _exit(2);
    for (int i = 0; i < JOBS_EACH; i++) {
        DwJob job;
        dw_record_init(&job.record, &dw_job_entity);
        job.customer_id = 1;
        if (dw_job_open(book, &job, NULL) != DW_OK)
            _exit(3);
        if (dw_job_move(book, job.record.id, DW_JOB_RECEIVED, "", "", NULL) != DW_OK)
            _exit(4);
        dw_record_clear(&job.record);
    }
    dw_book_close(book);
    _exit(0);
}

START_TEST(several_programs_write_at_once)
{
    char *folder = shop_folder();
    // All of them make the same new book at once first.
    pid_t makers[WRITERS], writers[WRITERS];
    for (int i = 0; i < WRITERS; i++) {
        makers[i] = fork();
        if (makers[i] == 0) {
            DwBook *made = NULL;
            _exit(dw_book_open(folder, &made, NULL) == DW_OK ? 0 : 1);
        }
    }
    int result;
    for (int i = 0; i < WRITERS; i++) {
        waitpid(makers[i], &result, 0);
        ck_assert_int_eq(result, 0);
    }
    DwBook *book = shop_open(folder);
    shop_customer(book, "Ada Sample");
    for (int i = 0; i < WRITERS; i++) {
        writers[i] = fork();
        if (writers[i] == 0)
            write_jobs(folder);
    }
    for (int i = 0; i < WRITERS; i++) {
        waitpid(writers[i], &result, 0);
        ck_assert_msg(result == 0, "a writer ended with %d", WEXITSTATUS(result));
    }
    ck_assert_int_eq(number(book, "SELECT count(*) FROM job"), WRITERS * JOBS_EACH);
    ck_assert_int_eq(number(book, "SELECT max(number) FROM job"), WRITERS * JOBS_EACH);
    ck_assert_int_eq(number(book, "SELECT count(*) FROM stage"), 2 * WRITERS * JOBS_EACH);
    expect_sound(book);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// The whole content as text: every row of every entity.
static char *content(DwBook *book)
{
    DwText text = {0};
    for (size_t e = 0; dw_entity_at(e); e++) {
        DwRecords records;
        ck_book(dw_record_list(book, dw_entity_at(e), NULL, 0, &records, message));
        for (size_t r = 0; r < records.count; r++)
            for (size_t i = 0; i < dw_entity_at(e)->field_count; i++) {
                char *value = dw_record_text(book, dw_records_at(&records, r), &dw_entity_at(e)->fields[i]);
                dw_text_add(&text, "%s %s %s\n", dw_entity_at(e)->name, dw_entity_at(e)->fields[i].key, value);
                free(value);
            }
        dw_records_clear(&records);
    }
    return dw_text_take(&text);
}

START_TEST(a_backup_comes_back_equal)
{
    char *parent = shop_folder();
    char *folder = dw_text_format("%s/shop", parent), *backup = dw_text_format("%s/stick", parent);
    DwBook *book = shop_open(folder);
    DwProblems problems;
    int64_t job = shop_first_job(book), gone = attach(book, job, "picture");
    attach(book, job, "another");
    ck_refused(dw_backup_write(book, folder, &problems, message), "the book itself");
    ck_refused(dw_backup_write(book, parent, &problems, message), "other things");
    ck_book(dw_backup_write(book, backup, &problems, message)); // while the book is open
    ck_book(dw_attachment_remove(book, gone, message));
    attach(book, job, "third");
    char *second = content(book);
    ck_book(dw_backup_write(book, backup, &problems, message)); // only what is new
    shop_customer(book, "After the backup");
    dw_book_close(book);
    char *aside = NULL;
    ck_refused(dw_backup_restore(parent, folder, &aside, &(size_t){0}, &problems, message), "no backup");
    ck_book(dw_backup_restore(backup, folder, &aside, &(size_t){0}, &problems, message));
    book = shop_open(folder);
    char *restored = content(book);
    ck_assert_str_eq(restored, second);
    expect_sound(book);
    dw_book_close(book);
    DwBook *earlier = shop_open(aside); // what was there is still there
    ck_assert_int_eq(number(earlier, "SELECT count(*) FROM customer"), 2);
    dw_book_close(earlier);
    free(restored);
    free(second);
    free(aside);
    free(folder);
    free(backup);
    shop_remove(parent);
}
END_TEST

// A book that has what every other that is made here has, to the second.
static char *make_twin(const char *parent, const char *name)
{
    char *folder = dw_text_format("%s/%s", parent, name);
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-02T09:00:00+00:00");
    shop_customer(book, "Ada Sample");
    dw_book_close(book);
    return folder;
}

START_TEST(books_alike_to_the_second_are_two)
{
    char *parent = shop_folder(), *stick = dw_text_format("%s/stick", parent), *aside = NULL;
    char *one = make_twin(parent, "one"), *other = make_twin(parent, "other"),
         *empty = dw_text_format("%s/new", parent);
    DwProblems problems;
    DwBook *book = shop_open(one);
    ck_book(dw_backup_write(book, stick, &problems, message));
    dw_book_close(book);
    book = shop_open(other);
    ck_refused(dw_backup_write(book, stick, &problems, message), "the backup of another book");
    dw_book_close(book);
    ck_refused(dw_backup_restore(stick, other, &aside, &(size_t){0}, &problems, message), "the backup of another book");
    ck_book(dw_backup_restore(stick, one, &aside, &(size_t){0}, &problems, message));
    free(aside);
    dw_book_close(shop_open(empty)); // a book with nothing in it is in nobody's way
    ck_book(dw_backup_restore(stick, empty, &aside, &(size_t){0}, &problems, message));
    free(aside);
    book = shop_open(one); // restored, it is the book it was
    shop_customer(book, "Edda Marlow");
    ck_book(dw_backup_write(book, stick, &problems, message));
    dw_book_close(book);
    book = shop_open(empty); // and so is its other copy, but it has not grown from what the stick has now
    ck_refused(dw_backup_write(book, stick, &problems, message), "with more in it");
    dw_book_close(book);
    free(one);
    free(other);
    free(empty);
    free(stick);
    shop_remove(parent);
}
END_TEST

START_TEST(a_book_stays_the_one_it_is)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    ck_assert_int_eq(number(book, "SELECT length(value) FROM identity"), 32);
    ck_assert_int_ne(dw_query_run(book, "UPDATE identity SET value = lower(hex(randomblob(16)))", NULL), DW_OK);
    ck_assert_int_ne(dw_query_run(book, "DELETE FROM identity", NULL), DW_OK);
    ck_assert_int_ne(dw_query_run(book, "INSERT INTO identity VALUES (2, lower(hex(randomblob(16))))", NULL), DW_OK);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// Makes the book of an earlier version from its SQL text.
static void make_fixture(const char *folder, int version)
{
    char *source = dw_text_format("%s/version_%d.sql", DW_FIXTURES, version), line[4096];
    char *path = dw_text_format("%s/book.sqlite", folder);
    FILE *file = fopen(source, "rb");
    ck_assert_msg(file != NULL, "%s is missing: each version the program can meet has a fixture", source);
    DwText sql = {0};
    while (fgets(line, sizeof line, file))
        dw_text_add(&sql, "%s", line);
    fclose(file);
    sqlite3 *database = NULL;
    ck_assert_int_eq(sqlite3_open(path, &database), SQLITE_OK);
    char *error = NULL;
    ck_assert_msg(sqlite3_exec(database, sql.chars, NULL, NULL, &error) == SQLITE_OK, "%s", error);
    sqlite3_close(database);
    dw_text_clear(&sql);
    free(source);
    free(path);
}

// A book brought back from an earlier backup does not write over the backup that holds more of it.
START_TEST(a_backup_with_more_in_it_is_not_written_over)
{
    char *parent = shop_folder(), *shop = dw_text_format("%s/shop", parent), *aside = NULL;
    char *early = dw_text_format("%s/early", parent), *late = dw_text_format("%s/late", parent);
    DwProblems problems;
    DwBook *book = shop_open(shop);
    shop_first_job(book);
    ck_book(dw_backup_write(book, early, &problems, message));
    shop_customer(book, "Ada Later");
    ck_book(dw_backup_write(book, late, &problems, message));
    dw_book_close(book);
    ck_book(dw_backup_restore(early, shop, &aside, &(size_t){0}, &problems, message));
    free(aside);
    book = shop_open(shop);
    ck_refused(dw_backup_write(book, late, &problems, message), "of this one with more in it");
    ck_book(dw_backup_write(book, early, &problems, message));
    dw_book_close(book);
    free(early);
    free(late);
    free(shop);
    shop_remove(parent);
}
END_TEST

START_TEST(a_backup_that_contradicts_itself_is_not_restored)
{
    char *parent = shop_folder();
    char *folder = dw_text_format("%s/shop", parent), *backup = dw_text_format("%s/stick", parent);
    DwBook *book = shop_open(folder);
    DwProblems problems;
    shop_first_job(book);
    ck_book(dw_backup_write(book, backup, &problems, message));
    char *before = content(book), *path = dw_text_format("%s/backup.sqlite", backup), *aside = NULL;
    dw_book_close(book);
    sqlite3 *database;
    ck_assert_int_eq(sqlite3_open(path, &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database, "UPDATE job SET state = 'verifying'", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
    DwMessage line = {""};
    ck_assert_int_eq(dw_backup_restore(backup, folder, &aside, &(size_t){0}, &problems, &line), DW_FAILED);
    ck_assert_ptr_nonnull(strstr(line.text, "The backup is damaged"));
    book = shop_open(folder);
    char *after = content(book);
    ck_assert_str_eq(after, before); // the book that is there stays as it is
    dw_book_close(book);
    free(path);
    free(before);
    free(after);
    free(folder);
    free(backup);
    shop_remove(parent);
}
END_TEST

START_TEST(every_earlier_version_is_brought_forward)
{
    for (int version = 1; version < dw_schema_version(); version++) {
        char *folder = shop_folder();
        make_fixture(folder, version);
        DwBook *book = shop_open(folder);
        ck_assert_int_eq(number(book, "PRAGMA user_version"), dw_schema_version());
        ck_assert_int_eq(number(book, "SELECT count(*) FROM identity WHERE length(value) = 32"), 1);
        // What each fixture holds: one customer with a deck, a job and a reading.
        DwJob job;
        dw_record_init(&job.record, &dw_job_entity);
        ck_book(dw_job_find(book, "0001", &job, message));
        ck_assert_str_eq(job.fault, "runs slow when cold");
        dw_record_clear(&job.record);
        ck_assert_int_eq(number(book, "SELECT count(*) FROM reading WHERE value = 3.5"), 1);
        DwHits hits;
        ck_book(dw_search_words(book, "fixture", 5, &hits, message));
        ck_assert_uint_eq(hits.count, 1);
        dw_hits_clear(&hits);
        expect_sound(book);
        dw_book_close(book);
        // The copy that was put aside is the old book.
        char *pattern = dw_text_format("ls %s/before-migration", folder), name[200] = "";
        FILE *list = popen(pattern, "r");
        ck_assert_ptr_nonnull(fgets(name, sizeof name, list));
        pclose(list);
        name[strcspn(name, "\n")] = '\0';
        char *path = dw_text_format("%s/before-migration/%s", folder, name);
        DwBook old = {0};
        ck_book(dw_book_connect(path, SQLITE_OPEN_READWRITE, &old.database, message));
        ck_assert_int_eq(number(&old, "PRAGMA user_version"), version);
        ck_assert_int_eq(number(&old, "SELECT count(*) FROM job"), 1);
        sqlite3_close(old.database);
        free(path);
        free(pattern);
        shop_remove(folder);
    }
}
END_TEST

START_TEST(a_migration_that_fails_leaves_the_book_as_it_was)
{
    char *folder = shop_folder();
    make_fixture(folder, 1);
    char *path = dw_text_format("%s/book.sqlite", folder);
    sqlite3 *database = NULL;
    sqlite3_open(path, &database); // something stands where the new version wants its index
    ck_assert_int_eq(sqlite3_exec(database, "CREATE TABLE search (x)", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
    DwBook *book = NULL;
    ck_assert_int_eq(dw_book_open(folder, &book, NULL), DW_FAILED);
    ck_assert_ptr_null(book);
    DwBook old = {0};
    ck_book(dw_book_connect(path, SQLITE_OPEN_READWRITE, &old.database, message));
    ck_assert_int_eq(number(&old, "PRAGMA user_version"), 1);
    ck_assert_int_eq(number(&old, "SELECT count(*) FROM job"), 1);
    sqlite3_close(old.database);
    free(path);
    shop_remove(folder);
}
END_TEST

static void make_database(const char *folder, const char *sql)
{
    char *path = dw_text_format("%s/book.sqlite", folder);
    sqlite3 *database = NULL;
    ck_assert_int_eq(sqlite3_open(path, &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
    free(path);
}

START_TEST(what_is_newer_or_no_book_is_refused_untouched)
{
    DwBook *book = NULL;
    char *folder = shop_folder();
    book = shop_open(folder);
    shop_customer(book, "Ada Sample");
    dw_book_close(book);
    make_database(folder, "PRAGMA user_version = 99");
    ck_refused(dw_book_open(folder, &book, message), "newer Deckwright (version 99");
    char *back = dw_text_format("PRAGMA user_version = %d", dw_schema_version());
    make_database(folder, back);
    free(back);
    book = shop_open(folder);
    ck_assert_int_eq(number(book, "SELECT count(*) FROM customer"), 1);
    dw_book_close(book);
    shop_remove(folder);
    folder = shop_folder();
    make_database(folder, "CREATE TABLE other (x)");
    ck_refused(dw_book_open(folder, &book, message), "not a job book");
    shop_remove(folder);
    folder = shop_folder();
    scribble(folder, "book.sqlite", "This is a letter and has never been a database of any kind, as one sees.");
    DwMessage line = {""};
    ck_assert_int_eq(dw_book_open(folder, &book, &line), DW_FAILED);
    ck_assert_ptr_nonnull(strstr(line.text, "restore the last backup"));
    shop_remove(folder);
    ck_assert_int_eq(dw_book_open("/dev/null/at/all", &book, &line), DW_FAILED);
}
END_TEST

DW_SUITE("storage", nobody_else_can_read_the_book, what_cannot_be_attached_leaves_nothing,
         the_check_finds_what_is_wrong, an_entry_that_was_changed_from_without_is_named,
         the_quick_check_sees_a_size_and_a_missing_invoice, a_backup_that_contradicts_itself_is_not_restored,
         several_changes_are_kept_together_or_not_at_all, several_programs_write_at_once, a_backup_comes_back_equal,
         books_alike_to_the_second_are_two, a_backup_with_more_in_it_is_not_written_over, a_book_stays_the_one_it_is,
         every_earlier_version_is_brought_forward, a_migration_that_fails_leaves_the_book_as_it_was,
         what_is_newer_or_no_book_is_refused_untouched)
