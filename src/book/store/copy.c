// SPDX-License-Identifier: MIT
// Copies of the SQLite file: there whole or not at all.
#include "base/text.h"
#include "book/store/private.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void dw_copy_drop(const char *path)
{
    static const char *const endings[] = {"", "-wal", "-shm", "-journal"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char *file = dw_text_format("%s%s", path, endings[i]);
        unlink(file);
        free(file);
    }
}

static DwStatus failed(const char *path, int error, DwMessage *message)
{
    return dw_fail(message, DW_FAILED, "%s: %s. It was not finished; what was there before is still whole.", path,
                   strerror(error));
}

// Before any connection has it open: closing a descriptor of an open database would drop its locks.
DwStatus dw_copy_begin(const char *path, DwMessage *message)
{
    dw_copy_drop(path);
    int handle = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (handle < 0)
        return failed(path, errno, message);
    close(handle);
    return DW_OK;
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

DwStatus dw_copy_make(const char *source, const char *path, DwMessage *message)
{
    sqlite3 *from = NULL, *to = NULL;
    DwStatus status = dw_copy_begin(path, message);
    if (status == DW_OK)
        status = dw_book_connect(source, SQLITE_OPEN_READWRITE, &from, message);
    if (status == DW_OK)
        status = dw_book_connect(path, SQLITE_OPEN_READWRITE, &to, message);
    if (status == DW_OK)
        status = copy_pages(from, to, message);
    sqlite3_close(from);
    sqlite3_close(to);
    return status;
}

// The pages are on the disk already: SQLite forced them. Only the name is left.
DwStatus dw_copy_end(const char *path, const char *folder, const char *name, DwMessage *message)
{
    char *whole = dw_text_format("%s/%s", folder, name);
    int error = rename(path, whole) == 0 ? dw_file_settle(folder) : errno;
    DwStatus status = error ? failed(whole, error, message) : DW_OK;
    free(whole);
    return status;
}
