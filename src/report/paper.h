// SPDX-License-Identifier: MIT
// A paper: pages of one size with 20 mm margins, a flow of pieces on them, and
// a foot with the page's number.
#ifndef DW_REPORT_PAPER_H
#define DW_REPORT_PAPER_H

#include "base/status.h"
#include "chart/draw/output.h"
#include "report/flow.h"
#include "report/pdf_language.h"

typedef enum {
    DW_PAPER_A4,
    DW_PAPER_LETTER,
} DwPaperSize;

typedef struct {
    double width, height;      // points
    double margin_x, margin_y; // 20 mm, but on labels
    bool without_foot;
    DwOutput output;
    cairo_surface_t *surface;
    DwCanvas canvas;
    DwFlow flow;
    const char **alts; // the words of its pictures, once it is drawn
    size_t alt_count;
} DwPaper;

// What stands in the file and at every page's foot.
typedef struct {
    const char *title, *author, *language;
    const char *foot;      // at the left
    const char *pages;     // with {page} and {pages}
    const DwPdfFile *file; // that goes within it, or NULL
} DwPaperFrame;

// Prepares PAPER in place: it must not move afterwards. Clear it with dw_paper_clear().
void dw_paper_begin(DwPaper *paper, DwPaperSize size);
// The same for labels: a page of WIDTH by HEIGHT with these margins and no foot [points].
void dw_paper_begin_labels(DwPaper *paper, double width, double height, double margin_x, double margin_y);
// The size of SIZE [points].
void dw_paper_size(DwPaperSize size, double *width, double *height);
// Lays out its flow and writes the PDF to PATH, which appears whole or not at all.
DwStatus dw_paper_write(DwPaper *paper, const DwPaperFrame *frame, const char *path, DwMessage *message);
void dw_paper_clear(DwPaper *paper);

// Margins on every side, in points: 20 mm.
#define DW_PAPER_MARGIN (20 * 72 / 25.4)

#endif
