// SPDX-License-Identifier: MIT
#include "chart/draw/pdf_page.h"

#include "chart/draw/output.h"
#include "chart/draw/whole_file.h"

#include <cairo-pdf.h>
#include <stdlib.h>

static const double points_per_mm = 72 / 25.4;

static void draw_pages(cairo_surface_t *surface, unsigned pages, DwPdfDraw draw, const void *context)
{
    cairo_t *cairo = cairo_create(surface);
    for (unsigned page = 0; page < pages; page++) {
        cairo_save(cairo);
        cairo_scale(cairo, points_per_mm, points_per_mm);
        draw(cairo, page, context);
        cairo_restore(cairo);
        cairo_show_page(cairo);
    }
    cairo_destroy(cairo);
}

DwStatus dw_pdf_page_write(const char *path, const char *title, double width_mm, double height_mm, unsigned pages,
                           DwPdfDraw draw, const void *context, DwMessage *message)
{
    DwOutput output = {0};
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(dw_output_keep, &output, width_mm * points_per_mm,
                                                                   height_mm * points_per_mm);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Deckwright " DW_VERSION);
    draw_pages(surface, pages, draw, context);
    cairo_surface_finish(surface);
    cairo_status_t drawn = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    DwStatus status = drawn == CAIRO_STATUS_SUCCESS ? dw_whole_file_write(path, output.bytes, output.length, message)
                                                    : dw_fail(message, DW_FAILED, "“%s” cannot be drawn: %s.", title,
                                                              cairo_status_to_string(drawn));
    free(output.bytes);
    return status;
}
