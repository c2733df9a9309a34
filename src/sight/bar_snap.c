// SPDX-License-Identifier: MIT
#include "sight/edge_snap.h"

#include "base/memory.h"
#include "sight/bar_pieces.h"
#include "sight/thin_lines.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ALONG = 48, PIECES_LEAST = 7, ROUNDS = 4, ACROSS_MOST = 161, FILLED_AGAIN = 2, WINDOW = ALONG / 2 };

static const double step = 0.5; // across [pixels]
static const double first_share = DW_SNAP_FIRST, last_share = 1 - DW_SNAP_FIRST;
static const double least_slope = 4;                   // of the mean along the line, for one pixel
static const double about = 2;                         // pixels to both sides that a refinement looks at
static const double weak_share = 0.35, stray_px = 0.8; // of a piece that does not count
static const double tilt_most = 0.8;                   // pixels: a touched line's ends tell as much
static const double told_px = 0.5, least_told = 0.1;
static const double growth_usual = 0.1; // of half the width: perspective, and taper
static const double filled_stray_px = 0.3, filled_px = 0.08, filled_tilt_px = 0.5; // the last two: where all is filled
static const double line_blur_px = 1.5, agree = 2;         // what lens and pixels widen a line by; deviations
static const double floor_doubt = 0.03, floor_tilt = 0.04; // pixels: lens, light and the bar's own shape leave that

// The slope of the brightness across, at ALONG places along the segment.
typedef struct {
    DwPoint from, to, across; // ACROSS has length 1
    int half;                 // values to both sides
    double touch;             // that far the touched line may be off [values]
    double slope[ALONG][ACROSS_MOST], light[ALONG][ACROSS_MOST];
    bool filled[ALONG][ACROSS_MOST]; // a printed line was here
    bool is_lined;
    bool is_whole; // what was filled there counts
} Strip;

// What the picture shows along the strip: MARGIN values more to both sides than it, for the slopes.
enum { MARGIN = 2, READ_MOST = ACROSS_MOST + 2 * MARGIN };

typedef struct {
    double brightness[ALONG][READ_MOST], light[ALONG][READ_MOST];
    bool filled[ALONG][READ_MOST];
} Shown;

static double share_of(int along)
{
    return first_share + (last_share - first_share) * along / (ALONG - 1);
}

// FILLED is where printed lines were left out, or NULL.
static void read_strip(const DwGrey *grey, const DwGrey *filled, Strip *strip)
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
            strip->light[i][k] = (dw_grey_light_at(grey, above) - dw_grey_light_at(grey, below)) / 2;
            strip->filled[i][k] = filled && dw_grey_at(filled, here) > 127;
        }
    }
}

static void read_shown(const DwGrey *grey, const Strip *strip, Shown *shown)
{
    for (int i = 0; i < ALONG; i++) {
        double share = share_of(i);
        DwPoint at = {strip->from.x + share * (strip->to.x - strip->from.x),
                      strip->from.y + share * (strip->to.y - strip->from.y)};
        for (int k = 0; k < READ_MOST; k++) {
            double off = (k - MARGIN - strip->half) * step;
            DwPoint here = {at.x + off * strip->across.x, at.y + off * strip->across.y};
            shown->brightness[i][k] = dw_grey_at(grey, here);
            shown->light[i][k] = dw_grey_light_at(grey, here);
        }
    }
}

// As read_strip(), its lines filled by what lies before and behind them along the bar.
static void read_filled(const DwGrey *grey, Strip *strip)
{
    Shown *shown = dw_memory_new(1, sizeof *shown);
    read_shown(grey, strip, shown);
    dw_bar_fill(shown->brightness[0], shown->light[0], ALONG, READ_MOST, WINDOW, shown->filled[0]);
    for (int i = 0; i < ALONG; i++)
        for (int k = 0; k <= 2 * strip->half; k++) {
            int above = k + 2 * MARGIN;
            strip->slope[i][k] = (shown->brightness[i][above] - shown->brightness[i][k]) / 2;
            strip->light[i][k] = (shown->light[i][above] - shown->light[i][k]) / 2;
            strip->filled[i][k] = shown->filled[i][k + MARGIN];
        }
    free(shown);
}

