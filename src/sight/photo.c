// SPDX-License-Identifier: MIT
#include "sight/photo.h"

#include "base/memory.h"
#include "base/picture_box.h"

#include <stddef.h>
#include <stdlib.h>

enum { SIDE_LEAST = 64 };

static void to_grey(const DwPixels *pixels, DwPhoto *photo)
{
    size_t count = (size_t)pixels->width * (size_t)pixels->height;
    photo->pixels = dw_memory_new(count, 1);
    photo->grey = (DwGrey){pixels->width, pixels->height, pixels->width, photo->pixels};
    const uint8_t *p = pixels->bytes;
    for (size_t i = 0; i < count; i++, p += pixels->channels) // ITU-R BT.601's weights
        photo->pixels[i] = (uint8_t)((77 * p[0] + 150 * p[1] + 29 * p[2] + 128) >> 8);
}

static DwStatus cannot_measure(const char *path, DwPixelsEnd end, const DwPixels *pixels, const DwMessage *why,
                               DwMessage *message)
{
    switch (end) {
    case DW_PIXELS_TOO_LARGE:
        return dw_fail(message, DW_BAD_INPUT, "%s: it has %d × %d pixels, more than can be read here. Send it smaller.",
                       path, pixels->whole_width, pixels->whole_height);
    case DW_PIXELS_UNKNOWN:
        return dw_fail(message, DW_BAD_INPUT, "%s: it is no photograph that can be read here. Give JPEG, PNG or HEIC.",
                       path);
    case DW_PIXELS_DAMAGED:
        return dw_fail(message, DW_BAD_INPUT, "%s: the photograph is damaged or cut off. Send it again.", path);
    case DW_PIXELS_BROKE:
        return dw_fail(message, DW_BAD_INPUT, "%s: the photograph cannot be read (%s). Send it again.", path,
                       why->text);
    case DW_PIXELS_READ:
        break;
    }
    return dw_fail(message, DW_BAD_INPUT, "%s: the photograph is too small to measure by.", path);
}

DwStatus dw_photo_read(const char *path, DwPhoto *photo, DwMessage *message)
{
    const DwPixelsWish wish = {.heic = true, .pixels_most = DW_PHOTO_PIXELS_MOST};
    DwPixels pixels;
    DwPixelsEnd end;
    DwMessage why;
    DwStatus status = dw_picture_box_read(path, &wish, &pixels, &end, &why);
    if (status != DW_OK)
        return dw_fail(message, status, "%s", why.text);
    if (end != DW_PIXELS_READ || pixels.width < SIDE_LEAST || pixels.height < SIDE_LEAST)
        status = cannot_measure(path, end, &pixels, &why, message);
    else
        to_grey(&pixels, photo);
    free(pixels.bytes);
    return status;
}

void dw_photo_clear(DwPhoto *photo)
{
    free(photo->pixels);
    *photo = (DwPhoto){0};
}
