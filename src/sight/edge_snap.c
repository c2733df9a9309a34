// SPDX-License-Identifier: MIT
#include "sight/edge_snap.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "sight/bar_pieces.h"

#include <math.h>
#include <stdlib.h>

enum { PIECES_LEAST = 8, PIECES_MOST = 40, ROWS_MOST = 24, ACROSS_MOST = 241, ROUNDS = 6, WIDTHS = 7 };

static const double fine_step = 0.5, piece_px = 10;
static const double about = 2;         // pixels to both sides that a refinement looks at
static const double least_step = 4;    // of 255: less is no edge in a piece
static const double least_slope = 1.2; // of 255 a pixel, of the mean over the pieces
static const double kept_least = 0.5, span_least = 0.55;
static const double scatter_most = 0.6, scatter_least = 0.1, floor_doubt = 0.14,
                    floor_tilt = 0.08; // pixels: lens, light and tone leave that
// Of the farthest that an edge may lie off the touch, how far it usually does: a steeper one may lie near it.
static const double touched_share = 0.4;
static const double least_told = 0.1, tilt_most = 0.8; // pixels: a touched line's ends tell as much
static const double narrowing = 0.15;                  // of a tube's width, from its middle to an end: perspective
static const double widest_liked = 0.25;

// The slope of the brightness across [1/255 a pixel], by which edges are found, and that of the light, by which they
// are placed; their means over each piece along.
typedef struct {
    DwPoint from, to, across; // ACROSS has length 1
    int pieces, half;         // values to both sides
    double step;              // between them [pixels]
    double slope[PIECES_MOST][ACROSS_MOST], light[PIECES_MOST][ACROSS_MOST];
} Strip;

static double share_of(const Strip *strip, double piece)
{
    return DW_SNAP_FIRST + (1 - 2 * DW_SNAP_FIRST) * (piece + 0.5) / strip->pieces;
}

static DwPoint place_in(const Strip *strip, double share, double off)
{
    return (DwPoint){strip->from.x + share * (strip->to.x - strip->from.x) + off * strip->across.x,
                     strip->from.y + share * (strip->to.y - strip->from.y) + off * strip->across.y};
}

static void read_piece(const DwGrey *grey, Strip *strip, int piece, int rows)
{
    double reach = fmax(1, strip->step); // the slope is taken over a pixel to both sides, or a coarse step
    for (int k = 0; k <= 2 * strip->half; k++) {
        double off = (k - strip->half) * strip->step, sum = 0, light = 0;
        for (int row = 0; row < rows; row++) {
            double share = share_of(strip, piece - 0.5 + (row + 0.5) / rows);
            DwPoint above = place_in(strip, share, off + reach), below = place_in(strip, share, off - reach);
            sum += dw_grey_at(grey, above) - dw_grey_at(grey, below);
            light += dw_grey_light_at(grey, above) - dw_grey_light_at(grey, below);
        }
        strip->slope[piece][k] = sum / rows / (2 * reach);
        strip->light[piece][k] = light / rows / (2 * reach);
    }
}

// A strip about TOUCHED that reaches REACH pixels to both sides. Returned: NULL where the line is too short for one.
static Strip *read_strip(const DwGrey *grey, const DwTouchedLine *touched, double reach)
{
    DwPoint from = touched->from, to = touched->to;
    double length = hypot(to.x - from.x, to.y - from.y);
    if (!(length >= PIECES_LEAST))
        return NULL;
    Strip *strip = dw_memory_new(1, sizeof *strip);
    strip->from = from;
    strip->to = to;
    strip->across = (DwPoint){(to.y - from.y) / length, -(to.x - from.x) / length};
    strip->pieces = (int)fmax(PIECES_LEAST, fmin(PIECES_MOST, length / piece_px));
    strip->step = fmax(fine_step, reach / ((ACROSS_MOST - 1) / 2.0));
    strip->half = (int)fmin((ACROSS_MOST - 1) / 2.0, ceil(reach / strip->step));
    int rows = (int)fmax(2, fmin(ROWS_MOST, length / strip->pieces));
    for (int i = 0; i < strip->pieces; i++)
        read_piece(grey, strip, i, rows);
    return strip;
}

// A line by how far beside the strip's ends it lies [values].
typedef struct {
    double first, last;
} Line;

static double at_piece(const Strip *strip, Line line, int piece)
{
    return strip->half + line.first + (line.last - line.first) * share_of(strip, piece);
}

static double slope_at(const Strip *strip, int piece, double at)
{
    int low = (int)floor(at);
    if (low < 0 || low + 1 > 2 * strip->half)
        return 0;
    return strip->slope[piece][low] + (at - low) * (strip->slope[piece][low + 1] - strip->slope[piece][low]);
}

