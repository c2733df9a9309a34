// SPDX-License-Identifier: MIT
// A film read by the decoder in its box.
#include "audio/film.h"

#include "audio/decode_answer.h"
#include "base/box.h"
#include "base/content.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PIXELS_MOST = 4096 * 2304, SIDE_MOST = 8192 };

// The next answer; false when none that makes sense came.
static bool read_answer(DwStrongBox *box, DwFilmAnswer *answer)
{
    if (!dw_box_read(box, answer, sizeof *answer) || answer->mark != DW_ANSWER_MARK || answer->kind > DW_FILM_NOT)
        return false;
    answer->words[sizeof answer->words - 1] = '\0';
    for (char *at = answer->words; *at; at++)
        if ((unsigned char)*at < ' ')
            *at = ' ';
    return answer->kind != DW_FILM_FRAME ||
           (answer->width > 0 && answer->width <= SIDE_MOST && answer->height > 0 && answer->height <= SIDE_MOST &&
            (int64_t)answer->width * answer->height <= PIXELS_MOST && isfinite(answer->time_s));
}

// The frames one after another, into END; the answer that ends them into LAST. Returned: whether it came.
static bool take_frames(DwStrongBox *box, DwFilmTake take, void *user, DwFilmEnd *end, DwFilmAnswer *last)
{
    uint8_t *pixels = dw_memory_new(PIXELS_MOST, 1);
    bool whole = true, go_on = true;
    while (go_on && (whole = read_answer(box, last)) && last->kind == DW_FILM_FRAME) {
        whole = dw_box_read(box, pixels, (size_t)last->width * (size_t)last->height);
        if (!whole)
            break;
        const DwFilmPicture picture = {last->width, last->height, last->width, pixels, last->time_s};
        go_on = take(&picture, user);
        end->frames++;
    }
    free(pixels);
    return whole;
}

DwStatus dw_film_play(const char *path, DwFilmTake take, void *user, DwFilmEnd *end, DwMessage *message)
{
    const char *const arguments[] = {"deckwright-decode", DW_DECODE_FILM, path, NULL};
    DwStrongBox *box = NULL;
    DwFilmAnswer last = {.kind = DW_FILM_END};
    *end = (DwFilmEnd){0};
    const DwContent *content = dw_content_of_file(path);
    if (content && !content->may_be_film)
        return dw_fail(message, DW_BAD_INPUT, "it is %s, which is no film. Take the film as the telephone saved it.",
                       content->name);
    DwStatus status = dw_box_open(arguments[0], arguments, &box, message);
    if (status != DW_OK)
        return status;
    bool whole = take_frames(box, take, user, end, &last);
    if (!whole && !end->frames)
        status = dw_fail(message, DW_BAD_INPUT,
                         "it is no film that can be read (%s). Take the film as the telephone "
                         "saved it.",
                         dw_box_trouble(box));
    else if (whole && last.kind == DW_FILM_NOT)
        status = dw_fail(message, last.status == DW_BAD_INPUT ? DW_BAD_INPUT : DW_FAILED, "%s", last.words);
    end->stopped = !whole || (last.kind == DW_FILM_END && last.stopped);
    if (end->stopped)
        snprintf(end->why, sizeof end->why, "%.*s", (int)sizeof end->why - 1, whole ? last.words : dw_box_trouble(box));
    dw_box_close(box);
    return status;
}
