// SPDX-License-Identifier: MIT
// How well a length or an angle is known that was picked on a photograph. Every
// point is right to within ERROR pixels across and as much down, in 95 of 100 cases
// and independently of the others; what is returned holds in as many.
//
// What no picking shows is not in it: a camera that was not square to what it saw,
// a lens that bends lines, a known length that is not quite what was said.
#ifndef DW_PHYSICS_PHOTO_H
#define DW_PHYSICS_PHOTO_H

typedef struct {
    double x, y; // pixels
} DwPhotoPoint;

// The uncertainty of a length.
// Given: its two points; scale: the two points whose distance scale_mm [mm] is
// known; error [pixels].
// Returned: half the width of the 95 % range [mm]; NAN when the scale's points fall
// together.
// Accuracy: first order; good to a hundredth of itself where the shorter of the two
// lines is ten times the error.
// Reference: derived: L = d·k/p, so u² = (k/p)²·2e² + (L/p)²·2e², d and p the two
// distances in pixels; JCGM 100:2008, 5.1.2 (law of propagation), from memory.
double dw_photo_length_deviation(const DwPhotoPoint points[2], const DwPhotoPoint scale[2], double scale_mm,
                                 double error);

// The uncertainty of the angle between two lines.
// Given: points 0 and 1 of one line, 2 and 3 of the other; error [pixels].
// Returned: half the width of the 95 % range [rad]; NAN for a line without length.
// Accuracy: first order, as above.
// Reference: derived: each line turns by √2·e over its length, u² = 2e²/a² + 2e²/b².
double dw_photo_angle_deviation(const DwPhotoPoint points[4], double error);

#endif