// Follows what was FILLED along its line, which runs WAY, until it has gone BESIDE pixels across: where a line comes
// out from behind the bar too little of it is seen to be filled.
static void follow_lines(Strip *strip, DwPoint way, double beside)
{
    enum { STEPS = 40 };
    bool(*filled)[ACROSS_MOST] = dw_memory_new(ALONG, sizeof *filled);
    double x = strip->to.x - strip->from.x, y = strip->to.y - strip->from.y, length = hypot(x, y);
    double across = way.x * strip->across.x + way.y * strip->across.y, along = (way.x * x + way.y * y) / length;
    double far = fmin(length, beside / fmax(0.01, fabs(across))),
           row = (last_share - first_share) * length / (ALONG - 1);
    memcpy(filled, strip->filled, ALONG * sizeof *filled);
    for (int i = 0; i < ALONG; i++)
        for (int k = 0; k <= 2 * strip->half; k++)
            for (int n = -STEPS; n <= STEPS && filled[i][k]; n++) {
                int there = (int)round(i + n * far / STEPS * along / row);
                int at = (int)round(k + n * far / STEPS * across / step);
                if (there >= 0 && there < ALONG && at >= 0 && at <= 2 * strip->half)
                    strip->filled[there][at] = true;
            }
    free(filled);
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

// Whether a printed line was left out near the place AT of the row I: what stood behind it there is not known.
static bool is_filled(const Strip *strip, int i, int at)
{
    int reach = (int)(about / step);
    for (int k = at - reach < 0 ? 0 : at - reach; k <= at + reach && k <= 2 * strip->half; k++)
        if (strip->filled[i][k])
            return true;
    return false;
}

// The middle of the slope of SIGN about LINE in one piece, by half of its rows at least.
static DwBarPiece piece_of(const Strip *strip, const Line *line, double sign, int piece)
{
    double sum = 0, light = 0, weighted = 0, filled = 0;
    int each = ALONG / DW_BAR_PIECES, reach = (int)(about / step), rows = 0;
    for (int i = piece * each; i < (piece + 1) * each; i++) {
        double at = line->first + (line->last - line->first) * share_of(i);
        int middle = (int)round(at);
        bool fills = is_filled(strip, i, middle);
        filled += fills;
        if (fills && !strip->is_whole)
            continue;
        rows++;
        for (int k = middle - reach; k <= middle + reach; k++)
            if (k >= 0 && k <= 2 * strip->half && sign * strip->slope[i][k] > 0) {
                sum += sign * strip->slope[i][k];
                light += fmax(0, sign * strip->light[i][k]);
                weighted += fmax(0, sign * strip->light[i][k]) * (k - at);
            }
    }
    return (DwBarPiece){light > 0 ? weighted / light : 0, 2 * rows >= each ? sum / rows : 0, filled / each};
}

// A straight line through pieces: its MEAN and TILT from end to end of what is looked at, and the standard deviations
// of both by the pieces' scatter [values].
typedef struct {
    double mean, tilt, mean_doubt, tilt_doubt;
    int kept;
} Fit;

static double beside(const DwBarPiece *pieces, const Fit *fit, int piece)
{
    return pieces[piece].off - fit->mean - fit->tilt * dw_bar_piece_share(piece);
}

static double togetherness(const DwBarPiece *pieces, const bool *counts, const Fit *fit)
{
    double along = 0, square = 0, pairs = 0;
    for (int i = 0; i < DW_BAR_PIECES; i++) {
        double rest = counts[i] ? beside(pieces, fit, i) : 0;
        square += rest * rest;
        if (i > 0 && counts[i] && counts[i - 1]) {
            along += rest * beside(pieces, fit, i - 1);
            pairs += 1;
        }
    }
    return dw_bar_togetherness(along, pairs, square, fit->kept);
}

// The line through the pieces that count, five or more; their scatter by so few is not well known itself: Student's t
// of n - 2 degrees of freedom has (n - 2) / (n - 4) of a normal's variance.
static Fit line_through(const DwBarPiece *pieces, const bool *counts)
{
    double n = 0, x = 0, y = 0, xx = 0, xy = 0, square = 0;
    for (int i = 0; i < DW_BAR_PIECES; i++)
        if (counts[i]) {
            n += 1;
            x += dw_bar_piece_share(i);
            y += pieces[i].off;
            xx += dw_bar_piece_share(i) * dw_bar_piece_share(i);
            xy += dw_bar_piece_share(i) * pieces[i].off;
        }
    if (n < 5)
        return (Fit){0, 0, INFINITY, INFINITY, (int)n};
    double spread = xx - x * x / n;
    Fit fit = {.tilt = (xy - x * y / n) / spread, .kept = (int)n};
    fit.mean = (y - fit.tilt * x) / n;
    for (int i = 0; i < DW_BAR_PIECES; i++)
        square += counts[i] ? beside(pieces, &fit, i) * beside(pieces, &fit, i) : 0;
    double each = sqrt(square / (n - 4)) * togetherness(pieces, counts, &fit);
    fit.mean_doubt = each * sqrt(1 / n + x * x / (n * n * spread));
    fit.tilt_doubt = each / sqrt(spread);
    return fit;
}

// The line through the pieces of one edge; those that lie beside it count no more, the farthest first.
static Fit line_of_edge(const DwBarPiece *pieces, bool *counts)
{
    Fit fit = line_through(pieces, counts);
    while (fit.kept >= PIECES_LEAST) {
        int stray = -1;
        double most = stray_px / step;
        for (int i = 0; i < DW_BAR_PIECES; i++)
            if (counts[i] && fabs(beside(pieces, &fit, i)) > most) {
                most = fabs(beside(pieces, &fit, i));
                stray = i;
            }
        if (stray < 0)
            break;
        counts[stray] = false;
        fit = line_through(pieces, counts);
    }
    return fit;
}

static void read_pieces(const Strip *strip, const Line edges[2], double sign, DwBarPieces *pieces)
{
    for (int which = 0; which < 2; which++) {
        double strongest = 0;
        for (int i = 0; i < DW_BAR_PIECES; i++) {
            pieces->edges[which][i] = piece_of(strip, &edges[which], which ? -sign : sign, i);
            strongest = fmax(strongest, pieces->edges[which][i].strength);
        }
        for (int i = 0; i < DW_BAR_PIECES; i++)
            pieces->counts[which][i] = pieces->edges[which][i].strength > weak_share * strongest;
    }
    for (int i = 0; i < DW_BAR_PIECES; i++)
        pieces->middles[i].off = (pieces->edges[0][i].off + pieces->edges[1][i].off) / 2;
}

// How much of a shift of the bar its pieces tell, 1 where nothing disturbs them: noise within what is looked at draws a
// slope's middle towards the line, and so makes pieces lie nearer to it than they are.
static double told_of_shift(const Strip *strip, const Line edges[2], double sign)
{
    double shift = told_px / step, told = 0, n = 0;
    DwBarPieces off[2];
    for (int way = 0; way < 2; way++) {
        Line moved[2] = {edges[0], edges[1]};
        for (int which = 0; which < 2; which++) {
            moved[which].first += way ? shift : -shift;
            moved[which].last += way ? shift : -shift;
        }
        read_pieces(strip, moved, sign, &off[way]);
    }
    for (int which = 0; which < 2; which++)
        for (int i = 0; i < DW_BAR_PIECES; i++)
            if (off[0].counts[which][i] && off[1].counts[which][i]) {
                told += (off[0].edges[which][i].off - off[1].edges[which][i].off) / (2 * shift);
                n += 1;
            }
    return n > 0 ? fmax(least_told, fmin(1, told / n)) : least_told;
}

// How well the middle line between both edges is known: by the scatter of the middles of the pieces that show both,
// for what makes the bar look wider or thinner along it, such as how its edges fall on the pixels, moves its edges
// apart and the middle not at all; where too few do, by each edge's own.
static Fit middle_of(DwBarPieces *pieces, const Fit fits[2])
{
    for (int i = 0; i < DW_BAR_PIECES; i++)
        pieces->both[i] = pieces->counts[0][i] && pieces->counts[1][i];
    Fit fit = line_through(pieces->middles, pieces->both);
    if (fit.kept >= PIECES_LEAST)
        return fit;
    fit.mean_doubt = hypot(fits[0].mean_doubt, fits[1].mean_doubt) / 2;
    fit.tilt_doubt = hypot(fits[0].tilt_doubt, fits[1].tilt_doubt) / 2;
    return fit;
}

// How much of what counts in PIECES was filled, 0 to 1.
static double filled_share(const DwBarPieces *pieces)
{
    double filled = 0, n = 0;
    for (int which = 0; which < 2; which++)
        for (int i = 0; i < DW_BAR_PIECES; i++)
            if (pieces->counts[which][i]) {
                filled += pieces->edges[which][i].filled;
                n += 1;
            }
    return n > 0 ? filled / n : 0;
}

// As refine() where printed lines hide stretches of the edges: what both show tells the middle, and where one is hidden
// the other does, for a bar grows little along what is touched.
static bool refine_lined(const Strip *strip, Line edges[2], double sign, DwSnapped *doubt)
{
    DwBarPieces pieces;
    DwBarJoint joint;
    for (int round = 0; round < ROUNDS; round++) {
        double half = (edges[1].first + edges[1].last - edges[0].first - edges[0].last) / 4;
        double grown = (edges[1].last - edges[1].first - edges[0].last + edges[0].first) / 2;
        read_pieces(strip, edges, sign, &pieces);
        if (!dw_bar_joint_fit(&pieces, grown, fmax(1, half) * growth_usual,
                              (strip->is_whole ? filled_stray_px : stray_px) / step, &joint))
            return false;
        for (int which = 0; which < 2; which++) {
            double side = which ? 1 : -1;
            double mean = joint.shift[0] + side * joint.shift[2], tilt = joint.shift[1] + side * joint.shift[3];
            edges[which].first += mean - tilt / 2;
            edges[which].last += mean + tilt / 2;
        }
    }
    double told = told_of_shift(strip, edges, sign);
    double filled = strip->is_whole ? filled_share(&pieces) : 0;
    doubt->doubt = hypot(step * joint.mean_doubt / told, hypot(floor_doubt, filled_px * filled));
    doubt->tilt_doubt =
        hypot(step * joint.tilt_doubt / told / (last_share - first_share), hypot(floor_tilt, filled_tilt_px * filled));
    return doubt->tilt_doubt < tilt_most;
}

// Moves both EDGES to the middles of their slopes. Returned: whether enough of the pieces show either as one and the
// same edge; then the standard deviations of their middle line are in *DOUBT [pixels].
static bool refine(const Strip *strip, Line edges[2], double sign, DwSnapped *doubt)
{
    DwBarPieces pieces;
    Fit fits[2];
    for (int round = 0; round < ROUNDS; round++) {
        read_pieces(strip, edges, sign, &pieces);
        for (int which = 0; which < 2; which++) {
            fits[which] = line_of_edge(pieces.edges[which], pieces.counts[which]);
            edges[which].first += fits[which].mean - fits[which].tilt / 2;
            edges[which].last += fits[which].mean + fits[which].tilt / 2;
        }
        if (fits[0].kept < PIECES_LEAST || fits[1].kept < PIECES_LEAST)
            return false;
    }
    Fit fit = middle_of(&pieces, fits);
    double told = told_of_shift(strip, edges, sign);
    doubt->doubt = hypot(step * fit.mean_doubt / told, floor_doubt);
    doubt->tilt_doubt = hypot(step * fit.tilt_doubt / told / (last_share - first_share), floor_tilt);
    return doubt->tilt_doubt < tilt_most;
}

static DwPoint place_in(const Strip *strip, DwPoint end, double at)
{
    double off = (at - strip->half) * step;
    return (DwPoint){end.x + off * strip->across.x, end.y + off * strip->across.y};
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
    DwSnapped bar;
    if (!(strip->is_lined ? refine_lined : refine)(strip, found, sign, &bar))
        return false;
    bar.from = place_in(strip, strip->from, (found[0].first + found[1].first) / 2);
    bar.to = place_in(strip, strip->to, (found[0].last + found[1].last) / 2);
    *snapped = bar;
    return true;
}

static double reach_of(const DwTouchedLine *touched)
{
    return touched->off_px + touched->half_width_px + 2 * about;
}

static Strip *strip_for(const DwTouchedLine *touched)
{
    Strip *strip = dw_memory_new(1, sizeof *strip);
    strip->touch = ceil(touched->off_px / step);
    strip->half = (int)fmin((ACROSS_MOST - 1) / 2, ceil(reach_of(touched) / step));
    return strip;
}

static void lay_strip(DwPoint from, DwPoint to, Strip *strip)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    strip->from = from;
    strip->to = to;
    strip->across = (DwPoint){(to.y - from.y) / length, -(to.x - from.x) / length};
}

