// SPDX-License-Identifier: MIT
// The program in the box: decodes one picture and answers with its pixels, stood as it was held.
//
// Usage: deckwright-picture plain|heic SIDE_MOST PIXELS_MOST PATH
#include "base/box.h"
#include "report/picture_inside.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const DwBoxLimits limits = {.memory_most = (size_t)2 << 30, .seconds_most = 120, .files_most = 64};

// What a loader has to say of a damaged file is said in one line by who asked.
static void say_nothing(const gchar *domain, GLogLevelFlags level, const gchar *text, gpointer nothing)
{
    (void)domain;
    (void)level;
    (void)text;
    (void)nothing;
}

int main(int count, char **arguments)
{
    DwMessage message = {""};
    DwPixels pixels;
    if (count != 5)
        return EXIT_FAILURE;
    DwPixelsWish wish = {strcmp(arguments[1], "heic") == 0, atoi(arguments[2]), atoll(arguments[3])};
    dw_box_leave_network();
    g_log_set_default_handler(say_nothing, NULL);
    g_slist_free(gdk_pixbuf_get_formats()); // which loaders there are
    FILE *file = fopen(arguments[4], "rbe");
    if (!file || dw_box_shut(&limits, &message) != DW_OK)
        return EXIT_FAILURE;
    DwPictureAnswer answer = {.mark = DW_PICTURE_MARK, .end = dw_picture_inside(file, &wish, &pixels)};
    answer.width = pixels.width;
    answer.height = pixels.height;
    answer.channels = pixels.channels;
    answer.whole_width = pixels.whole_width;
    answer.whole_height = pixels.whole_height;
    size_t bytes = (size_t)pixels.width * (size_t)pixels.height * (size_t)pixels.channels;
    if (dw_box_write(&answer, sizeof answer) && answer.end == DW_PIXELS_READ)
        (void)dw_box_write(pixels.bytes, bytes);
    // Nothing is tidied up: what a damaged file did to the memory is not walked through again.
    _exit(EXIT_SUCCESS);
}
