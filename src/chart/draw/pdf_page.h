// SPDX-License-Identifier: MIT
// Pages of PDF at true scale, written whole or not at all.
#ifndef DW_CHART_PDF_PAGE_H
#define DW_CHART_PDF_PAGE_H

#include "base/status.h"

#include <cairo.h>

// Draws page PAGE (0 first); the unit is the millimetre and the origin the
// page's top left corner.
typedef void (*DwPdfDraw)(cairo_t *cairo, unsigned page, const void *context);

// Draws PAGES pages of one size with DRAW and writes them to PATH.
DwStatus dw_pdf_page_write(const char *path, const char *title, double width_mm, double height_mm, unsigned pages,
                           DwPdfDraw draw, const void *context, DwMessage *message);

#endif