static bool snap_in(const DwGrey *grey, const DwGrey *filled, const DwTouchedLine *touched, DwSnapped *snapped)
{
    Strip *strip = strip_for(touched);
    lay_strip(touched->from, touched->to, strip);
    strip->is_lined = filled != NULL;
    read_strip(grey, filled, strip);
    if (filled)
        follow_lines(strip, touched->line_way, touched->line_px);
    bool found = snap_bar(strip, snapped);
    free(strip);
    return found;
}

// By all of both edges, the lines filled along the bar: that fits its edges the better, the better it runs along them.
static bool snap_filled(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped)
{
    Strip *strip = strip_for(touched);
    strip->is_lined = strip->is_whole = true;
    DwSnapped bar = {touched->from, touched->to, 0, 0};
    bool found = true;
    for (int again = 0; again <= FILLED_AGAIN && found; again++) {
        lay_strip(bar.from, bar.to, strip);
        read_filled(grey, strip);
        found = snap_bar(strip, &bar);
    }
    free(strip);
    if (found)
        *snapped = bar;
    return found;
}

static DwPoint moved(DwPoint at, double x, double y)
{
    return (DwPoint){at.x + x, at.y + y};
}

// By what no thin printed line behind the bar comes near.
static bool snap_before_lines(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped)
{
    DwPoint from = touched->from, to = touched->to;
    double reach = reach_of(touched) + 2;
    DwPoint least = {fmin(from.x, to.x) - reach, fmin(from.y, to.y) - reach};
    DwPoint most = {fmax(from.x, to.x) + reach, fmax(from.y, to.y) + reach};
    DwWithoutLines plain;
    if (!dw_thin_lines_leave_out(grey, least, most, touched->line_px, &plain))
        return snap_in(grey, NULL, touched, snapped);
    DwTouchedLine there = *touched;
    there.from = moved(from, -plain.left, -plain.top);
    there.to = moved(to, -plain.left, -plain.top);
    bool found = snap_in(&plain.grey, &plain.filled, &there, snapped);
    if (found) {
        snapped->from = moved(snapped->from, plain.left, plain.top);
        snapped->to = moved(snapped->to, plain.left, plain.top);
    }
    dw_thin_lines_clear(&plain);
    return found;
}

