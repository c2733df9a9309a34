// SPDX-License-Identifier: MIT
// Prints as JSON what is seen in photographs of one paper: the marks' corners, the map from the paper to each picture,
// and where the cameras stood; for a check by other people's library.
#include "sight/bundle.h"
#include "sight/photo.h"
#include "sight/plane.h"

#include <stdio.h>
#include <string.h>

static void print_photo(const DwBundlePhoto *photo)
{
    DwPoint from[4 * DW_PAPER_MARKS_MOST], to[4 * DW_PAPER_MARKS_MOST];
    DwPlane plane = {0};
    printf("{\"marks\": {");
    for (size_t i = 0; i < photo->count; i++) {
        double corners[4][2];
        dw_paper_mark_corners(&photo->marks[i].mark, corners);
        printf("%s\"%d\": [", i ? ", " : "", photo->marks[i].mark.number);
        for (int k = 0; k < 4; k++) {
            from[4 * i + (size_t)k] = (DwPoint){corners[k][0], corners[k][1]};
            to[4 * i + (size_t)k] = photo->marks[i].corners[k];
            printf("%s[%.6f, %.6f, %.6f, %.6f]", k ? ", " : "", corners[k][0], corners[k][1],
                   photo->marks[i].corners[k].x, photo->marks[i].corners[k].y);
        }
        printf("]");
    }
    dw_plane_fit(from, to, 4 * photo->count, &plane);
    printf("}, \"plane\": [[%.12g, %.12g, %.12g], [%.12g, %.12g, %.12g], [%.12g, %.12g, 1]]", plane.a, plane.b, plane.c,
           plane.d, plane.e, plane.f, plane.g, plane.h);
}

int main(int count, char **paths)
{
    DwBundle bundle = {.scale = 1};
    DwMarkFinder *finder = dw_mark_finder_new();
    for (int i = 1; i < count && i <= DW_BUNDLE_PHOTOS_MOST; i++) {
        DwPhoto photo;
        DwMessage message;
        DwMarkedPaper paper;
        DwMarkSeen seen[DW_PAPER_MARKS_MOST * DW_MARKED_COUNT];
        if (dw_photo_read(paths[i], &photo, &message) != DW_OK) {
            fprintf(stderr, "%s\n", message.text);
            return 2;
        }
        DwBundlePhoto *into = &bundle.photos[bundle.photo_count++];
        into->width = photo.grey.width;
        into->height = photo.grey.height;
        size_t found = dw_mark_finder_find(finder, &photo.grey, 1, seen, sizeof seen / sizeof *seen);
        into->count = dw_mark_finder_one_paper(seen, found, &paper);
        memcpy(into->marks, seen, into->count * sizeof *seen);
        dw_photo_clear(&photo);
    }
    DwBundled *bundled = dw_bundle_adjust(&bundle);
    printf("{\"photos\": [");
    for (size_t i = 0; i < bundle.photo_count; i++) {
        DwPlace camera = bundled ? dw_bundled_camera(bundled, i) : (DwPlace){0, 0, 0};
        printf("%s", i ? ", " : "");
        print_photo(&bundle.photos[i]);
        printf(", \"camera\": [%.6f, %.6f, %.6f]}", camera.x, camera.y, camera.z);
    }
    printf("], \"rest\": %.6f}\n", bundled ? dw_bundled_rest(bundled) : -1);
    dw_bundled_free(bundled);
    dw_mark_finder_free(finder);
    return 0;
}
