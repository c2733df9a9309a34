// SPDX-License-Identifier: MIT
#include "book/store/hold.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// What the bytes of the lock file mean to whoever locks them.
enum { USE, BENCH, ALL = 2 };

// The first line says that there was a book; the bench's own line follows it.
static const char noted[] = "Deckwright keeps a job book in this folder. Leave this file where it is.\n";

struct DwHold {
    int handle;
    bool bench;
};

// Locks of an open file description (fcntl F_OFD_SETLK): two in one program exclude each
// other as those of two programs do, and closing one leaves the others.
static int lock_bytes(int handle, short type, off_t first, off_t count, bool wait)
{
    struct flock lock = {.l_type = type, .l_whence = SEEK_SET, .l_start = first, .l_len = count};
    int result;
    do
        result = fcntl(handle, wait ? F_OFD_SETLKW : F_OFD_SETLK, &lock);
    while (result != 0 && errno == EINTR);
    return result == 0 ? 0 : errno;
}

static bool is_busy(int error)
{
    return error == EAGAIN || error == EACCES;
}

static DwStatus failed(const char *folder, int error, DwMessage *message)
{
    return dw_fail(message, DW_FAILED, "The job book %s cannot be opened: %s.", folder, strerror(error));
}

// Opens the lock file of FOLDER, as it is now, and locks COUNT bytes from FIRST. The folder may have
// been exchanged for another while this waited: then the lock of the new one counts.
static int open_locked(const char *folder, short type, off_t first, off_t count, bool wait, int *handle)
{
    char *path = dw_text_format("%s/lock", folder);
    int error = 0;
    for (bool same = false; !same && !error;) {
        struct stat mine, there;
        *handle = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
        if (*handle < 0) {
            error = errno;
            break;
        }
        error = lock_bytes(*handle, type, first, count, wait);
        same = !error && fstat(*handle, &mine) == 0 && stat(path, &there) == 0 && mine.st_ino == there.st_ino &&
               mine.st_dev == there.st_dev;
        if (!same)
            close(*handle);
    }
    free(path);
    return error;
}

static DwHold *new_hold(int handle)
{
    DwHold *hold = dw_memory_new(1, sizeof *hold);
    hold->handle = handle;
    return hold;
}

DwStatus dw_hold_share(const char *folder, DwHold **hold, DwMessage *message)
{
    int handle, error = open_locked(folder, F_RDLCK, USE, 1, true, &handle);
    if (error)
        return failed(folder, error, message);
    *hold = new_hold(handle);
    return DW_OK;
}

DwHold *dw_hold_share_as_it_is(const char *folder)
{
    char *path = dw_text_format("%s/lock", folder);
    int handle = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    free(path);
    if (handle < 0)
        return NULL;
    lock_bytes(handle, F_RDLCK, USE, 1, true);
    return new_hold(handle);
}

static void copy_line(const char *text, char line[DW_HOLD_TEXT])
{
    snprintf(line, DW_HOLD_TEXT, "%.*s", (int)strcspn(text, "\n"), text);
}

bool dw_hold_find_bench(const char *folder, char where[DW_HOLD_TEXT], char mark[DW_HOLD_TEXT])
{
    char *path = dw_text_format("%s/lock", folder), text[2 * DW_HOLD_TEXT] = "";
    int handle = open(path, O_RDWR | O_CLOEXEC);
    free(path);
    if (handle < 0)
        return false;
    struct flock lock = {.l_type = F_RDLCK, .l_whence = SEEK_SET, .l_start = BENCH, .l_len = 1};
    // A command that has the book alone locks from the first byte on.
    bool found = fcntl(handle, F_OFD_GETLK, &lock) == 0 && lock.l_type != F_UNLCK && lock.l_start == BENCH;
    ssize_t got = pread(handle, text, sizeof text - 1, sizeof noted - 1);
    text[got > 0 ? got : 0] = '\0';
    close(handle);
    const char *second = strchr(text, '\n');
    copy_line(text, where);
    if (mark)
        copy_line(second ? second + 1 : "", mark);
    return found;
}

