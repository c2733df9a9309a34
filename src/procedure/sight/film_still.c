// SPDX-License-Identifier: MIT
#include "procedure/sight/film_still.h"

#include "audio/film.h"
#include "audio/film_writer.h"
#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    double wanted_s, at_s; // AT_S: of the frame that was taken, else of the last one seen
    int width, height;
    uint8_t *pixels; // NULL: not come yet
} Still;

static bool take(const DwFilmPicture *picture, void *user)
{
    Still *still = user;
    still->at_s = picture->time_s;
    if (picture->time_s < still->wanted_s)
        return true;
    still->width = picture->width;
    still->height = picture->height;
    still->pixels = dw_memory_new((size_t)picture->width * (size_t)picture->height, 1);
    for (int y = 0; y < picture->height; y++)
        memcpy(still->pixels + (ptrdiff_t)y * picture->width, picture->pixels + (ptrdiff_t)y * picture->stride,
               (size_t)picture->width);
    return false;
}

static DwStatus write_photo(const Still *still, const char *path, DwMessage *message)
{
    DwFilmWriter *writer = NULL;
    DwStatus status = dw_film_writer_open(path, still->width, still->height, &writer, message);
    if (status != DW_OK)
        return status;
    status = dw_film_writer_push(writer, still->pixels, 0, message);
    if (status == DW_OK)
        return dw_film_writer_close(writer, message);
    dw_film_writer_abandon(writer);
    return status;
}

DwStatus dw_film_still(const char *film, double time_s, const char *photo, double *at_s, DwMessage *message)
{
    Still still = {.wanted_s = time_s};
    DwFilmEnd end = {0};
    if (!(time_s >= 0))
        return dw_fail(message, DW_BAD_INPUT, "Give the second of the film whose picture is to be kept, such as 3.5.");
    DwStatus status = dw_film_play(film, take, &still, &end, message);
    if (status == DW_OK && !still.pixels)
        status =
            dw_fail(message, DW_BAD_INPUT, "The film has no picture after %.1f s. Give an earlier second.", still.at_s);
    if (status == DW_OK)
        status = write_photo(&still, photo, message);
    if (status == DW_OK)
        *at_s = still.at_s;
    free(still.pixels);
    return status;
}
