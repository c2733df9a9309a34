// SPDX-License-Identifier: MIT
// The plots of a sheet: which of its curves share axes, what is shaded as
// allowed, and which spectral lines are named.
#ifndef DW_CHART_SHEET_PLOTS_H
#define DW_CHART_SHEET_PLOTS_H

#include "chart/draw/chart_words.h"
#include "chart/draw/plot.h"

// Makes the plots of SHEET, with the curves of BEFORE (NULL: none) as received
// on the same axes. Curves share a plot when they have the same units and the
// same thing along x. Frequencies over more than a decade lie on a logarithmic
// axis. A curve is shaded by the limit of the reading that has its key and
// unit; a curve "a.b" over frequency names the lines of a table "a.lines".
// Returned: the plots, COUNT of them. The caller frees them with dw_sheet_plots_free().
DwPlot *dw_sheet_plots_new(const DwSheet *sheet, const DwSheet *before, size_t *count);
// The same in other WORDS (NULL: the charts' own).
DwPlot *dw_sheet_plots_new_in(const DwChartWords *words, const DwSheet *sheet, const DwSheet *before, size_t *count);
void dw_sheet_plots_free(DwPlot *plots, size_t count);

#endif
