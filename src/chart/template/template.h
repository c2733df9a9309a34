// SPDX-License-Identifier: MIT
// True-scale paper templates for setting an arm, as PDF. Drawn in millimetres
// and cut into pages with marks to join them where one sheet is too small.
#ifndef DW_CHART_TEMPLATE_H
#define DW_CHART_TEMPLATE_H

#include "base/sheet.h"
#include "base/status.h"
#include "chart/draw/page_picture.h"

#include <stdbool.h>

typedef enum {
    DW_TEMPLATE_ARC,      // the stylus's path, with its two points of tangency
    DW_TEMPLATE_GRID,     // the two points of tangency alone, for any arm
    DW_TEMPLATE_OVERHANG, // a scale beyond the spindle
    DW_TEMPLATE_STRIP,    // stylus-hole strip and mounting-distance bar
} DwTemplateKind;

typedef enum {
    DW_TEMPLATE_A4,
    DW_TEMPLATE_LETTER,
    DW_TEMPLATE_A3,
} DwTemplatePaper;

// What is drawn. A length that is not known, or that there is not, is NAN: the
// grid needs the null radii and grooves alone; an underhung arm has no outer null.
typedef struct {
    DwTemplateKind kind;
    DwTemplatePaper paper;
    double printer_x_mm, printer_y_mm; // what a printed ruler of 100 mm measures
    double pivot_to_spindle_mm, effective_length_mm, offset_deg;
    double null_inner_mm, null_outer_mm;
    double groove_inner_mm, groove_outer_mm;
    double pillar_mm;      // width of what stands where the pivot's cross would lie; 0 for nothing
    double skew_deg;       // the cantilever against the body, positive inwards
    bool is_linear;        // a linear arm: the grid alone, tangent at both points
    const char *alignment; // its name
    const char *record;    // "7-inch records" …, or "" for what a 12-inch one has
    const char *deck;      // whose template it is, or ""
    const char *accuracy;  // what paper and printer do to it, one or two sentences
    const DwSheet *plan;   // what the arm from above is drawn from beside it, smaller; NULL for none
} DwTemplate;

// Points that can be measured on the paper.
typedef enum {
    DW_TEMPLATE_SPINDLE,
    DW_TEMPLATE_PIVOT,
    DW_TEMPLATE_NULL_INNER,
    DW_TEMPLATE_NULL_OUTER,
    DW_TEMPLATE_STYLUS,      // the target of the overhang gauge and the strip
    DW_TEMPLATE_BAR_SPINDLE, // the mounting-distance bar's own
    DW_TEMPLATE_BAR_PIVOT,
    DW_TEMPLATE_RULER_ACROSS, // where the ruler along the short side begins
    DW_TEMPLATE_RULER_ALONG,
    DW_TEMPLATE_JOIN_0, // crosses that two pages share; up to eight
    DW_TEMPLATE_JOIN_7 = DW_TEMPLATE_JOIN_0 + 7,
    DW_TEMPLATE_MARK_COUNT,
} DwTemplateMark;

// Draws TEMPLATE and writes it to PATH, which appears whole or not at all.
DwStatus dw_template_write(const DwTemplate *template, const char *path, DwMessage *message);

// Its first page as a picture with PER_MM pixels a millimetre, whose origin is the spindle; the caller frees its pixels
// with free().
DwStatus dw_template_picture(const DwTemplate *template, double per_mm, DwPagePicture *picture, DwMessage *message);

// How many pages it takes; and how many of them hold the drawing, which are laid together where they are several. The
// arm from above stands on those where there is room, else on a page after them.
unsigned dw_template_pages(const DwTemplate *template);
unsigned dw_template_joined(const DwTemplate *template);

// Where MARK is to be found on page PAGE (0 first), in millimetres of the PDF
// from its left and top edge. Returned: whether it lies on that page.
bool dw_template_locate(const DwTemplate *template, DwTemplateMark mark, unsigned page, double *x_mm, double *y_mm);

#endif
