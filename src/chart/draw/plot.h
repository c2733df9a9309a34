// SPDX-License-Identifier: MIT
// One plot: curves on the same axes, labelled on the lines themselves.
#ifndef DW_CHART_PLOT_H
#define DW_CHART_PLOT_H

#include "chart/draw/canvas.h"
#include "chart/draw/scale.h"

typedef struct {
    const DwCurve *curve;
    bool as_received; // dashed
    size_t colour;    // its place among the curves' colours
    char *label;      // owned; "" for a line that needs none
} DwPlotLine;

// A spectral line to be named on the plot.
typedef struct {
    double x, y; // y is NAN where the table holds no amplitude
    char *label; // owned
} DwPlotStem;

// A plot owns its lists and labels; its curves belong to the sheets.
typedef struct {
    char *title;
    char *caption;
    DwAxis x, y; // of the first curve, not owned
    DwPlotLine *lines;
    size_t line_count;
    DwPlotStem *stems; // the largest first
    size_t stem_count;
    double allowed_low, allowed_high; // the shaded region; both NAN without one
    bool logarithmic;                 // along x
} DwPlot;

// Frees what the plot holds; it may be filled anew.
void dw_plot_clear(DwPlot *plot);

// The field that the curves fill within BOX; and its scales.
DwBox dw_plot_field(const DwCanvas *canvas, const DwPlot *plot, DwBox box);
DwScale dw_plot_scale_x(const DwPlot *plot, DwBox field);
DwScale dw_plot_scale_y(const DwPlot *plot, DwBox field);

// The height that the labels of spectral lines take above the field in a box WIDTH wide.
double dw_plot_stems_height(const DwCanvas *canvas, const DwPlot *plot, double width);

// Draws axes, grid, allowed region, curves and labels into BOX (the title and the caption
// are the page's business).
void dw_plot_draw(const DwCanvas *canvas, const DwPlot *plot, DwBox box);

#endif
