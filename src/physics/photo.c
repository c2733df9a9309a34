// SPDX-License-Identifier: MIT
#include "physics/photo.h"

#include <math.h>

static double distance(const DwPhotoPoint points[2])
{
    return hypot(points[1].x - points[0].x, points[1].y - points[0].y);
}

double dw_photo_length_deviation(const DwPhotoPoint points[2], const DwPhotoPoint scale[2], double scale_mm,
                                 double error)
{
    double pixels = distance(scale);
    if (!(pixels > 0))
        return NAN;
    double mm_per_pixel = scale_mm / pixels;
    return M_SQRT2 * error * hypot(mm_per_pixel, distance(points) * mm_per_pixel / pixels);
}

double dw_photo_angle_deviation(const DwPhotoPoint points[4], double error)
{
    double one = distance(points), other = distance(points + 2);
    return one > 0 && other > 0 ? M_SQRT2 * error * hypot(1 / one, 1 / other) : NAN;
}
