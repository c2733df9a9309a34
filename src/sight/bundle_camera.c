// SPDX-License-Identifier: MIT
#include "sight/bundle_camera.h"

#include <math.h>

static const double reach_most = 4; // lengths of a line, that what is seen of it may lie beyond its ends

void dw_bundle_matrix_of(const double *turn, double m[3][3])
{
    double angle = sqrt(turn[0] * turn[0] + turn[1] * turn[1] + turn[2] * turn[2]);
    double k[3] = {1, 0, 0}, c = cos(angle), s = sin(angle);
    if (angle > 1e-12)
        for (int i = 0; i < 3; i++)
            k[i] = turn[i] / angle;
    const double cross[3][3] = {{0, -k[2], k[1]}, {k[2], 0, -k[0]}, {-k[1], k[0], 0}};
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            m[i][j] = (i == j ? c : 0) + s * cross[i][j] + (1 - c) * k[i] * k[j];
}

DwPoint dw_bundle_camera_see(const DwBundleCamera *camera, const double at[3])
{
    double p[3];
    for (int i = 0; i < 3; i++)
        p[i] = camera->m[i][0] * at[0] + camera->m[i][1] * at[1] + camera->m[i][2] * at[2] + camera->shift[i];
    double x = camera->focus * p[0] / p[2], y = camera->focus * p[1] / p[2], r2 = x * x + y * y;
    double bent = 1 + r2 * (camera->bend[0] + r2 * camera->bend[1]);
    return (DwPoint){(x * bent + camera->middle[0]) * camera->half_diagonal + camera->width / 2,
                     (y * bent + camera->middle[1]) * camera->half_diagonal + camera->height / 2};
}

double dw_bundle_beside(DwPoint point, DwPoint at, DwPoint from, DwPoint to)
{
    double x = to.x - from.x, y = to.y - from.y;
    return ((point.x - at.x) * y - (point.y - at.y) * x) / hypot(x, y);
}

double dw_bundle_camera_bend(const DwBundleCamera *camera, const double *from, const double *to)
{
    double middle[3];
    for (int i = 0; i < 3; i++)
        middle[i] = (from[i] + to[i]) / 2;
    DwPoint start = dw_bundle_camera_see(camera, from), end = dw_bundle_camera_see(camera, to),
            between = dw_bundle_camera_see(camera, middle);
    return dw_bundle_beside(between, start, start, end);
}

void dw_bundle_camera_eye(const DwBundleCamera *camera, double eye[3])
{
    for (int i = 0; i < 3; i++)
        eye[i] = -(camera->m[0][i] * camera->shift[0] + camera->m[1][i] * camera->shift[1] +
                   camera->m[2][i] * camera->shift[2]);
}

DwPoint dw_bundle_camera_side(const DwBundleCamera *camera, const double *at, const double along[3], double radius,
                              int side)
{
    double eye[3], away[3], out[3], skin[3], size = 0, part = 0;
    dw_bundle_camera_eye(camera, eye);
    for (int i = 0; i < 3; i++) {
        away[i] = at[i] - eye[i];
        part += away[i] * along[i];
    }
    for (int i = 0; i < 3; i++) {
        away[i] -= part * along[i];
        size += away[i] * away[i];
    }
    size = sqrt(size);
    double lean = fmax(-0.9, fmin(0.9, radius / size)), across = side * sqrt(1 - lean * lean) / size;
    for (int i = 0; i < 3; i++)
        out[i] = along[(i + 1) % 3] * away[(i + 2) % 3] - along[(i + 2) % 3] * away[(i + 1) % 3];
    for (int i = 0; i < 3; i++)
        skin[i] = at[i] + radius * (across * out[i] - lean * away[i] / size);
    return dw_bundle_camera_see(camera, skin);
}

void dw_bundle_camera_reach(const DwBundleCamera *camera, DwPoint from, DwPoint to, const double *place, double ends[6])
{
    enum { STEPS = 5 };
    double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y), at_share[2][3];
    for (int end = 0; end < 2; end++) {
        DwPoint seen = end ? to : from;
        double share = end, slight = 0.01;
        for (int step = 0; step < STEPS; step++) {
            double along[2];
            for (int i = 0; i < 2; i++) {
                for (int k = 0; k < 3; k++)
                    at_share[i][k] = place[k] + (share + i * slight) * (place[3 + k] - place[k]);
                DwPoint at = dw_bundle_camera_see(camera, at_share[i]);
                along[i] = ((at.x - seen.x) * x + (at.y - seen.y) * y) / length;
            }
            double slope = (along[1] - along[0]) / slight;
            share = fabs(slope) > 1 ? fmax(-reach_most, fmin(1 + reach_most, share - along[0] / slope)) : end;
        }
        for (int k = 0; k < 3; k++)
            ends[3 * end + k] = place[k] + share * (place[3 + k] - place[k]);
    }
}

void dw_bundle_camera_meet(const DwBundleCamera *camera, DwPoint seen, double height, double *place)
{
    double bent_x = (seen.x - camera->width / 2) / camera->half_diagonal - camera->middle[0];
    double bent_y = (seen.y - camera->height / 2) / camera->half_diagonal - camera->middle[1];
    double x = bent_x, y = bent_y, ray[3], eye[3];
    for (int i = 0; i < 12; i++) { // undoes the lens's bending, which is small
        double r2 = x * x + y * y, bent = 1 + r2 * (camera->bend[0] + r2 * camera->bend[1]);
        x = bent_x / bent;
        y = bent_y / bent;
    }
    for (int i = 0; i < 3; i++)
        ray[i] = (camera->m[0][i] * x + camera->m[1][i] * y) / camera->focus + camera->m[2][i];
    dw_bundle_camera_eye(camera, eye);
    double far = fabs(ray[2]) > 1e-6 ? (-height - eye[2]) / ray[2] : 1;
    for (int i = 0; i < 3; i++)
        place[i] = eye[i] + far * ray[i];
}
