// SPDX-License-Identifier: MIT
// Films, whatever they hold, frame by frame with the marks looked for. They are decoded here, not in their box, so that
// what the decoder does is seen.
#include "audio/film.h"
#include "sight/film_track.h"
#include "target.h"

#include <math.h>
#include <stdio.h>
#include <sys/mman.h>
#include <unistd.h>

enum { FRAMES_MOST = 12, LOOKED_AT_MOST = 1000000 };

typedef struct {
    DwFilmTrack *track;
    size_t taken;
} Looking;

static bool take(const DwFilmPicture *picture, void *user)
{
    Looking *looking = user;
    TARGET_HOLDS(picture->width > 0 && picture->height > 0 && picture->stride >= picture->width);
    TARGET_HOLDS(isfinite(picture->time_s));
    const DwGrey grey = {picture->width, picture->height, picture->stride, picture->pixels};
    if ((size_t)picture->width * (size_t)picture->height <= LOOKED_AT_MOST)
        dw_film_track_push(looking->track, &grey, picture->time_s);
    return ++looking->taken < FRAMES_MOST;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    int file = memfd_create("film", MFD_CLOEXEC);
    TARGET_HOLDS(file >= 0 && write(file, bytes, count) == (ssize_t)count);
    char path[40];
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    Looking looking = {dw_film_track_new(), 0};
    DwFilmEnd end = {0};
    DwMessage message = {""};
    DwStatus status = dw_film_inside(path, take, &looking, &end, &message);
    TARGET_HOLDS(status == DW_OK || message.text[0] != 0);
    TARGET_HOLDS(status != DW_OK || !end.stopped || end.why[0] != 0);
    size_t frames;
    dw_film_track_frames(looking.track, &frames);
    TARGET_HOLDS(frames <= looking.taken);
    dw_film_track_free(looking.track);
    close(file);
    return 0;
}
