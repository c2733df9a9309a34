// SPDX-License-Identifier: MIT
#include "book/care/check.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/photo.h"
#include "book/store/private.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Each row that SQL returns is a problem; its first column says which.
static DwStatus add_rows(DwBook *book, DwProblems *problems, const char *sql, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, sql);
    while (dw_query_step(&query))
        dw_problems_add(problems, "%s", dw_query_text(&query, 0));
    return dw_query_end(&query, message);
}

static DwStatus check_database(DwBook *book, DwProblems *problems, DwMessage *message)
{
    static const char *const questions[] = {
        "SELECT 'The file is damaged: ' || integrity_check || '.' FROM pragma_integrity_check "
        "WHERE integrity_check <> 'ok'",
        "SELECT 'Entry ' || rowid || ' of ' || \"table\" || ' refers to a ' || parent || ' that is not there.' "
        "FROM pragma_foreign_key_check",
        "SELECT 'Job ' || number || ' is ' || state || ' but its last stage says otherwise.' FROM job "
        "WHERE state IS NOT (SELECT state FROM stage WHERE job_id = job.id ORDER BY id DESC LIMIT 1)",
        "SELECT 'Stock ' || number || ' does not hold the sum of its movements.' FROM stock WHERE "
        "abs(coalesce(on_hand, 0) - (SELECT coalesce(sum(change), 0) FROM stock_move WHERE stock_id = stock.id)) > "
        "1e-5",
        "SELECT 'Invoice ' || CASE year WHEN 0 THEN '' ELSE year || '-' END || (number - 1) || ' is missing before the "
        "next.' FROM invoice AS i WHERE number > 1 AND NOT EXISTS (SELECT 1 FROM invoice WHERE year = i.year AND "
        "number = "
        "i.number - 1)",
        "SELECT 'Invoice id ' || id || ' was paid back more than was paid for it.' FROM (SELECT invoice_id AS id, "
        "sum(CASE kind "
        "WHEN 'refund' THEN -amount ELSE amount END) AS paid FROM payment WHERE invoice_id IS NOT NULL GROUP BY "
        "invoice_id) WHERE paid < 0",
        "SELECT 'Deck ' || deck_id || ' has more than one owner at once.' FROM ownership WHERE until IS NULL "
        "GROUP BY deck_id HAVING count(*) > 1",
        "SELECT 'Measurement ' || id || ' is no longer a sheet.' FROM measurement WHERE NOT json_valid(sheet)",
        // Squares, so that nothing but the four operations is needed.
        "SELECT 'The scale ' || id || ' of a picture does not follow from its points.' FROM photo_scale WHERE "
        "abs(mm_per_pixel * mm_per_pixel * ((x2 - x1) * (x2 - x1) + (y2 - y1) * (y2 - y1)) - length_mm * length_mm) > "
        "1e-6 * length_mm * length_mm",
    };
    for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
        DwStatus status = add_rows(book, problems, questions[i], message);
        if (status != DW_OK)
            return status;
    }
    // SQLite asks for this as if something were written.
    if (!dw_book_fixed(book) &&
        sqlite3_exec(book->database, "INSERT INTO search (search, rank) VALUES ('integrity-check', 0)", NULL, NULL,
                     NULL) != SQLITE_OK)
        dw_problems_add(problems, "The index for searching is damaged: %s.", sqlite3_errmsg(book->database));
    return DW_OK;
}

// Words that this program does not know stand in no choice.
static DwStatus check_choices(DwBook *book, DwProblems *problems, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t e = 0; dw_entity_at(e) && status == DW_OK; e++) {
        const DwEntity *entity = dw_entity_at(e);
        for (size_t i = 0; i < entity->field_count && status == DW_OK; i++) {
            const DwField *field = &entity->fields[i];
            if (field->kind != DW_FIELD_CHOICE)
                continue;
            char *sql = dw_text_format("SELECT DISTINCT %s FROM %s", field->key, entity->name);
            DwQuery query = dw_query_begin(book, sql);
            while (dw_query_step(&query))
                if (dw_field_choice(field, dw_query_text(&query, 0)) < 0)
                    dw_problems_add(problems, "A %s says \"%s\" for %s, which this program does not know.",
                                    dw_said(entity->label), dw_query_text(&query, 0), dw_said(field->label));
            status = dw_query_end(&query, message);
            free(sql);
        }
    }
    return status;
}

// What was measured on a picture is measured again from its points.
static DwStatus check_photo_measures(DwBook *book, DwProblems *problems, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(book, &dw_photo_measure_entity, NULL, 0, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwPhotoMeasure *measure = (const DwPhotoMeasure *)dw_records_at(&records, i);
        double again = dw_photo_measure_value(measure);
        if (!(fabs(again - measure->value) <= 1e-6 * fmax(1, fabs(again))))
            dw_problems_add(problems, "Measurement %lld on a picture does not follow from its points.",
                            (long long)measure->record.id);
    }
    dw_records_clear(&records);
    return DW_OK;
}

