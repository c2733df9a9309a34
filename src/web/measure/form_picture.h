// SPDX-License-Identifier: MIT
// The arm as it stands in a form that is still being filled in, drawn by the bench.
#ifndef DW_WEB_FORM_PICTURE_H
#define DW_WEB_FORM_PICTURE_H

#include "web/measure/measure_form.h"

// Writes the drawing of what stands in FORM, where its procedure has one; the page's script keeps it in step.
void dw_form_picture_write(DwPage *page, const DwMeasureForm *form);
// Answers "/measure/align/picture?arm.pivot_to_spindle=222mm…": the drawing, or an empty one while too little is said.
DwAnswer dw_form_picture_send(const DwWebRequest *request);

#endif
