// SPDX-License-Identifier: MIT
// One page of PDF at true scale, written whole or not at all.
#ifndef DW_CHART_PDF_PAGE_H
#define DW_CHART_PDF_PAGE_H

#include "base/status.h"

#include <cairo.h>

// Draws the page with DRAW, whose context's unit is the millimetre and whose
// origin is the page's top left corner, and writes it to PATH.
DwStatus dw_pdf_page_write(const char *path, const char *title, double width_mm, double height_mm,
                           void (*draw)(cairo_t *cairo, const void *context), const void *context, DwMessage *message);

#endif