// How steep the brightness is across LINE, whichever way, in the mean of its pieces.
static double steepness(const Strip *strip, Line line)
{
    double sum = 0;
    for (int i = 0; i < strip->pieces; i++)
        sum += fmin(40, fabs(slope_at(strip, i, at_piece(strip, line, i)))); // black on white shall not decide alone
    return sum / strip->pieces;
}

// How much LINE is to be liked for lying near the touched one, which may be TOUCH off.
static double nearness(Line line, double touch)
{
    double a = line.first / touch, b = line.last / touch;
    return exp(-(a * a + b * b));
}

static bool best_line(const Strip *strip, double touch, Line *best)
{
    double most = 0, steepest = 0;
    for (double first = -touch; first <= touch; first++)
        for (double last = -touch; last <= touch; last++) {
            Line line = {first, last};
            double steep = steepness(strip, line), liking = steep * nearness(line, touch * touched_share);
            if (liking > most) {
                most = liking;
                steepest = steep;
                *best = line;
            }
        }
    return steepest >= least_slope;
}

// What one piece shows of the edge: how far beside the line [values], and whether it counts.
typedef struct {
    double share, off, weight;
    bool shows;
} Piece;

static Piece piece_of(const Strip *strip, Line line, int number)
{
    double at = at_piece(strip, line, number), sum = 0, light = 0, weighted = 0, sign = 0;
    int reach = (int)(about / strip->step), middle = (int)round(at);
    for (int k = -reach; k <= reach; k++)
        sign += slope_at(strip, number, at + k) * (1 - abs(k) / (reach + 1.0));
    sign = sign < 0 ? -1 : 1;
    for (int k = middle - reach; k <= middle + reach; k++)
        if (k >= 0 && k <= 2 * strip->half && sign * strip->slope[number][k] > 0) {
            sum += sign * strip->slope[number][k];
            light += fmax(0, sign * strip->light[number][k]);
            weighted += fmax(0, sign * strip->light[number][k]) * (k - at);
        }
    return (Piece){share_of(strip, number) - 0.5, light > 0 ? weighted / light : 0, 1, sum * strip->step > least_step};
}

// The straight line through the pieces by their weights: its MEAN and TILT beside the one they are counted from.
static void fit_line(const Piece *pieces, int count, double *mean, double *tilt)
{
    double n = 0, x = 0, y = 0, xx = 0, xy = 0;
    for (int i = 0; i < count; i++) {
        double w = pieces[i].shows ? pieces[i].weight : 0;
        n += w;
        x += w * pieces[i].share;
        y += w * pieces[i].off;
        xx += w * pieces[i].share * pieces[i].share;
        xy += w * pieces[i].share * pieces[i].off;
    }
    double spread = n * xx - x * x;
    *tilt = spread > 1e-9 ? (n * xy - x * y) / spread : 0;
    *mean = n > 0 ? (y - *tilt * x) / n : 0;
}

// Weighs the pieces by how far beside the fitted line they are (J. Tukey's biweight). Returned: their usual distance.
static double weigh(Piece *pieces, int count, double mean, double tilt, double least)
{
    double sizes[PIECES_MOST];
    int shown = 0;
    for (int i = 0; i < count; i++)
        if (pieces[i].shows)
            sizes[shown++] = fabs(pieces[i].off - mean - tilt * pieces[i].share);
    if (shown == 0)
        return INFINITY;
    double usual = fmax(least, 1.4826 * dw_statistics_middle(sizes, (size_t)shown));
    for (int i = 0; i < count; i++) {
        double far = (pieces[i].off - mean - tilt * pieces[i].share) / (4.685 * usual);
        pieces[i].weight = fabs(far) < 1 ? (1 - far * far) * (1 - far * far) : 0;
    }
    return usual;
}

// How much of a shift of LINE its pieces tell, 1 where nothing disturbs them: noise within what is looked at draws the
// slope's middle towards the line, and so makes pieces lie nearer to it than they are.
static double told_of_shift(const Strip *strip, Line line)
{
    double shift = 1, told = 0, n = 0;
    for (int i = 0; i < strip->pieces; i++) {
        Piece below = piece_of(strip, (Line){line.first - shift, line.last - shift}, i);
        Piece above = piece_of(strip, (Line){line.first + shift, line.last + shift}, i);
        if (below.shows && above.shows) {
            told += (below.off - above.off) / (2 * shift);
            n += 1;
        }
    }
    return n > 0 ? fmax(least_told, fmin(1, told / n)) : least_told;
}

// How the pieces scatter, more where neighbours stray together, as they do where something hides a stretch of the edge
// and its own edge is taken for it.
static double scatter_together(const Piece *pieces, int count, double mean, double tilt)
{
    double along = 0, pairs = 0, square = 0, n = 0, before = NAN;
    for (int i = 0; i < count; i++) {
        bool counts = pieces[i].shows && pieces[i].weight > 0;
        double rest = counts ? pieces[i].off - mean - tilt * pieces[i].share : NAN;
        if (counts) {
            square += rest * rest;
            n += 1;
        }
        if (!isnan(rest) && !isnan(before)) {
            along += rest * before;
            pairs += 1;
        }
        before = rest;
    }
    return n > 2 ? sqrt(square / (n - 2)) * dw_bar_togetherness(along, pairs, square, n) : INFINITY;
}

