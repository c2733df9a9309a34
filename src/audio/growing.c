// SPDX-License-Identifier: MIT
#include "audio/growing.h"

#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { ATTEMPTS = 1000 };

// A hidden name beside PATH. The caller frees it with free().
static char *name_beside(const char *path, unsigned attempt)
{
    const char *slash = strrchr(path, '/');
    int folder = slash ? (int)(slash - path) + 1 : 0;
    return dw_text_format("%.*s.%s.%ld-%u.part", folder, path, path + folder, (long)getpid(), attempt);
}

// Gives the file without a name at DESCRIPTOR a hidden one beside PATH. Returned: the name, or NULL with errno.
static char *give_name(int descriptor, const char *path)
{
    char own[40];
    snprintf(own, sizeof own, "/proc/self/fd/%d", descriptor);
    for (unsigned attempt = 0; attempt < ATTEMPTS; attempt++) {
        char *name = name_beside(path, attempt);
        if (linkat(AT_FDCWD, own, AT_FDCWD, name, AT_SYMLINK_FOLLOW) == 0)
            return name;
        free(name);
        if (errno != EEXIST)
            break;
    }
    return NULL;
}

static int open_without_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    char *folder = slash ? dw_text_format("%.*s", (int)(slash - path) + 1, path) : dw_memory_text(".");
    int descriptor = open(folder, O_TMPFILE | O_RDWR | O_CLOEXEC, 0666);
    free(folder);
    return descriptor;
}

// Whether a file that grows without a name in the folder of PATH can be given one later: an empty one is.
static bool can_name(const char *path)
{
    int trial = open_without_name(path);
    char *name = trial >= 0 ? give_name(trial, path) : NULL;
    bool named = name && unlink(name) == 0;
    free(name);
    if (trial >= 0)
        close(trial);
    return named;
}

DwStatus dw_growing_open(const char *path, DwGrowing *growing, DwMessage *message)
{
    struct stat about;
    *growing = (DwGrowing){.path = dw_memory_text(path), .descriptor = -1};
    if (stat(path, &about) == 0 && !S_ISREG(about.st_mode))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is no file that could be replaced. Give another name.", path);
    if (can_name(path))
        growing->descriptor = open_without_name(path);
    if (growing->descriptor >= 0)
        return DW_OK;
    for (unsigned attempt = 0; attempt < ATTEMPTS; attempt++) {
        growing->name = name_beside(path, attempt);
        growing->descriptor = open(growing->name, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (growing->descriptor >= 0)
            return DW_OK;
        int reason = errno;
        free(growing->name);
        growing->name = NULL;
        if (reason != EEXIST)
            return dw_fail(message, DW_FAILED, "%s: cannot be written (%s). Choose a folder you may write to.", path,
                           strerror(reason));
    }
    return dw_fail(message, DW_FAILED, "%s: too many unfinished files lie beside it. Remove the .part files.", path);
}

const char *dw_growing_keep(DwGrowing *growing)
{
    if (fsync(growing->descriptor) != 0)
        return strerror(errno);
    if (!growing->name)
        growing->name = give_name(growing->descriptor, growing->path);
    if (!growing->name || rename(growing->name, growing->path) != 0)
        return strerror(errno);
    free(growing->name);
    growing->name = NULL;
    return NULL;
}

void dw_growing_drop(DwGrowing *growing)
{
    if (growing->descriptor >= 0)
        close(growing->descriptor);
    if (growing->name)
        unlink(growing->name);
    free(growing->name);
    free(growing->path);
    *growing = (DwGrowing){.descriptor = -1};
}
