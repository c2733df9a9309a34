// SPDX-License-Identifier: MIT
// Writes pictures in grey: a photograph, or a film whose frames have each its own time. The file is there whole or not
// at all.
#ifndef DW_AUDIO_FILM_WRITER_H
#define DW_AUDIO_FILM_WRITER_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct DwFilmWriter DwFilmWriter;

// Whether the ending of PATH is that of a film (.mov, .mkv), and of a photograph (.jpg, .jpeg, .png).
bool dw_film_writer_is_film(const char *path);
bool dw_film_writer_is_photo(const char *path);

// Starts the file PATH of pictures WIDTH by HEIGHT, JPEG each but in .png. Times of .mov are right to 1/90000 s, of
// .mkv to 1 ms. The caller ends *WRITER with dw_film_writer_close() or dw_film_writer_abandon().
DwStatus dw_film_writer_open(const char *path, int width, int height, DwFilmWriter **writer, DwMessage *message);
// Adds a picture of WIDTH times HEIGHT bytes, shown from TIME_S, later than the last; a photograph takes one.
DwStatus dw_film_writer_push(DwFilmWriter *writer, const uint8_t *pixels, double time_s, DwMessage *message);
// Finishes the file and gives it its name, in place of one already called so. Frees WRITER; on failure nothing is left
// behind and an older file stays.
DwStatus dw_film_writer_close(DwFilmWriter *writer, DwMessage *message);
void dw_film_writer_abandon(DwFilmWriter *writer); // may be NULL

#endif
