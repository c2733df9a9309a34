// SPDX-License-Identifier: MIT
#include "procedure/sight/film_taken.h"

#include "audio/film.h"
#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FRAMES_LEAST = 20 };

static const double most_lost = 0.2, most_rest_px = 1.5;
static const double moved_mm = 0.35, moved_block_s = 1; // common practice, no source
static const double least_light = 0.5;
static const double most_rounding_s = 0.0009; // files count milliseconds, or 600 a second
static const double gap_share = 1.5;          // of the usual time between frames

typedef struct {
    DwFilmTrack *track;
    double from_s, to_s;
} Taking;

static bool take(const DwFilmPicture *picture, void *user)
{
    Taking *taking = user;
    const DwGrey grey = {picture->width, picture->height, picture->stride, picture->pixels};
    if (!(picture->time_s < taking->from_s) && !(picture->time_s > taking->to_s))
        dw_film_track_push(taking->track, &grey, picture->time_s);
    return !(picture->time_s > taking->to_s);
}

void dw_film_taken_clear(DwFilmTaken *taken)
{
    dw_film_track_free(taken->track);
    free(taken->time_s);
    free(taken->turn);
    free(taken->x_mm);
    free(taken->y_mm);
    free(taken->rest_px);
    *taken = (DwFilmTaken){0};
}

static DwStatus check_marks(const DwFilmTaken *taken, DwMessage *message)
{
    size_t pushed = dw_film_track_pushed(taken->track), lost = dw_film_track_lost(taken->track), count;
    size_t most = dw_film_track_most_marks(taken->track);
    DwMarkedPaper paper;
    dw_film_track_frames(taken->track, &count);
    if (!dw_film_track_paper(taken->track, &paper))
        return dw_fail(message, DW_BAD_INPUT,
                       most == 0 ? "no mark of a disc is seen. Print one (template disc --out FILE.pdf), lay it on the "
                                   "platter and film it whole, in even light and in focus."
                                 : "too few marks are seen (%zu at most, wanted %d or more). Bring the whole disc into "
                                   "the picture, in even light and in focus.",
                       most, DW_FILM_MARKS_LEAST);
    if (!dw_marked_paper_has_spindle(paper))
        return dw_fail(message, DW_BAD_INPUT,
                       "it shows the %s, not the disc. Print the disc (template disc --out FILE.pdf) and lay it on the "
                       "platter.",
                       dw_marked_paper_name(paper));
    if ((double)lost > most_lost * (double)pushed || count < FRAMES_LEAST)
        return dw_fail(message, DW_BAD_INPUT,
                       "too few marks are seen in %zu of %zu frames. Keep hands and arm off the disc, light it evenly, "
                       "hold focus and exposure, and film again.",
                       lost, pushed);
    return DW_OK;
}

static int compare(const void *a, const void *b)
{
    double one = *(const double *)a, two = *(const double *)b;
    return (one > two) - (one < two);
}

// The value below which SHARE of COUNT values lie; VALUES are sorted.
static double quantile(double *values, size_t count, double share)
{
    qsort(values, count, sizeof *values, compare);
    return values[(size_t)(share * (double)(count - 1))];
}

// How even the light is, from the contrast of the marks in the frames.
static double light_of(const DwFilmFrame *frames, size_t count)
{
    double *contrast = dw_memory_new(count, sizeof *contrast);
    for (size_t i = 0; i < count; i++)
        contrast[i] = (double)(frames[i].white - frames[i].black);
    double low = quantile(contrast, count, 0.05), high = quantile(contrast, count, 0.95);
    free(contrast);
    return high > 0 ? low / high : 0;
}

static void find_gaps(DwFilmTaken *taken)
{
    double *gaps = dw_memory_new(taken->count, sizeof *gaps);
    for (size_t i = 0; i + 1 < taken->count; i++)
        gaps[i] = taken->time_s[i + 1] - taken->time_s[i];
    taken->frame_s = quantile(gaps, taken->count - 1, 0.5);
    for (size_t i = 0; i + 1 < taken->count; i++)
        taken->gaps += gaps[i] > gap_share * taken->frame_s;
    free(gaps);
}

