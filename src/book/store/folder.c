// SPDX-License-Identifier: MIT
#include "book/store/folder.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/store/private.h"

#include <errno.h>
#include <dirent.h>
#include <fcntl.h>
#include <libgen.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static bool stat_in(const char *folder, const char *name, struct stat *status)
{
    char *path = dw_text_format("%s/%s", folder, name);
    bool there = stat(path, status) == 0;
    free(path);
    return there;
}

// How many entries FOLDER/NAME has; 0 when it is not there.
static size_t count_entries(const char *folder, const char *name)
{
    char *path = dw_text_format("%s/%s", folder, name);
    DIR *entries = opendir(path);
    free(path);
    size_t count = 0;
    for (const struct dirent *entry = entries ? readdir(entries) : NULL; entry; entry = readdir(entries))
        count += *entry->d_name != '.';
    if (entries)
        closedir(entries);
    return count;
}

static void add_count(DwText *text, size_t count, const char *one, const char *several)
{
    if (count)
        dw_text_add(text, "%s%zu %s", text->length ? ", " : "", count, count == 1 ? one : several);
}

// What is left of a book beside its database: "12 attachments, 1 copy from before a migration".
// NULL when nothing is.
static char *remains(const char *folder)
{
    DwText text = {0};
    struct stat status;
    add_count(&text, count_entries(folder, "attachments"), "attachment", "attachments");
    add_count(&text, count_entries(folder, "orphans"), "file in orphans", "files in orphans");
    add_count(&text, count_entries(folder, "before-migration"), "copy in before-migration",
              "copies in before-migration");
    if (stat_in(folder, "book.sqlite-wal", &status) && status.st_size > 0)
        dw_text_add(&text, "%sthe last changes in book.sqlite-wal", text.length ? ", " : "");
    if (stat_in(folder, "last-backup", &status))
        dw_text_add(&text, "%sthe note of a backup", text.length ? ", " : "");
    if (!text.length && stat_in(folder, "lock", &status) && status.st_size > 0)
        dw_text_add(&text, "the lock of a book");
    return text.length ? dw_text_take(&text) : NULL;
}

// The one line of FOLDER/last-backup: where the backup is; false without one.
static bool read_last_backup(const char *folder, char backup[PATH_MAX])
{
    char *path = dw_text_format("%s/last-backup", folder);
    FILE *file = fopen(path, "re");
    free(path);
    bool read = file && fgets(backup, PATH_MAX, file);
    if (file)
        fclose(file);
    if (read)
        backup[strcspn(backup, "\n")] = '\0';
    return read && *backup;
}

char *dw_folder_advice(const char *folder)
{
    char backup[PATH_MAX], day[20] = "";
    struct stat status;
    struct tm parts;
    if (!read_last_backup(folder, backup))
        return dw_memory_text(dw_said(
            "Keep what is there and restore the last backup: deckwright book restore BACKUP. It moves this aside."));
    if (!stat_in(backup, "backup.sqlite", &status))
        return dw_say("Keep what is there and restore the last backup; it went to %s, which is not there now.", backup);
    if (localtime_r(&status.st_mtime, &parts))
        strftime(day, sizeof day, "%Y-%m-%d %H:%M", &parts);
    return dw_say("Keep what is there and restore the last backup, of %s: deckwright book restore '%s'. It "
                  "moves this aside.",
                  day, backup);
}

static DwStatus lost(const char *folder, const char *what, const char *left, DwMessage *message)
{
    char *advice = dw_folder_advice(folder);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s/book.sqlite %s, and beside it: %s. This is no new book. %s",
                              folder, dw_said(what), left, advice);
    free(advice);
    return status;
}

// Without a database: only where nothing of a book is may one be started.
static DwStatus look_without(const char *folder, DwMessage *message)
{
    struct stat status;
    if (stat_in(folder, "backup.sqlite", &status))
        return dw_fail(message, DW_BAD_INPUT,
                       "%s is the backup of a book. Restore it into another folder: deckwright book restore '%s' "
                       "--book FOLDER.",
                       folder, folder);
    char *left = remains(folder);
    if (left) {
        DwStatus refused = lost(folder, N_("is not there"), left, message);
        free(left);
        return refused;
    }
    char *made = dw_text_format("%s.restoring", folder);
    bool interrupted = stat(made, &status) == 0;
    free(made);
    if (interrupted)
        return dw_fail(message, DW_BAD_INPUT,
                       "A restore of %s was interrupted: %s.restoring is left of it. Remove that and restore again.",
                       folder, folder);
    return DW_OK;
}