DwStatus dw_hold_alone_now(const char *folder, const char *act, DwHold **hold, DwMessage *message)
{
    char where[DW_HOLD_TEXT];
    int handle, error = open_locked(folder, F_WRLCK, USE, ALL, false, &handle);
    if (!error) {
        *hold = new_hold(handle);
        return DW_OK;
    }
    if (!is_busy(error))
        return failed(folder, error, message);
    if (dw_hold_find_bench(folder, where, NULL))
        return dw_fail(message, DW_BAD_INPUT,
                       "The bench has the job book %s (%s). End it first, then %s. Nothing was changed.", folder, where,
                       act);
    return dw_fail(message, DW_BAD_INPUT,
                   "Another deckwright command has the job book %s open. Let it finish or end it, then %s. Nothing was "
                   "changed.",
                   folder, act);
}

DwStatus dw_hold_alone(const char *folder, const char *act, DwHold **hold, DwMessage *message)
{
    char where[DW_HOLD_TEXT];
    *hold = NULL;
    DwStatus status = dw_hold_alone_now(folder, act, hold, message);
    for (int i = 0; i < DW_HOLD_TRIES && status == DW_BAD_INPUT && !dw_hold_find_bench(folder, where, NULL); i++) {
        sqlite3_sleep(DW_HOLD_PAUSE);
        status = dw_hold_alone_now(folder, act, hold, message);
    }
    return status;
}

DwStatus dw_hold_bench(const char *folder, DwHold **hold, DwMessage *message)
{
    char where[DW_HOLD_TEXT];
    int handle, error = open_locked(folder, F_WRLCK, BENCH, 1, false, &handle);
    if (is_busy(error)) {
        dw_hold_find_bench(folder, where, NULL);
        return dw_fail(message, DW_BAD_INPUT, "The bench of %s is running already (%s). Use that one, or end it first.",
                       folder, where);
    }
    *hold = NULL;
    if (error == EROFS)
        return DW_OK;
    if (error)
        return failed(folder, error, message);
    *hold = new_hold(handle);
    (*hold)->bench = true;
    dw_hold_note_book(*hold);
    dw_hold_tell(*hold, "just starting", NULL);
    return DW_OK;
}

// The file is a help to people; a disk that cannot take these words is no reason not to work.
static void write_at(const DwHold *hold, const char *text, off_t place)
{
    size_t length = strlen(text);
    if (pwrite(hold->handle, text, length, place) != (ssize_t)length)
        return;
}

void dw_hold_tell(DwHold *hold, const char *place, const char *mark)
{
    if (!hold)
        return;
    char *lines = dw_text_format("%s, process %ld\n%s\n", place, (long)getpid(), mark ? mark : "");
    if (ftruncate(hold->handle, sizeof noted - 1) == 0)
        write_at(hold, lines, sizeof noted - 1);
    free(lines);
}

bool dw_hold_try_alone(DwHold *hold)
{
    return lock_bytes(hold->handle, F_WRLCK, USE, ALL, false) == 0;
}

void dw_hold_share_again(DwHold *hold)
{
    lock_bytes(hold->handle, F_UNLCK, BENCH, 1, false);
    lock_bytes(hold->handle, F_RDLCK, USE, 1, false);
}

void dw_hold_note_book(DwHold *hold)
{
    struct stat status;
    if (fstat(hold->handle, &status) == 0 && status.st_size == 0)
        write_at(hold, noted, 0);
}

void dw_hold_end(DwHold *hold)
{
    if (!hold)
        return;
    if (hold->bench && ftruncate(hold->handle, sizeof noted - 1) != 0)
        errno = 0; // the line of a bench that has ended is read by nobody
    close(hold->handle);
    free(hold);
}
