// SPDX-License-Identifier: MIT
// A book that cannot be written to, on a full disk or one that can only be read, is read as it stands.
#include "base/text.h"
#include "book/store/private.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// SQLite makes an index of its log, of 32 KiB at least, before it reads anything.
enum { ROOM = 64 * 1024 };

// A file without a name in FOLDER; on a disk that knows none, one that has lost it. -1 with errno.
static int open_nameless(const char *folder)
{
    int handle = open(folder, O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
    if (handle >= 0 || (errno != EOPNOTSUPP && errno != EISDIR && errno != EINVAL))
        return handle;
    char *path = dw_text_format("%s/room-%ld.part", folder, (long)getpid());
    handle = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (handle >= 0)
        unlink(path);
    free(path);
    return handle;
}

// Why nothing can be written in FOLDER, an errno; 0 when it can.
static int hindrance(const char *folder)
{
    int handle = open_nameless(folder);
    if (handle < 0)
        return errno;
    int error = posix_fallocate(handle, 0, ROOM);
    close(handle);
    return error;
}

bool dw_reading_is_needed(DwBook *book)
{
    int error = hindrance(book->folder);
    if (error == ENOSPC || error == EDQUOT)
        book->fixed = dw_text_format("The disk of the job book %s is full: the book can be read, not changed. Free "
                                     "some space, then do it again.",
                                     book->folder);
    else if (error == EROFS || error == EACCES || error == EPERM)
        book->fixed = dw_text_format("The job book %s can be read, not changed: %s.", book->folder, strerror(error));
    return book->fixed;
}

// PATH as SQLite takes it for a file that nobody changes (sqlite.org/uri.html).
static char *as_fixed_file(const char *path)
{
    char *whole = realpath(path, NULL);
    DwText uri = {0};
    dw_text_add(&uri, "file://");
    for (const char *at = whole ? whole : path; *at; at++)
        dw_text_add(&uri,
                    strchr("/-._~", *at) || (*at >= '0' && *at <= '9') || ((*at | 32) >= 'a' && (*at | 32) <= 'z')
                        ? "%c"
                        : "%%%02X",
                    (unsigned char)*at);
    dw_text_add(&uri, "?immutable=1");
    free(whole);
    return dw_text_take(&uri);
}

static int copy_both(const char *folder, const char *to)
{
    static const char *const names[] = {"book.sqlite", "book.sqlite-wal"};
    int error = 0;
    for (size_t i = 0; i < 2 && !error; i++) {
        char *from = dw_text_format("%s/%s", folder, names[i]);
        error = dw_file_copy(from, to, names[i], NULL, NULL);
        free(from);
    }
    return error;
}

void dw_reading_end(DwBook *book)
{
    if (book->copy) {
        char *path = dw_text_format("%s/book.sqlite", book->copy);
        dw_copy_drop(path);
        rmdir(book->copy);
        free(path);
    }
    free(book->copy);
    free(book->source);
    free(book->fixed);
    book->copy = book->source = book->fixed = NULL;
}

// The last changes lie in the log: SQLite reads them from a copy, wherever there is room for one.
static DwStatus copy_aside(DwBook *book, DwMessage *message)
{
    const char *const places[] = {getenv("TMPDIR"), getenv("XDG_RUNTIME_DIR"), "/tmp", "/var/tmp", "/dev/shm"};
    int error = ENOSPC;
    for (size_t i = 0; i < sizeof places / sizeof *places && error; i++) {
        char *folder = places[i] && *places[i] ? dw_text_format("%s/deckwright-XXXXXX", places[i]) : NULL;
        if (folder && mkdtemp(folder)) {
            char *path = dw_text_format("%s/book.sqlite", folder);
            error = copy_both(book->folder, folder);
            if (error) {
                dw_copy_drop(path);
                rmdir(folder);
                free(path);
            } else {
                book->source = path;
                book->copy = folder;
                return DW_OK;
            }
        }
        free(folder);
    }
    return dw_fail(message, DW_FAILED, "%s Its last changes could not be copied anywhere to be read: %s.", book->fixed,
                   strerror(error));
}

// Several may have the book so; whoever could write to it would not have to.
DwStatus dw_reading_begin(DwBook *book, DwMessage *message)
{
    char *path = dw_text_format("%s/book.sqlite", book->folder), *log = dw_text_format("%s-wal", path);
    struct stat status;
    bool changes = stat(log, &status) == 0 && status.st_size > 0;
    DwStatus done = changes ? copy_aside(book, message) : DW_OK;
    if (!changes)
        book->source = as_fixed_file(path);
    free(path);
    free(log);
    return done;
}
