// SPDX-License-Identifier: MIT
#include "sight/grey.h"

#include <math.h>

static int within(int value, int most)
{
    return value < 0 ? 0 : value > most ? most : value;
}

// The four pixels about AT, and how far to the right and down between them it lies.
typedef struct {
    uint8_t upper[2], lower[2];
    double across, down;
} About;

static About about(const DwGrey *grey, DwPoint at)
{
    double x = at.x - 0.5, y = at.y - 0.5;
    int left = (int)floor(x), top = (int)floor(y);
    int x0 = within(left, grey->width - 1), x1 = within(left + 1, grey->width - 1);
    const uint8_t *upper = grey->pixels + (ptrdiff_t)within(top, grey->height - 1) * grey->stride;
    const uint8_t *lower = grey->pixels + (ptrdiff_t)within(top + 1, grey->height - 1) * grey->stride;
    return (About){{upper[x0], upper[x1]}, {lower[x0], lower[x1]}, x - left, y - top};
}

double dw_grey_at(const DwGrey *grey, DwPoint at)
{
    About a = about(grey, at);
    return (1 - a.down) * ((1 - a.across) * a.upper[0] + a.across * a.upper[1]) +
           a.down * ((1 - a.across) * a.lower[0] + a.across * a.lower[1]);
}

// What a pixel of BRIGHTNESS has had of light, 0 to 255.
static double light_of(uint8_t brightness)
{
    double share = brightness / 255.0;
    return 255 * (share <= 0.04045 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4));
}

double dw_grey_light_at(const DwGrey *grey, DwPoint at)
{
    About a = about(grey, at);
    return (1 - a.down) * ((1 - a.across) * light_of(a.upper[0]) + a.across * light_of(a.upper[1])) +
           a.down * ((1 - a.across) * light_of(a.lower[0]) + a.across * light_of(a.lower[1]));
}

bool dw_grey_holds(const DwGrey *grey, DwPoint at, double margin)
{
    return at.x >= margin && at.y >= margin && at.x <= grey->width - margin && at.y <= grey->height - margin;
}
