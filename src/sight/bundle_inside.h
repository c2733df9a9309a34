// SPDX-License-Identifier: MIT
// The parts of the adjustment of a bundle: its unknowns and residuals, and what they start from. Within bundle*.c only.
#ifndef DW_SIGHT_BUNDLE_INSIDE_H
#define DW_SIGHT_BUNDLE_INSIDE_H

#include "sight/bundle_camera.h"

// The unknowns: what all cameras share, what each has of its own, then points and lines [100 mm]. A camera's SHIFT
// counts in its focal length over the usual one: from right above, the two cannot be told apart, and the adjustment
// would creep along where both grow.
enum { FOCUS, BEND, SHARED = 3, TURN = 0, SHIFT = 3, OWN_FOCUS = 6, MIDDLE, BLOOM = 9, OWN };
enum { POINT_PLACE = 3, LINE_PLACE = 7, RADIUS = 6 };
// The residuals: of a point and of a line in one photograph (those along it first), and of what is known beforehand.
enum { POINT_SEEN = 2, LINE_SEEN = 8, LINE_ALONG = 2, EACH_KNOWN = 4, ALL_KNOWN = 4 };

#define DW_BUNDLE_UNIT_MM 100.0
#define DW_BUNDLE_EXPECTED_PX 0.15   // that an edge of a mark is off
#define DW_BUNDLE_USUAL_FOCUS 1.2    // of half the diagonal: a telephone's main camera; common practice
#define DW_BUNDLE_USUAL_RADIUS 0.045 // of an arm tube [100 mm]; common practice, no source

typedef struct {
    DwPoint on_paper, before, after; // [mm]
    DwPoint seen;
    double weight;
    size_t photo;
} DwBundleSighting;

typedef struct {
    const DwBundle *bundle;
    DwBundleSighting *sightings;
    size_t count; // of sightings
    size_t unknowns, residuals;
} DwBundleAdjustment;

// Sets turn and shift of the CAMERA of PHOTO by the unknowns U.
void dw_bundle_stand(const double *u, size_t photo, DwBundleCamera *camera);

// The whole camera of PHOTO by the unknowns U.
DwBundleCamera dw_bundle_camera_of(const DwBundleAdjustment *a, const double *u, size_t photo);

// The residuals of the unknowns U; USER is the DwBundleAdjustment, its sightings first.
void dw_bundle_fill(const double *u, double *residuals, void *user);

// Those of LINE at PLACE in the photograph NUMBER, LINE_SEEN of them. Returned: behind the last.
double *dw_bundle_fill_line(const DwBundle *bundle, const DwBundleLine *line, size_t number,
                            const DwBundleCamera *camera, const double *place, double *next);

// The photograph that shows the most of LINE.
size_t dw_bundle_longest(const DwBundle *bundle, const DwBundleLine *line);

// How far along it the line's ends may lie from where they were touched in the photograph NUMBER: they are those of the
// one that shows the most of it.
double dw_bundle_along_px(const DwBundle *bundle, const DwBundleLine *line, size_t number);

// Sets in U where the cameras stand, by the marks' corners. Returned: false where they lie in no plane.
bool dw_bundle_start_cameras(const DwBundleAdjustment *a, double *u);

// Sets in U where to look first for what was touched, by where the cameras stand.
void dw_bundle_start_touched(const DwBundleAdjustment *a, double *u);

#endif
