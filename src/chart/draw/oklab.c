// SPDX-License-Identifier: MIT
#include "chart/draw/oklab.h"

#include <math.h>

double dw_oklab_linear(double encoded)
{
    return encoded <= 0.04045 ? encoded / 12.92 : pow((encoded + 0.055) / 1.055, 2.4);
}

static double encode(double linear)
{
    return linear <= 0.0031308 ? linear * 12.92 : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

// From the cone responses, not yet compressed (matrix M2 of the article).
static DwOklab from_cones(double l, double m, double s)
{
    l = cbrt(l);
    m = cbrt(m);
    s = cbrt(s);
    return (DwOklab){
        .lightness = 0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
        .a = 1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
        .b = 0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s,
    };
}

DwOklab dw_oklab_from_xyz(double x, double y, double z)
{
    return from_cones(0.8189330101 * x + 0.3618667424 * y - 0.1288597137 * z,
                      0.0329845436 * x + 0.9293118715 * y + 0.0361456387 * z,
                      0.0482003018 * x + 0.2643662691 * y + 0.6338517070 * z);
}

DwOklab dw_oklab_from_colour(DwColour colour)
{
    double red = dw_oklab_linear(colour.red);
    double green = dw_oklab_linear(colour.green);
    double blue = dw_oklab_linear(colour.blue);
    return from_cones(0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue,
                      0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue,
                      0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue);
}

static double cube(double value)
{
    return value * value * value;
}

DwColour dw_oklab_to_colour(DwOklab oklab)
{
    double l = cube(oklab.lightness + 0.3963377774 * oklab.a + 0.2158037573 * oklab.b);
    double m = cube(oklab.lightness - 0.1055613458 * oklab.a - 0.0638541728 * oklab.b);
    double s = cube(oklab.lightness - 0.0894841775 * oklab.a - 1.2914855480 * oklab.b);
    return (DwColour){
        .red = encode(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
        .green = encode(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
        .blue = encode(-0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s),
    };
}
