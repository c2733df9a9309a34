// SPDX-License-Identifier: MIT
#include "book/care/backup.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/care/attachments.h"
#include "book/care/check.h"
#include "book/care/erase.h"
#include "book/shop/settings.h"
#include "book/store/folder.h"
#include "book/store/private.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static DwStatus file_failed(const char *path, int error, DwMessage *message)
{
    return dw_fail(message, DW_FAILED, "%s: %s. It was not finished; what was there before is still whole.", path,
                   strerror(error));
}

// Whether FOLDER may take the backup: empty, or a backup already.
static DwStatus check_target(const char *folder, DwMessage *message)
{
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

// Whether the earlier backup EARLIER is a younger state of the book that SNAPSHOT is: the journal, which only
// grows, has the earlier one's last line where it stood. One that cannot be read is worth nothing. Two books may
// have the same lines: their identities are compared before.
static bool has_grown_from(DwBook *snapshot, const char *earlier)
{
    DwBook before = {0};
    if (access(earlier, F_OK) != 0 || dw_book_connect(earlier, SQLITE_OPEN_READWRITE, &before.database, NULL) != DW_OK)
        return true;
    bool same = true;
    DwQuery last = dw_query_begin(&before, "SELECT id, at, entity, row_id FROM journal ORDER BY id DESC LIMIT 1");
    if (dw_query_step(&last)) {
        DwQuery query =
            dw_query_begin(snapshot, "SELECT 1 FROM journal WHERE id = ? AND at = ? AND entity = ? AND row_id = ?");
        dw_query_bind_integer(&query, dw_query_integer(&last, 0));
        dw_query_bind_text(&query, dw_query_text(&last, 1));
        dw_query_bind_text(&query, dw_query_text(&last, 2));
        dw_query_bind_integer(&query, dw_query_integer(&last, 3));
        same = dw_query_step(&query);
        dw_query_end(&query, NULL);
    }
    dw_query_end(&last, NULL);
    sqlite3_close(before.database);
    return same;
}

static DwStatus check_earlier(DwBook *snapshot, const char *folder, DwMessage *message)
{
    char *earlier = dw_text_format("%s/backup.sqlite", folder);
    bool other = dw_identity_is_other(snapshot, earlier), grown = !other && has_grown_from(snapshot, earlier);
    free(earlier);
    if (other)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s holds the backup of another book. It is not written over: give another folder.", folder);
    return grown
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT,
                         "%s holds the backup of another book, or of this one with more in it. It is not written over: "
                         "give another folder.",
                         folder);
}

static DwStatus write_backup(DwBook *book, const char *folder, const char *part, DwProblems *problems,
                             DwMessage *message)
{
    char *from = dw_text_format("%s/attachments", book->folder), *to = dw_text_format("%s/attachments", folder);
    const char *const places[] = {from, NULL};
    DwBook snapshot = {0};
    DwStatus status = dw_copy_make(dw_book_source(book), part, message);
    if (status == DW_OK)
        status = dw_book_connect(part, SQLITE_OPEN_READWRITE, &snapshot.database, message);
    if (status == DW_OK)
        status = check_earlier(&snapshot, folder, message);
    if (status == DW_OK)
        status = dw_attachments_copy_all(&snapshot, NULL, 0, places, to, problems, message);
    // From here the new backup is whole; its name replaces the earlier one's.
    if (status == DW_OK)
        status = dw_copy_end(part, folder, "backup.sqlite", message);
    if (status == DW_OK)
        status = remove_others(&snapshot, to, message);
    sqlite3_close(snapshot.database);
    free(from);
    free(to);
    return status;
}

// One program at a time writes into FOLDER or reads from it; the others wait. Returns a descriptor that
// ends it when it is closed, -1 on a disk that knows no locks.
static int wait_for(const char *folder)
{
    char *path = dw_text_format("%s/backup.sqlite.lock", folder);
    int handle = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    free(path);
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    while (handle >= 0 && fcntl(handle, F_OFD_SETLKW, &lock) != 0 && errno == EINTR)
        continue;
    return handle;
}

static void let_go(int handle)
{
    if (handle >= 0)
        close(handle);
}

static DwStatus check_place(const DwBook *book, const char *folder, DwMessage *message)
{
    int depth = dw_folder_depth(folder, book->folder);
    if (depth < 0)
        return DW_OK;
    if (depth == 0)
        return dw_fail(message, DW_BAD_INPUT, "%s is the book itself. Choose another folder for the backup.", folder);
    return dw_fail(message, DW_BAD_INPUT,
                   "%s lies in the book's own folder and would be lost with it. Choose another folder for the backup, "
                   "best on another disk.",
                   folder);
}

