// SPDX-License-Identifier: MIT
// Some photographs of one set-up over a paper with marks: where each camera stood, and where in space the points and
// lines lie that were touched in them.
#ifndef DW_SIGHT_BUNDLE_H
#define DW_SIGHT_BUNDLE_H

#include "sight/mark_finder.h"

enum { DW_BUNDLE_PHOTOS_MOST = 8, DW_BUNDLE_POINTS_MOST = 6, DW_BUNDLE_LINES_MOST = 4 };

// What one photograph shows.
typedef struct {
    int width, height;
    DwMarkSeen marks[DW_PAPER_MARKS_MOST]; // of one paper, the same in all
    size_t count;
} DwBundlePhoto;

// A point as touched: NAN in x where a photograph does not show it.
typedef struct {
    DwPoint seen[DW_BUNDLE_PHOTOS_MOST];
    double doubt_px; // standard deviation, each way
} DwBundlePoint;

// Standard deviations of a line in a picture, across [pixels]: of its middle, and of one end beside the other.
typedef struct {
    double middle_px, tilt_px;
} DwBundleDoubt;

// A straight line by two places along it, across which alone they are exact: another stretch of it may be touched in
// each photograph.
typedef struct {
    DwPoint from[DW_BUNDLE_PHOTOS_MOST], to[DW_BUNDLE_PHOTOS_MOST];
    DwBundleDoubt doubt[DW_BUNDLE_PHOTOS_MOST];
    double along_px;
    double bend_share[DW_BUNDLE_PHOTOS_MOST]; // of the lens's bend that the places lie off it: 0 as touched
    // The two sides of a round tube, of which FROM and TO then tell only where along it they were touched; the first
    // to the right of the way from one to the other. NAN where they are not seen.
    bool is_tube;
    DwPoint side_from[DW_BUNDLE_PHOTOS_MOST][2], side_to[DW_BUNDLE_PHOTOS_MOST][2];
    DwBundleDoubt side_doubt[DW_BUNDLE_PHOTOS_MOST][2];
} DwBundleLine;

// A point that lies in the upright plane through a line, such as the stylus tip below its cantilever.
typedef struct {
    int point, line;
    double off_mm; // standard deviation; 0: nothing is tied
} DwBundleTie;

typedef struct {
    DwBundlePhoto photos[DW_BUNDLE_PHOTOS_MOST];
    size_t photo_count;
    double scale; // of the print: what the paper's millimetre measures
    DwBundlePoint points[DW_BUNDLE_POINTS_MOST];
    size_t point_count;
    DwBundleLine lines[DW_BUNDLE_LINES_MOST];
    size_t line_count;
    DwBundleTie tie;
} DwBundle;

// In the paper's frame: x to the right, y down as it is drawn, z into the paper: what stands over it has z < 0 [mm].
typedef struct {
    double x, y, z;
} DwPlace;

typedef struct DwBundled DwBundled;

// A camera ready to see: what stands at P, in units of 100 mm of the paper's frame, it has at M P + SHIFT in its own,
// and at FOCUS (x, y) / z, bent by 1 + BEND[0] r² + BEND[1] r⁴, from MIDDLE, in halves of the picture's diagonal.
typedef struct {
    double m[3][3], shift[3], focus, middle[2], bend[2], half_diagonal, width, height, bloom;
} DwBundleCamera;

// Adjusts cameras, points and lines together.
//
// Returned: NULL where the marks do not fit the paper or two points do not determine their place; else what was found,
// which the caller frees with dw_bundled_free().
// Method: each camera has its place and turn, a focal length near the others', a middle near the picture's, and the
// lens's bending, one for all; by the distances of the marks' edges and of what was touched.
// Reference: B. Triggs, P. McLauchlan, R. Hartley, A. Fitzgibbon, "Bundle adjustment – a modern synthesis", 2000.
DwBundled *dw_bundle_adjust(const DwBundle *bundle);
void dw_bundled_free(DwBundled *bundled);

// The marks' edges are off by that much [pixels], usually.
double dw_bundled_rest(const DwBundled *bundled);
// Where the camera of the INDEXth photograph stood, and all of it.
DwPlace dw_bundled_camera(const DwBundled *bundled, size_t index);
DwBundleCamera dw_bundled_lens(const DwBundled *bundled, const DwBundle *bundle, size_t index);

// Where the INDEXth touched point lies, and an end (0 from, 1 to) of the INDEXth line.
DwPlace dw_bundled_point(const DwBundled *bundled, size_t index);
DwPlace dw_bundled_line_end(const DwBundled *bundled, size_t index, int end);

// How far the INDEXth line of BUNDLE is seen beside where it was found, at most [standard deviations]: what is found of
// different edges in two photographs fits none.
double dw_bundled_line_off(const DwBundled *bundled, const DwBundle *bundle, size_t index);
// How far along it the stretches lie apart that were touched of it [standard deviations: half of the longest of them].
double dw_bundled_line_apart(const DwBundled *bundled, const DwBundle *bundle, size_t index);

// Where the INDEXth camera of BUNDLE sees AT [pixels].
DwPoint dw_bundled_see(const DwBundled *bundled, const DwBundle *bundle, size_t index, DwPlace at);

// What is worked out of the places: POINTS as touched, LINES by two places each, from and to.
typedef double (*DwBundleFigure)(const DwPlace *points, const DwPlace *lines, const void *user);

// FIGURE of what was found, and its standard deviation by the adjustment in *DEVIATION.
double dw_bundled_figure(const DwBundled *bundled, DwBundleFigure figure, const void *user, double *deviation);

#endif
