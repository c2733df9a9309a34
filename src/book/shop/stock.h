// SPDX-License-Identifier: MIT
// Stock by dimension, not by the name of a model: what is on the shelf, each
// movement of it, and which belt fits in place of another.
#ifndef DW_BOOK_STOCK_H
#define DW_BOOK_STOCK_H

#include "book/store/record.h"

typedef enum {
    DW_STOCK_OTHER,
    DW_STOCK_BELT,
    DW_STOCK_IDLER,
    DW_STOCK_STYLUS,
    DW_STOCK_CARTRIDGE,
    DW_STOCK_CAPACITOR,
    DW_STOCK_ELECTRONIC,
    DW_STOCK_LAMP,
    DW_STOCK_BEARING,
    DW_STOCK_LUBRICANT,
    DW_STOCK_CABLE,
    DW_STOCK_RUBBER,
} DwStockKind;

typedef enum {
    DW_BELT_NONE,
    DW_BELT_FLAT,
    DW_BELT_SQUARE,
    DW_BELT_ROUND,
} DwBeltProfile;

typedef struct {
    DwRecord record;
    char *number; // the shop's own, unique
    char *name;
    int kind;               // DwStockKind
    int profile;            // DwBeltProfile
    double inner_length_mm; // of a belt: inner circumference, unstretched
    double width_mm;
    double thickness_mm; // of a round belt its diameter stands in both
    char *value;         // "0.1 uF 275 V X2" …
    char *fits;          // interchange notes
    char *supplier;
    int64_t lead_days;
    int64_t cost;
    int64_t price;
    char *shelf;
    char *unit;     // "piece", "ml"
    double on_hand; // the sum of its movements
    double least;   // reorder at or below; NAN for never
    char *batch;
    char *opened_on; // of a bottle
    char *note;
} DwStock;

typedef struct {
    DwRecord record;
    int64_t stock_id;
    int64_t job_id; // 0 when it belongs to none
    double change;
    char *why;
    char *at;
    char *who;
} DwStockMove;

extern const DwEntity dw_stock_entity;
extern const DwEntity dw_stock_move_entity;

// Adds CHANGE (negative takes away) to what is on hand. Taking more than there
// is is DW_BAD_INPUT: count the shelf and book the difference first.
DwStatus dw_stock_move(DwBook *book, int64_t stock, int64_t job, double change, const char *why, DwMessage *message);

// A belt of the stock held against one that is wanted.
typedef struct {
    int64_t stock_id;
    char *number;
    char *name;
    char *shelf;
    double on_hand;
    double length_deviation;    // (its length − wanted) / wanted, a ratio
    double width_difference_mm; // NAN when either is not known
    double thickness_difference_mm;
} DwBeltMatch;

typedef struct {
    DwBeltMatch *matches; // in stock first, then nearest in length, width, thickness
    size_t count;
} DwBeltMatches;

// The trade's span for another length: common practice, no source.
#define DW_BELT_TOLERANCE 0.02

// Belts of PROFILE (none for any) whose inner length lies within TOLERANCE (a
// ratio) of LENGTH_MM. Width and thickness (NAN when not known) only order the
// list: whether a belt runs true on its pulley the technician sees. The caller
// frees it with dw_belt_matches_clear().
DwStatus dw_stock_belts(DwBook *book, DwBeltProfile profile, double length_mm, double width_mm, double thickness_mm,
                        double tolerance, DwBeltMatches *matches, DwMessage *message);
void dw_belt_matches_clear(DwBeltMatches *matches);
// What is at or below its least quantity. The caller frees it with dw_records_clear().
DwStatus dw_stock_reorder(DwBook *book, DwRecords *stock, DwMessage *message);

#endif
