// SPDX-License-Identifier: MIT
#include "synth/view_camera.h"

#include <math.h>

enum { BEND_ROUNDS = 12 };

static double bent(const DwViewCamera *camera, double square)
{
    return 1 + camera->bend[0] * square + camera->bend[1] * square * square;
}

void dw_view_camera_aim(DwViewCamera *camera, const double target[3], double distance_mm, double tilt, double side)
{
    const double away[3] = {sin(tilt) * cos(side), sin(tilt) * sin(side), -cos(tilt)};
    double *right = camera->turn[0], *down = camera->turn[1], *forward = camera->turn[2];
    for (int i = 0; i < 3; i++) {
        camera->at[i] = target[i] + distance_mm * away[i];
        forward[i] = -away[i];
    }
    // The paper's x as far as it stands square to the view, so that its upper edge is up.
    for (int i = 0; i < 3; i++)
        right[i] = (i == 0) - forward[0] * forward[i];
    double length = sqrt(right[0] * right[0] + right[1] * right[1] + right[2] * right[2]);
    for (int i = 0; i < 3; i++)
        right[i] /= length;
    for (int i = 0; i < 3; i++)
        down[i] = forward[(i + 1) % 3] * right[(i + 2) % 3] - forward[(i + 2) % 3] * right[(i + 1) % 3];
}

void dw_view_camera_ray(const DwViewCamera *camera, double x, double y, double way[3])
{
    double u = (x - camera->width / 2.0) / camera->focus_px, v = (y - camera->height / 2.0) / camera->focus_px;
    double seen = hypot(u, v), radius = seen;
    for (int i = 0; i < BEND_ROUNDS; i++)
        radius = seen / bent(camera, radius * radius);
    double straight = seen > 0 ? radius / seen : 1;
    for (int i = 0; i < 3; i++)
        way[i] = straight * (u * camera->turn[0][i] + v * camera->turn[1][i]) + camera->turn[2][i];
}

void dw_view_camera_see(const DwViewCamera *camera, const double place[3], double *x, double *y)
{
    double own[3] = {0};
    for (int row = 0; row < 3; row++)
        for (int i = 0; i < 3; i++)
            own[row] += camera->turn[row][i] * (place[i] - camera->at[i]);
    double u = own[0] / own[2], v = own[1] / own[2], factor = camera->focus_px * bent(camera, u * u + v * v);
    *x = camera->width / 2.0 + factor * u;
    *y = camera->height / 2.0 + factor * v;
}
