// SPDX-License-Identifier: MIT
// Colours by how light they look: sRGB to and from Oklab.
#ifndef DW_CHART_OKLAB_H
#define DW_CHART_OKLAB_H

// Gamma-encoded sRGB, each part 0 to 1.
typedef struct {
    double red, green, blue;
} DwColour;

typedef struct {
    double lightness; // 0 black to 1 white
    double a, b;      // green to red, blue to yellow
} DwOklab;

// Given: a colour [sRGB, 0 to 1].
// Returned: the same colour in Oklab.
// Accuracy: the reference's matrices carry ten digits; a round trip is good to 1e-6.
// Reference: Björn Ottosson, "A perceptual color space for image processing",
// 2020, "Converting from linear sRGB to Oklab"; transfer curve of IEC 61966-2-1:1999.
DwOklab dw_oklab_from_colour(DwColour colour);

// The inverse. Parts outside 0 to 1 mean that sRGB cannot show the colour.
DwColour dw_oklab_to_colour(DwOklab oklab);

// Given: linear-light CIE XYZ with D65 white at Y = 1.
// Returned: Oklab by the definition of the same article (its matrices M1, M2).
DwOklab dw_oklab_from_xyz(double x, double y, double z);

// One part of a colour in linear light, 0 to 1.
double dw_oklab_linear(double encoded);

#endif
