// SPDX-License-Identifier: MIT
#include "report/picture_inside.h"

#include "base/memory.h"
#include "report/picture_essence.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <string.h>

enum { BLOCK = 65536 };

// What is asked of a picture, and what is seen of it while it is being read.
typedef struct {
    const DwPixelsWish *wish;
    int width, height; // of the file
    bool too_large;
    int rows; // read to the last, counted from above
} Reading;

// Called with the size that the head tells, before anything is decoded. A JPEG is
// decoded at a half, a quarter or an eighth of its size at once; another size would
// make the loader silent about its rows.
static void choose_size(GdkPixbufLoader *loader, gint width, gint height, gpointer user)
{
    Reading *reading = user;
    reading->width = width;
    reading->height = height;
    reading->too_large = (int64_t)width * height > reading->wish->pixels_most;
    int part = 1, most = reading->wish->side_most;
    while (most && part < 8 && (width > height ? width : height) / (part * 2) >= most)
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
    int longer = width > height ? width : height;
    if (!most || longer <= most)
        return pixels;
    int small_width = (int)((int64_t)width * most / longer), small_height = (int)((int64_t)height * most / longer);
    GdkPixbuf *small = gdk_pixbuf_scale_simple(pixels, small_width > 1 ? small_width : 1,
                                               small_height > 1 ? small_height : 1, GDK_INTERP_BILINEAR);
    g_object_unref(pixels);
    return small;
}

// The loader for what the file's first bytes say it is; NULL for anything else. *STREAMED: rows are told as they come.
static GdkPixbufLoader *loader_for(const guchar *bytes, size_t length, bool heic, bool *streamed)
{
    static const guchar jpeg[] = {0xFF, 0xD8, 0xFF}, png[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    *streamed = true;
    if (length >= sizeof jpeg && memcmp(bytes, jpeg, sizeof jpeg) == 0)
        return gdk_pixbuf_loader_new_with_type("jpeg", NULL);
    if (length >= sizeof png && memcmp(bytes, png, sizeof png) == 0)
        return gdk_pixbuf_loader_new_with_type("png", NULL);
    *streamed = false;
    if (heic && length >= 12 && memcmp(bytes + 4, "ftyp", 4) == 0)
        return gdk_pixbuf_loader_new_with_type("heif/avif", NULL);
    return NULL;
}

static bool feed_block(void *loader, const unsigned char *bytes, size_t length)
{
    return gdk_pixbuf_loader_write(loader, bytes, length, NULL);
}

static bool feed_all(GdkPixbufLoader *loader, FILE *file, const Reading *reading)
{
    static unsigned char block[BLOCK];
    bool fine = true;
    for (size_t got = 1; fine && !reading->too_large && (got = fread(block, 1, sizeof block, file)) > 0;)
        fine = feed_block(loader, block, got);
    return fine;
}

// What LOADER makes of FILE, NULL when it is not whole: the loader makes up rows that are missing.
static GdkPixbuf *decode(GdkPixbufLoader *loader, FILE *file, bool streamed, Reading *reading)
{
    g_signal_connect(loader, "size-prepared", G_CALLBACK(choose_size), reading);
    g_signal_connect(loader, "area-updated", G_CALLBACK(note_rows), reading);
    rewind(file);
    bool fine = streamed ? dw_picture_essence(file, feed_block, loader) : feed_all(loader, file, reading);
    int rows = reading->rows;
    fine = gdk_pixbuf_loader_close(loader, NULL) && fine && !reading->too_large; // closed whatever came
    GdkPixbuf *pixels = fine ? gdk_pixbuf_loader_get_pixbuf(loader) : NULL;
    return pixels && (!streamed || rows == gdk_pixbuf_get_height(pixels)) ? pixels : NULL;
}

static void copy_rows(const GdkPixbuf *from, DwPixels *pixels)
{
    pixels->width = gdk_pixbuf_get_width(from);
    pixels->height = gdk_pixbuf_get_height(from);
    pixels->channels = gdk_pixbuf_get_n_channels(from);
    size_t row = (size_t)pixels->width * (size_t)pixels->channels;
    pixels->bytes = dw_memory_new((size_t)pixels->height, row);
    const guchar *at = gdk_pixbuf_read_pixels(from);
    for (int y = 0; y < pixels->height; y++, at += gdk_pixbuf_get_rowstride(from))
        memcpy(pixels->bytes + (size_t)y * row, at, row);
}

DwPixelsEnd dw_picture_inside(FILE *file, const DwPixelsWish *wish, DwPixels *pixels)
{
    guchar beginning[12];
    bool streamed;
    Reading reading = {.wish = wish};
    size_t length = fread(beginning, 1, sizeof beginning, file);
    GdkPixbufLoader *loader = loader_for(beginning, length, wish->heic, &streamed);
    GdkPixbuf *read = loader ? decode(loader, file, streamed, &reading) : NULL;
    const char *held = read ? gdk_pixbuf_get_option(read, "orientation") : NULL;
    bool lying = held && held[0] >= '5' && held[0] <= '8'; // on its side
    *pixels = (DwPixels){.whole_width = lying ? reading.height : reading.width,
                         .whole_height = lying ? reading.width : reading.height};
    if (read) {
        GdkPixbuf *fitted = fit(gdk_pixbuf_apply_embedded_orientation(read), wish->side_most);
        copy_rows(fitted, pixels);
        g_object_unref(fitted);
    }
    if (loader)
        g_object_unref(loader);
    if (read)
        return DW_PIXELS_READ;
    return reading.too_large ? DW_PIXELS_TOO_LARGE : loader ? DW_PIXELS_DAMAGED : DW_PIXELS_UNKNOWN;
}