static DwStatus check_attachments(DwBook *book, bool thorough, DwCheckReport *report, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT id, file, bytes, digest FROM attachment ORDER BY id");
    while (dw_query_step(&query)) {
        long long id = (long long)dw_query_integer(&query, 0);
        char *path = dw_text_format("%s/attachments/%s", book->folder, dw_query_text(&query, 1)), digest[65];
        struct stat status;
        int64_t bytes = 0;
        report->attachments++;
        if (stat(path, &status) != 0)
            dw_problems_add(&report->problems, "The file of attachment %lld (%s, SHA-256 %.16s…) is missing.", id,
                            dw_query_text(&query, 1), dw_query_text(&query, 3));
        else if (status.st_size != dw_query_integer(&query, 2))
            dw_problems_add(&report->problems, "The file of attachment %lld (%s, SHA-256 %.16s…) has another size.", id,
                            dw_query_text(&query, 1), dw_query_text(&query, 3));
        else if (thorough &&
                 (dw_file_digest(path, digest, &bytes) != 0 || strcmp(digest, dw_query_text(&query, 3)) != 0))
            dw_problems_add(&report->problems, "The file of attachment %lld (%s, SHA-256 %.16s…) was changed.", id,
                            dw_query_text(&query, 1), dw_query_text(&query, 3));
        free(path);
    }
    return dw_query_end(&query, message);
}

static DwStatus has_row(DwBook *book, const char *file, bool *known, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT 1 FROM attachment WHERE file = ?");
    dw_query_bind_text(&query, file);
    *known = dw_query_step(&query);
    return dw_query_end(&query, message);
}

static void set_aside(DwBook *book, const char *file, DwCheckReport *report)
{
    char *folder = dw_text_format("%s/orphans", book->folder);
    char *from = dw_text_format("%s/attachments/%s", book->folder, file), *to = dw_text_format("%s/%s", folder, file);
    int error = dw_file_make_folder(folder);
    if (!error && rename(from, to) != 0)
        error = errno;
    if (!error)
        error = dw_file_settle(folder);
    if (error)
        dw_problems_add(&report->problems, "The file %s has no row and could not be set aside: %s.", file,
                        strerror(error));
    else
        report->set_aside++;
    free(folder);
    free(from);
    free(to);
}

// Names in the folder of attachments that no row speaks of: half-written parts, and whole files.
typedef struct {
    char **names;
    size_t count;
} Names;

static void add_name(Names *names, const char *name)
{
    names->names = dw_memory_resize(names->names, names->count + 1, sizeof *names->names);
    names->names[names->count++] = dw_memory_text(name);
}

static void clear_names(Names *names)
{
    for (size_t i = 0; i < names->count; i++)
        free(names->names[i]);
    free(names->names);
}

static DwStatus find_strangers(DwBook *book, Names *parts, Names *files, DwCheckReport *report, DwMessage *message)
{
    char *folder = dw_text_format("%s/attachments", book->folder);
    DIR *entries = opendir(folder);
    DwStatus status = DW_OK;
    if (!entries)
        dw_problems_add(&report->problems, "The folder %s cannot be read: %s.", folder, strerror(errno));
    for (const struct dirent *entry = entries ? readdir(entries) : NULL; entry && status == DW_OK;
         entry = readdir(entries)) {
        const char *name = entry->d_name;
        size_t length = strlen(name);
        bool known = false, part = length > 5 && strcmp(name + length - 5, ".part") == 0;
        if (*name == '.')
            continue;
        if (!part)
            status = has_row(book, name, &known, message);
        if (!known)
            add_name(part ? parts : files, name);
    }
    if (entries)
        closedir(entries);
    free(folder);
    return status;
}

// A program that is killed leaves one file without a row at most. More than a few, and more than half
// as many as there are rows, are attachments whose rows are gone.
static bool rows_are_gone(size_t strangers, int64_t rows)
{
    return strangers > 8 && (int64_t)strangers > rows / 2;
}

static void deal_with(DwBook *book, const Names *parts, const Names *files, int64_t rows, DwCheckReport *report)
{
    if (rows_are_gone(files->count, rows)) {
        dw_problems_add(
            &report->problems,
            "%zu files in %s/attachments have no entry in the book, %lld have one: entries are lost. The files "
            "were left where they are.",
            files->count, book->folder, (long long)rows);
        return;
    }
    if (!dw_hold_try_alone(book->hold)) {
        report->left = files->count;
        return;
    }
    for (size_t i = 0; i < parts->count; i++) {
        char *path = dw_text_format("%s/attachments/%s", book->folder, parts->names[i]);
        report->swept += unlink(path) == 0;
        free(path);
    }
    for (size_t i = 0; i < files->count; i++)
        set_aside(book, files->names[i], report);
    dw_hold_share_again(book->hold);
}

