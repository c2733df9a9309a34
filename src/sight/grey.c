// SPDX-License-Identifier: MIT
#include "sight/grey.h"

#include <math.h>
#include <threads.h>

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
    double x = at.x - 0.5, y = at.y - 0.5;
    if (x >= 0 && y >= 0 && x < grey->width - 1 && y < grey->height - 1) { // films ask this ten thousand times a frame
        int left = (int)x, top = (int)y;
        const uint8_t *upper = grey->pixels + (ptrdiff_t)top * grey->stride + left, *lower = upper + grey->stride;
        double across = x - left, down = y - top;
        return (1 - down) * ((1 - across) * upper[0] + across * upper[1]) +
               down * ((1 - across) * lower[0] + across * lower[1]);
    }
    About a = about(grey, at);
    return (1 - a.down) * ((1 - a.across) * a.upper[0] + a.across * a.upper[1]) +
           a.down * ((1 - a.across) * a.lower[0] + a.across * a.lower[1]);
}

// What a pixel of each brightness has had of light, 0 to 255.
static double lights[256];
static once_flag lights_made = ONCE_FLAG_INIT;

static void make_lights(void)
{
    for (int i = 0; i < 256; i++) {
        double share = i / 255.0;
        lights[i] = 255 * (share <= 0.04045 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4));
    }
}

double dw_grey_light_of(uint8_t brightness)
{
    call_once(&lights_made, make_lights);
    return lights[brightness];
}

double dw_grey_light_at(const DwGrey *grey, DwPoint at)
{
    call_once(&lights_made, make_lights);
    About a = about(grey, at);
    return (1 - a.down) * ((1 - a.across) * lights[a.upper[0]] + a.across * lights[a.upper[1]]) +
           a.down * ((1 - a.across) * lights[a.lower[0]] + a.across * lights[a.lower[1]]);
}

bool dw_grey_holds(const DwGrey *grey, DwPoint at, double margin)
{
    return at.x >= margin && at.y >= margin && at.x <= grey->width - margin && at.y <= grey->height - margin;
}
