// SPDX-License-Identifier: MIT
// Draws the example sheets into a folder, for people to look at:
//   gallery FOLDER
#include "chart/example_sheets.h"

#include "base/text.h"
#include "chart/sheet/sheet_chart.h"

#include <stdio.h>
#include <stdlib.h>

static int write_one(const DwSheet *before, const DwSheet *sheet, const char *folder, const char *name)
{
    DwMessage message;
    char *path = dw_text_format("%s/%s", folder, name);
    DwStatus status = dw_sheet_chart_write_pair(before, sheet, path, &message);
    free(path);
    if (status != DW_OK)
        fprintf(stderr, "%s\n", message.text);
    return status != DW_OK;
}

static int write_dark(const DwSheet *sheet, const char *folder)
{
    char *path = dw_text_format("%s/speed-dark.png", folder);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1200, 1800);
    cairo_t *cairo = cairo_create(surface);
    dw_sheet_chart_draw(sheet, cairo, 1200, 1800, DW_THEME_DARK);
    cairo_status_t status = cairo_surface_write_to_png(surface, path);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    free(path);
    return status != CAIRO_STATUS_SUCCESS;
}

int main(int count, char **arguments)
{
    if (count != 2) {
        fprintf(stderr, "usage: gallery FOLDER\n");
        return 2;
    }
    const char *folder = arguments[1];
    DwSheet *before = example_speed_sheet(0.95, 0.31), *after = example_speed_sheet(0.18, 0.2);
    DwSheet *alignment = example_alignment_sheet(), *bare = dw_sheet_new("none", "Nothing but a title");
    int failed = write_one(NULL, after, folder, "speed.png") + write_one(NULL, after, folder, "speed.svg") +
                 write_one(NULL, after, folder, "speed.pdf") + write_one(before, after, folder, "pair.png") +
                 write_one(NULL, alignment, folder, "align.png") + write_one(NULL, bare, folder, "bare.png") +
                 write_dark(after, folder);
    dw_sheet_free(before);
    dw_sheet_free(after);
    dw_sheet_free(alignment);
    dw_sheet_free(bare);
    return failed > 0;
}
