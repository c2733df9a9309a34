// SPDX-License-Identifier: MIT
// What is drawn, said in a sentence: the caption and the text for those who
// cannot see the picture. Every number in it is computed from what is drawn.
#ifndef DW_CHART_DESCRIBE_H
#define DW_CHART_DESCRIBE_H

#include "chart/draw/chart_words.h"

// Each returns a new sentence. The caller frees it with free().
char *dw_describe_reading(const DwReading *reading);
char *dw_describe_curve(const DwCurve *curve);
char *dw_describe_raster(const DwRaster *raster);
// The same in other WORDS (NULL: the charts' own).
char *dw_describe_curve_in(const DwChartWords *words, const DwCurve *curve);
char *dw_describe_raster_in(const DwChartWords *words, const DwRaster *raster);
// The whole sheet: its verdict, its readings and its pictures, a sentence each.
char *dw_describe_sheet(const DwSheet *sheet);

#endif
