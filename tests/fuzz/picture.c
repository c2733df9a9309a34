// SPDX-License-Identifier: MIT
// Photographs: as they are measured by, with the marks looked for, and as they go onto papers and pages. They are
// decoded here, not in their box, so that what the decoder does is seen.
#include "report/picture_inside.h"
#include "sight/mark_finder.h"
#include "target.h"

#include <stdio.h>
#include <stdlib.h>

enum { SEEN_MOST = 64, LOOKED_AT_MOST = 1000000 };

static void find_marks(const DwPixels *pixels)
{
    uint8_t *first = calloc((size_t)pixels->width * (size_t)pixels->height, 1);
    TARGET_HOLDS(first);
    for (size_t i = 0; i < (size_t)pixels->width * (size_t)pixels->height; i++)
        first[i] = pixels->bytes[i * (size_t)pixels->channels + 1];
    const DwGrey grey = {pixels->width, pixels->height, pixels->width, first};
    DwMarkSeen seen[SEEN_MOST];
    DwMarkFinder *finder = dw_mark_finder_new();
    size_t count = dw_mark_finder_find(finder, &grey, 1, seen, SEEN_MOST);
    TARGET_HOLDS(count <= SEEN_MOST);
    DwMarkedPaper paper;
    TARGET_HOLDS(dw_mark_finder_one_paper(seen, count, &paper) <= count);
    dw_mark_finder_free(finder);
    free(first);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    FILE *file = fmemopen((void *)(uintptr_t)bytes, count, "rb");
    if (!file) // nothing in it
        return 0;
    static const DwPixelsWish wishes[] = {{.heic = true, .pixels_most = 64000000},
                                          {.side_most = 200, .pixels_most = 100000000}};
    for (size_t i = 0; i < sizeof wishes / sizeof *wishes; i++) {
        DwPixels pixels = {0};
        rewind(file);
        DwPixelsEnd end = dw_picture_inside(file, &wishes[i], &pixels);
        TARGET_HOLDS((end == DW_PIXELS_READ) == (pixels.bytes != NULL));
        TARGET_HOLDS(!pixels.bytes || (pixels.width > 0 && pixels.height > 0 && pixels.channels >= 3));
        TARGET_HOLDS(!wishes[i].side_most || (pixels.width <= 200 && pixels.height <= 200));
        if (pixels.bytes && wishes[i].heic && (size_t)pixels.width * (size_t)pixels.height <= LOOKED_AT_MOST)
            find_marks(&pixels);
        free(pixels.bytes);
    }
    fclose(file);
    return 0;
}
