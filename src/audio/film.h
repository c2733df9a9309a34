// SPDX-License-Identifier: MIT
// A film, as a telephone makes it, frame by frame: brightness alone, each with the time that the file states for it.
#ifndef DW_AUDIO_FILM_H
#define DW_AUDIO_FILM_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct {
    int width, height, stride; // pixels; bytes from one row to the next
    const uint8_t *pixels;     // brightness, upper row first; valid during the call
    double time_s;
} DwFilmPicture;

// Takes one frame of the film; USER is what was given to dw_film_play(). Returned: whether to go on.
typedef bool (*DwFilmTake)(const DwFilmPicture *picture, void *user);

typedef struct {
    size_t frames;
    bool stopped; // it broke off: what came before was taken
    char why[200];
} DwFilmEnd;

// Decodes the film at PATH and gives its frames to TAKE, one after another, as they are stored (not turned as the
// telephone was held). A few frames are held at a time. A file that is no film is DW_BAD_INPUT; MESSAGE says only why
// not, without the path.
DwStatus dw_film_play(const char *path, DwFilmTake take, void *user, DwFilmEnd *end, DwMessage *message);

// The same in this very process: for deckwright-decode, which reads films in its box.
DwStatus dw_film_inside(const char *path, DwFilmTake take, void *user, DwFilmEnd *end, DwMessage *message);

#endif
