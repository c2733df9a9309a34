// SPDX-License-Identifier: MIT
// Where the marks stand on each of the papers that a camera measures by: one table that the papers are drawn from and
// that pictures are read by. A mark is a square of the code tag36h11, told from all others by its number.
#ifndef DW_BASE_PAPER_MARKS_H
#define DW_BASE_PAPER_MARKS_H

#include <stdbool.h>
#include <stddef.h>

typedef enum {
    DW_MARKED_DISC,       // lies on the platter; A4 and Letter
    DW_MARKED_DISC_LARGE, // the same for A3
    DW_MARKED_CARD,       // lies beside anything; A4 and Letter
    DW_MARKED_CARD_LARGE, // the same for A3
    DW_MARKED_GRID,       // the two-point grid
    DW_MARKED_ARM,        // the other papers of an arm: arc, overhang gauge, strip
    DW_MARKED_COUNT,
} DwMarkedPaper;

// One mark, from the paper's origin: the spindle's centre where there is one, else the card's middle; x to the right,
// y down, as the paper is drawn.
typedef struct {
    int number;
    double x_mm, y_mm; // of its middle
    double turn;       // clockwise [rad]
    double size_mm;    // an edge of its black square
} DwPaperMark;

// Printed on one paper. An arm's has more places than that: those that its drawing leaves clear are printed.
enum { DW_PAPER_MARKS_MOST = 24 };

// How many places for marks PAPER has.
size_t dw_paper_marks_count(DwMarkedPaper paper);
// The mark at the INDEXth place of PAPER; INDEX is below its count.
DwPaperMark dw_paper_mark(DwMarkedPaper paper, size_t index);
// The mark called NUMBER and the paper that it stands on; false for one that no paper has.
bool dw_paper_mark_find(int number, DwMarkedPaper *paper, DwPaperMark *mark);
// The corners of MARK: that at its upper left as it is drawn unturned, then clockwise [mm].
void dw_paper_mark_corners(const DwPaperMark *mark, double corners[4][2]);

// The radius to cut a disc along, or half a card's width and height [mm].
double dw_paper_disc_radius(DwMarkedPaper paper);
void dw_paper_card_reach(DwMarkedPaper paper, double *half_width_mm, double *half_height_mm);
// How wide the lines are among which things stand on PAPER, as a printer makes them; 0 where there are none [mm].
double dw_marked_paper_line_mm(DwMarkedPaper paper);
// What PAPER is called to a technician: "disc", "large card" …
const char *dw_marked_paper_name(DwMarkedPaper paper);
// Whether every one of its places has its mark; else each print has its own.
bool dw_marked_paper_is_full(DwMarkedPaper paper);
// Whether the paper's origin is the spindle's centre.
bool dw_marked_paper_has_spindle(DwMarkedPaper paper);

#endif
