// SPDX-License-Identifier: MIT
#include "sight/grey.h"

#include <math.h>

static int within(int value, int most)
{
    return value < 0 ? 0 : value > most ? most : value;
}

double dw_grey_at(const DwGrey *grey, DwPoint at)
{
    double x = at.x - 0.5, y = at.y - 0.5;
    int left = (int)floor(x), top = (int)floor(y);
    double across = x - left, down = y - top;
    int x0 = within(left, grey->width - 1), x1 = within(left + 1, grey->width - 1);
    const uint8_t *upper = grey->pixels + (ptrdiff_t)within(top, grey->height - 1) * grey->stride;
    const uint8_t *lower = grey->pixels + (ptrdiff_t)within(top + 1, grey->height - 1) * grey->stride;
    return (1 - down) * ((1 - across) * upper[x0] + across * upper[x1]) +
           down * ((1 - across) * lower[x0] + across * lower[x1]);
}

bool dw_grey_holds(const DwGrey *grey, DwPoint at, double margin)
{
    return at.x >= margin && at.y >= margin && at.x <= grey->width - margin && at.y <= grey->height - margin;
}
