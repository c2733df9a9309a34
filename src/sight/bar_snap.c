// SPDX-License-Identifier: MIT
#include "sight/edge_snap.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ALONG = 48, PIECES = 8, PIECES_LEAST = 6, ACROSS_MOST = 161 };

static const double step = 0.5; // across [pixels]
static const double first_share = DW_SNAP_FIRST, last_share = 1 - DW_SNAP_FIRST;
static const double least_slope = 4;                   // of the mean along the line, for one pixel
static const double about = 2;                         // pixels to both sides that a refinement looks at
static const double tilt_of_mean = 3.4641;             // deviations: of pieces that lie evenly along, √12
static const double weak_share = 0.35, stray_px = 0.8; // of a piece that does not count
static const double floor_doubt = 0.03;                // pixels: lens and print leave it, and as much of a tilt

// The slope of the brightness across, at ALONG places along the segment.
typedef struct {
    DwPoint from, to, across; // ACROSS has length 1
    int half;                 // values to both sides
    double touch;             // that far the touched line may be off [values]
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

// How much a line at FIRST and LAST [values from the touched one] is to be liked for lying near it.
static double nearness(const Strip *strip, double first, double last)
{
    double a = first / strip->touch, b = last / strip->touch;
    return exp(-2 * (a * a + b * b));
}

// The two lines, SIGN first, that lie best to both sides of one near the touched one.
static void best_pair(const Strip *strip, double sign, Line pair[2])
{
    double most = 0, half = strip->half;
    pair[0] = pair[1] = (Line){0, 0, 0};
    for (double wide = 2; wide < half - strip->touch; wide++)
        for (double first = -strip->touch; first <= strip->touch; first++)
            for (double last = -strip->touch; last <= strip->touch; last++) {
                double one = sign * slope_along(strip, half + first - wide, half + last - wide);
                double two = -sign * slope_along(strip, half + first + wide, half + last + wide);
                double liking = fmin(one, two) * nearness(strip, first, last);
                if (liking > most) {
                    most = liking;
                    pair[0] = (Line){half + first - wide, half + last - wide, one};
                    pair[1] = (Line){half + first + wide, half + last + wide, two};
                }
            }
}

// What one piece along a line shows of it.
typedef struct {
    double off, strength; // how far beside the line [values]; the mean slope summed across
} Piece;

// The middle of the slope of SIGN about LINE in one piece.
static Piece piece_of(const Strip *strip, const Line *line, double sign, int piece)
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
    return (Piece){sum > 0 ? weighted / sum : 0, sum / each};
}

// The straight line through the pieces that count. Returned: how many do, their scatter in *SCATTER [values].
static int line_through(const Piece *pieces, const bool *counts, double *mean, double *tilt, double *scatter)
{
    double n = 0, x = 0, y = 0, xx = 0, xy = 0, square = 0;
    for (int i = 0; i < PIECES; i++) {
        double share = (i + 0.5) / PIECES - 0.5, weight = counts[i] ? 1 : 0;
        n += weight;
        x += weight * share;
        y += weight * pieces[i].off;
        xx += weight * share * share;
        xy += weight * share * pieces[i].off;
    }
    *tilt = n > 2 ? (n * xy - x * y) / (n * xx - x * x) : 0;
    *mean = n > 2 ? (y - *tilt * x) / n : 0;
    for (int i = 0; i < PIECES; i++) {
        double rest = pieces[i].off - *mean - *tilt * ((i + 0.5) / PIECES - 0.5);
        square += counts[i] ? rest * rest : 0;
    }
    *scatter = n > 2 ? sqrt(square / (n - 2)) : INFINITY;
    return (int)n;
}

// Moves LINE to the middles of the slope. Returned: the standard deviation of its mean [pixels]; NAN where fewer than
// PIECES_LEAST pieces show one and the same edge, such as where it changes from darker to lighter than its ground.
static double refine(const Strip *strip, Line *line, double sign)
{
    double mean, tilt, scatter = INFINITY;
    int kept = 0;
    for (int round = 0; round < 4; round++) {
        Piece pieces[PIECES];
        bool counts[PIECES];
        double strongest = 0;
        for (int i = 0; i < PIECES; i++) {
            pieces[i] = piece_of(strip, line, sign, i);
            strongest = fmax(strongest, pieces[i].strength);
        }
        for (int i = 0; i < PIECES; i++)
            counts[i] = pieces[i].strength > weak_share * strongest;
        line_through(pieces, counts, &mean, &tilt, &scatter);
        for (int i = 0; i < PIECES; i++)
            counts[i] = counts[i] && fabs(pieces[i].off - mean - tilt * ((i + 0.5) / PIECES - 0.5)) < stray_px / step;
        kept = line_through(pieces, counts, &mean, &tilt, &scatter);
        line->first += mean - tilt / 2;
        line->last += mean + tilt / 2;
    }
    if (kept < PIECES_LEAST || scatter * step > stray_px / 2)
        return NAN;
    return step * scatter / sqrt(kept);
}

static bool take_line(const Strip *strip, Line line, double doubt, DwSnapped *snapped)
{
    if (!(doubt < stray_px))
        return false;
    double first = (line.first - strip->half) * step, last = (line.last - strip->half) * step;
    *snapped = (DwSnapped){{strip->from.x + first * strip->across.x, strip->from.y + first * strip->across.y},
                           {strip->to.x + last * strip->across.x, strip->to.y + last * strip->across.y},
                           hypot(doubt, floor_doubt),
                           hypot(tilt_of_mean / (last_share - first_share) * doubt, floor_doubt)};
    return true;
}

// A bar is two edges of opposite kind on both sides of what was touched.
static bool snap_bar(const Strip *strip, DwSnapped *snapped)
{
    Line found[2] = {{0, 0, 0}, {0, 0, 0}};
    double sign = 0, weaker = least_slope;
    for (int which = -1; which <= 1; which += 2) {
        Line pair[2];
        best_pair(strip, which, pair);
        if (fmin(pair[0].slope, pair[1].slope) < weaker)
            continue;
        weaker = fmin(pair[0].slope, pair[1].slope);
        sign = which;
        memcpy(found, pair, sizeof found);
    }
    if (sign == 0)
        return false;
    double doubt = hypot(refine(strip, &found[0], sign), refine(strip, &found[1], -sign)) / 2;
    Line middle = {(found[0].first + found[1].first) / 2, (found[0].last + found[1].last) / 2, weaker};
    return take_line(strip, middle, doubt, snapped);
}

bool dw_bar_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped)
{
    DwPoint from = touched->from, to = touched->to;
    double length = hypot(to.x - from.x, to.y - from.y);
    if (!(length >= 8))
        return false;
    Strip *strip = dw_memory_new(1, sizeof *strip);
    strip->from = from;
    strip->to = to;
    strip->across = (DwPoint){(to.y - from.y) / length, -(to.x - from.x) / length};
    strip->touch = ceil(touched->off_px / step);
    double reach = touched->off_px + touched->half_width_px + 2 * about;
    strip->half = (int)fmin((ACROSS_MOST - 1) / 2, ceil(reach / step));
    read_strip(grey, strip);
    bool found = snap_bar(strip, snapped);
    free(strip);
    return found;
}
