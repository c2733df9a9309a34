// SPDX-License-Identifier: MIT
// The papers that a camera measures by, at true scale: the disc that lies on the platter and the card that lies beside
// anything. Their marks stand where base/paper_marks.h says.
#ifndef DW_CHART_MARKS_PAPER_H
#define DW_CHART_MARKS_PAPER_H

#include "base/paper_marks.h"
#include "chart/draw/canvas.h"
#include "chart/draw/page_picture.h"
#include "chart/template/template.h"

typedef struct {
    DwMarkedPaper paper; // a disc or a card
    DwTemplatePaper sheet;
    double printer_x_mm, printer_y_mm; // what a printed ruler of 100 mm measures
} DwMarksPaper;

// Draws the marks of PAPER about the origin of CANVAS, in millimetres: those that WHICH is true for, NULL for all.
void dw_marks_draw(const DwCanvas *canvas, DwMarkedPaper paper, const bool *which);

// Writes PAPER as a PDF of one page to PATH, whole or not at all.
DwStatus dw_marks_paper_write(const DwMarksPaper *paper, const char *path, DwMessage *message);

// PAPER's page as a picture with PER_MM pixels a millimetre; the caller frees its pixels with free().
DwStatus dw_marks_paper_picture(const DwMarksPaper *paper, double per_mm, DwPagePicture *picture, DwMessage *message);

#endif
