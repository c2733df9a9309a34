// SPDX-License-Identifier: MIT
#include "audio/growing.h"

#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// A hidden name beside PATH. The caller frees it with free().
static char *name_beside(const char *path, unsigned attempt)
{
    const char *slash = strrchr(path, '/');
    int folder = slash ? (int)(slash - path) + 1 : 0;
    return dw_text_format("%.*s.%s.%ld-%u.part", folder, path, path + folder, (long)getpid(), attempt);
}

DwStatus dw_growing_open(const char *path, DwGrowing *growing, DwMessage *message)
{
    struct stat about;
    *growing = (DwGrowing){.path = dw_memory_text(path), .descriptor = -1};
    if (stat(path, &about) == 0 && !S_ISREG(about.st_mode))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is no file that could be replaced. Give another name.", path);
    for (unsigned attempt = 0; attempt < 1000; attempt++) {
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
    if (fsync(growing->descriptor) != 0 || rename(growing->name, growing->path) != 0)
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