// Whether what a printed line hides of any place beside the bar is short enough to be filled along it.
static bool lines_cross(const DwTouchedLine *touched)
{
    double x = touched->to.x - touched->from.x, y = touched->to.y - touched->from.y;
    double beside = fabs(touched->line_way.x * y - touched->line_way.y * x); // that far a line crosses over its length
    return touched->line_px + line_blur_px < beside * (last_share - first_share) * WINDOW / ALONG;
}

static bool is_same(const DwSnapped *a, const DwSnapped *b)
{
    double x = a->to.x - a->from.x, y = a->to.y - a->from.y, length = hypot(x, y);
    double from = ((b->from.x - a->from.x) * y - (b->from.y - a->from.y) * x) / length;
    double to = ((b->to.x - a->from.x) * y - (b->to.y - a->from.y) * x) / length;
    return fabs(to - from) < agree * hypot(a->tilt_doubt, b->tilt_doubt);
}

// Where the lines are filled along the bar more of it is seen than where they are left out, and a bar as thin as they
// are is not lost; but a line that hardly crosses it is not filled.
static bool snap_lined(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped)
{
    DwSnapped before, filled;
    bool has_before = snap_before_lines(grey, touched, &before),
         has_filled = lines_cross(touched) && snap_filled(grey, touched, &filled);
    if (has_filled && (!has_before || is_same(&before, &filled)))
        *snapped = filled;
    else if (has_before)
        *snapped = before;
    return has_before || has_filled;
}

bool dw_bar_snap(const DwGrey *grey, const DwTouchedLine *touched, DwSnapped *snapped)
{
    if (!(hypot(touched->to.x - touched->from.x, touched->to.y - touched->from.y) >= 8))
        return false;
    return touched->line_px > 0 ? snap_lined(grey, touched, snapped) : snap_in(grey, NULL, touched, snapped);
}
