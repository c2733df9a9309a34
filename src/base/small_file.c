// SPDX-License-Identifier: MIT
#include "base/small_file.h"

#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static DwStatus check(int file, const char *path, size_t most, DwMessage *message)
{
    struct stat about;
    if (fstat(file, &about) != 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot be read (%s).", path, strerror(errno));
    if (!S_ISREG(about.st_mode))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is no ordinary file. Save it to a file first.", path);
    if ((uint64_t)about.st_size > most)
        return dw_fail(message, DW_BAD_INPUT, "%s: the file has more than %zu kB. It is no file of this kind.", path,
                       most / 1024);
    return DW_OK;
}

// Reads up to MOST bytes; a file may have grown since it was looked at.
static DwStatus take(int file, const char *path, size_t most, char **bytes, size_t *length, DwMessage *message)
{
    char *taken = dw_memory_new(most + 1, 1);
    size_t count = 0;
    ssize_t got = 1;
    while (count < most && got > 0) {
        got = read(file, taken + count, most - count);
        if (got < 0 && errno == EINTR)
            got = 1;
        else if (got > 0)
            count += (size_t)got;
    }
    if (got < 0) {
        dw_fail(message, DW_BAD_INPUT, "%s: cannot be read (%s).", path, strerror(errno));
        free(taken);
        return DW_BAD_INPUT;
    }
    taken[count] = '\0';
    *bytes = dw_memory_resize(taken, count + 1, 1);
    *length = count;
    return DW_OK;
}

DwStatus dw_small_file_read(const char *path, size_t most, char **bytes, size_t *length, DwMessage *message)
{
    // Not blocking: to open a pipe is to wait for who writes into it.
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (file < 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot open it (%s). Check the name.", path, strerror(errno));
    DwStatus status = check(file, path, most, message);
    if (status == DW_OK)
        status = take(file, path, most, bytes, length, message);
    close(file);
    return status;
}
