// SPDX-License-Identifier: MIT
// The colours of the charts: on a light screen, a dark one, and on paper.
#ifndef DW_CHART_THEME_H
#define DW_CHART_THEME_H

#include "base/sheet.h"
#include "chart/draw/oklab.h"

typedef enum {
    DW_THEME_LIGHT,
    DW_THEME_DARK,
    DW_THEME_PAPER,
} DwTheme;

typedef enum {
    DW_INK_GROUND, // what everything stands on
    DW_INK_TEXT,
    DW_INK_QUIET,
    DW_INK_LINE,
    DW_INK_ACCENT,
    DW_INK_ATTENTION,
    DW_INK_UNSAFE, // the only red, for what is unsafe
    DW_INK_COUNT,
} DwInk;

// The colour of INK in THEME: red, green and blue of sRGB, 0 to 1.
DwColour dw_theme_colour(DwTheme theme, DwInk ink);

// The ink of a verdict's mark. The shape and the word say it first.
DwInk dw_theme_verdict_ink(DwVerdict verdict);

// Given: two colours [sRGB].
// Returned: their contrast ratio, 1 to 21.
// Reference: W3C, Web Content Accessibility Guidelines 2.1, 2018, "contrast
// ratio" and "relative luminance".
double dw_theme_contrast(DwColour one, DwColour other);

// Given: a deviation SHARE, -1 (the scale's low end) to 1 (its high end).
// Returned: its colour: the lightness runs evenly from zero to either end and
// is the same for both signs; blue below and orange above zero, a pair that
// the common kinds of colour blindness keep apart.
// Reference: computed in Oklab (Björn Ottosson, 2020).
DwColour dw_theme_deviation_colour(DwTheme theme, double share);

#endif
