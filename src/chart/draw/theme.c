// SPDX-License-Identifier: MIT
#include "chart/draw/theme.h"

#include <math.h>

#define RGB(hex)                                                                                                       \
    {                                                                                                                  \
        ((hex) >> 16 & 0xFF) / 255.0, ((hex) >> 8 & 0xFF) / 255.0, ((hex)&0xFF) / 255.0                                \
    }

static const DwColour colours[][DW_INK_COUNT] = {
    [DW_THEME_LIGHT] = {RGB(0xFAF8F3), RGB(0x1F2426), RGB(0x5B6466), RGB(0xD9D4C7), RGB(0x0F5C63), RGB(0x9A6700),
                        RGB(0xA4262C)},
    [DW_THEME_DARK] = {RGB(0x14191A), RGB(0xE9E6DF), RGB(0x9AA5A5), RGB(0x2C3536), RGB(0x63C5BF), RGB(0xE0B050),
                       RGB(0xFF7B72)},
    [DW_THEME_PAPER] = {RGB(0xFFFFFF), RGB(0x1F2426), RGB(0x5B6466), RGB(0xD9D4C7), RGB(0x0F5C63), RGB(0x9A6700),
                        RGB(0xA4262C)},
};

DwColour dw_theme_colour(DwTheme theme, DwInk ink)
{
    return colours[theme][ink];
}

DwInk dw_theme_verdict_ink(DwVerdict verdict)
{
    switch (verdict) {
    case DW_VERDICT_GOOD:
    case DW_VERDICT_SERVICEABLE:
        return DW_INK_ACCENT;
    case DW_VERDICT_ATTENTION:
        return DW_INK_ATTENTION;
    case DW_VERDICT_CANNOT_TELL:
    case DW_VERDICT_REPLACE:
        return DW_INK_TEXT;
    case DW_VERDICT_UNSAFE:
        return DW_INK_UNSAFE;
    case DW_VERDICT_NONE:
    case DW_VERDICT_NOT_TESTED:
        return DW_INK_QUIET;
    }
    return DW_INK_QUIET;
}

static double luminance(DwColour colour)
{
    return 0.2126 * dw_oklab_linear(colour.red) + 0.7152 * dw_oklab_linear(colour.green) +
           0.0722 * dw_oklab_linear(colour.blue);
}

double dw_theme_contrast(DwColour one, DwColour other)
{
    double a = luminance(one), b = luminance(other);
    return (fmax(a, b) + 0.05) / (fmin(a, b) + 0.05);
}

// The two ends have one lightness and one chroma; the values are the strongest
// that sRGB still shows at both hues and at every lightness between.
static const struct {
    double middle, end, chroma;
} deviation_scales[] = {
    [DW_THEME_LIGHT] = {0.965, 0.44, 0.106},
    [DW_THEME_DARK] = {0.26, 0.80, 0.102},
    [DW_THEME_PAPER] = {0.975, 0.44, 0.106},
};
static const double below_hue = 250 * M_PI / 180; // blue
static const double above_hue = 55 * M_PI / 180;  // orange

DwColour dw_theme_deviation_colour(DwTheme theme, double share)
{
    double size = fmin(fabs(share), 1);
    double hue = share < 0 ? below_hue : above_hue;
    double chroma = deviation_scales[theme].chroma * size;
    double middle = deviation_scales[theme].middle;
    return dw_oklab_to_colour((DwOklab){
        .lightness = middle + (deviation_scales[theme].end - middle) * size,
        .a = chroma * cos(hue),
        .b = chroma * sin(hue),
    });
}
