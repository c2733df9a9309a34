// SPDX-License-Identifier: MIT
// What a form asks for, drawn: each dimension where it is measured, following what
// was typed. Of procedures whose sheet has no drawing of its own; for the arm see arm_view.h.
#ifndef DW_CHART_FORM_VIEW_H
#define DW_CHART_FORM_VIEW_H

#include "base/inputs.h"
#include "chart/draw/theme.h"

// Whether the form of PROCEDURE (its name) has such a drawing.
bool dw_form_view_fits(const char *procedure);
// The drawing for what INPUTS give so far as an SVG file, WIDTH pixels wide. The
// caller frees *BYTES with free().
DwStatus dw_form_view_render(const char *procedure, const DwInputs *inputs, double width, DwTheme theme, char **bytes,
                             size_t *length, DwMessage *message);

#endif
