// SPDX-License-Identifier: MIT
// Photographs for scripts/bench-report: so many JPEG files of 12 megapixels in the
// folder given, with as much fine detail as a camera's (some 6 MB each).
#include <gdk-pixbuf/gdk-pixbuf.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum { WIDTH = 4000, HEIGHT = 3000 };

static gboolean write_photo(const char *path, int number)
{
    GdkPixbuf *photo = gdk_pixbuf_new(GDK_COLORSPACE_RGB, FALSE, 8, WIDTH, HEIGHT);
    guchar *pixels = gdk_pixbuf_get_pixels(photo);
    int stride = gdk_pixbuf_get_rowstride(photo);
    uint32_t drawn = (uint32_t)number + 1;
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            drawn = drawn * 1664525u + 1013904223u; // grain
            double light = 128 + 60 * sin(0.01 * (number + 1) * x) + 40 * cos(0.013 * y) + (drawn >> 27) - 16;
            for (int colour = 0; colour < 3; colour++)
                pixels[y * stride + 3 * x + colour] = (guchar)fmin(fmax(light, 0), 255);
        }
    gboolean written = gdk_pixbuf_save(photo, path, "jpeg", NULL, "quality", "95", NULL);
    g_object_unref(photo);
    return written;
}

int main(int count, char **arguments)
{
    if (count != 3)
        return 2;
    for (int i = 0; i < atoi(arguments[2]); i++) {
        char path[512];
        snprintf(path, sizeof path, "%s/photo-%02d.jpg", arguments[1], i);
        if (!write_photo(path, i))
            return 1;
    }
    return 0;
}
