// SPDX-License-Identifier: MIT
#include "sight/plane.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

DwPoint dw_plane_map(const DwPlane *plane, DwPoint from)
{
    double w = plane->g * from.x + plane->h * from.y + 1;
    return (DwPoint){(plane->a * from.x + plane->b * from.y + plane->c) / w,
                     (plane->d * from.x + plane->e * from.y + plane->f) / w};
}

typedef struct {
    double x, y, size;
} Frame;

// Their middle, and how far they lie from it on an average.
static Frame frame_of(const DwPoint *points, size_t count)
{
    Frame frame = {0, 0, 0};
    for (size_t i = 0; i < count; i++) {
        frame.x += points[i].x / (double)count;
        frame.y += points[i].y / (double)count;
    }
    for (size_t i = 0; i < count; i++)
        frame.size += hypot(points[i].x - frame.x, points[i].y - frame.y) / (double)count;
    return frame;
}

static DwPoint into(const Frame *frame, DwPoint point)
{
    return (DwPoint){(point.x - frame->x) / frame->size, (point.y - frame->y) / frame->size};
}

static void add_row(gsl_matrix *normal, gsl_vector *right, const double row[8], double value, double weight)
{
    for (size_t i = 0; i < 8; i++) {
        for (size_t k = 0; k < 8; k++)
            *gsl_matrix_ptr(normal, i, k) += weight * row[i] * row[k];
        *gsl_vector_ptr(right, i) += weight * row[i] * value;
    }
}

static bool solve(gsl_matrix *normal, gsl_vector *right, DwPlane *plane)
{
    double answer[8];
    gsl_vector_view view = gsl_vector_view_array(answer, 8);
    if (gsl_linalg_cholesky_decomp1(normal) != 0 || gsl_linalg_cholesky_solve(normal, right, &view.vector) != 0)
        return false;
    for (int i = 0; i < 8; i++)
        if (!isfinite(answer[i]))
            return false;
    *plane = (DwPlane){answer[0], answer[1], answer[2], answer[3], answer[4], answer[5], answer[6], answer[7]};
    return true;
}

// One pass over points that are near 1; weights come from the map before, if there is one.
static bool fit_near_one(const DwPoint *from, const DwPoint *to, size_t count, const Frame frames[2], bool again,
                         DwPlane *plane)
{
    double cells[64] = {0}, sums[8] = {0};
    gsl_matrix_view normal = gsl_matrix_view_array(cells, 8, 8);
    gsl_vector_view right = gsl_vector_view_array(sums, 8);
    for (size_t i = 0; i < count; i++) {
        DwPoint p = into(&frames[0], from[i]), q = into(&frames[1], to[i]);
        double w = again ? plane->g * p.x + plane->h * p.y + 1 : 1;
        if (!(w > 0.01))
            return false;
        const double across[] = {p.x, p.y, 1, 0, 0, 0, -q.x * p.x, -q.x * p.y};
        const double down[] = {0, 0, 0, p.x, p.y, 1, -q.y * p.x, -q.y * p.y};
        add_row(&normal.matrix, &right.vector, across, q.x, 1 / (w * w));
        add_row(&normal.matrix, &right.vector, down, q.y, 1 / (w * w));
    }
    return solve(&normal.matrix, &right.vector, plane);
}

typedef struct {
    double m[3][3];
} Matrix;

static Matrix product(Matrix left, Matrix right)
{
    Matrix made;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            made.m[i][k] = left.m[i][0] * right.m[0][k] + left.m[i][1] * right.m[1][k] + left.m[i][2] * right.m[2][k];
    return made;
}

static Matrix matrix_of(const DwPlane *plane)
{
    return (Matrix){{{plane->a, plane->b, plane->c}, {plane->d, plane->e, plane->f}, {plane->g, plane->h, 1}}};
}

static bool plane_of(const Matrix *matrix, DwPlane *plane)
{
    double w = matrix->m[2][2];
    if (!(fabs(w) > 1e-12))
        return false;
    *plane = (DwPlane){matrix->m[0][0] / w, matrix->m[0][1] / w, matrix->m[0][2] / w, matrix->m[1][0] / w,
                       matrix->m[1][1] / w, matrix->m[1][2] / w, matrix->m[2][0] / w, matrix->m[2][1] / w};
    return true;
}

bool dw_plane_fit(const DwPoint *from, const DwPoint *to, size_t count, DwPlane *plane)
{
    if (count < 4)
        return false;
    const Frame frames[] = {frame_of(from, count), frame_of(to, count)};
    DwPlane near;
    if (!(frames[0].size > 0) || !(frames[1].size > 0) || !fit_near_one(from, to, count, frames, false, &near) ||
        !fit_near_one(from, to, count, frames, true, &near))
        return false;
    double s = frames[0].size, t = frames[1].size;
    Matrix before = {{{1 / s, 0, -frames[0].x / s}, {0, 1 / s, -frames[0].y / s}, {0, 0, 1}}};
    Matrix after = {{{t, 0, frames[1].x}, {0, t, frames[1].y}, {0, 0, 1}}};
    Matrix whole = product(after, product(matrix_of(&near), before));
    return plane_of(&whole, plane);
}

DwPlane dw_plane_turned(const DwPlane *plane, double angle)
{
    double c = cos(angle), s = sin(angle);
    Matrix turn = {{{c, -s, 0}, {s, c, 0}, {0, 0, 1}}}, whole = product(matrix_of(plane), turn);
    DwPlane made = *plane;
    plane_of(&whole, &made);
    return made;
}

bool dw_plane_inverse(const DwPlane *plane, DwPlane *inverse)
{
    Matrix m = matrix_of(plane), made;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) // the adjoint: a map is known but for a factor
            made.m[k][i] = m.m[(i + 1) % 3][(k + 1) % 3] * m.m[(i + 2) % 3][(k + 2) % 3] -
                           m.m[(i + 1) % 3][(k + 2) % 3] * m.m[(i + 2) % 3][(k + 1) % 3];
    double determinant = m.m[0][0] * made.m[0][0] + m.m[0][1] * made.m[1][0] + m.m[0][2] * made.m[2][0];
    return fabs(determinant) > 0 && plane_of(&made, inverse);
}
