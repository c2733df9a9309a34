// SPDX-License-Identifier: MIT
#include "sight/film_camera.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "sight/adjust.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FRAMES_MOST = 30, FRAMES_LEAST = 8, POINTS = 4 * DW_EDGE_POINTS, PASSES = 3, ROUNDS_MOST = 30, STEPS = 5 };
// The unknowns of a camera; turn and place of each frame follow.
enum { PLANE = 0, BEND = 8, READOUT = 10, STRETCH, SHEAR, BLOOM, OWN };

static const double expected_px = 0.1;                        // of a point; its true one is found
static const double bend_known = 0.3, readout_known_s = 0.02; // beforehand, standard deviations
static const double print_known = 0.01, place_known_mm = 0.4, bloom_known_px = 1;
static const double steady_frames_s = 0.25;

// One point as it is met in an adjustment.
typedef struct {
    DwPoint on_paper, before, after; // itself, and the ends of its edge [mm]
    DwPoint seen;                    // pixels
    double row;                      // −0.5 first … 0.5 last
    double weight;
    size_t frame;
} Sighting;

typedef struct {
    Sighting *sightings; // one frame's after another's
    size_t count, frames;
    const size_t *firsts; // of the frames' sightings, and the count behind them
    const double *rates;  // of the frames
    double half_diagonal;
    int width, height;
    bool rolling;
} Adjustment;

static DwPoint turned(DwPoint point, const double *own, double turn)
{
    double c = cos(turn), s = sin(turn);
    return (DwPoint){c * point.x - s * point.y + own[1], s * point.x + c * point.y + own[2]};
}

static DwPoint printed(DwPoint point, const double *camera)
{
    double stretch = print_known * camera[STRETCH] / 2, shear = print_known * camera[SHEAR] / 2;
    return (DwPoint){point.x * (1 + stretch) + point.y * shear, point.y * (1 - stretch) + point.x * shear};
}

// Where the platter's AT [mm] is seen [pixels].
static DwPoint seen_at(const Adjustment *a, const double *camera, DwPoint at)
{
    DwPlane plane = {camera[0], camera[1], camera[2], camera[3], camera[4], camera[5], camera[6], camera[7]};
    DwPoint p = dw_plane_map(&plane, (DwPoint){at.x / 100, at.y / 100});
    double r2 = p.x * p.x + p.y * p.y, bent = 1 + r2 * (camera[BEND] + r2 * camera[BEND + 1]);
    return (DwPoint){p.x * bent * a->half_diagonal + a->width / 2.0, p.y * bent * a->half_diagonal + a->height / 2.0};
}

// How far SIGHTING lies outwards of its edge [pixels].
static double off_edge(const Adjustment *a, const double *camera, const double *own, double rate,
                       const Sighting *sighting)
{
    double turn = own[0] + rate * readout_known_s * camera[READOUT] * sighting->row;
    DwPoint at = seen_at(a, camera, turned(printed(sighting->on_paper, camera), own, turn));
    DwPoint from = seen_at(a, camera, turned(printed(sighting->before, camera), own, turn));
    DwPoint to = seen_at(a, camera, turned(printed(sighting->after, camera), own, turn));
    double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
    return ((sighting->seen.x - at.x) * y - (sighting->seen.y - at.y) * x) / length + camera[BLOOM];
}

// Of the sightings FROM … TO.
static void fill_sightings(const Adjustment *a, const double *unknowns, size_t from, size_t to, double *residuals)
{
    for (size_t i = from; i < to; i++) {
        const Sighting *s = &a->sightings[i];
        const double *own = unknowns + OWN + 3 * s->frame;
        residuals[i] = s->weight * off_edge(a, unknowns, own, a->rates[s->frame], s) / expected_px;
    }
}

// Of what is known beforehand.
static void fill_known(const Adjustment *a, const double *unknowns, double *next)
{
    *next++ = unknowns[BEND] / bend_known;
    *next++ = unknowns[BEND + 1] / bend_known;
    *next++ = a->rolling ? unknowns[READOUT] : 1e4 * unknowns[READOUT];
    *next++ = unknowns[STRETCH];
    *next++ = unknowns[SHEAR];
    *next++ = unknowns[BLOOM] / bloom_known_px;
    *next++ = unknowns[OWN] * 1e5; // angles count from the first frame
    for (size_t i = 0; i < a->frames; i++) {
        *next++ = unknowns[OWN + 3 * i + 1] / place_known_mm;
        *next++ = unknowns[OWN + 3 * i + 2] / place_known_mm;
    }
}