// Under the lock for writing no file can be on its way to a row.
static DwStatus sweep(DwBook *book, DwCheckReport *report, DwMessage *message)
{
    Names parts = {0}, files = {0};
    int64_t rows = 0;
    DwStatus status = find_strangers(book, &parts, &files, report, message);
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT count(*) FROM attachment", 0, &rows, message);
    if (status == DW_OK)
        deal_with(book, &parts, &files, rows, report);
    clear_names(&parts);
    clear_names(&files);
    return status;
}

static void check_modes(const DwBook *book, DwProblems *problems)
{
    static const char *const names[] = {"", "/book.sqlite", "/book.sqlite-wal", "/attachments"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *path = dw_text_format("%s%s", book->folder, names[i]);
        struct stat status;
        if (stat(path, &status) == 0 && (status.st_mode & 077))
            dw_problems_add(problems, "Others can read %s (mode %03o). Take that right away.", path,
                            (unsigned)status.st_mode & 0777u);
        free(path);
    }
}

static int64_t size_of(const DwBook *book, const char *name)
{
    char *path = dw_text_format("%s/%s", book->folder, name);
    struct stat status;
    int64_t size = stat(path, &status) == 0 ? (int64_t)status.st_size : 0;
    free(path);
    return size;
}

// SQLite reads what is cut off the last page as zeros. While the log of changes holds anything the file may be short.
static DwStatus check_size(DwBook *book, DwProblems *problems, DwMessage *message)
{
    int64_t pages = 0, bytes = 0;
    DwStatus status = dw_query_number(book, "PRAGMA page_count", 0, &pages, message);
    if (status == DW_OK)
        status = dw_query_number(book, "PRAGMA page_size", 0, &bytes, message);
    int64_t size = size_of(book, "book.sqlite");
    if (status == DW_OK && size_of(book, "book.sqlite-wal") == 0 && size != pages * bytes)
        dw_problems_add(problems, "The file is cut off: book.sqlite has %lld bytes, not %lld.", (long long)size,
                        (long long)(pages * bytes));
    return status;
}

// Names the first rows whose seals are broken, and counts the rest.
typedef struct {
    DwProblems *problems;
    size_t count;
} Broken;

enum { BROKEN_NAMED = 10 };

static void name_broken(void *user, const char *table, int64_t row)
{
    Broken *broken = user;
    if (broken->count++ >= BROKEN_NAMED)
        return;
    if (row)
        dw_problems_add(broken->problems,
                        "Entry %lld of %s is not as it was kept: the disk or another program changed it.",
                        (long long)row, table);
    else
        dw_problems_add(broken->problems, "The %s is not as it was kept: the disk or another program changed it.",
                        table);
}

DwStatus dw_check_seals(DwBook *book, DwProblems *problems, DwMessage *message)
{
    Broken broken = {problems, 0};
    bool sealed = false;
    DwStatus status = dw_seal_is_there(book, &sealed, message);
    if (status == DW_OK && sealed)
        status = dw_seal_check(book, name_broken, &broken, message);
    if (broken.count > BROKEN_NAMED)
        dw_problems_add(problems, "%zu more entries are not as they were kept.", broken.count - BROKEN_NAMED);
    return status;
}

DwStatus dw_check_entries(DwBook *book, DwProblems *problems, DwMessage *message)
{
    *problems = (DwProblems){0};
    DwStatus status = check_size(book, problems, message);
    if (status == DW_OK)
        status = check_database(book, problems, message);
    if (status == DW_OK)
        status = check_choices(book, problems, message);
    if (status == DW_OK)
        status = check_photo_measures(book, problems, message);
    return status;
}

DwStatus dw_check_accept(DwBook *book, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status == DW_OK)
        status = dw_journal_add(book, "book", 0, "entries", "", "accepted as they are", false, message);
    return status == DW_OK ? dw_book_end(book, dw_seal_all(book, message), message) : status;
}

static DwStatus tidy(DwBook *book, DwCheckReport *report, DwMessage *message)
{
    DwStatus status = dw_attachment_remove_doomed(book, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    return status == DW_OK ? dw_book_end(book, sweep(book, report, message), message) : status;
}

DwStatus dw_check_book(DwBook *book, bool thorough, DwCheckReport *report, DwMessage *message)
{
    DwCheckReport made = {0};
    DwStatus status = dw_check_entries(book, &made.problems, message);
    if (status == DW_OK)
        status = dw_check_seals(book, &made.problems, message);
    if (status == DW_OK && !dw_book_fixed(book))
        status = tidy(book, &made, message);
    if (status == DW_OK)
        status = check_attachments(book, thorough, &made, message);
    size_t others = made.problems.count;
    check_modes(book, &made.problems);
    made.rights = made.problems.count - others;
    if (status == DW_OK)
        *report = made;
    else
        dw_check_report_clear(&made);
    return status;
}

void dw_check_report_clear(DwCheckReport *report)
{
    dw_problems_clear(&report->problems);
    *report = (DwCheckReport){0};
}
