// SPDX-License-Identifier: MIT
// A curve as a path: a line through its points, or the envelope of its least
// and largest values where it has more points than the page has places.
#ifndef DW_CHART_CURVE_PATH_H
#define DW_CHART_CURVE_PATH_H

#include "chart/draw/canvas.h"
#include "chart/draw/scale.h"

// Gaps stay gaps; a point alone between gaps is drawn as a dot.
void dw_curve_path_draw(const DwCanvas *canvas, const DwCurve *curve, const DwScale *x, const DwScale *y, DwInk ink,
                        bool as_received);

// Curves with more points than this are drawn as envelopes.
size_t dw_curve_path_points_most(const DwCanvas *canvas, const DwScale *x);

#endif
