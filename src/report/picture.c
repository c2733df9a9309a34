// SPDX-License-Identifier: MIT
#include "report/picture.h"

#include "base/memory.h"
#include "base/picture_box.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

static void free_bytes(guchar *bytes, gpointer nothing)
{
    (void)nothing;
    free(bytes);
}

static DwStatus cannot_show(DwPixelsEnd end, const DwPixels *pixels, const DwMessage *why, DwMessage *message)
{
    switch (end) {
    case DW_PIXELS_TOO_LARGE:
        return dw_fail(message, DW_BAD_INPUT,
                       "The picture has %d × %d pixels, more than can be shown here. Send it smaller.",
                       pixels->whole_width, pixels->whole_height);
    case DW_PIXELS_UNKNOWN:
        return dw_fail(message, DW_BAD_INPUT,
                       "The file is no picture that can be shown here. Send photographs as JPEG, PNG or HEIC.");
    case DW_PIXELS_BROKE:
        return dw_fail(message, DW_BAD_INPUT, "The picture cannot be read (%s). Send it again.", why->text);
    case DW_PIXELS_READ:
    case DW_PIXELS_DAMAGED:
        break;
    }
    return dw_fail(message, DW_BAD_INPUT, "The picture is damaged or cut off. Send it again.");
}

// The picture at PATH, decoded in its box, stood as it was held, then turned; WHOLE has its size before that.
static DwStatus read_turned(const char *path, int most, int turn, DwPixels *whole, GdkPixbuf **pixels,
                            DwMessage *message)
{
    static const GdkPixbufRotation turns[] = {GDK_PIXBUF_ROTATE_NONE, GDK_PIXBUF_ROTATE_CLOCKWISE,
                                              GDK_PIXBUF_ROTATE_UPSIDEDOWN, GDK_PIXBUF_ROTATE_COUNTERCLOCKWISE};
    const DwPixelsWish wish = {.heic = true, .side_most = most, .pixels_most = DW_PICTURE_PIXELS_MOST};
    DwPixelsEnd end;
    DwMessage why;
    DwStatus status = dw_picture_box_read(path, &wish, whole, &end, &why);
    if (status != DW_OK)
        return dw_fail(message, status, "%s", why.text);
    if (end != DW_PIXELS_READ)
        return cannot_show(end, whole, &why, message);
    GdkPixbuf *upright =
        gdk_pixbuf_new_from_data(whole->bytes, GDK_COLORSPACE_RGB, whole->channels == 4, 8, whole->width, whole->height,
                                 whole->width * whole->channels, free_bytes, NULL);
    *pixels = gdk_pixbuf_rotate_simple(upright, turns[turn & 3]);
    g_object_unref(upright);
    return DW_OK;
}

DwStatus dw_picture_read(const char *path, int most, int turn, DwPicture **picture, DwMessage *message)
{
    DwPixels whole;
    GdkPixbuf *pixels;
    DwStatus status = read_turned(path, most, turn, &whole, &pixels, message);
    if (status != DW_OK)
        return status;
    cairo_surface_t *surface = copy_pixels(pixels);
    attach_jpeg(surface, pixels);
    DwPicture made = {surface, gdk_pixbuf_get_width(pixels), gdk_pixbuf_get_height(pixels), whole.whole_width,
                      whole.whole_height};
    g_object_unref(pixels);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        cairo_surface_destroy(surface);
        return dw_fail(message, DW_FAILED, "%s is too large a picture to print.", path);
    }
    *picture = dw_memory_new(1, sizeof **picture);
    **picture = made;
    return DW_OK;
}

void dw_picture_replace(DwPicture *picture, cairo_surface_t *surface)
{
    int width = cairo_image_surface_get_width(surface), height = cairo_image_surface_get_height(surface);
    GdkPixbuf *pixels = gdk_pixbuf_new(GDK_COLORSPACE_RGB, FALSE, 8, width, height);
    cairo_surface_flush(surface);
    for (int y = 0; pixels && y < height; y++) {
        const unsigned char *from = cairo_image_surface_get_data(surface);
        const uint32_t *row =
            (const uint32_t *)(const void *)(from + (ptrdiff_t)y * cairo_image_surface_get_stride(surface));
        guchar *to = gdk_pixbuf_get_pixels(pixels) + (ptrdiff_t)y * gdk_pixbuf_get_rowstride(pixels);
        for (int i = 0; i < 3 * width; i++)
            to[i] = (guchar)(row[i / 3] >> (16 - 8 * (i % 3)) & 255);
    }
    if (pixels) {
        attach_jpeg(surface, pixels);
        g_object_unref(pixels);
    }
    cairo_surface_destroy(picture->surface);
    picture->surface = surface;
    picture->width = width;
    picture->height = height;
}

DwStatus dw_picture_copy(const char *path, int most, int turn, DwPictureCopy *copy, DwMessage *message)
{
    DwPixels whole;
    GdkPixbuf *pixels;
    DwStatus status = read_turned(path, most, turn, &whole, &pixels, message);
    if (status != DW_OK)
        return status;
    bool clear = gdk_pixbuf_get_has_alpha(pixels);
    gchar *bytes = NULL;
    gsize length = 0;
    gboolean written = clear ? gdk_pixbuf_save_to_buffer(pixels, &bytes, &length, "png", NULL, NULL)
                             : gdk_pixbuf_save_to_buffer(pixels, &bytes, &length, "jpeg", NULL, "quality", "85", NULL);
    g_object_unref(pixels);
    if (!written)
        return dw_fail(message, DW_FAILED, "A picture could not be written anew for showing.");
    // GLib's memory is the C library's own (glib 2.46 and later).
    *copy = (DwPictureCopy){bytes, length, clear ? "image/png" : "image/jpeg", whole.whole_width, whole.whole_height};
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
