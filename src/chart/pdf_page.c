// SPDX-License-Identifier: MIT
#include "chart/pdf_page.h"

#include "chart/whole_file.h"

#include <stdio.h>
#include <stdlib.h>

#include <cairo-pdf.h>

static const double points_per_mm = 72 / 25.4;

static cairo_status_t keep(void *closure, const unsigned char *data, unsigned length)
{
    FILE *output = closure;
    return fwrite(data, 1, length, output) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static cairo_status_t render(FILE *output, const char *title, double width_mm, double height_mm,
                             void (*draw)(cairo_t *cairo, const void *context), const void *context)
{
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(keep, output, width_mm * points_per_mm, height_mm * points_per_mm);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Deckwright " DW_VERSION);
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, points_per_mm, points_per_mm);
    draw(cairo, context);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

DwStatus dw_pdf_page_write(const char *path, const char *title, double width_mm, double height_mm,
                           void (*draw)(cairo_t *cairo, const void *context), const void *context, DwMessage *message)
{
    char *bytes = NULL;
    size_t length = 0;
    FILE *output = open_memstream(&bytes, &length);
    if (!output)
        return dw_fail(message, DW_FAILED, "There is no memory left to draw “%s”.", title);
    cairo_status_t drawn = render(output, title, width_mm, height_mm, draw, context);
    int closed = fclose(output);
    DwStatus status =
        drawn == CAIRO_STATUS_SUCCESS && closed == 0
            ? dw_whole_file_write(path, bytes, length, message)
            : dw_fail(message, DW_FAILED, "“%s” cannot be drawn: %s.", title, cairo_status_to_string(drawn));
    free(bytes);
    return status;
}
