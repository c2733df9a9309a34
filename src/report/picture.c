// SPDX-License-Identifier: MIT
#include "report/picture.h"

#include "base/iso_boxes.h"
#include "base/memory.h"
#include "report/picture_essence.h"

#include <errno.h>
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

// What is asked of a picture, and what is seen of it while it is being read.
typedef struct {
    int most;
    int width, height; // of the file
    bool too_large;
    bool plain; // its loader wants the file as it is, and shows it whole or not at all
    int rows;   // read to the last, counted from above
} Reading;

// Called with the size that the head tells, before anything is decoded. A JPEG is
// decoded at a half, a quarter or an eighth of its size at once; another size would
// make the loader silent about its rows.
static void choose_size(GdkPixbufLoader *loader, gint width, gint height, gpointer user)
{
    Reading *reading = user;
    reading->width = width;
    reading->height = height;
    reading->too_large = (int64_t)width * height > DW_PICTURE_PIXELS_MOST;
    int part = 1;
    while (part < 8 && (width > height ? width : height) / (part * 2) >= reading->most)
        part *= 2;
    GdkPixbufFormat *format = gdk_pixbuf_loader_get_format(loader);
    gchar *name = format ? gdk_pixbuf_format_get_name(format) : NULL;
    if (reading->too_large)
        gdk_pixbuf_loader_set_size(loader, 0, 0); // ends it here
    else if (part > 1 && name && strcmp(name, "jpeg") == 0)
        gdk_pixbuf_loader_set_size(loader, (width + part - 1) / part, (height + part - 1) / part);
    g_free(name);
}

static void note_rows(GdkPixbufLoader *loader, gint x, gint y, gint width, gint height, gpointer user)
{
    (void)loader;
    (void)x;
    (void)width;
    Reading *reading = user;
    reading->rows = y + height > reading->rows ? y + height : reading->rows;
}

// PIXELS made smaller where a side has more than MOST. Takes ownership of PIXELS.
static GdkPixbuf *fit(GdkPixbuf *pixels, int most)
{
    int width = gdk_pixbuf_get_width(pixels), height = gdk_pixbuf_get_height(pixels);
    double scale = fmin(1, (double)most / (width > height ? width : height));
    if (scale == 1)
        return pixels;
    GdkPixbuf *small = gdk_pixbuf_scale_simple(pixels, (int)fmax(1, round(width * scale)),
                                               (int)fmax(1, round(height * scale)), GDK_INTERP_BILINEAR);
    g_object_unref(pixels);
    return small;
}

