// SPDX-License-Identifier: MIT
// The pieces that the papers are made of. Each adds itself to a flow and copies
// the text it is given; empty text adds nothing where that makes sense.
#ifndef DW_REPORT_PIECE_H
#define DW_REPORT_PIECE_H

#include "base/sheet.h"
#include "chart/draw/plot.h"
#include "report/flow.h"
#include "report/picture.h"

// The head of a paper's first page: logo, name, address and colour of the shop.
typedef struct {
    const char *name, *address; // address and the rest, lines parted by '\n'
    const DwPicture *logo;      // NULL for none; taken over by nobody, must outlive the flow
    DwColour colour;
} DwPieceShop;
void dw_piece_shop(DwFlow *flow, const DwPieceShop *shop);

// The paper's title, with BESIDE (NULL: nothing) at the right edge; a heading within it.
void dw_piece_title(DwFlow *flow, const char *title, const char *beside);
void dw_piece_heading(DwFlow *flow, const char *heading);
// A paragraph of body text; each line of TEXT begins a new one. It may run on to the next page.
void dw_piece_paragraph(DwFlow *flow, const char *text);
void dw_piece_quiet(DwFlow *flow, const char *text);
// One of a list, with a dash before it.
void dw_piece_item(DwFlow *flow, const char *text);
// A line with a box before it, ticked or to be ticked by hand.
void dw_piece_tick(DwFlow *flow, const char *text, bool ticked);
// Two lists side by side whose boxes are ticked by hand.
typedef struct {
    const char *title;
    const char *const *lines;
    size_t count;
} DwPieceChecklist;
void dw_piece_checklists(DwFlow *flow, const DwPieceChecklist *left, const DwPieceChecklist *right);
// A box with a word in bold and what it says; with UNSAFE in red with its octagon.
void dw_piece_box(DwFlow *flow, const char *word, const char *text, bool unsafe);

// Two lists of names and what they are, side by side. Pairs whose second text is empty are left out.
typedef struct {
    const char *name;
    char *value; // owned by the caller
} DwPieceFact;
void dw_piece_facts(DwFlow *flow, const char *left_title, const DwPieceFact *left, size_t left_count,
                    const char *right_title, const DwPieceFact *right, size_t right_count);

typedef enum {
    DW_CELL_LEFT,
    DW_CELL_RIGHT,
    DW_CELL_DECIMAL, // numbers stand with their decimal marks below each other
    DW_CELL_VERDICT,
} DwCellKind;

typedef struct {
    const char *title; // or, to dw_dossier_table(), the key of the text
    double share;      // of the width; those of a table add up to 1
    DwCellKind kind;
} DwPaperColumn;

typedef struct {
    const char *text;
    DwVerdict verdict; // in a column of verdicts
} DwPaperCell;

// A table's columns, and the head that is repeated. Start it with dw_piece_table_begin().
typedef struct {
    DwFlow *flow;
    const DwPaperColumn *columns; // the flow's own copy
    size_t count;
    size_t head; // as in DwPiece
} DwPaperTable;
DwPaperTable dw_piece_table_begin(DwFlow *flow, const DwPaperColumn *columns, size_t count);
void dw_piece_table_row(DwPaperTable *table, const DwPaperCell *cells);
// The same kept on the page of the row before; in bold when it is the TOTAL.
void dw_piece_table_sum(DwPaperTable *table, const DwPaperCell *cells, bool total);

// One number for the customer: name, figure, range mark, sentence; before and after.
typedef struct {
    const char *name;
    const DwReading *reading; // as left, or as received when that is all there is
    const DwReading *before;  // NULL without one to compare with
    const char *now_word;     // "as left"
    const char *before_word;  // "as received"
    const char *sentence;
} DwPieceNumber;
// One or two of them side by side (COUNT). The readings must outlive the flow.
void dw_piece_numbers(DwFlow *flow, const DwPieceNumber *numbers, size_t count);

// The answers to the customer's questions, side by side, each with its mark and word.
typedef struct {
    const char *question;
    DwVerdict verdict;
    const char *by; // the item that decides it, or ""
} DwPieceAnswer;
void dw_piece_answers(DwFlow *flow, const DwPieceAnswer *answers, size_t count);

// One or two pictures side by side with their captions (NULL for the second leaves it free).
void dw_piece_pictures(DwFlow *flow, DwPicture *first, const char *first_caption, DwPicture *second,
                       const char *second_caption);
// A plot with its title and caption. PLOT must outlive the flow.
void dw_piece_plot(DwFlow *flow, const DwPlot *plot);
// A raster with END at the ends of its colour scale, its title and caption. RASTER must outlive the flow.
void dw_piece_raster(DwFlow *flow, const DwRaster *raster, double end, const char *title, const char *caption);
// A line to sign on, with a picture of the signature where there is one; it stays on the
// page of what it signs. Takes over PICTURE.
void dw_piece_signature(DwFlow *flow, const char *who, const char *when, DwPicture *picture);
// The same of two who sign side by side; the picture is the first's.
void dw_piece_two_signatures(DwFlow *flow, const char *who, const char *when, DwPicture *picture, const char *beside,
                             const char *beside_when);

// Marks on a plan of the deck, numbered as in the list beside it.
typedef struct {
    double across, along; // 0 to 1 from the left and from the far edge
    size_t number;
} DwPieceMark;
void dw_piece_plan(DwFlow *flow, const DwPieceMark *marks, size_t count, const char *caption);

#endif
