// SPDX-License-Identifier: MIT
#include "physics/azimuth.h"

#include <math.h>

static double separation_db(double complex leak, double complex own)
{
    return 20 * log10(cabs(own) / cabs(leak));
}

DwAzimuth dw_azimuth_explain(double complex x_right, double complex x_left)
{
    double angle = (atan(creal(x_right)) - atan(creal(x_left))) / 2, c = cos(angle), s = sin(angle);
    // Outputs = rest · rotation · groove, so rest = measured · rotation transposed.
    return (DwAzimuth){
        .rotation_deg = angle * 180 / M_PI,
        .symmetric = (x_right + x_left) / 2,
        .separation_db = {separation_db(x_right, 1), separation_db(x_left, 1)},
        .possible_db = {separation_db(x_right * c - s, x_right * s + c), separation_db(x_left * c + s, c - x_left * s)},
    };
}

double dw_azimuth_by_balance(double lateral_db, double vertical_db, double *gain_db)
{
    *gain_db = (lateral_db + vertical_db) / 2;
    double ratio = pow(10, (vertical_db - lateral_db) / 40); // (1 + t)/(1 − t)
    return atan((ratio - 1) / (ratio + 1)) * 180 / M_PI;
}

void dw_azimuth_turn(double rotation_deg, double channels[2])
{
    double angle = rotation_deg * M_PI / 180, left = channels[0], right = channels[1];
    channels[0] = cos(angle) * left - sin(angle) * right;
    channels[1] = cos(angle) * right + sin(angle) * left;
}

double dw_azimuth_shim_mm(double turn_deg, double width_mm)
{
    return width_mm * tan(fabs(turn_deg) * M_PI / 180);
}
