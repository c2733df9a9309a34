// SPDX-License-Identifier: MIT
#include "report/typed_signature.h"

#include "chart/draw/canvas.h"
#include "chart/draw/output.h"

#include <stdlib.h>

enum { WIDTH = 900, HEIGHT = 240 };

DwStatus dw_typed_signature_draw(const char *name, const char *note, char **bytes, size_t *length, DwMessage *message)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, WIDTH, HEIGHT);
    DwCanvas canvas = {cairo_create(surface), DW_THEME_PAPER, 32};
    dw_canvas_write_within(&canvas, (DwLetters){.size = 2.4, .ink = DW_INK_TEXT}, 8, 130, WIDTH - 16, name);
    dw_canvas_write_within(&canvas, (DwLetters){.size = 1, .ink = DW_INK_QUIET}, 8, 200, WIDTH - 16, note);
    cairo_destroy(canvas.cairo);
    DwOutput output = {0};
    cairo_status_t status = cairo_surface_write_to_png_stream(surface, dw_output_keep, &output);
    cairo_surface_destroy(surface);
    if (status != CAIRO_STATUS_SUCCESS) {
        free(output.bytes);
        return dw_fail(message, DW_FAILED, "The name cannot be drawn: %s.", cairo_status_to_string(status));
    }
    *bytes = output.bytes;
    *length = output.length;
    return DW_OK;
}
