// SPDX-License-Identifier: MIT
#include "chart/draw/whole_file.h"

#include "base/text.h"
#include "base/tongue.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { TRIES = 100 };

static bool write_all(int file, const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t written = write(file, bytes, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return false;
        bytes += written;
        length -= (size_t)written;
    }
    return fsync(file) == 0;
}

// A new file beside PATH that no one else is writing; -1 with errno when it cannot be made.
static int open_beside(const char *path, mode_t rights, char **name)
{
    for (int i = 0; i < TRIES; i++) {
        *name = dw_text_format("%s.%ld-%d.part", path, (long)getpid(), i);
        int file = open(*name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, rights);
        if (file >= 0)
            return file;
        free(*name);
        *name = NULL;
        if (errno != EEXIST)
            return -1;
    }
    return -1;
}

static DwStatus refuse(const char *path, int trouble, const char *advice, DwMessage *message)
{
    return dw_fail(message, DW_FAILED, "%s cannot be written: %s. %s", path, strerror(trouble), dw_said(advice));
}

static const char other_folder[] = N_("Choose a folder that you may write to."),
                  other_place[] = N_("Choose another place for it.");

// A folder or a device is not replaced by a file of its name.
static DwStatus refuse_other(const char *path, DwMessage *message)
{
    struct stat there;
    if (stat(path, &there) == 0 && !S_ISREG(there.st_mode))
        return refuse(path, S_ISDIR(there.st_mode) ? EISDIR : EINVAL, other_place, message);
    return DW_OK;
}

DwStatus dw_whole_file_check(const char *path, DwMessage *message)
{
    char *name = NULL;
    if (refuse_other(path, message) != DW_OK)
        return DW_FAILED;
    int file = open_beside(path, 0666, &name);
    if (file < 0)
        return refuse(path, errno, other_folder, message);
    close(file);
    unlink(name);
    free(name);
    return DW_OK;
}

static DwStatus write_whole(const char *path, const char *bytes, size_t length, mode_t rights, DwMessage *message)
{
    char *name = NULL;
    if (refuse_other(path, message) != DW_OK)
        return DW_FAILED;
    int file = open_beside(path, rights, &name);
    if (file < 0)
        return refuse(path, errno, other_folder, message);
    bool written = write_all(file, bytes, length);
    int trouble = errno;
    if (close(file) != 0 && written) {
        written = false;
        trouble = errno;
    }
    if (written && rename(name, path) != 0) {
        written = false;
        trouble = errno;
    }
    if (!written)
        unlink(name);
    free(name);
    if (!written)
        return refuse(path, trouble, other_place, message);
    return DW_OK;
}

DwStatus dw_whole_file_write(const char *path, const char *bytes, size_t length, DwMessage *message)
{
    return write_whole(path, bytes, length, 0666, message);
}

DwStatus dw_whole_file_write_private(const char *path, const char *bytes, size_t length, DwMessage *message)
{
    return write_whole(path, bytes, length, 0600, message);
}
