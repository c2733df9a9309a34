// SPDX-License-Identifier: MIT
// The mark of a verdict (its shape says it before its colour) and the range
// mark, on which a reading stands between its limits.
#ifndef DW_CHART_MARK_H
#define DW_CHART_MARK_H

#include "chart/draw/canvas.h"
#include "chart/draw/scale.h"

// Draws the mark of VERDICT, SIZE across, centred on (X, Y): good a filled disc,
// serviceable a ring, cannot tell two bars apart, attention a triangle, replace a
// square, unsafe an octagon, not tested a dash; nothing for none.
void dw_mark_draw(const DwCanvas *canvas, DwVerdict verdict, double x, double y, double size);
// The mark and its word with the baseline at Y, ending at RIGHT. Returned: where it begins.
double dw_mark_draw_with_word(const DwCanvas *canvas, DwVerdict verdict, double right, double y, DwLetters letters);

// How wide that is.
double dw_mark_word_width(const DwCanvas *canvas, DwVerdict verdict, DwLetters letters);

// The values a range mark of READING spans, wide enough for BEFORE (NAN: none).
DwScale dw_mark_range_scale(const DwReading *reading, double before, double from, double to);
// Draws the rule from X to X + WIDTH at height Y: allowed range thickened, good
// range thicker; BEFORE as a hollow mark, the value as a filled one with its
// uncertainty as a whisker; the limits' numbers below, within 1.5 em.
void dw_mark_draw_range(const DwCanvas *canvas, const DwReading *reading, double before, double x, double y,
                        double width);

#endif