DwStatus dw_backup_write(DwBook *book, const char *folder, DwProblems *problems, DwMessage *message)
{
    *problems = (DwProblems){0};
    if (check_place(book, folder, message) != DW_OK)
        return DW_BAD_INPUT;
    int error = dw_file_make_folder(folder);
    if (error)
        return file_failed(folder, error, message);
    DwStatus status = check_target(folder, message);
    if (status != DW_OK)
        return status;
    int turn = wait_for(folder);
    char *part = dw_text_format("%s/backup.sqlite.part", folder);
    status = write_backup(book, folder, part, problems, message);
    if (status == DW_OK)
        dw_folder_note_backup(book->folder, folder);
    else
        dw_copy_drop(part);
    let_go(turn);
    free(part);
    return status;
}

int dw_backup_is_due(DwBook *book, bool *never)
{
    int64_t remind_days = dw_settings_integer(book, "backup.remind_days"), days = dw_folder_backup_days(book->folder);
    *never = days < 0;
    if (*never &&
        dw_query_number(book,
                        "SELECT coalesce((SELECT CAST(julianday('now') - julianday(at) AS INTEGER) FROM journal "
                        "ORDER BY id LIMIT 1), -1)",
                        0, &days, NULL) != DW_OK)
        days = -1;
    return remind_days > 0 && days >= remind_days ? (int)days : -1;
}

// Copies the backup into the new folder as a book; attachments that it has not whole are taken from
// the book in FOLDER, if there is one that has.
static DwStatus make_book(const char *backup, const char *made, const char *folder, DwProblems *problems,
                          DwMessage *message)
{
    char *source = dw_text_format("%s/backup.sqlite", backup), *from = dw_text_format("%s/attachments", backup);
    char *to = dw_text_format("%s/attachments", made), *target = dw_text_format("%s/book.sqlite", made);
    char *present = dw_text_format("%s/attachments", folder);
    const char *const places[] = {from, present, NULL};
    DwBook snapshot = {0};
    DwStatus status = dw_copy_make(source, target, message);
    if (status == DW_OK)
        status = dw_book_connect(target, SQLITE_OPEN_READWRITE, &snapshot.database, message);
    if (status == DW_OK)
        status = dw_attachments_copy_all(&snapshot, NULL, 0, places, to, problems, message);
    sqlite3_close(snapshot.database);
    if (status == DW_OK)
        dw_folder_note_backup(made, backup);
    free(source);
    free(from);
    free(to);
    free(target);
    free(present);
    return status;
}

// Opens the made book, which brings it forward where it must, and checks all but the attachments,
// which were looked at one by one already. A letter that a disk changed is told and keeps nothing else from coming
// back.
static DwStatus check_made(const char *made, const char *folder, size_t *erased, DwProblems *told, DwMessage *message)
{
    DwBook *book = NULL;
    DwStatus status = dw_book_open(made, &book, message);
    if (status != DW_OK)
        return status;
    DwProblems problems;
    status = dw_check_entries(book, &problems, message);
    if (status == DW_OK && problems.count)
        status = dw_fail(message, DW_FAILED, "The backup is damaged: %s It was not restored.", problems.lines[0]);
    dw_problems_clear(&problems);
    if (status == DW_OK)
        status = dw_check_seals(book, told, message);
    if (status == DW_OK)
        status = dw_erased_again(book, folder, erased, told, message);
    dw_book_close(book);
    return status;
}

// A name beside FOLDER that nothing has.
static char *free_name(const char *folder)
{
    char *name = NULL;
    for (int i = 1; !name || access(name, F_OK) == 0; i++) {
        free(name);
        name = dw_text_format("%s.before-restore-%d", folder, i);
    }
    return name;
}

// Puts MADE where FOLDER is. Where the disk can exchange two names there is no instant without a book;
// else MADE is still there while there is none, and no new book is begun then (folder.c).
static int exchange(const char *made, const char *folder, const char *aside)
{
    if (rename(made, aside) == 0) {
        if (renameat2(AT_FDCWD, aside, AT_FDCWD, folder, RENAME_EXCHANGE) == 0)
            return 0;
        if (rename(aside, made) != 0)
            return errno;
    }
    if (rename(folder, aside) != 0)
        return errno;
    if (rename(made, folder) == 0)
        return 0;
    int error = errno;
    rename(aside, folder);
    return error;
}