static void fill(const double *unknowns, double *residuals, void *user)
{
    const Adjustment *a = user;
    fill_sightings(a, unknowns, 0, a->count, residuals);
    fill_known(a, unknowns, residuals + a->count);
}

// A frame's turn and place move its own sightings alone.
static void fill_of(const double *unknowns, size_t index, double *residuals, void *user)
{
    const Adjustment *a = user;
    size_t frame = index < OWN ? 0 : (index - OWN) / 3;
    size_t from = index < OWN ? 0 : a->firsts[frame], to = index < OWN ? a->count : a->firsts[frame + 1];
    fill_sightings(a, unknowns, from, to, residuals);
    fill_known(a, unknowns, residuals + a->count);
}

enum { BEFOREHAND = 7 }; // residuals of what is known beforehand, but for the places

static int marks_in(unsigned marks)
{
    return __builtin_popcount(marks);
}

// The points of FRAME as sightings. Returned: how many.
static size_t sightings_of(const DwFilmFrame *frame, DwMarkedPaper paper, int height, size_t number, Sighting *out)
{
    size_t count = 0, seen = 0;
    for (size_t index = 0; index < dw_paper_marks_count(paper); index++) {
        if (!(frame->marks >> index & 1))
            continue;
        DwPaperMark mark = dw_paper_mark(paper, index);
        double corners[4][2];
        dw_paper_mark_corners(&mark, corners);
        for (size_t side = 0; side < 4; side++)
            for (size_t point = 0; point < DW_EDGE_POINTS; point++) {
                const double *from = corners[side], *to = corners[(side + 1) % 4];
                const float *at = frame->seen[seen].points[side][point];
                double share = dw_mark_edge_share(point);
                out[count++] = (Sighting){
                    .on_paper = {from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])},
                    .before = {from[0], from[1]},
                    .after = {to[0], to[1]},
                    .seen = {at[0], at[1]},
                    .row = at[1] / height - 0.5,
                    .weight = 1,
                    .frame = number,
                };
            }
        seen++;
    }
    return count;
}

double dw_film_camera_rate(const DwFilmFrame *frames, size_t count, size_t index)
{
    size_t from = index, to = index;
    while (from > 0 && frames[index].time_s - frames[from - 1].time_s < steady_frames_s / 4)
        from--;
    while (to + 1 < count && frames[to + 1].time_s - frames[index].time_s < steady_frames_s / 4)
        to++;
    if (from == to && to + 1 < count)
        to++;
    else if (from == to && from > 0)
        from--;
    double time = frames[to].time_s - frames[from].time_s;
    return time > 0 ? (frames[to].turn - frames[from].turn) / time : 0;
}

// Weighs down what lies farther off than the rest: sets the weights of COUNT sightings by how far OFF they are (P. J.
// Huber's, about their median). Returned: their usual distance [pixels].
static double weigh(Sighting *sightings, const double *off, size_t count)
{
    double *sizes = dw_memory_new(count, sizeof *sizes);
    for (size_t i = 0; i < count; i++)
        sizes[i] = fabs(off[i]);
    double usual = fmax(1.4826 * dw_statistics_middle(sizes, count), 0.005);
    for (size_t i = 0; i < count; i++) {
        double share = fabs(off[i]) / usual;
        sightings[i].weight = share < 2 ? 1 : share < 6 ? sqrt(2 / share) : 0;
    }
    free(sizes);
    return usual;
}

// Picks frames with many marks, spread over the film. Returned: how many.
static size_t pick_frames(const DwFilmFrame *frames, size_t count, size_t *picked)
{
    int most = 0;
    size_t good = 0, taken = 0;
    for (size_t i = 0; i < count; i++)
        most = marks_in(frames[i].marks) > most ? marks_in(frames[i].marks) : most;
    int least = most * 2 / 3 > DW_FILM_MARKS_LEAST ? most * 2 / 3 : DW_FILM_MARKS_LEAST;
    for (size_t i = 0; i < count; i++)
        good += marks_in(frames[i].marks) >= least;
    size_t wanted = good < FRAMES_MOST ? good : FRAMES_MOST;
    for (size_t i = 0, at = 0; i < count && taken < wanted; i++) {
        if (marks_in(frames[i].marks) < least)
            continue;
        if (at >= taken * good / wanted)
            picked[taken++] = i;
        at++;
    }
    return taken;
}

