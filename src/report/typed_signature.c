// SPDX-License-Identifier: MIT
#include "report/typed_signature.h"

#include "chart/draw/canvas.h"
#include "chart/draw/output.h"

#include <stdlib.h>

enum { WIDTH = 900, HEIGHT = 240, ROOM = WIDTH - 16 };
static const double most = 2.4, least = 0.7; // size of the letters, of the note's

// The largest letters in which all of NAME stands in the picture; those of no size where none do.
static DwLetters letters_for(const DwCanvas *canvas, const char *name)
{
    DwLetters letters = {.size = most, .ink = DW_INK_TEXT};
    double width = dw_canvas_width(canvas, letters, name);
    if (width > ROOM)
        letters.size = most * ROOM / width * 0.98; // letters do not shrink quite evenly
    if (letters.size < least)
        letters.size = 0;
    return letters;
}

DwStatus dw_typed_signature_draw(const char *name, const char *note, char **bytes, size_t *length, DwMessage *message)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, WIDTH, HEIGHT);
    DwCanvas canvas = {cairo_create(surface), DW_THEME_PAPER, 32};
    DwLetters letters = letters_for(&canvas, name);
    if (letters.size > 0)
        dw_canvas_write_within(&canvas, letters, 8, 130, ROOM, name);
    dw_canvas_write_within(&canvas, (DwLetters){.size = 1, .ink = DW_INK_QUIET}, 8, 200, ROOM, note);
    cairo_destroy(canvas.cairo);
    if (!(letters.size > 0)) {
        cairo_surface_destroy(surface);
        return dw_fail(message, DW_BAD_INPUT,
                       "The name does not stand whole on one line. Shorten what is typed, or sign by hand.");
    }
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
