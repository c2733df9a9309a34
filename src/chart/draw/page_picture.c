// SPDX-License-Identifier: MIT
#include "chart/draw/page_picture.h"

#include "base/memory.h"

#include <math.h>

// The page's colours as brightness, by the weights of ITU-R BT.601.
static void take_grey(cairo_surface_t *surface, DwPagePicture *picture)
{
    cairo_surface_flush(surface);
    const uint8_t *bytes = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);
    picture->pixels = dw_memory_new((size_t)picture->width * (size_t)picture->height, 1);
    uint8_t *out = picture->pixels;
    for (int y = 0; y < picture->height; y++) {
        const uint32_t *row = (const uint32_t *)(const void *)(bytes + (ptrdiff_t)y * stride);
        for (int x = 0; x < picture->width; x++)
            *out++ =
                (uint8_t)((77 * (row[x] >> 16 & 255) + 150 * (row[x] >> 8 & 255) + 29 * (row[x] & 255) + 128) >> 8);
    }
}

DwStatus dw_page_picture_draw(double width_mm, double height_mm, double per_mm, DwPdfDraw draw, const void *context,
                              DwPagePicture *picture, DwMessage *message)
{
    *picture = (DwPagePicture){.width = (int)ceil(width_mm * per_mm), .height = (int)ceil(height_mm * per_mm)};
    picture->per_mm = per_mm;
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture->width, picture->height);
    cairo_t *cairo = cairo_create(surface);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    cairo_scale(cairo, per_mm, per_mm);
    draw(cairo, 0, context);
    DwStatus status = DW_OK;
    if (cairo_status(cairo) == CAIRO_STATUS_SUCCESS)
        take_grey(surface, picture);
    else
        status =
            dw_fail(message, DW_FAILED, "The paper cannot be drawn (%s).", cairo_status_to_string(cairo_status(cairo)));
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return status;
}
