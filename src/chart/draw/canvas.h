// SPDX-License-Identifier: MIT
// What every chart draws on: a cairo context, a theme, the size of an em, and
// the lettering. All lengths are in the context's own units.
#ifndef DW_CHART_CANVAS_H
#define DW_CHART_CANVAS_H

#include "chart/draw/chart_words.h"
#include "chart/draw/theme.h"

#include <cairo.h>
#include <stdbool.h>

typedef struct {
    cairo_t *cairo;
    DwTheme theme;
    double em;                 // the size of body text
    const DwChartWords *words; // NULL for the charts' own
    bool untagged;             // nothing is marked for a screen reader
} DwCanvas;

typedef struct {
    double x, y, width, height;
} DwBox;

typedef struct {
    double size; // in em
    bool bold;
    DwInk ink;
} DwLetters;

// What is drawn next is drawn in INK of the canvas's theme.
void dw_canvas_use(const DwCanvas *canvas, DwInk ink);
// INK thinned to OPACITY, for shading.
void dw_canvas_use_thin(const DwCanvas *canvas, DwInk ink, double opacity);

// Writes one line with its baseline at Y; ALIGN is 0 for X at its left end, 0.5
// at its middle, 1 at its right end. Figures are tabular.
void dw_canvas_write(const DwCanvas *canvas, DwLetters letters, double x, double y, double align, const char *text);
// The same, cut in its middle with an ellipsis to MOST wide.
void dw_canvas_write_within(const DwCanvas *canvas, DwLetters letters, double x, double y, double most,
                            const char *text);
double dw_canvas_width(const DwCanvas *canvas, DwLetters letters, const char *text);

// Writes TEXT broken into lines of WIDTH with its top at Y. Returned: its height.
double dw_canvas_paragraph(const DwCanvas *canvas, DwLetters letters, double x, double y, double width,
                           const char *text);
double dw_canvas_paragraph_height(const DwCanvas *canvas, DwLetters letters, double width, const char *text);
// How many bytes of TEXT (valid UTF-8) stand in the first LINES lines of that
// paragraph: all of it when it has no more.
size_t dw_canvas_paragraph_break(const DwCanvas *canvas, DwLetters letters, double width, const char *text, int lines);
// How far the baseline of a paragraph's first line lies below its top.
double dw_canvas_baseline(const DwCanvas *canvas, DwLetters letters);

#endif
