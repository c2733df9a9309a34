// SPDX-License-Identifier: MIT
#include "sight/photo.h"

#include "base/iso_boxes.h"
#include "base/memory.h"

#include <errno.h>
#include <gdk-pixbuf/gdk-pixbuf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char cut_off[] = "%s: the photograph is damaged or cut off. Send it again.";

enum { BLOCK = 65536, SIDE_LEAST = 64 };

// What is seen of a picture while it is read.
typedef struct {
    int width, height;
    bool is_heic;
    bool too_large;
} Reading;

// Called with the size that the head tells, before anything is decoded.
static void check_size(GdkPixbufLoader *loader, gint width, gint height, gpointer user)
{
    Reading *reading = user;
    *reading = (Reading){width, height, reading->is_heic, (gint64)width * height > DW_PHOTO_PIXELS_MOST};
    if (reading->too_large)
        gdk_pixbuf_loader_set_size(loader, 0, 0); // ends it here
}

// The loader for what the first bytes say; NULL for anything else.
static GdkPixbufLoader *loader_for(const unsigned char *bytes, size_t length, Reading *reading)
{
    static const unsigned char jpeg[] = {0xFF, 0xD8, 0xFF}, png[] = {0x89, 'P', 'N', 'G'};
    if (length >= 4 && memcmp(bytes, jpeg, sizeof jpeg) == 0)
        return gdk_pixbuf_loader_new_with_type("jpeg", NULL);
    if (length >= 4 && memcmp(bytes, png, sizeof png) == 0)
        return gdk_pixbuf_loader_new_with_type("png", NULL);
    reading->is_heic = length >= 12 && memcmp(bytes + 4, "ftyp", 4) == 0;
    return reading->is_heic ? gdk_pixbuf_loader_new_with_type("heif/avif", NULL) : NULL;
}

static GdkPixbuf *decode(FILE *file, GdkPixbufLoader **loader, Reading *reading)
{
    unsigned char *bytes = dw_memory_new(BLOCK, 1);
    size_t length = fread(bytes, 1, BLOCK, file);
    *loader = loader_for(bytes, length, reading);
    bool fine = *loader != NULL;
    if (fine)
        g_signal_connect(*loader, "size-prepared", G_CALLBACK(check_size), reading);
    while (fine && length > 0) {
        fine = gdk_pixbuf_loader_write(*loader, bytes, length, NULL) && !reading->too_large;
        length = fread(bytes, 1, BLOCK, file);
    }
    free(bytes);
    if (*loader && !gdk_pixbuf_loader_close(*loader, NULL))
        fine = false;
    GdkPixbuf *pixels = fine ? gdk_pixbuf_loader_get_pixbuf(*loader) : NULL;
    return pixels ? gdk_pixbuf_apply_embedded_orientation(pixels) : NULL;
}

static void to_grey(const GdkPixbuf *pixels, DwPhoto *photo)
{
    int width = gdk_pixbuf_get_width(pixels), height = gdk_pixbuf_get_height(pixels);
    int channels = gdk_pixbuf_get_n_channels(pixels), stride = gdk_pixbuf_get_rowstride(pixels);
    const guchar *from = gdk_pixbuf_read_pixels(pixels);
    photo->pixels = dw_memory_new((size_t)width * (size_t)height, 1);
    photo->grey = (DwGrey){width, height, width, photo->pixels};
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            const guchar *p = from + (ptrdiff_t)y * stride + x * channels; // ITU-R BT.601's weights
            photo->pixels[(ptrdiff_t)y * width + x] = (uint8_t)((77 * p[0] + 150 * p[1] + 29 * p[2] + 128) >> 8);
        }
}

static bool is_cut_heic(FILE *file)
{
    unsigned char head[8];
    bool is_heic = fread(head, 1, sizeof head, file) == sizeof head && memcmp(head + 4, "ftyp", 4) == 0;
    rewind(file);
    return is_heic && !dw_iso_boxes_whole(file);
}

DwStatus dw_photo_read(const char *path, DwPhoto *photo, DwMessage *message)
{
    Reading reading = {0};
    GdkPixbufLoader *loader = NULL;
    FILE *file = fopen(path, "rbe");
    if (!file)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot open it (%s).", path, strerror(errno));
    if (is_cut_heic(file)) { // before its loader, which would write of it to stderr
        fclose(file);
        return dw_fail(message, DW_BAD_INPUT, cut_off, path);
    }
    GdkPixbuf *pixels = decode(file, &loader, &reading);
    fclose(file);
    DwStatus status = DW_OK;
    if (reading.too_large)
        status =
            dw_fail(message, DW_BAD_INPUT, "%s: it has %d × %d pixels, more than can be read here. Send it smaller.",
                    path, reading.width, reading.height);
    else if (!loader && reading.is_heic)
        status =
            dw_fail(message, DW_BAD_INPUT,
                    "%s: it is HEIC, which this computer cannot read: install heif-gdk-pixbuf, or give JPEG.", path);
    else if (!loader)
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s: it is no photograph that can be read here. Give JPEG, PNG or HEIC.", path);
    else if (!pixels)
        status = dw_fail(message, DW_BAD_INPUT, cut_off, path);
    else if (gdk_pixbuf_get_width(pixels) < SIDE_LEAST || gdk_pixbuf_get_height(pixels) < SIDE_LEAST)
        status = dw_fail(message, DW_BAD_INPUT, "%s: the photograph is too small to measure by.", path);
    else
        to_grey(pixels, photo);
    if (pixels)
        g_object_unref(pixels);
    if (loader)
        g_object_unref(loader);
    return status;
}

void dw_photo_clear(DwPhoto *photo)
{
    free(photo->pixels);
    *photo = (DwPhoto){0};
}
