// SPDX-License-Identifier: MIT
#include "measure/band/record_tolerance.h"

#include <math.h>

static const double USUAL_LEAK_DB = 48;   // rms, of a test record's cut near 1 kHz
static const double USUAL_LEVEL_DB = 0.1; // rms, between the bands of one

double dw_record_tolerance_leak(double stated_db)
{
    return isnan(stated_db) ? pow(10, -USUAL_LEAK_DB / 20) : pow(10, -stated_db / 20) / sqrt(3);
}

double dw_record_tolerance_level_db(void)
{
    return 1.96 * USUAL_LEVEL_DB;
}
