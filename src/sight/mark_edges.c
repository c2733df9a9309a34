// SPDX-License-Identifier: MIT
#include "sight/mark_edges.h"

#include <math.h>

enum { PROFILE_MOST = 65, ALONG_MOST = 32, BORDER_CELLS = 8 };

static const double first_share = 0.12, last_share = 0.88;          // of an edge: its ends are rounded
static const double step = 0.5, least_reach = 1.5, most_reach = 14; // pixels
static const double least_contrast = 12;

double dw_mark_edge_share(size_t index)
{
    return first_share + (last_share - first_share) * ((double)index + 0.5) / DW_EDGE_POINTS;
}

// A piece of an edge to look across.
typedef struct {
    DwPoint from, to; // its ends, as expected
    DwPoint outwards; // of length 1
    double reach;     // pixels to both sides
} Piece;

typedef struct {
    double off; // how far outwards of the piece the edge lies
    double black, white;
} Step;

// The brightness across PIECE, averaged along it, from within to without. Returned: how many values.
static int profile_of(const DwGrey *grey, const Piece *piece, double *profile)
{
    int half = (int)ceil(piece->reach / step), count = 2 * half + 1;
    double length = hypot(piece->to.x - piece->from.x, piece->to.y - piece->from.y);
    int along = (int)fmin(ALONG_MOST, fmax(3, ceil(length / 1.3)));
    for (int i = 0; i < count; i++) {
        double sum = 0, off = (i - half) * step;
        for (int k = 0; k < along; k++) {
            double share = (k + 0.5) / along;
            DwPoint at = {piece->from.x + share * (piece->to.x - piece->from.x) + off * piece->outwards.x,
                          piece->from.y + share * (piece->to.y - piece->from.y) + off * piece->outwards.y};
            sum += dw_grey_at(grey, at);
        }
        profile[i] = sum / along;
    }
    return count;
}

static bool find_step(const DwGrey *grey, const Piece *piece, Step *found)
{
    double profile[PROFILE_MOST];
    int count = profile_of(grey, piece, profile), ends = count / 5 > 1 ? count / 5 : 1;
    double black = 0, white = 0, sum = 0;
    for (int i = 0; i < ends; i++) {
        black += profile[i] / ends;
        white += profile[count - 1 - i] / ends;
    }
    if (white - black < least_contrast)
        return false;
    for (int i = 0; i < count; i++)
        sum += (white - profile[i]) / (white - black) * (i == 0 || i == count - 1 ? 0.5 : 1);
    *found = (Step){sum * step - (count - 1) / 2.0 * step, black, white};
    return fabs(found->off) < 0.9 * piece->reach;
}

static DwPoint between(DwPoint from, DwPoint to, double share)
{
    return (DwPoint){from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)};
}

typedef struct {
    DwPoint from, to; // of the whole edge, as expected
    double reach;
} Edge;

// The points of one edge. EDGE is moved to where they are.
static bool find_edge(const DwGrey *grey, Edge *edge, DwPoint *points, double *black, double *white)
{
    double length = hypot(edge->to.x - edge->from.x, edge->to.y - edge->from.y);
    DwPoint outwards = {(edge->to.y - edge->from.y) / length, -(edge->to.x - edge->from.x) / length};
    double width = (last_share - first_share) / DW_EDGE_POINTS, sum = 0, tilt = 0, spread = 0;
    for (size_t i = 0; i < DW_EDGE_POINTS; i++) {
        double share = dw_mark_edge_share(i);
        Piece piece = {between(edge->from, edge->to, share - width / 2),
                       between(edge->from, edge->to, share + width / 2), outwards, edge->reach};
        Step found;
        if (!find_step(grey, &piece, &found))
            return false;
        DwPoint at = between(edge->from, edge->to, share);
        points[i] = (DwPoint){at.x + found.off * outwards.x, at.y + found.off * outwards.y};
        *black += found.black / (4 * DW_EDGE_POINTS);
        *white += found.white / (4 * DW_EDGE_POINTS);
        sum += found.off / DW_EDGE_POINTS;
        tilt += found.off * (share - 0.5);
        spread += (share - 0.5) * (share - 0.5);
    }
    double first = sum - tilt / spread / 2, last = sum + tilt / spread / 2;
    edge->from = (DwPoint){edge->from.x + first * outwards.x, edge->from.y + first * outwards.y};
    edge->to = (DwPoint){edge->to.x + last * outwards.x, edge->to.y + last * outwards.y};
    return true;
}

bool dw_mark_edges_find(const DwGrey *grey, const DwPoint corners[4], double reach, DwMarkEdges *edges)
{
    DwMarkEdges found;
    Edge sides[4];
    for (int i = 0; i < 4; i++) {
        DwPoint from = corners[i], to = corners[(i + 1) % 4];
        double cell = hypot(to.x - from.x, to.y - from.y) / BORDER_CELLS;
        double pixels = fmin(most_reach, reach * cell);
        if (!(pixels >= least_reach) || !dw_grey_holds(grey, from, pixels + 1))
            return false;
        sides[i] = (Edge){from, to, pixels};
    }
    // A second look from where the first has found them: the window then stands even about the edge.
    for (int pass = 0; pass < 2; pass++) {
        found.black = found.white = 0;
        for (int i = 0; i < 4; i++)
            if (!find_edge(grey, &sides[i], found.points[i], &found.black, &found.white))
                return false;
    }
    *edges = found;
    return true;
}

// The line n·p = c through the points of one edge, by least squares across it.
static void line_through(const DwPoint *points, DwPoint *normal, double *distance)
{
    double x = 0, y = 0, xx = 0, xy = 0, yy = 0;
    for (size_t i = 0; i < DW_EDGE_POINTS; i++) {
        x += points[i].x / DW_EDGE_POINTS;
        y += points[i].y / DW_EDGE_POINTS;
    }
    for (size_t i = 0; i < DW_EDGE_POINTS; i++) {
        xx += (points[i].x - x) * (points[i].x - x);
        xy += (points[i].x - x) * (points[i].y - y);
        yy += (points[i].y - y) * (points[i].y - y);
    }
    double angle = atan2(2 * xy, xx - yy) / 2 + M_PI / 2;
    *normal = (DwPoint){cos(angle), sin(angle)};
    *distance = normal->x * x + normal->y * y;
}

bool dw_mark_edges_corners(const DwMarkEdges *edges, DwPoint corners[4])
{
    DwPoint normals[4];
    double distances[4];
    for (int i = 0; i < 4; i++)
        line_through(edges->points[i], &normals[i], &distances[i]);
    for (int i = 0; i < 4; i++) {
        int before = (i + 3) % 4;
        DwPoint a = normals[before], b = normals[i];
        double cross = a.x * b.y - a.y * b.x;
        if (fabs(cross) < 0.05)
            return false;
        corners[i] = (DwPoint){(distances[before] * b.y - distances[i] * a.y) / cross,
                               (a.x * distances[i] - b.x * distances[before]) / cross};
    }
    return true;
}
