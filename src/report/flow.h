// SPDX-License-Identifier: MIT
// A paper as a flow of pieces: each knows its height for a width and draws
// itself; the flow breaks it into pages, keeps together what belongs together
// and repeats the head of a table that runs on.
#ifndef DW_REPORT_FLOW_H
#define DW_REPORT_FLOW_H

#include "chart/draw/canvas.h"

// What a kind of piece can do; CONTENT is its own struct.
typedef struct {
    double (*height)(const void *content, const DwCanvas *canvas, double width);
    void (*draw)(const void *content, const DwCanvas *canvas, DwBox box);
    void (*clear)(void *content); // frees what it holds, not itself
    // Draws its pictures, before the rest; NULL for none. Cairo 1.16 takes no image within a marked element.
    void (*draw_pictures)(const void *content, const DwCanvas *canvas, DwBox box);
} DwPieceKind;

typedef struct {
    const DwPieceKind *kind;
    void *content;
    double space;   // above it, in em; dropped at the top of a page
    bool with_next; // stays on the page of the piece after it
    bool begins;    // a section, a box, a picture: something that a page may begin with
    bool new_page;
    bool new_page_if_many; // the same where the flow takes several pages anyway, and takes none more for it
    size_t head;           // 1 + the index of the table head above it that is repeated; 0 for none
    // What a screen reader takes it for: structure elements of ISO 32000-1:2008, 14.8.4 (from memory).
    const char *tag;    // "P" unless it is set
    const char *within; // the element that it is one of several in ("Table", "L"), or NULL
    bool goes_on;       // the text of the piece before it goes on
    char *alt;          // of a "Figure": what it shows, in words; owned
} DwPiece;

typedef struct {
    const DwCanvas *canvas; // to measure with
    double width, room;     // of a page between its margins
    DwPiece *pieces;
    size_t count, rooms;
} DwFlow;

// Adds a piece with zeroed content of SIZE bytes. Valid until the next is added;
// its content stays where it is.
DwPiece *dw_flow_add(DwFlow *flow, const DwPieceKind *kind, size_t size, double space);
void dw_flow_clear(DwFlow *flow);

// Where a piece came to stand.
typedef struct {
    size_t piece, page; // page 0 is the first
    DwBox box;          // within the margins
} DwPlacement;

// Breaks the flow into pages. The caller frees *PLACEMENTS with free().
size_t dw_flow_place(const DwFlow *flow, DwPlacement **placements, size_t *pages);

#endif