// The disc's place in each frame that tells it.
static void place_all(DwFilmTaken *taken)
{
    size_t count;
    const DwFilmFrame *frames = dw_film_track_frames(taken->track, &count);
    taken->time_s = dw_memory_new(count, sizeof *taken->time_s);
    taken->turn = dw_memory_new(count, sizeof *taken->turn);
    taken->x_mm = dw_memory_new(count, sizeof *taken->x_mm);
    taken->y_mm = dw_memory_new(count, sizeof *taken->y_mm);
    taken->rest_px = dw_memory_new(count, sizeof *taken->rest_px);
    for (size_t i = 0; i < count; i++) {
        DwFilmPlace place;
        if (!dw_film_camera_place(&taken->camera, &frames[i], dw_film_camera_rate(frames, count, i), &place) ||
            place.rest_px > 4 * most_rest_px)
            continue;
        taken->time_s[taken->count] = frames[i].time_s;
        taken->turn[taken->count] = place.turn;
        taken->x_mm[taken->count] = place.x_mm;
        taken->y_mm[taken->count] = place.y_mm;
        taken->rest_px[taken->count++] = place.rest_px;
    }
    taken->backwards = taken->count > 1 && taken->turn[taken->count - 1] < taken->turn[0];
    for (size_t i = 0; i < taken->count && taken->backwards; i++)
        taken->turn[i] = -taken->turn[i];
}

// How far the turns stray from an even turning between each frame's two neighbours, if they were taken at TIME_S.
static double straying(const DwFilmTaken *taken, const double *time_s)
{
    double square = 0;
    for (size_t i = 1; i + 1 < taken->count; i++) {
        double share = (time_s[i] - time_s[i - 1]) / (time_s[i + 1] - time_s[i - 1]);
        double off = taken->turn[i] - taken->turn[i - 1] - share * (taken->turn[i + 1] - taken->turn[i - 1]);
        square += off * off;
    }
    return square;
}

// Times that a file rounded are those of an even clock, where they fit one and the platter agrees.
static void even_times(DwFilmTaken *taken)
{
    size_t count = taken->count;
    double *even = dw_memory_new(count, sizeof *even), usual = taken->frame_s;
    double n = 0, t = 0, nn = 0, nt = 0;
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            even[i] = even[i - 1] + fmax(1, round((taken->time_s[i] - taken->time_s[i - 1]) / usual));
        n += even[i] / (double)count;
        t += taken->time_s[i] / (double)count;
    }
    for (size_t i = 0; i < count; i++) {
        nn += (even[i] - n) * (even[i] - n);
        nt += (even[i] - n) * (taken->time_s[i] - t);
    }
    bool fits = nn > 0;
    for (size_t i = 0; i < count && fits; i++) {
        even[i] = t + (even[i] - n) * nt / nn;
        fits = fabs(even[i] - taken->time_s[i]) < most_rounding_s;
    }
    if (fits && straying(taken, even) < straying(taken, taken->time_s)) {
        memcpy(taken->time_s, even, count * sizeof *even);
        taken->frame_s = nt / nn;
    }
    free(even);
}

// The circle on which the disc's middle goes round, taken out of X and Y: mean, and cosine and sine of the turn.
static void take_circle_out(DwFilmTaken *taken)
{
    double n = (double)taken->count, x = 0, y = 0, c = 0, s = 0, cos_mean = 0, sin_mean = 0;
    for (size_t i = 0; i < taken->count; i++) {
        x += taken->x_mm[i] / n;
        y += taken->y_mm[i] / n;
        cos_mean += cos(taken->turn[i]) / n;
        sin_mean += sin(taken->turn[i]) / n;
    }
    double spread = fmax(0.05, 1 - cos_mean * cos_mean - sin_mean * sin_mean);
    for (size_t i = 0; i < taken->count; i++) {
        double a = cos(taken->turn[i]) - cos_mean, b = sin(taken->turn[i]) - sin_mean;
        double along = taken->x_mm[i] - x, down = taken->y_mm[i] - y, way = taken->backwards ? -1 : 1;
        c += (a * along + way * b * down) / n / spread;
        s += (a * down - way * b * along) / n / spread;
    }
    taken->off_mm = hypot(c, s);
    for (size_t i = 0; i < taken->count; i++) {
        double a = cos(taken->turn[i]) - cos_mean, b = (taken->backwards ? -1 : 1) * (sin(taken->turn[i]) - sin_mean);
        taken->x_mm[i] -= x + c * a - s * b;
        taken->y_mm[i] -= y + s * a + c * b;
    }
}

