// SPDX-License-Identifier: MIT
// The papers that a camera measures by, of the procedure template: they need no arm.
#ifndef DW_PROCEDURE_TEMPLATE_MARKS_H
#define DW_PROCEDURE_TEMPLATE_MARKS_H

#include "chart/template/marks_paper.h"
#include "procedure/registry/procedure.h"

// The sheets of paper that INPUTS asks for.
DwTemplatePaper dw_template_sheet_of(const DwInputs *inputs);

// Whether INPUTS asks for a disc or a card, which PAPER then is.
bool dw_template_marks_read(const DwInputs *inputs, DwMarksPaper *paper);

// Says on SHEET what PAPER is for.
void dw_template_marks_tell(const DwMarksPaper *paper, DwSheet *sheet);

#endif
