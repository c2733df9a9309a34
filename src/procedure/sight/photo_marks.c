// SPDX-License-Identifier: MIT
#include "procedure/sight/photo_marks.h"

#include <string.h>

enum { SEEN_MOST = DW_PAPER_MARKS_MOST * DW_MARKED_COUNT };

DwStatus dw_photo_marks_read(const char *path, DwMarkFinder *finder, size_t least, DwPhoto *photo, DwMarkSeen *seen,
                             size_t *count, DwMarkedPaper *paper, DwMessage *message)
{
    DwMarkSeen all[SEEN_MOST];
    DwPhoto read;
    DwStatus status = dw_photo_read(path, &read, message);
    if (status != DW_OK)
        return status;
    double pixels = (double)read.grey.width * read.grey.height;
    size_t found = dw_mark_finder_find(finder, &read.grey, pixels > 5e6 ? 3 : pixels > 1.2e6 ? 2 : 1, all, SEEN_MOST);
    if (found < least)
        found = dw_mark_finder_find(finder, &read.grey, 1, all, SEEN_MOST); // small marks need all pixels
    found = dw_mark_finder_one_paper(all, found, paper);
    found = found < DW_PAPER_MARKS_MOST ? found : DW_PAPER_MARKS_MOST;
    if (found < least) {
        dw_photo_clear(&read);
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