// The unknowns to start from: the first picked frame's plane, the disc turned as roughly seen.
static bool begin(const DwFilmTrack *track, const DwFilmFrame *frames, const size_t *picked, size_t count,
                  const Adjustment *a, double *unknowns)
{
    DwPlane plane = dw_plane_turned(dw_film_track_plane(track), frames[picked[0]].turn);
    DwMarkedPaper paper;
    DwPoint from[DW_PAPER_MARKS_MOST], to[DW_PAPER_MARKS_MOST];
    size_t marks = dw_film_track_paper(track, &paper) ? dw_paper_marks_count(paper) : 0;
    for (size_t i = 0; i < marks; i++) {
        DwPaperMark mark = dw_paper_mark(paper, i);
        DwPoint at = dw_plane_map(&plane, (DwPoint){mark.x_mm, mark.y_mm});
        from[i] = (DwPoint){mark.x_mm / 100, mark.y_mm / 100};
        to[i] = (DwPoint){(at.x - a->width / 2.0) / a->half_diagonal, (at.y - a->height / 2.0) / a->half_diagonal};
    }
    if (!dw_plane_fit(from, to, marks, &plane))
        return false;
    const double numbers[] = {plane.a, plane.b, plane.c, plane.d, plane.e, plane.f, plane.g, plane.h};
    memcpy(unknowns, numbers, sizeof numbers);
    for (size_t i = 0; i < count; i++)
        unknowns[OWN + 3 * i] = frames[picked[i]].turn - frames[picked[0]].turn;
    return true;
}

static void measure_off(const Adjustment *a, const double *unknowns, double *off)
{
    for (size_t i = 0; i < a->count; i++) {
        const Sighting *s = &a->sightings[i];
        off[i] = off_edge(a, unknowns, unknowns + OWN + 3 * s->frame, a->rates[s->frame], s);
    }
}

static void read_camera(const Adjustment *a, const double *unknowns, const double *covariance, double usual,
                        DwFilmCamera *camera)
{
    size_t count = OWN + 3 * a->frames;
    const double *u = unknowns;
    camera->width = a->width;
    camera->height = a->height;
    camera->plane = (DwPlane){u[0], u[1], u[2], u[3], u[4], u[5], u[6], u[7]};
    camera->bend[0] = u[BEND];
    camera->bend[1] = u[BEND + 1];
    camera->readout_s = readout_known_s * u[READOUT];
    camera->readout_doubt_s =
        2 * readout_known_s * sqrt(covariance[READOUT * count + READOUT]) * fmax(1, usual / expected_px);
    camera->stretch = print_known * u[STRETCH];
    camera->shear = print_known * u[SHEAR];
    camera->bloom_px = u[BLOOM];
    camera->rest_px = usual;
}

// Adjusts and weighs anew, some times. Returned: whether it found a camera.
static bool adjust(Adjustment *a, double *unknowns, DwFilmCamera *camera)
{
    size_t count = OWN + 3 * a->frames;
    double *covariance = dw_memory_new(count * count, sizeof *covariance);
    double *off = dw_memory_new(a->count, sizeof *off), usual = 0;
    DwAdjust problem = {count, a->count + BEFOREHAND + 2 * a->frames, fill, a, ROUNDS_MOST, fill_of};
    bool found = true;
    for (int pass = 0; pass < PASSES && found; pass++) {
        found = dw_adjust(&problem, unknowns, covariance, NULL);
        measure_off(a, unknowns, off);
        usual = weigh(a->sightings, off, a->count);
    }
    if (found)
        read_camera(a, unknowns, covariance, usual, camera);
    free(covariance);
    free(off);
    return found;
}

bool dw_film_camera_calibrate(const DwFilmTrack *track, bool rolling, DwFilmCamera *camera)
{
    size_t count, picked[FRAMES_MOST], firsts[FRAMES_MOST + 1] = {0};
    double rates[FRAMES_MOST], unknowns[OWN + 3 * FRAMES_MOST] = {0};
    const DwFilmFrame *frames = dw_film_track_frames(track, &count);
    Adjustment a = {.frames = pick_frames(frames, count, picked), .firsts = firsts, .rates = rates, .rolling = rolling};
    DwMarkedPaper paper;
    if (a.frames < FRAMES_LEAST || !dw_film_track_paper(track, &paper))
        return false;
    dw_film_track_size(track, &a.width, &a.height);
    a.half_diagonal = hypot(a.width, a.height) / 2;
    a.sightings = dw_memory_new(a.frames * DW_PAPER_MARKS_MOST * POINTS, sizeof *a.sightings);
    for (size_t i = 0; i < a.frames; i++) {
        rates[i] = dw_film_camera_rate(frames, count, picked[i]);
        a.count += sightings_of(&frames[picked[i]], paper, a.height, i, a.sightings + a.count);
        firsts[i + 1] = a.count;
    }
    DwFilmCamera made = {.paper = paper, .first_turn = frames[picked[0]].turn};
    bool found = begin(track, frames, picked, a.frames, &a, unknowns) && adjust(&a, unknowns, &made);
    free(a.sightings);
    if (found)
        *camera = made;
    return found;
}

