// SPDX-License-Identifier: MIT
#include "book/care/backup.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/care/check.h"
#include "book/store/private.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static DwStatus file_failed(const char *path, int error, DwMessage *message)
{
    return dw_fail(message, DW_FAILED, "%s: %s. The backup was not finished; what was there before is still whole.",
                   path, strerror(error));
}

static void remove_with_journals(const char *path)
{
    static const char *const endings[] = {"", "-wal", "-shm", "-journal"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char *file = dw_text_format("%s%s", path, endings[i]);
        unlink(file);
        free(file);
    }
}

// Copies all pages from one connection to the other and leaves a single file.
static DwStatus copy_pages(sqlite3 *from, sqlite3 *to, DwMessage *message)
{
    sqlite3_backup *copy = sqlite3_backup_init(to, "main", from, "main");
    if (!copy)
        return dw_query_fail(to, sqlite3_errcode(to), message);
    sqlite3_backup_step(copy, -1);
    int code = sqlite3_backup_finish(copy);
    if (code == SQLITE_OK)
        code = sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    return code == SQLITE_OK ? DW_OK : dw_query_fail(to, code, message);
}

static DwStatus copy_database(const char *source, const char *part, DwMessage *message)
{
    sqlite3 *from = NULL, *to = NULL;
    remove_with_journals(part);
    int handle = open(part, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (handle < 0)
        return file_failed(part, errno, message);
    close(handle);
    DwStatus status = dw_book_connect(source, SQLITE_OPEN_READWRITE, &from, message);
    if (status == DW_OK)
        status = dw_book_connect(part, SQLITE_OPEN_READWRITE, &to, message);
    if (status == DW_OK)
        status = copy_pages(from, to, message);
    sqlite3_close(from);
    sqlite3_close(to);
    return status;
}

// The pages are on the disk already: SQLite forced them. Only the name is left.
static DwStatus give_name(const char *part, const char *folder, const char *name, DwMessage *message)
{
    char *path = dw_text_format("%s/%s", folder, name);
    int error = rename(part, path) == 0 ? dw_file_settle(folder) : errno;
    DwStatus status = error ? file_failed(path, error, message) : DW_OK;
    free(path);
    return status;
}

DwStatus dw_backup_database(DwBook *book, const char *folder, const char *name, DwMessage *message)
{
    char *source = dw_text_format("%s/book.sqlite", book->folder), *part = dw_text_format("%s/%s.part", folder, name);
    DwStatus status = copy_database(source, part, message);
    if (status == DW_OK)
        status = give_name(part, folder, name, message);
    if (status != DW_OK)
        remove_with_journals(part);
    free(source);
    free(part);
    return status;
}

// Whether FOLDER may take the backup: empty, or a backup already.
static DwStatus check_target(const DwBook *book, const char *folder, DwMessage *message)
{
    struct stat own, target;
    if (stat(book->folder, &own) == 0 && stat(folder, &target) == 0 && own.st_ino == target.st_ino &&
        own.st_dev == target.st_dev)
        return dw_fail(message, DW_BAD_INPUT, "%s is the book itself. Choose another folder for the backup.", folder);
    DIR *entries = opendir(folder);
    if (!entries)
        return file_failed(folder, errno, message);
    bool other = false, earlier = false;
    for (const struct dirent *entry = readdir(entries); entry; entry = readdir(entries)) {
        const char *name = entry->d_name;
        earlier = earlier || strcmp(name, "backup.sqlite") == 0;
        other = other || (*name != '.' && strcmp(name, "attachments") != 0 && strncmp(name, "backup.sqlite", 13) != 0);
    }
    closedir(entries);
    if (other && !earlier)
        return dw_fail(message, DW_BAD_INPUT, "%s holds other things. Give an empty folder or an earlier backup.",
                       folder);
    return DW_OK;
}

// Copies one attachment from FROM to TO unless it is there whole.
static DwStatus copy_attachment(const char *from, const char *to, const char *file, const char *digest,
                                DwMessage *message)
{
    char *source = dw_text_format("%s/%s", from, file), *target = dw_text_format("%s/%s", to, file), copied[65];
    int64_t size;
    DwStatus status = DW_OK;
    if (dw_file_digest(target, copied, &size) != 0 || strcmp(copied, digest) != 0) {
        int error = dw_file_copy(source, to, file, copied, NULL);
        if (error == ENOENT)
            status = dw_fail(message, DW_FAILED,
                             "%s is missing. Run the check; if it was erased just now, start again.", source);
        else if (error)
            status = file_failed(target, error, message);
        else if (strcmp(copied, digest) != 0)
            status = dw_fail(message, DW_FAILED, "%s is not as it was when it was put into the book. Run the check.",
                             source);
    }
    free(source);
    free(target);
    return status;
}

// Copies all that SNAPSHOT has rows for.
static DwStatus copy_attachments(DwBook *snapshot, const char *from, const char *to, DwMessage *message)
{
    int error = dw_file_make_folder(to);
    if (error)
        return file_failed(to, error, message);
    DwStatus status = DW_OK;
    DwQuery query = dw_query_begin(snapshot, "SELECT file, digest FROM attachment ORDER BY id");
    while (status == DW_OK && dw_query_step(&query))
        status = copy_attachment(from, to, dw_query_text(&query, 0), dw_query_text(&query, 1), message);
    DwStatus ended = dw_query_end(&query, message);
    return status == DW_OK ? ended : status;
}

// Removes from the folder what the new backup has no row for (erased since the last one).
static DwStatus remove_others(DwBook *snapshot, const char *folder, DwMessage *message)
{
    DIR *entries = opendir(folder);
    if (!entries)
        return file_failed(folder, errno, message);
    DwStatus status = DW_OK;
    for (const struct dirent *entry = readdir(entries); entry && status == DW_OK; entry = readdir(entries)) {
        if (*entry->d_name == '.')
            continue;
        DwQuery query = dw_query_begin(snapshot, "SELECT 1 FROM attachment WHERE file = ?");
        dw_query_bind_text(&query, entry->d_name);
        bool known = dw_query_step(&query);
        status = dw_query_end(&query, message);
        if (status == DW_OK && !known)
            unlinkat(dirfd(entries), entry->d_name, 0);
    }
    closedir(entries);
    return status;
}

static DwStatus write_backup(DwBook *book, const char *folder, const char *part, DwMessage *message)
{
    char *from = dw_text_format("%s/attachments", book->folder), *to = dw_text_format("%s/attachments", folder);
    char *source = dw_text_format("%s/book.sqlite", book->folder);
    DwBook snapshot = {0};
    DwStatus status = copy_database(source, part, message);
    if (status == DW_OK)
        status = dw_book_connect(part, SQLITE_OPEN_READWRITE, &snapshot.database, message);
    if (status == DW_OK)
        status = copy_attachments(&snapshot, from, to, message);
    // From here the new backup is whole; its name replaces the earlier one's.
    if (status == DW_OK)
        status = give_name(part, folder, "backup.sqlite", message);
    if (status == DW_OK)
        status = remove_others(&snapshot, to, message);
    sqlite3_close(snapshot.database);
    free(from);
    free(to);
    free(source);
    return status;
}

DwStatus dw_backup_write(DwBook *book, const char *folder, DwMessage *message)
{
    int error = dw_file_make_folder(folder);
    if (error)
        return file_failed(folder, error, message);
    DwStatus status = check_target(book, folder, message);
    if (status != DW_OK)
        return status;
    char *part = dw_text_format("%s/backup.sqlite.part", folder);
    status = write_backup(book, folder, part, message);
    if (status != DW_OK)
        remove_with_journals(part);
    free(part);
    return status;
}

// Copies the backup into the new folder as a book.
static DwStatus make_book(const char *backup, const char *folder, DwMessage *message)
{
    char *source = dw_text_format("%s/backup.sqlite", backup), *from = dw_text_format("%s/attachments", backup);
    char *to = dw_text_format("%s/attachments", folder), *target = dw_text_format("%s/book.sqlite", folder);
    DwBook snapshot = {0};
    int error = dw_file_make_folder(folder);
    DwStatus status = error ? file_failed(folder, error, message) : DW_OK;
    if (status == DW_OK)
        status = copy_database(source, target, message);
    if (status == DW_OK)
        status = dw_book_connect(target, SQLITE_OPEN_READWRITE, &snapshot.database, message);
    if (status == DW_OK)
        status = copy_attachments(&snapshot, from, to, message);
    sqlite3_close(snapshot.database);
    free(source);
    free(from);
    free(to);
    free(target);
    return status;
}

// Opens the made book, which brings it forward where it must, and checks it with all digests.
static DwStatus check_made(const char *folder, DwMessage *message)
{
    DwBook *book = NULL;
    DwStatus status = dw_book_open(folder, &book, message);
    if (status != DW_OK)
        return status;
    DwCheckReport report;
    status = dw_check_book(book, true, &report, message);
    if (status == DW_OK && report.problem_count)
        status = dw_fail(message, DW_FAILED, "The backup is damaged: %s It was not restored.", report.problems[0]);
    if (status == DW_OK)
        dw_check_report_clear(&report);
    dw_book_close(book);
    return status;
}

static DwStatus put_in_place(const char *made, const char *folder, char **aside, DwMessage *message)
{
    char *moved = NULL;
    if (access(folder, F_OK) == 0) {
        for (int i = 1; !moved || access(moved, F_OK) == 0; i++) {
            free(moved);
            moved = dw_text_format("%s.before-restore-%d", folder, i);
        }
        if (rename(folder, moved) != 0) {
            free(moved);
            return file_failed(folder, errno, message);
        }
    }
    if (rename(made, folder) != 0) {
        int error = errno;
        if (moved)
            rename(moved, folder);
        free(moved);
        return file_failed(folder, error, message);
    }
    *aside = moved;
    return DW_OK;
}

DwStatus dw_backup_restore(const char *backup, const char *folder, char **aside, DwMessage *message)
{
    char *source = dw_text_format("%s/backup.sqlite", backup);
    bool there = access(source, R_OK) == 0;
    free(source);
    if (!there)
        return dw_fail(message, DW_BAD_INPUT, "%s holds no backup of a job book.", backup);
    char *made = dw_text_format("%s.restoring", folder);
    if (access(made, F_OK) == 0) {
        DwStatus status =
            dw_fail(message, DW_BAD_INPUT, "%s is left from a restore that was interrupted. Remove it first.", made);
        free(made);
        return status;
    }
    DwStatus status = make_book(backup, made, message);
    if (status == DW_OK)
        status = check_made(made, message);
    if (status == DW_OK)
        status = put_in_place(made, folder, aside, message);
    free(made);
    return status;
}