static DwStatus put_in_place(const char *made, const char *folder, char **aside, DwMessage *message)
{
    char *moved = access(folder, F_OK) == 0 ? free_name(folder) : NULL;
    int error = moved ? exchange(made, folder, moved) : rename(made, folder) == 0 ? 0 : errno;
    if (!error)
        error = dw_file_settle_entry(folder);
    if (error) {
        free(moved);
        return file_failed(folder, error, message);
    }
    *aside = moved;
    return DW_OK;
}

static DwStatus make_room(const char *made, DwMessage *message)
{
    if (mkdir(made, 0700) == 0)
        return DW_OK;
    if (errno == EEXIST)
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s is left from a restore that was interrupted, or another is at work. If none is, remove it and "
            "restore again.",
            made);
    return file_failed(made, errno, message);
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *place)
{
    (void)status;
    (void)kind;
    (void)place;
    return remove(path);
}

static DwStatus restore(const char *backup, const char *folder, char **aside, size_t *erased, DwProblems *problems,
                        DwMessage *message)
{
    char *made = dw_text_format("%s.restoring", folder);
    DwStatus status = make_room(made, message);
    bool own = status == DW_OK;
    if (status == DW_OK)
        status = make_book(backup, made, folder, problems, message);
    if (status == DW_OK)
        status = check_made(made, folder, erased, problems, message);
    if (status == DW_OK)
        status = put_in_place(made, folder, aside, message);
    // What is not put in its place would only stand in the way of the next restore.
    if (status != DW_OK && own)
        nftw(made, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    free(made);
    return status;
}

// FOLDER without slashes behind it, and by its own name where it is given as "." or "..".
static char *plain_name(const char *folder)
{
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    char *name = dw_text_format("%.*s", (int)length, folder);
    const char *slash = strrchr(name, '/'), *last = slash ? slash + 1 : name;
    char *whole = strcmp(last, ".") == 0 || strcmp(last, "..") == 0 ? realpath(name, NULL) : NULL;
    if (!whole)
        return name;
    free(name);
    return whole;
}

static DwStatus check_restore(const char *backup, const char *folder, DwMessage *message)
{
    char *source = dw_text_format("%s/backup.sqlite", backup);
    struct stat status_of;
    bool there = stat(source, &status_of) == 0 && S_ISREG(status_of.st_mode) && status_of.st_size > 0;
    free(source);
    if (!there)
        return dw_fail(message, DW_BAD_INPUT, "%s holds no backup of a job book.", backup);
    int depth = dw_folder_depth(folder, backup);
    if (depth >= 0)
        return dw_fail(message, DW_BAD_INPUT,
                       depth ? "%s lies in the backup. Give another folder for the book."
                             : "%s is the backup itself. Give another folder for the book.",
                       folder);
    if (dw_folder_is_other(folder))
        return dw_fail(message, DW_BAD_INPUT, "%s holds other things and no book. Give a new folder, or the book's.",
                       folder);
    return DW_OK;
}

// A book in which something was noted makes way for its own backup only.
static DwStatus check_owner(const char *backup, const char *folder, DwMessage *message)
{
    char *book = dw_text_format("%s/book.sqlite", folder), *source = dw_text_format("%s/backup.sqlite", backup);
    bool empty, other = dw_identity_differ(book, source, &empty);
    free(book);
    free(source);
    return other && !empty ? dw_fail(message, DW_BAD_INPUT,
                                     "%s is the backup of another book than the one in %s. Give another folder for it: "
                                     "deckwright book restore '%s' --book FOLDER.",
                                     backup, folder, backup)
                           : DW_OK;
}

static DwStatus restore_alone(const char *backup, const char *folder, char **aside, size_t *erased,
                              DwProblems *problems, DwMessage *message)
{
    DwHold *alone = NULL;
    DwStatus status = check_restore(backup, folder, message);
    if (status == DW_OK && access(folder, F_OK) == 0)
        status = dw_hold_alone(folder, "restore", &alone, message);
    if (status != DW_OK)
        return status;
    int turn = wait_for(backup);
    status = check_owner(backup, folder, message);
    if (status == DW_OK)
        status = restore(backup, folder, aside, erased, problems, message);
    let_go(turn);
    dw_hold_end(alone);
    return status;
}

DwStatus dw_backup_restore(const char *backup, const char *folder, char **aside, size_t *erased, DwProblems *problems,
                           DwMessage *message)
{
    *problems = (DwProblems){0};
    *erased = 0;
    char *name = plain_name(folder);
    DwStatus status = restore_alone(backup, name, aside, erased, problems, message);
    free(name);
    return status;
}