// The normal equations of turn and place, by differences. Returned: the weighted mean square of what is left.
static double normal_of(const Adjustment *a, const double *unknowns, const double *own, double rate, double *off,
                        double normal[3][3], double right[3])
{
    static const double change[] = {1e-5, 1e-3, 1e-3};
    double sum = 0, weights = 0;
    memset(normal, 0, 9 * sizeof(double));
    memset(right, 0, 3 * sizeof(double));
    for (size_t i = 0; i < a->count; i++) {
        const Sighting *s = &a->sightings[i];
        double slope[3], w = s->weight * s->weight;
        off[i] = off_edge(a, unknowns, own, rate, s);
        for (int k = 0; k < 3; k++) {
            double other[] = {own[0], own[1], own[2]};
            other[k] += change[k];
            slope[k] = (off_edge(a, unknowns, other, rate, s) - off[i]) / change[k];
        }
        for (int k = 0; k < 3; k++) {
            right[k] -= w * slope[k] * off[i];
            for (int m = 0; m < 3; m++)
                normal[k][m] += w * slope[k] * slope[m];
        }
        sum += w * off[i] * off[i];
        weights += w;
    }
    return weights > 0 ? sum / weights : INFINITY;
}

static double determinant(double m[3][3])
{
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

// STEP that solves NORMAL · STEP = RIGHT by Cramer's rule, and the first cell of what undoes NORMAL.
static bool solve(double normal[3][3], const double right[3], double step[3], double *first)
{
    double whole = determinant(normal);
    if (!(fabs(whole) > 1e-9))
        return false;
    for (int k = 0; k < 3; k++) {
        double changed[3][3];
        memcpy(changed, normal, sizeof changed);
        for (int i = 0; i < 3; i++)
            changed[i][k] = right[i];
        step[k] = determinant(changed) / whole;
    }
    *first = (normal[1][1] * normal[2][2] - normal[1][2] * normal[2][1]) / whole;
    return true;
}

static void unknowns_of(const DwFilmCamera *camera, double *u)
{
    const DwPlane *p = &camera->plane;
    const double numbers[] = {p->a,
                              p->b,
                              p->c,
                              p->d,
                              p->e,
                              p->f,
                              p->g,
                              p->h,
                              camera->bend[0],
                              camera->bend[1],
                              camera->readout_s / readout_known_s,
                              camera->stretch / print_known,
                              camera->shear / print_known,
                              camera->bloom_px};
    memcpy(u, numbers, sizeof numbers);
}

bool dw_film_camera_place(const DwFilmCamera *camera, const DwFilmFrame *frame, double rate, DwFilmPlace *place)
{
    Sighting sightings[DW_PAPER_MARKS_MOST * POINTS];
    double off[DW_PAPER_MARKS_MOST * POINTS], unknowns[OWN], own[] = {frame->turn - camera->first_turn, 0, 0};
    Adjustment a = {.sightings = sightings, .width = camera->width, .height = camera->height};
    a.half_diagonal = hypot(a.width, a.height) / 2;
    a.count = sightings_of(frame, camera->paper, a.height, 0, sightings);
    unknowns_of(camera, unknowns);
    double first = 0, square = 0;
    for (int i = 0; i < STEPS; i++) {
        double normal[3][3], right[3], step[3];
        square = normal_of(&a, unknowns, own, rate, off, normal, right);
        if (!isfinite(square) || !solve(normal, right, step, &first))
            return false;
        if (i + 1 == STEPS)
            break;
        for (int k = 0; k < 3; k++)
            own[k] += step[k];
        if (i > 0)
            weigh(sightings, off, a.count);
    }
    *place = (DwFilmPlace){own[0], own[1], own[2], sqrt(first * square), sqrt(square), a.count};
    return true;
}
