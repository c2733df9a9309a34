// SPDX-License-Identifier: MIT
// Photographs: as they are measured by, with the marks looked for, and as they go onto papers and pages.
#include "report/picture.h"
#include "sight/mark_finder.h"
#include "sight/photo.h"
#include "target.h"

#include <stdio.h>
#include <sys/mman.h>
#include <unistd.h>

enum { SEEN_MOST = 64, LOOKED_AT_MOST = 1000000 };

static void find_marks(const DwGrey *grey)
{
    DwMarkSeen seen[SEEN_MOST];
    DwMarkFinder *finder = dw_mark_finder_new();
    size_t count = dw_mark_finder_find(finder, grey, 1, seen, SEEN_MOST);
    TARGET_HOLDS(count <= SEEN_MOST);
    DwMarkedPaper paper;
    TARGET_HOLDS(dw_mark_finder_one_paper(seen, count, &paper) <= count);
    dw_mark_finder_free(finder);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    int file = memfd_create("picture", MFD_CLOEXEC);
    TARGET_HOLDS(file >= 0 && write(file, bytes, count) == (ssize_t)count);
    char path[40];
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    DwPhoto photo = {0};
    DwMessage message = {""};
    DwStatus status = dw_photo_read(path, &photo, &message);
    TARGET_HOLDS(status == DW_OK ? photo.pixels != NULL : message.text[0] != 0);
    if (status == DW_OK && (size_t)photo.grey.width * (size_t)photo.grey.height <= LOOKED_AT_MOST)
        find_marks(&photo.grey);
    dw_photo_clear(&photo);
    DwPictureCopy copy = {0};
    message.text[0] = 0;
    status = dw_picture_copy(path, 200, 1, &copy, &message);
    TARGET_HOLDS(status == DW_OK ? copy.bytes && copy.length : message.text[0] != 0);
    free(copy.bytes);
    close(file);
    return 0;
}