// Whether the telephone moved: the disc's middle wanders while it should stand.
static bool find_move(const DwFilmTaken *taken, double *at_s, double *by_mm)
{
    *by_mm = 0;
    for (size_t from = 0, to; from < taken->count; from = to) {
        double x = 0, y = 0;
        for (to = from; to < taken->count && taken->time_s[to] - taken->time_s[from] < moved_block_s; to++) {
            x += taken->x_mm[to];
            y += taken->y_mm[to];
        }
        double off = hypot(x, y) / (double)(to - from);
        if (off > *by_mm) {
            *by_mm = off;
            *at_s = taken->time_s[from];
        }
    }
    return *by_mm > moved_mm;
}

static DwStatus check_course(DwFilmTaken *taken, DwMessage *message)
{
    double at_s = 0, by_mm;
    if (taken->count < FRAMES_LEAST || taken->camera.rest_px > most_rest_px)
        return dw_fail(
            message, DW_BAD_INPUT,
            "its marks do not lie as on the paper (%.1f pixels off): the telephone moved, zoomed or steadied the "
            "picture, or the disc is not flat. Put it on a stand, lay the disc flat, do not zoom, turn the picture's "
            "stabilising off, and film again.",
            taken->camera.rest_px);
    take_circle_out(taken);
    if (find_move(taken, &at_s, &by_mm))
        return dw_fail(
            message, DW_BAD_INPUT,
            "the telephone moved, most at %.1f s (%.1f mm). Put it on a stand, turn the picture's stabilising "
            "off, touch nothing, and film again; or measure a part, by record.start and record.end.",
            at_s, by_mm);
    const DwPlatterCourse course = {taken->time_s, taken->turn, taken->count};
    size_t missing = dw_platter_missing(&course, &at_s);
    if (missing > 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "frames are missing in %zu place%s, first at %.1f s, and their times do not tell. Film with the "
                       "telephone's own camera, nothing else running, and take the file as it was saved.",
                       missing, missing == 1 ? "" : "s", at_s);
    return DW_OK;
}

static DwStatus play(const char *path, const DwInputs *inputs, DwFilmTaken *taken, DwMessage *message)
{
    DwFilmEnd end;
    taken->track = dw_film_track_new();
    Taking taking = {taken->track, dw_inputs_in(inputs, "record.start", "s"), dw_inputs_in(inputs, "record.end", "s")};
    DwStatus status = dw_film_play(path, take, &taking, &end, message);
    if (status == DW_OK && end.stopped)
        memcpy(taken->stopped, end.why, sizeof taken->stopped);
    return status;
}

static DwStatus read_film(const char *path, const DwInputs *inputs, DwFilmTaken *taken, DwMessage *message)
{
    size_t count;
    DwStatus status = play(path, inputs, taken, message);
    if (status == DW_OK)
        status = check_marks(taken, message);
    if (status != DW_OK)
        return status;
    const DwFilmFrame *frames = dw_film_track_frames(taken->track, &count);
    taken->light = light_of(frames, count);
    if (taken->light < least_light)
        return dw_fail(message, DW_BAD_INPUT,
                       "the light flickers: some frames have %.0f %% of the light of others. Film by daylight or by a "
                       "lamp that does not flicker, with the exposure held.",
                       100 * taken->light);
    bool rolling = strcmp(dw_inputs_word(inputs, "camera.shutter"), "global") != 0;
    if (!dw_film_camera_calibrate(taken->track, rolling, &taken->camera))
        return dw_fail(
            message, DW_BAD_INPUT,
            "the frames do not fit one camera: the telephone moved, zoomed or steadied the picture, or the disc is not "
            "flat. Put it on a stand, lay the disc flat, do not zoom, turn the picture's stabilising off, and film "
            "again.");
    place_all(taken);
    if (taken->count >= FRAMES_LEAST) {
        find_gaps(taken);
        even_times(taken);
    }
    return check_course(taken, message);
}

DwStatus dw_film_taken_read(const char *path, const DwInputs *inputs, DwFilmTaken *taken, DwMessage *message)
{
    DwMessage why;
    *taken = (DwFilmTaken){0};
    DwStatus status = read_film(path, inputs, taken, &why);
    return status == DW_OK ? DW_OK : dw_fail(message, status, "%s: %s", path, why.text);
}
