// SPDX-License-Identifier: MIT
// What a form asks for, drawn: each dimension where it is measured, following what
// was typed. Of procedures whose sheet has no drawing of its own; for the arm see arm_view.h.
#ifndef DW_CHART_FORM_VIEW_H
#define DW_CHART_FORM_VIEW_H

#include "base/inputs.h"
#include "base/plan/band_plan.h"
#include "base/sheet.h"
#include "chart/draw/theme.h"

// What a form says so far.
typedef struct {
    const DwInputs *inputs;
    const DwBandPlan *plan; // of the record, where one was chosen; else NULL
    const DwSheet *sheet;   // what the procedure makes of it, where it needs no recording; else NULL
} DwFormSaid;

// Whether the form of PROCEDURE (its name) has such a drawing.
bool dw_form_view_fits(const char *procedure);
// Whether it is drawn from the procedure's sheet, or from the plan of its record.
bool dw_form_view_wants_sheet(const char *procedure);
bool dw_form_view_wants_plan(const char *procedure);
// The drawing for what is SAID so far as an SVG file, WIDTH pixels wide. The
// caller frees *BYTES with free().
DwStatus dw_form_view_render(const char *procedure, const DwFormSaid *said, double width, DwTheme theme, char **bytes,
                             size_t *length, DwMessage *message);

#endif
