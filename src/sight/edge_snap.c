// SPDX-License-Identifier: MIT
#include "sight/edge_snap.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ALONG = 48, PIECES = 8, ACROSS_MOST = 161 };

static const double step = 0.5; // across [pixels]
static const double first_share = 0.06, last_share = 0.94;
static const double least_slope = 4;    // of the mean along the line, for one pixel
static const double about = 2;          // pixels to both sides that a refinement looks at
static const double floor_doubt = 0.05; // pixels: lens and print leave it

// The slope of the brightness across, at ALONG places along the segment.
typedef struct {
    DwPoint from, to, across; // ACROSS has length 1
    int half;                 // values to both sides
    double slope[ALONG][ACROSS_MOST];
} Strip;

static double share_of(int along)
{
    return first_share + (last_share - first_share) * along / (ALONG - 1);
}

static void read_strip(const DwGrey *grey, Strip *strip)
{
    for (int i = 0; i < ALONG; i++) {
        double share = share_of(i);
        DwPoint at = {strip->from.x + share * (strip->to.x - strip->from.x),
                      strip->from.y + share * (strip->to.y - strip->from.y)};
        for (int k = 0; k <= 2 * strip->half; k++) {
            double off = (k - strip->half) * step;
            DwPoint here = {at.x + off * strip->across.x, at.y + off * strip->across.y};
            DwPoint below = {here.x - strip->across.x, here.y - strip->across.y};
            DwPoint above = {here.x + strip->across.x, here.y + strip->across.y};
            strip->slope[i][k] = (dw_grey_at(grey, above) - dw_grey_at(grey, below)) / 2;
        }
    }
}

// The mean slope along the line from FIRST to LAST (values from the strip's side).
static double slope_along(const Strip *strip, double first, double last)
{
    double sum = 0;
    for (int i = 0; i < ALONG; i++) {
        double at = first + (last - first) * share_of(i);
        int low = (int)floor(at);
        if (low < 0 || low + 1 > 2 * strip->half)
            return 0;
        sum += strip->slope[i][low] + (at - low) * (strip->slope[i][low + 1] - strip->slope[i][low]);
    }
    return sum / ALONG;
}

typedef struct {
    double first, last, slope;
} Line;

// The best line with a slope of SIGN, what lies near the touched one counting more.
static Line best_line(const Strip *strip, double sign, double first_least, double first_most)
{
    Line best = {0, 0, 0};
    double most = 0, half = strip->half;
    for (double first = fmax(0, first_least); first <= fmin(2 * half, first_most); first++)
        for (double last = fmax(0, first - half); last <= fmin(2 * half, first + half); last++) {
            double slope = sign * slope_along(strip, first, last);
            double a = (first - half) / half, b = (last - half) / half, liking = slope * exp(-(a * a + b * b) / 2);
            if (liking > most) {
                most = liking;
                best = (Line){first, last, slope};
            }
        }
    return best;
}

// The middle of the slope of SIGN about LINE in one piece. Returned: false where there is none.
static bool middle_in(const Strip *strip, const Line *line, double sign, int piece, double *off)
{
    double sum = 0, weighted = 0;
    int each = ALONG / PIECES, reach = (int)(about / step);
    for (int i = piece * each; i < (piece + 1) * each; i++) {
        double at = line->first + (line->last - line->first) * share_of(i);
        for (int k = (int)round(at) - reach; k <= (int)round(at) + reach; k++)
            if (k >= 0 && k <= 2 * strip->half && sign * strip->slope[i][k] > 0) {
                sum += sign * strip->slope[i][k];
                weighted += sign * strip->slope[i][k] * (k - at);
            }
    }
    *off = sum > 0 ? weighted / sum : 0;
    return sum > 0;
}

// Moves LINE to the middles of the slope. Returned: the standard deviation of its ends [pixels].
static double refine(const Strip *strip, Line *line, double sign)
{
    double off[PIECES], mean = 0, tilt = 0, spread = 0, square = 0;
    for (int round = 0; round < 3; round++) {
        mean = tilt = spread = square = 0;
        for (int i = 0; i < PIECES; i++) {
            if (!middle_in(strip, line, sign, i, &off[i]))
                off[i] = 0;
            double share = (i + 0.5) / PIECES - 0.5;
            mean += off[i] / PIECES;
            tilt += off[i] * share;
            spread += share * share;
        }
        tilt /= spread;
        for (int i = 0; i < PIECES; i++) {
            double rest = off[i] - mean - tilt * ((i + 0.5) / PIECES - 0.5);
            square += rest * rest / (PIECES - 2);
        }
        line->first += mean - tilt / 2;
        line->last += mean + tilt / 2;
    }
    return step * sqrt(square * (1.0 / PIECES + 0.25 / spread));
}

static bool take_line(const Strip *strip, Line line, double doubt, DwSnapped *snapped)
{
    double first = (line.first - strip->half) * step, last = (line.last - strip->half) * step;
    *snapped = (DwSnapped){{strip->from.x + first * strip->across.x, strip->from.y + first * strip->across.y},
                           {strip->to.x + last * strip->across.x, strip->to.y + last * strip->across.y},
                           hypot(doubt, floor_doubt)};
    return true;
}

static bool snap_edge(const Strip *strip, DwSnapped *snapped)
{
    Line up = best_line(strip, 1, 0, INFINITY), down = best_line(strip, -1, 0, INFINITY);
    bool rises = up.slope > down.slope;
    Line best = rises ? up : down;
    if (best.slope < least_slope)
        return false;
    double doubt = refine(strip, &best, rises ? 1 : -1);
    return take_line(strip, best, doubt, snapped);
}

// A bar is two edges of opposite kind on both sides of what was touched.
static bool snap_bar(const Strip *strip, DwSnapped *snapped)
{
    double half = strip->half;
    Line found = {0, 0, 0};
    double doubt = 0;
    for (int sign = -1; sign <= 1; sign += 2) {
        Line one = best_line(strip, sign, 0, half), two = best_line(strip, -sign, half, 2 * half);
        double weaker = fmin(one.slope, two.slope);
        if (weaker < least_slope || weaker <= found.slope)
            continue;
        doubt = hypot(refine(strip, &one, sign), refine(strip, &two, -sign)) / 2;
        found = (Line){(one.first + two.first) / 2, (one.last + two.last) / 2, weaker};
    }
    return found.slope > 0 && take_line(strip, found, doubt, snapped);
}

bool dw_edge_snap(const DwGrey *grey, DwPoint from, DwPoint to, double reach, DwSnapKind kind, DwSnapped *snapped)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    if (!(length >= 8))
        return false;
    Strip *strip = dw_memory_new(1, sizeof *strip);
    strip->from = from;
    strip->to = to;
    strip->across = (DwPoint){(to.y - from.y) / length, -(to.x - from.x) / length};
    strip->half = (int)fmin((ACROSS_MOST - 1) / 2, ceil(reach / step));
    read_strip(grey, strip);
    bool found = kind == DW_SNAP_EDGE ? snap_edge(strip, snapped) : snap_bar(strip, snapped);
    free(strip);
    return found;
}
