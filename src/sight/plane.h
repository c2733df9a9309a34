// SPDX-License-Identifier: MIT
// A plane seen by a camera without a lens's bending: the projective map between two planes.
#ifndef DW_SIGHT_PLANE_H
#define DW_SIGHT_PLANE_H

#include "sight/grey.h"

// Maps (x, y) to ((a x + b y + c) / w, (d x + e y + f) / w), w = g x + h y + 1.
typedef struct {
    double a, b, c, d, e, f, g, h;
} DwPlane;

// Where PLANE maps FROM to.
DwPoint dw_plane_map(const DwPlane *plane, DwPoint from);

// The map that takes COUNT points FROM to TO best: exact for four of which no three are in line, by least squares for
// more. Returned: false where they determine none.
// Reference: R. Hartley, A. Zisserman, "Multiple View Geometry", 2nd ed., 4.1, with the normalisation of 4.4.4; the
// inhomogeneous solution, refined once by weights 1/w.
bool dw_plane_fit(const DwPoint *from, const DwPoint *to, size_t count, DwPlane *plane);

// The map that first turns by ANGLE (clockwise where y runs down) about the origin, then does PLANE.
DwPlane dw_plane_turned(const DwPlane *plane, double angle);

// The map that undoes PLANE; false where nothing does.
bool dw_plane_inverse(const DwPlane *plane, DwPlane *inverse);

#endif
