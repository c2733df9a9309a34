// SPDX-License-Identifier: MIT
// A full disk at every point of a change: what was kept before stays, the change
// that met it leaves nothing, and the book goes on when there is room again.
#include "book/store/attachment.h"
#include "book/care/check.h"
#include "book/model/share.h"
#include "book/store/private.h"
#include "shop.h"

#include <signal.h>
#include <sys/mount.h>
#include <sys/resource.h>

// SQLite's own file methods with writing that runs out: after `room` bytes each
// write says that the disk is full.
static struct {
    const sqlite3_io_methods *original;
    sqlite3_io_methods limited;
} methods[8];
static int64_t room = INT64_MAX;
static sqlite3_vfs limited_disk, *real_disk;

static int limited_write(sqlite3_file *file, const void *bytes, int count, sqlite3_int64 offset)
{
    if (room < count)
        return SQLITE_FULL;
    room -= count;
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++)
        if (file->pMethods == &methods[i].limited)
            return methods[i].original->xWrite(file, bytes, count, offset);
    return SQLITE_IOERR;
}

static int limited_open(sqlite3_vfs *disk, const char *name, sqlite3_file *file, int flags, int *flags_out)
{
    (void)disk;
    int code = real_disk->xOpen(real_disk, name, file, flags, flags_out);
    for (size_t i = 0; file->pMethods && i < sizeof methods / sizeof *methods; i++) {
        if (!methods[i].original) {
            methods[i].original = file->pMethods;
            methods[i].limited = *file->pMethods;
            methods[i].limited.xWrite = limited_write;
        }
        if (methods[i].original == file->pMethods) {
            file->pMethods = &methods[i].limited;
            break;
        }
    }
    return code;
}

static void install_limited_disk(void)
{
    if (real_disk)
        return;
    real_disk = sqlite3_vfs_find(NULL);
    limited_disk = *real_disk;
    limited_disk.zName = "limited";
    limited_disk.xOpen = limited_open;
    ck_assert_int_eq(sqlite3_vfs_register(&limited_disk, 1), SQLITE_OK);
}

// One change of several parts: a customer, a job, an attachment.
static DwStatus add_one(DwBook *book, const char *name, size_t bytes, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwCustomer customer;
    DwJob job;
    DwAttachment attachment;
    dw_record_init(&customer.record, &dw_customer_entity);
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&attachment.record, &dw_attachment_entity);
    customer.name = dw_memory_text(name);
    char *picture = dw_memory_new(bytes, 1);
    memset(picture, 'x', bytes);
    status = dw_record_save(book, &customer.record, message);
    job.customer_id = customer.record.id;
    if (status == DW_OK)
        status = dw_job_open(book, &job, message);
    attachment.job_id = job.record.id;
    if (status == DW_OK)
        status = dw_attachment_add_bytes(book, &attachment, "x.jpg", picture, bytes, message);
    status = dw_book_end(book, status, message);
    free(picture);
    dw_record_clear(&customer.record);
    dw_record_clear(&job.record);
    dw_record_clear(&attachment.record);
    return status;
}

static void expect_jobs(DwBook *book, int64_t count)
{
    int64_t jobs = 0, customers = 0, attachments = 0;
    ck_book(dw_query_number(book, "SELECT count(*) FROM job", 0, &jobs, message));
    ck_book(dw_query_number(book, "SELECT count(*) FROM customer", 0, &customers, message));
    ck_book(dw_query_number(book, "SELECT count(*) FROM attachment", 0, &attachments, message));
    ck_assert_int_eq(jobs, count);
    ck_assert_int_eq(customers, count);
    ck_assert_int_eq(attachments, count);
    DwCheckReport report;
    ck_book(dw_check_book(book, true, &report, message));
    ck_assert_msg(report.problems.count == 0, "%s", report.problems.count ? report.problems.lines[0] : "");
    dw_check_report_clear(&report);
}

