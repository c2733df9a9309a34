// SPDX-License-Identifier: MIT
#include "book/care/check.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/photo.h"
#include "book/store/private.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void add_problem(DwCheckReport *report, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void add_problem(DwCheckReport *report, const char *format, ...)
{
    char line[600];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    report->problems = dw_memory_resize(report->problems, report->problem_count + 1, sizeof *report->problems);
    report->problems[report->problem_count++] = dw_memory_text(line);
}

// Each row that SQL returns is a problem; its first column says which.
static DwStatus add_rows(DwBook *book, DwCheckReport *report, const char *sql, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, sql);
    while (dw_query_step(&query))
        add_problem(report, "%s", dw_query_text(&query, 0));
    return dw_query_end(&query, message);
}

static DwStatus check_database(DwBook *book, DwCheckReport *report, DwMessage *message)
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
        "SELECT 'Invoice ' || number || ' is missing before the next.' FROM (SELECT number - 1 AS number FROM invoice "
        "WHERE number > 1) WHERE number NOT IN (SELECT number FROM invoice)",
        "SELECT 'Deck ' || deck_id || ' has more than one owner at once.' FROM ownership WHERE until IS NULL "
        "GROUP BY deck_id HAVING count(*) > 1",
        "SELECT 'Measurement ' || id || ' is no longer a sheet.' FROM measurement WHERE NOT json_valid(sheet)",
        // Squares, so that nothing but the four operations is needed.
        "SELECT 'The scale ' || id || ' of a picture does not follow from its points.' FROM photo_scale WHERE "
        "abs(mm_per_pixel * mm_per_pixel * ((x2 - x1) * (x2 - x1) + (y2 - y1) * (y2 - y1)) - length_mm * length_mm) > "
        "1e-6 * length_mm * length_mm",
    };
    for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
        DwStatus status = add_rows(book, report, questions[i], message);
        if (status != DW_OK)
            return status;
    }
    if (sqlite3_exec(book->database, "INSERT INTO search (search, rank) VALUES ('integrity-check', 0)", NULL, NULL,
                     NULL) != SQLITE_OK)
        add_problem(report, "The index for searching is damaged: %s.", sqlite3_errmsg(book->database));
    return DW_OK;
}

// Words that this program does not know stand in no choice.
static DwStatus check_choices(DwBook *book, DwCheckReport *report, DwMessage *message)
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
                    add_problem(report, "A %s says \"%s\" for %s, which this program does not know.", entity->label,
                                dw_query_text(&query, 0), field->label);
            status = dw_query_end(&query, message);
            free(sql);
        }
    }
    return status;
}

// What was measured on a picture is measured again from its points.
static DwStatus check_photo_measures(DwBook *book, DwCheckReport *report, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(book, &dw_photo_measure_entity, NULL, 0, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwPhotoMeasure *measure = (const DwPhotoMeasure *)dw_records_at(&records, i);
        double again = dw_photo_measure_value(measure);
        if (!(fabs(again - measure->value) <= 1e-6 * fmax(1, fabs(again))))
            add_problem(report, "Measurement %lld on a picture does not follow from its points.",
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
            add_problem(report, "The file of attachment %lld (%s) is missing.", id, dw_query_text(&query, 1));
        else if (status.st_size != dw_query_integer(&query, 2))
            add_problem(report, "The file of attachment %lld (%s) has another size.", id, dw_query_text(&query, 1));
        else if (thorough &&
                 (dw_file_digest(path, digest, &bytes) != 0 || strcmp(digest, dw_query_text(&query, 3)) != 0))
            add_problem(report, "The file of attachment %lld (%s) was changed.", id, dw_query_text(&query, 1));
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
    if (error)
        add_problem(report, "The file %s has no row and could not be set aside: %s.", file, strerror(error));
    else
        report->set_aside++;
    free(folder);
    free(from);
    free(to);
}

// Under the lock for writing no file can be on its way to a row.
static DwStatus sweep(DwBook *book, DwCheckReport *report, DwMessage *message)
{
    char *folder = dw_text_format("%s/attachments", book->folder);
    DIR *entries = opendir(folder);
    DwStatus status = DW_OK;
    if (!entries)
        add_problem(report, "The folder %s cannot be read: %s.", folder, strerror(errno));
    for (const struct dirent *entry = entries ? readdir(entries) : NULL; entry && status == DW_OK;
         entry = readdir(entries)) {
        const char *name = entry->d_name;
        size_t length = strlen(name);
        bool known = true;
        if (*name == '.')
            continue;
        if (length > 5 && strcmp(name + length - 5, ".part") == 0) {
            report->swept += unlinkat(dirfd(entries), name, 0) == 0;
            continue;
        }
        status = has_row(book, name, &known, message);
        if (status == DW_OK && !known)
            set_aside(book, name, report);
    }
    if (entries)
        closedir(entries);
    free(folder);
    return status;
}

static void check_modes(const DwBook *book, DwCheckReport *report)
{
    static const char *const names[] = {"", "/book.sqlite", "/book.sqlite-wal", "/attachments"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *path = dw_text_format("%s%s", book->folder, names[i]);
        struct stat status;
        if (stat(path, &status) == 0 && (status.st_mode & 077))
            add_problem(report, "Others can read %s (mode %03o). Take that right away.", path,
                        (unsigned)status.st_mode & 0777u);
        free(path);
    }
}

DwStatus dw_check_book(DwBook *book, bool thorough, DwCheckReport *report, DwMessage *message)
{
    DwCheckReport made = {0};
    DwStatus status = dw_attachment_remove_doomed(book, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status == DW_OK) {
        status = sweep(book, &made, message);
        status = dw_book_end(book, status, message);
    }
    if (status == DW_OK)
        status = check_database(book, &made, message);
    if (status == DW_OK)
        status = check_choices(book, &made, message);
    if (status == DW_OK)
        status = check_photo_measures(book, &made, message);
    if (status == DW_OK)
        status = check_attachments(book, thorough, &made, message);
    check_modes(book, &made);
    if (status == DW_OK)
        *report = made;
    else
        dw_check_report_clear(&made);
    return status;
}

void dw_check_report_clear(DwCheckReport *report)
{
    for (size_t i = 0; i < report->problem_count; i++)
        free(report->problems[i]);
    free(report->problems);
    *report = (DwCheckReport){0};
}
