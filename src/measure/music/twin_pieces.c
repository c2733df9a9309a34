// SPDX-License-Identifier: MIT
#include "measure/music/twin_pieces.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void lay_knots(DwTwinPieces *work, double knot_s)
{
    work->knots = 0;
    for (size_t i = 0, from = 0; i < work->count; i++) {
        bool ends = i + 1 == work->count || work->piece[i + 1] != work->piece[i];
        if (!ends)
            continue;
        double begin_s = work->t[from], length_s = fmax(work->t[i] - begin_s, 1e-3);
        size_t spans = (size_t)fmax(1, round(length_s / knot_s));
        for (size_t k = 0; k <= spans; k++)
            work->knot_t[work->knots + k] = begin_s + length_s * (double)k / (double)spans;
        for (size_t n = from; n <= i; n++) {
            double at = (work->t[n] - begin_s) / length_s * (double)spans;
            size_t k = at >= (double)spans ? spans - 1 : (size_t)at;
            work->knot[n] = work->knots + k;
            work->place[n] = at - (double)k;
        }
        work->knots += spans + 1;
        from = i + 1;
    }
}

// Cholesky's decomposition of a matrix of three diagonals, a little lifted for spans without points.
static void decompose(DwTwinPieces *work)
{
    for (size_t k = 0; k < work->knots; k++) {
        work->diagonal[k] = 1e-6;
        work->beside[k] = 0;
    }
    for (size_t i = 0; i < work->count; i++) {
        size_t k = work->knot[i];
        double u = work->place[i], w = work->w[i];
        work->diagonal[k] += w * (1 - u) * (1 - u);
        work->diagonal[k + 1] += w * u * u;
        work->beside[k] += w * u * (1 - u);
    }
    for (size_t k = 0; k < work->knots; k++) {
        if (k > 0)
            work->diagonal[k] -= work->beside[k - 1] * work->beside[k - 1];
        work->diagonal[k] = sqrt(fmax(work->diagonal[k], 1e-9));
        work->beside[k] /= work->diagonal[k];
    }
}

void dw_twin_pieces_lay(DwTwinPieces *work, double knot_s)
{
    lay_knots(work, knot_s);
    decompose(work);
}

void dw_twin_pieces_fit(DwTwinPieces *work, const double *values)
{
    memset(work->right, 0, work->knots * sizeof *work->right);
    for (size_t i = 0; i < work->count; i++) {
        size_t k = work->knot[i];
        double wv = work->w[i] * values[i];
        work->right[k] += wv * (1 - work->place[i]);
        work->right[k + 1] += wv * work->place[i];
    }
    for (size_t k = 0; k < work->knots; k++) {
        if (k > 0)
            work->right[k] -= work->beside[k - 1] * work->right[k - 1];
        work->right[k] /= work->diagonal[k];
    }
    for (size_t k = work->knots; k-- > 0;) {
        if (k + 1 < work->knots)
            work->right[k] -= work->beside[k] * work->right[k + 1];
        work->right[k] /= work->diagonal[k];
    }
}

void dw_twin_pieces_take_out(DwTwinPieces *work, double *values)
{
    dw_twin_pieces_fit(work, values);
    for (size_t i = 0; i < work->count; i++) {
        size_t k = work->knot[i];
        values[i] -= (1 - work->place[i]) * work->right[k] + work->place[i] * work->right[k + 1];
    }
}

bool dw_twin_pieces_init(const DwTwinCourse *course, double ratio, double knot_s, DwTwinPieces *work)
{
    *work = (DwTwinPieces){.window_s = course->window_s};
    for (size_t i = 0; i < course->count; i++)
        work->count += course->point[i].used;
    if (work->count < 60)
        return false;
    size_t n = work->count, most = 2 * n + 2 * course->pieces + 4;
    double **columns[] = {&work->t, &work->y, &work->w, &work->place, &work->a, &work->b, &work->rest};
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
        *columns[c] = dw_memory_new(n, sizeof(double));
    double **knots[] = {&work->knot_t, &work->diagonal, &work->beside, &work->right};
    for (size_t c = 0; c < sizeof knots / sizeof *knots; c++)
        *knots[c] = dw_memory_new(most, sizeof(double));
    work->knot = dw_memory_new(n, sizeof *work->knot);
    work->piece = dw_memory_new(n, sizeof *work->piece);
    size_t kept = 0;
    for (size_t i = 0; i < course->count; i++) {
        const DwTwinPoint *point = &course->point[i];
        if (!point->used)
            continue;
        work->t[kept] = point->at_s;
        work->y[kept] = point->other_s - ratio * point->at_s;
        work->w[kept] = point->quality * point->quality;
        work->piece[kept++] = point->piece;
    }
    dw_twin_pieces_lay(work, knot_s);
    return true;
}

void dw_twin_pieces_clear(DwTwinPieces *work)
{
    double *rooms[] = {work->t,    work->y,      work->w,        work->place,  work->a,    work->b,
                       work->rest, work->knot_t, work->diagonal, work->beside, work->right};
    for (size_t r = 0; r < sizeof rooms / sizeof *rooms; r++)
        free(rooms[r]);
    free(work->knot);
    free(work->piece);
}
