// SPDX-License-Identifier: MIT
#include "report/picture.h"

#include "base/memory.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

// One pixel of cairo's own form: 32 bits, colours multiplied with how opaque they are.
static uint32_t cairo_pixel(const guchar *from, int channels)
{
    uint32_t alpha = channels == 4 ? from[3] : 255, sum = alpha << 24;
    for (int i = 0; i < 3; i++)
        sum |= (uint32_t)((from[i] * alpha + 127) / 255) << (16 - 8 * i);
    return sum;
}

static cairo_surface_t *copy_pixels(const GdkPixbuf *pixels)
{
    int width = gdk_pixbuf_get_width(pixels), height = gdk_pixbuf_get_height(pixels);
    int channels = gdk_pixbuf_get_n_channels(pixels), stride = gdk_pixbuf_get_rowstride(pixels);
    bool opaque = !gdk_pixbuf_get_has_alpha(pixels);
    cairo_surface_t *surface =
        cairo_image_surface_create(opaque ? CAIRO_FORMAT_RGB24 : CAIRO_FORMAT_ARGB32, width, height);
    cairo_surface_flush(surface);
    unsigned char *rows = cairo_image_surface_get_data(surface);
    const guchar *from = gdk_pixbuf_read_pixels(pixels);
    for (int y = 0; rows && y < height; y++) {
        uint32_t *row = (uint32_t *)(void *)(rows + y * cairo_image_surface_get_stride(surface));
        for (int x = 0; x < width; x++)
            row[x] = cairo_pixel(from + y * stride + x * channels, channels);
    }
    cairo_surface_mark_dirty(surface);
    return surface;
}

// A photograph goes into the PDF as JPEG, a tenth of the size of its pixels.
// A picture with transparent places (a signature, a logo) stays as it is.
static void attach_jpeg(cairo_surface_t *surface, GdkPixbuf *pixels)
{
    gchar *bytes = NULL;
    gsize length = 0;
    if (gdk_pixbuf_get_has_alpha(pixels) ||
        !gdk_pixbuf_save_to_buffer(pixels, &bytes, &length, "jpeg", NULL, "quality", "85", NULL))
        return;
    if (cairo_surface_set_mime_data(surface, CAIRO_MIME_TYPE_JPEG, (unsigned char *)bytes, length, g_free, bytes) !=
        CAIRO_STATUS_SUCCESS)
        g_free(bytes);
}

static GdkPixbuf *read_pixels(const char *path, int most, GError **error)
{
    int width = 0, height = 0;
    if (!gdk_pixbuf_get_file_info(path, &width, &height) || (width <= most && height <= most))
        return gdk_pixbuf_new_from_file(path, error);
    return gdk_pixbuf_new_from_file_at_scale(path, most, most, TRUE, error);
}

DwStatus dw_picture_read(const char *path, int most, DwPicture **picture, DwMessage *message)
{
    GError *error = NULL;
    GdkPixbuf *read = read_pixels(path, most, &error);
    if (!read) {
        DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s cannot be shown as a picture: %s.", path, error->message);
        g_error_free(error);
        return status;
    }
    GdkPixbuf *upright = gdk_pixbuf_apply_embedded_orientation(read);
    g_object_unref(read);
    cairo_surface_t *surface = copy_pixels(upright);
    attach_jpeg(surface, upright);
    DwPicture made = {surface, gdk_pixbuf_get_width(upright), gdk_pixbuf_get_height(upright)};
    g_object_unref(upright);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        cairo_surface_destroy(surface);
        return dw_fail(message, DW_FAILED, "%s is too large a picture to print.", path);
    }
    *picture = dw_memory_new(1, sizeof **picture);
    **picture = made;
    return DW_OK;
}

void dw_picture_free(DwPicture *picture)
{
    if (!picture)
        return;
    cairo_surface_destroy(picture->surface);
    free(picture);
}

void dw_picture_draw(const DwPicture *picture, cairo_t *cairo, double x, double y, double width, double height,
                     double align)
{
    double scale = fmin(width / picture->width, height / picture->height);
    cairo_save(cairo);
    cairo_translate(cairo, x + align * (width - scale * picture->width), y + (height - scale * picture->height) / 2);
    cairo_scale(cairo, scale, scale);
    cairo_set_source_surface(cairo, picture->surface, 0, 0);
    cairo_paint(cairo);
    cairo_restore(cairo);
}
