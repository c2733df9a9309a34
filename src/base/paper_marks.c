// SPDX-License-Identifier: MIT
#include "base/paper_marks.h"

#include <assert.h>
#include <math.h>

typedef enum { RING, FRAME, ROWS, LATTICE } Pattern;

static const struct {
    const char *name;
    Pattern pattern;
    int first; // number of the first mark; those of a paper follow each other
    size_t count;
    double size;           // of a mark [mm]
    double across, along;  // the ring's radius, or where a frame's outer marks stand [mm]
    double edge_x, edge_y; // what is cut out reaches that far [mm]
} papers[DW_MARKED_COUNT] = {
    [DW_MARKED_DISC] = {"disc", RING, 0, 12, 24, 74, 74, 90, 90},
    [DW_MARKED_DISC_LARGE] = {"large disc", RING, 12, 12, 36, 107, 107, 130.5, 130.5},
    [DW_MARKED_CARD] = {"card", FRAME, 24, 8, 16, 82, 106, 92, 116},
    [DW_MARKED_CARD_LARGE] = {"large card", FRAME, 32, 8, 24, 118, 160, 133, 175},
    [DW_MARKED_GRID] = {"two-point grid", ROWS, 40, 12, 12, 15, 37, 0, 0},
    [DW_MARKED_ARM] = {"arm's paper", LATTICE, 52, 88, 9, -24.75, -60, 0, 0},
};

static const double line_mm = 0.15;   // of the lines of grid and arc: drawn 0.1 wide, and toner spreads; a judgement
static const double row_step_mm = 25; // of the marks along the grid's two rows

// Of the places on an arm's paper. Two columns beside the spindle stand on the strip, 30 mm wide; four on the gauge.
enum { LATTICE_COLUMNS = 11 };
static const double column_step_mm = 16.5, line_step_mm = 12;

// A frame's places from its upper left corner clockwise, in shares of the reach.
static const double frame_places[][2] = {{-1, -1}, {0, -1}, {1, -1}, {1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}};

size_t dw_paper_marks_count(DwMarkedPaper paper)
{
    return papers[paper].count;
}

DwPaperMark dw_paper_mark(DwMarkedPaper paper, size_t index)
{
    assert(index < papers[paper].count);
    DwPaperMark mark = {.number = papers[paper].first + (int)index, .size_mm = papers[paper].size};
    double across = papers[paper].across, along = papers[paper].along;
    switch (papers[paper].pattern) {
    case RING: // the first at twelve o'clock, upright; all with their upper edge outwards
        mark.turn = 2 * M_PI * (double)index / (double)papers[paper].count;
        mark.x_mm = across * sin(mark.turn);
        mark.y_mm = -across * cos(mark.turn);
        break;
    case FRAME:
        mark.x_mm = across * frame_places[index][0];
        mark.y_mm = along * frame_places[index][1];
        break;
    case ROWS: { // half of them above the line of the two points, half below
        size_t half = papers[paper].count / 2;
        mark.x_mm = across + row_step_mm * (double)(index % half);
        mark.y_mm = index < half ? -along : along;
        break;
    }
    case LATTICE: // from the upper left
        mark.x_mm = across + column_step_mm * (double)(index % LATTICE_COLUMNS);
        mark.y_mm = along + line_step_mm * (double)(index / LATTICE_COLUMNS);
        break;
    }
    return mark;
}

bool dw_paper_mark_find(int number, DwMarkedPaper *paper, DwPaperMark *mark)
{
    for (DwMarkedPaper which = 0; which < DW_MARKED_COUNT; which++) {
        int index = number - papers[which].first;
        if (index < 0 || index >= (int)papers[which].count)
            continue;
        *paper = which;
        *mark = dw_paper_mark(which, (size_t)index);
        return true;
    }
    return false;
}

void dw_paper_mark_corners(const DwPaperMark *mark, double corners[4][2])
{
    static const double signs[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    double half = mark->size_mm / 2, c = cos(mark->turn), s = sin(mark->turn);
    for (int i = 0; i < 4; i++) {
        double x = half * signs[i][0], y = half * signs[i][1];
        corners[i][0] = mark->x_mm + c * x - s * y;
        corners[i][1] = mark->y_mm + s * x + c * y;
    }
}

double dw_paper_disc_radius(DwMarkedPaper paper)
{
    assert(papers[paper].pattern == RING);
    return papers[paper].edge_x;
}

void dw_paper_card_reach(DwMarkedPaper paper, double *half_width_mm, double *half_height_mm)
{
    assert(papers[paper].pattern == FRAME);
    *half_width_mm = papers[paper].edge_x;
    *half_height_mm = papers[paper].edge_y;
}

double dw_marked_paper_line_mm(DwMarkedPaper paper)
{
    return papers[paper].pattern == ROWS || papers[paper].pattern == LATTICE ? line_mm : 0;
}

const char *dw_marked_paper_name(DwMarkedPaper paper)
{
    return papers[paper].name;
}

bool dw_marked_paper_is_full(DwMarkedPaper paper)
{
    return papers[paper].pattern != LATTICE;
}

bool dw_marked_paper_has_spindle(DwMarkedPaper paper)
{
    return papers[paper].pattern != FRAME;
}