DwStatus dw_folder_refuse(const char *folder, const char *what, DwMessage *message)
{
    char *left = remains(folder);
    DwStatus status =
        left
            ? lost(folder, what, left, message)
            : dw_fail(
                  message, DW_BAD_INPUT,
                  "%s/book.sqlite %s, not a job book. Choose another folder. If a book was kept here, restore its last "
                  "backup: deckwright book restore BACKUP.",
                  folder, dw_said(what));
    free(left);
    return status;
}

DwStatus dw_folder_look(const char *folder, DwFolderState *state, DwMessage *message)
{
    struct stat status;
    errno = 0;
    if (!stat_in(folder, "book.sqlite", &status)) {
        if (errno == EACCES)
            return dw_fail(message, DW_FAILED,
                           "%s cannot be looked into: %s. Whoever owns it can give you the right to it.", folder,
                           strerror(EACCES));
        *state = DW_FOLDER_NEW;
        return look_without(folder, message);
    }
    *state = DW_FOLDER_BOOK;
    if (!S_ISREG(status.st_mode))
        return dw_folder_refuse(folder, S_ISDIR(status.st_mode) ? N_("is a folder") : N_("is no ordinary file"),
                                message);
    return status.st_size == 0 ? dw_folder_refuse(folder, "is empty (0 bytes)", message) : DW_OK;
}

void dw_folder_note_backup(const char *folder, const char *backup)
{
    char *whole = realpath(backup, NULL);
    char *line = whole ? dw_text_format("%s\n", whole) : NULL;
    // A help for a bad day; a disk that cannot take it has made no backup worse.
    if (line && !strchr(whole, '\n'))
        dw_file_write(folder, "last-backup", line, strlen(line));
    free(line);
    free(whole);
}

int dw_folder_backup_days(const char *folder)
{
    enum { DAY_S = 86400 };
    struct stat status;
    if (!stat_in(folder, "last-backup", &status)) // written anew by each backup
        return -1;
    double seconds = difftime(time(NULL), status.st_mtime);
    return seconds > 0 ? (int)(seconds / DAY_S) : 0;
}

bool dw_folder_is_database(const char *folder, const char *path)
{
    static const char *const names[] = {"book.sqlite", "book.sqlite-wal", "book.sqlite-shm"};
    struct stat given, own;
    if (stat(path, &given) != 0)
        return false;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (stat_in(folder, names[i], &own) && own.st_ino == given.st_ino && own.st_dev == given.st_dev)
            return true;
    return false;
}

static bool is_folder_of(const char *folder)
{
    struct stat status;
    return stat_in(folder, "book.sqlite", &status) || stat_in(folder, "backup.sqlite", &status);
}

static bool is_any(const char *name, const char *const *names, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(name, names[i]) == 0)
            return true;
    return false;
}

// The folder that PATH stands in, by its one true name; NULL when it is not there.
static char *true_parent(const char *path)
{
    char *copy = dw_memory_text(path);
    char *parent = realpath(dirname(copy), NULL);
    free(copy);
    return parent;
}

bool dw_folder_owns(const char *path)
{
    static const char *const notes[] = {"lock", "last-backup", "erased"};
    static const char *const rooms[] = {"attachments", "heard", "incoming", "orphans", "before-migration"};
    char *copy = dw_memory_text(path), *parent = true_parent(path), *above = parent ? true_parent(parent) : NULL;
    const char *name = basename(copy), *slash = parent ? strrchr(parent, '/') : NULL;
    bool database = strncmp(name, "book.sqlite", 11) == 0 || strncmp(name, "backup.sqlite", 13) == 0;
    bool owns = (parent && is_folder_of(parent) && (database || is_any(name, notes, 3))) ||
                (slash && above && is_any(slash + 1, rooms, sizeof rooms / sizeof *rooms) && is_folder_of(above));
    free(copy);
    free(parent);
    free(above);
    return owns;
}

bool dw_folder_is_other(const char *folder)
{
    struct stat status;
    if (stat_in(folder, "book.sqlite", &status) || count_entries(folder, ".") == 0)
        return false;
    char *left = remains(folder);
    bool other = !left && !(count_entries(folder, ".") == 1 && stat_in(folder, "lock", &status));
    free(left);
    return other;
}

int dw_folder_depth(const char *path, const char *folder)
{
    struct stat wanted, met;
    if (stat(folder, &wanted) != 0)
        return -1;
    char *at = realpath(path, NULL);
    int depth = 0;
    for (; !at && depth < 1; depth++)
        at = true_parent(path);
    for (; at; depth++) {
        if (stat(at, &met) == 0 && met.st_ino == wanted.st_ino && met.st_dev == wanted.st_dev)
            break;
        char *above = strcmp(at, "/") == 0 ? NULL : true_parent(at);
        free(at);
        at = above;
    }
    bool found = at;
    free(at);
    return found ? depth : -1;
}