START_TEST(full_at_every_write_of_a_change)
{
    install_limited_disk();
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t kept = 1, failures = 0;
    ck_book(add_one(book, "First", 100, message));
    for (int64_t bytes = 0; kept < 3; bytes += 2917) {
        DwMessage line = {""};
        room = bytes;
        DwStatus status = add_one(book, "Another", 100, &line);
        room = INT64_MAX;
        if (status == DW_OK) {
            kept++;
            bytes = 0;
        } else {
            failures++;
            ck_assert_int_eq(status, DW_FAILED);
            ck_assert_msg(strstr(line.text, "disk is full") != NULL, "%s", line.text);
        }
        if (failures % 2) { // and as another program finds it
            dw_book_close(book);
            book = shop_open(folder);
        }
        expect_jobs(book, kept);
    }
    ck_assert(failures > 10);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(full_while_a_new_book_is_made)
{
    install_limited_disk();
    for (int64_t bytes = 0; bytes < 600000; bytes += 60000) {
        char *folder = shop_folder();
        DwBook *book = NULL;
        room = bytes;
        DwStatus status = dw_book_open(folder, &book, NULL);
        room = INT64_MAX;
        ck_assert(status == DW_OK || status == DW_FAILED);
        if (status == DW_FAILED)
            book = shop_open(folder);
        expect_jobs(book, 0);
        dw_book_close(book);
        shop_remove(folder);
    }
}
END_TEST

START_TEST(an_attachment_that_does_not_fit_leaves_nothing)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    ck_book(add_one(book, "First", 100, message));
    struct rlimit before, small;
    ck_assert_int_eq(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 4 << 20; // more than the book's own files need
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
    DwMessage line = {""};
    ck_assert_int_eq(add_one(book, "Large", 5 << 20, &line), DW_FAILED);
    ck_assert_ptr_nonnull(strstr(line.text, "could not be put into the book"));
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
    expect_jobs(book, 1);
    ck_book(add_one(book, "Large", 5 << 20, message));
    expect_jobs(book, 2);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// A real small disk, where the tests may mount one.
START_TEST(a_small_disk_runs_full)
{
    char *folder = shop_folder();
    if (mount("none", folder, "tmpfs", 0, "size=3m,mode=700") != 0) {
        shop_remove(folder);
        return;
    }
    DwBook *book = shop_open(folder);
    int64_t kept = 0;
    DwMessage line = {""};
    while (add_one(book, "Another", 30000, &line) == DW_OK)
        kept++;
    ck_assert(kept > 5);
    ck_assert_msg(strstr(line.text, "full") || strstr(line.text, "No space"), "%s", line.text);
    for (int i = 0; i < 5; i++)
        ck_assert_int_eq(add_one(book, "Another", 30000, NULL), DW_FAILED);
    dw_book_close(book);
    ck_assert_int_eq(mount("none", folder, "tmpfs", MS_REMOUNT, "size=30m"), 0); // somebody made room
    book = shop_open(folder);
    expect_jobs(book, kept);
    ck_book(add_one(book, "Another", 30000, message));
    expect_jobs(book, kept + 1);
    dw_book_close(book);
    umount2(folder, MNT_DETACH);
    shop_remove(folder);
}
END_TEST

// What another shop shared is there whole or not at all.
START_TEST(full_while_a_model_is_taken_in)
{
    static const char text[] = "[model]\nformat = 1\nmake = A\nname = B\nbook = 0123\n[build drive.poles]\nvalue = 8\n"
                               "[build drive.slots]\nvalue = 12\n[fault 1]\nfault = Worn\n";
    install_limited_disk();
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    DwKeyfile file;
    ck_book(dw_keyfile_parse(text, strlen(text), "shared.ini", &file, message));
    int64_t failures = 0;
    for (int64_t bytes = 0;; bytes += 1459) {
        DwShareTaken taken;
        int64_t rows = 0;
        room = bytes;
        DwStatus status = dw_share_read(book, &file, "shared.ini", &taken, NULL);
        room = INT64_MAX;
        ck_book(dw_query_number(book,
                                "SELECT (SELECT count(*) FROM model) + (SELECT count(*) FROM model_value) + "
                                "(SELECT count(*) FROM model_fault)",
                                0, &rows, message));
        ck_assert_int_eq(rows, status == DW_OK ? 4 : 0);
        if (status == DW_OK)
            break;
        ck_assert_int_eq(status, DW_FAILED);
        failures++;
    }
    ck_assert(failures > 5);
    dw_keyfile_clear(&file);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("full disk", full_while_a_model_is_taken_in, full_at_every_write_of_a_change, full_while_a_new_book_is_made,
         an_attachment_that_does_not_fit_leaves_nothing, a_small_disk_runs_full)
