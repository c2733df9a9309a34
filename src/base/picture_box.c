// SPDX-License-Identifier: MIT
#include "base/picture_box.h"

#include "base/box.h"
#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Nothing that the box says is taken on trust.
static bool makes_sense(const DwPictureAnswer *answer, const DwPixelsWish *wish)
{
    if (answer->mark != DW_PICTURE_MARK || answer->end > DW_PIXELS_DAMAGED)
        return false;
    if (answer->end != DW_PIXELS_READ)
        return true;
    int64_t most = wish->side_most ? wish->side_most : wish->pixels_most;
    return answer->width > 0 && answer->height > 0 && (answer->channels == 3 || answer->channels == 4) &&
           answer->width <= most && answer->height <= most &&
           (int64_t)answer->width * answer->height <= wish->pixels_most && answer->whole_width > 0 &&
           answer->whole_height > 0 && (int64_t)answer->whole_width * answer->whole_height <= wish->pixels_most;
}

// Whether all came.
static bool take(DwStrongBox *box, const DwPixelsWish *wish, DwPixels *pixels, DwPixelsEnd *end)
{
    DwPictureAnswer answer;
    if (!dw_box_read(box, &answer, sizeof answer) || !makes_sense(&answer, wish))
        return false;
    *end = (DwPixelsEnd)answer.end;
    *pixels = (DwPixels){answer.width, answer.height, answer.channels, answer.whole_width, answer.whole_height, NULL};
    if (*end != DW_PIXELS_READ)
        return true;
    size_t count = (size_t)answer.width * (size_t)answer.height * (size_t)answer.channels;
    pixels->bytes = dw_memory_new(count, 1);
    if (dw_box_read(box, pixels->bytes, count))
        return true;
    free(pixels->bytes);
    pixels->bytes = NULL;
    return false;
}

DwStatus dw_picture_box_read(const char *path, const DwPixelsWish *wish, DwPixels *pixels, DwPixelsEnd *end,
                             DwMessage *message)
{
    DwStrongBox *box = NULL;
    *pixels = (DwPixels){0};
    if (access(path, R_OK) != 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot open it (%s).", path, strerror(errno));
    char *side = dw_text_format("%d", wish->side_most), *most = dw_text_format("%lld", (long long)wish->pixels_most);
    const char *const arguments[] = {DW_PICTURE_PROGRAM, wish->heic ? "heic" : "plain", side, most, path, NULL};
    DwStatus status = dw_box_open(arguments[0], arguments, &box, message);
    if (status == DW_OK && !take(box, wish, pixels, end)) {
        *end = DW_PIXELS_BROKE;
        dw_fail(message, DW_BAD_INPUT, "%s", dw_box_trouble(box));
    }
    dw_box_close(box);
    free(side);
    free(most);
    return status;
}
