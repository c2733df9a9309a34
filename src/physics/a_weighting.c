// SPDX-License-Identifier: MIT
#include "physics/a_weighting.h"

#include <math.h>

static const double poles_hz[4] = {20.60, 107.7, 737.9, 12194};

// Its magnitude to a constant factor: the outer poles are double.
static double shape(double frequency_hz)
{
    double square = frequency_hz * frequency_hz, squares[4];
    for (int i = 0; i < 4; i++)
        squares[i] = square + poles_hz[i] * poles_hz[i];
    return square * square / (squares[0] * sqrt(squares[1] * squares[2]) * squares[3]);
}

double dw_a_weighting_db(double frequency_hz)
{
    return 20 * log10(shape(frequency_hz) / shape(1000));
}