// Moves LINE to the middles of the slope. Returned: whether enough pieces show one and the same edge; then the standard
// deviations of its middle and of its tilt are in *SNAPPED [pixels].
static bool refine(const Strip *strip, Line *line, DwSnapped *snapped)
{
    double usual = INFINITY, scatter = INFINITY, n = 0, sum = 0, square = 0, first = 1, last = -1;
    for (int round = 0; round < ROUNDS; round++) {
        Piece pieces[PIECES_MOST];
        double mean = 0, tilt = 0;
        for (int i = 0; i < strip->pieces; i++)
            pieces[i] = piece_of(strip, *line, i);
        for (int again = 0; again < 4; again++) {
            fit_line(pieces, strip->pieces, &mean, &tilt);
            usual = weigh(pieces, strip->pieces, mean, tilt, scatter_least / strip->step);
        }
        scatter = scatter_together(pieces, strip->pieces, mean, tilt);
        line->first += mean - tilt / 2;
        line->last += mean + tilt / 2;
        n = sum = square = 0;
        first = 1, last = -1;
        for (int i = 0; i < strip->pieces; i++)
            if (pieces[i].shows && pieces[i].weight > 0.3) {
                n += 1;
                sum += pieces[i].share;
                square += pieces[i].share * pieces[i].share;
                first = fmin(first, pieces[i].share);
                last = fmax(last, pieces[i].share);
            }
    }
    if (n < kept_least * strip->pieces || last - first < span_least || usual * strip->step > scatter_most)
        return false;
    // A line's mean and tilt by least squares, from the pieces where they lie.
    double middle = sum / n, spread = square - n * middle * middle,
           each = strip->step * fmax(usual, scatter) / told_of_shift(strip, *line);
    snapped->doubt = hypot(each * sqrt(1 / n + middle * middle / spread), floor_doubt);
    snapped->tilt_doubt = hypot(each / sqrt(spread), floor_tilt);
    return snapped->tilt_doubt < tilt_most;
}

bool dw_edge_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped)
{
    Strip *strip = read_strip(grey, touched, touched->off_px + 2 * about);
    if (!strip)
        return false;
    Line line = {0, 0};
    DwSnapped edge = {.doubt = 0};
    bool found = best_line(strip, ceil(touched->off_px / strip->step), &line) && refine(strip, &line, &edge) &&
                 fmax(fabs(line.first), fabs(line.last)) * strip->step <= touched->off_px;
    if (found) {
        edge.from = place_in(strip, 0, line.first * strip->step);
        edge.to = place_in(strip, 1, line.last * strip->step);
        *snapped = edge;
    }
    free(strip);
    return found;
}

// The two lines that lie steepest to both sides of one near the touched one. A wider pair is liked a little more: light
// on a tube makes lines within its outline.
static bool best_sides(const Strip *strip, double touch, Line sides[2])
{
    double most = 0, weaker = 0;
    for (double wide = 3; wide < strip->half - touch; wide++)
        for (int narrow = -WIDTHS / 2; narrow <= WIDTHS / 2; narrow++)
            for (double first = -touch; first <= touch; first++)
                for (double last = -touch; last <= touch; last++) {
                    double more = wide * narrowing * narrow / (WIDTHS / 2);
                    Line left = {first - wide - more, last - wide + more},
                         right = {first + wide + more, last + wide - more};
                    double steep = fmin(steepness(strip, left), steepness(strip, right));
                    double liking = steep * nearness((Line){first, last}, touch) * pow(wide, widest_liked);
                    if (liking > most) {
                        most = liking;
                        weaker = steep;
                        sides[0] = left;
                        sides[1] = right;
                    }
                }
    return weaker * strip->step >= least_slope / 2; // a coarse step blurs
}

bool dw_tube_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped edges[2])
{
    Strip *strip = read_strip(grey, touched, touched->half_width_px + touched->off_px);
    if (!strip)
        return false;
    Line sides[2] = {{0, 0}, {0, 0}};
    bool found = best_sides(strip, ceil(touched->off_px / strip->step), sides);
    for (int i = 0; i < 2 && found; i++) {
        DwTouchedLine side = {place_in(strip, 0, sides[i].first * strip->step),
                              place_in(strip, 1, sides[i].last * strip->step),
                              2 * strip->step + 3,
                              0,
                              0,
                              {0, 0}};
        found = dw_edge_snap(grey, &side, &edges[i]);
    }
    free(strip);
    return found;
}