// The loader for what the file's first bytes say it is; NULL for anything but JPEG, PNG and HEIC (a box "ftyp" of ISO
// 14496-12; libheif turns what it reads as it was held).
static GdkPixbufLoader *loader_for(const guchar *bytes, size_t length, const Reading *reading)
{
    static const guchar jpeg[] = {0xFF, 0xD8, 0xFF}, png[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    if (length >= sizeof jpeg && memcmp(bytes, jpeg, sizeof jpeg) == 0)
        return gdk_pixbuf_loader_new_with_type("jpeg", NULL);
    if (length >= sizeof png && memcmp(bytes, png, sizeof png) == 0)
        return gdk_pixbuf_loader_new_with_type("png", NULL);
    return reading->plain ? gdk_pixbuf_loader_new_with_type("heif/avif", NULL) : NULL;
}

static bool feed_block(void *loader, const unsigned char *bytes, size_t length)
{
    return gdk_pixbuf_loader_write(loader, bytes, length, NULL);
}

static bool feed_plainly(GdkPixbufLoader *loader, FILE *file)
{
    enum { BLOCK = 65536 };
    guchar *block = dw_memory_new(BLOCK, 1);
    bool fine = true;
    for (size_t got; fine && (got = fread(block, 1, BLOCK, file)) > 0;)
        fine = feed_block(loader, block, got);
    free(block);
    return fine;
}

// Feeds what of FILE shows the picture. Returned: how many rows had come when the file
// ended (the loader makes up what is missing), 0 for trouble.
static int feed(GdkPixbufLoader *loader, FILE *file, const Reading *reading)
{
    rewind(file);
    bool fine = reading->plain ? feed_plainly(loader, file) : dw_picture_essence(file, feed_block, loader);
    int rows = reading->plain ? 1 : reading->rows;
    return gdk_pixbuf_loader_close(loader, NULL) && fine ? rows : 0; // closed whatever came
}

static DwStatus cannot_show(const Reading *reading, bool known, DwMessage *message)
{
    if (reading->too_large)
        return dw_fail(message, DW_BAD_INPUT,
                       "The picture has %d × %d pixels, more than can be shown here. Send it smaller.", reading->width,
                       reading->height);
    if (!known && reading->plain)
        return dw_fail(message, DW_BAD_INPUT,
                       "The picture is HEIC, which this computer cannot read: install heif-gdk-pixbuf, or send JPEG.");
    if (!known)
        return dw_fail(message, DW_BAD_INPUT,
                       "The file is no picture that can be shown here. Send photographs as JPEG, PNG or HEIC.");
    return dw_fail(message, DW_BAD_INPUT, "The picture is damaged or cut off. Send it again.");
}

// Decodes FILE, whose pixels LOADER then keeps; NULL when it is not whole.
static GdkPixbuf *decode(GdkPixbufLoader *loader, FILE *file, Reading *reading)
{
    g_signal_connect(loader, "size-prepared", G_CALLBACK(choose_size), reading);
    g_signal_connect(loader, "area-updated", G_CALLBACK(note_rows), reading);
    int rows = feed(loader, file, reading);
    GdkPixbuf *pixels = rows ? gdk_pixbuf_loader_get_pixbuf(loader) : NULL;
    if (pixels && reading->plain && !reading->too_large) {
        reading->width = gdk_pixbuf_get_width(pixels);
        reading->height = gdk_pixbuf_get_height(pixels);
        return pixels;
    }
    return pixels && rows == gdk_pixbuf_get_height(pixels) ? pixels : NULL;
}

// The pixels of the picture at PATH, stood as it was held.
static DwStatus read_pixels(const char *path, Reading *reading, GdkPixbuf **pixels, DwMessage *message)
{
    guchar beginning[8];
    FILE *file = fopen(path, "rbe");
    if (!file)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot open it (%s).", path, strerror(errno));
    size_t length = fread(beginning, 1, sizeof beginning, file);
    reading->plain = length == sizeof beginning && memcmp(beginning + 4, "ftyp", 4) == 0;
    if (reading->plain && !dw_iso_boxes_whole(file)) { // before its loader, which would write of it to stderr
        fclose(file);
        return cannot_show(reading, true, message);
    }
    GdkPixbufLoader *loader = loader_for(beginning, length, reading);
    GdkPixbuf *read = loader ? decode(loader, file, reading) : NULL;
    fclose(file);
    DwStatus status = read ? DW_OK : cannot_show(reading, loader != NULL, message);
    const char *held = read ? gdk_pixbuf_get_option(read, "orientation") : NULL;
    if (held && held[0] >= '5' && held[0] <= '8') { // lying on its side
        int width = reading->height;
        reading->height = reading->width;
        reading->width = width;
    }
    if (read)
        *pixels = fit(gdk_pixbuf_apply_embedded_orientation(read), reading->most);
    if (loader)
        g_object_unref(loader);
    return status;
}

static DwStatus read_turned(const char *path, int turn, Reading *reading, GdkPixbuf **pixels, DwMessage *message)
{
    static const GdkPixbufRotation turns[] = {GDK_PIXBUF_ROTATE_NONE, GDK_PIXBUF_ROTATE_CLOCKWISE,
                                              GDK_PIXBUF_ROTATE_UPSIDEDOWN, GDK_PIXBUF_ROTATE_COUNTERCLOCKWISE};
    GdkPixbuf *upright = NULL;
    DwStatus status = read_pixels(path, reading, &upright, message);
    if (status != DW_OK)
        return status;
    *pixels = gdk_pixbuf_rotate_simple(upright, turns[turn & 3]);
    g_object_unref(upright);
    return DW_OK;
}

DwStatus dw_picture_read(const char *path, int most, int turn, DwPicture **picture, DwMessage *message)
{
    Reading reading = {.most = most};
    GdkPixbuf *pixels;
    DwStatus status = read_turned(path, turn, &reading, &pixels, message);
    if (status != DW_OK)
        return status;
    cairo_surface_t *surface = copy_pixels(pixels);
    attach_jpeg(surface, pixels);
    DwPicture made = {surface, gdk_pixbuf_get_width(pixels), gdk_pixbuf_get_height(pixels)};
    g_object_unref(pixels);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        cairo_surface_destroy(surface);
        return dw_fail(message, DW_FAILED, "%s is too large a picture to print.", path);
    }
    *picture = dw_memory_new(1, sizeof **picture);
    **picture = made;
    return DW_OK;
}

DwStatus dw_picture_copy(const char *path, int most, int turn, DwPictureCopy *copy, DwMessage *message)
{
    Reading reading = {.most = most};
    GdkPixbuf *pixels;
    DwStatus status = read_turned(path, turn, &reading, &pixels, message);
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
    *copy = (DwPictureCopy){bytes, length, clear ? "image/png" : "image/jpeg", reading.width, reading.height};
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
