// SPDX-License-Identifier: MIT
#include "procedure/sight/photo_marks.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

enum { SEEN_MOST = DW_PAPER_MARKS_MOST * DW_MARKED_COUNT };

// By how much a picture of this size is made smaller to look for marks.
static double decimation(const DwGrey *grey)
{
    double pixels = (double)grey->width * grey->height;
    return pixels > 5e6 ? 3 : pixels > 1.2e6 ? 2 : 1;
}

// Whether the marks stand in the picture as in a mirror: the cameras on telephones' fronts save it so.
static bool is_mirrored(DwMarkFinder *finder, const DwGrey *grey, size_t least)
{
    DwMarkSeen all[SEEN_MOST];
    uint8_t *pixels = dw_memory_new((size_t)grey->width * (size_t)grey->height, 1);
    for (int y = 0; y < grey->height; y++)
        for (int x = 0; x < grey->width; x++)
            pixels[(size_t)y * (size_t)grey->width + (size_t)x] =
                grey->pixels[(ptrdiff_t)y * grey->stride + grey->width - 1 - x];
    const DwGrey mirrored = {grey->width, grey->height, grey->width, pixels};
    size_t found = dw_mark_finder_find(finder, &mirrored, decimation(grey), all, SEEN_MOST);
    free(pixels);
    return found >= least;
}

DwStatus dw_photo_marks_read(const char *path, DwMarkFinder *finder, size_t least, DwPhoto *photo, DwMarkSeen *seen,
                             size_t *count, DwMarkedPaper *paper, DwMessage *message)
{
    DwMarkSeen all[SEEN_MOST];
    DwPhoto read;
    DwStatus status = dw_photo_read(path, &read, message);
    if (status != DW_OK)
        return status;
    size_t found = dw_mark_finder_find(finder, &read.grey, decimation(&read.grey), all, SEEN_MOST);
    if (found < least)
        found = dw_mark_finder_find(finder, &read.grey, 1, all, SEEN_MOST); // small marks need all pixels
    found = dw_mark_finder_one_paper(all, found, paper);
    found = found < DW_PAPER_MARKS_MOST ? found : DW_PAPER_MARKS_MOST;
    if (found < least) {
        bool mirrored = is_mirrored(finder, &read.grey, least);
        dw_photo_clear(&read);
        if (mirrored)
            return dw_fail(message, DW_BAD_INPUT,
                           "%s: it is mirrored. Take it with the camera on the telephone's back, or turn off that "
                           "pictures are saved mirrored.",
                           path);
        return dw_fail(message, DW_BAD_INPUT,
                       found == 1
                           ? "%s: %zu mark of a paper is seen, wanted %zu or more. Bring more of the marks into the "
                             "picture, flat, in even light and in focus."
                           : "%s: %zu marks of a paper are seen, wanted %zu or more. Bring more of the marks into the "
                             "picture, flat, in even light and in focus.",
                       path, found, least);
    }
    memcpy(seen, all, found * sizeof *seen);
    *count = found;
    *photo = read;
    return DW_OK;
}
