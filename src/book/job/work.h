// SPDX-License-Identifier: MIT
// The work done on a job: operations with their minutes, lubricants by point,
// and the parts that went in.
#ifndef DW_BOOK_WORK_H
#define DW_BOOK_WORK_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    int64_t job_id;
    char *name;
    int64_t quoted_minutes;
    int64_t actual_minutes; // 0 until it was done
    char *done_at;
    char *who;
    char *note;
    int64_t estimate_line_id; // the agreed line by which it was planned, or 0
    int64_t place;            // in the order of the plan, from 1; 0 for what was not planned
    char *care;               // what to heed, tools and parts, as it was planned
    char *left_out;           // why it was not done
} DwOperation;

typedef struct {
    DwRecord record;
    int64_t job_id;
    char *point; // "main bearing", "motor, upper bush" …
    char *lubricant;
    double quantity_ml;
    double drops;
    char *note;
} DwLubrication;

typedef struct {
    DwRecord record;
    int64_t job_id;
    int64_t stock_id; // 0 when it did not come from stock
    char *name;
    double quantity;
    int condition; // new, used or reconditioned: declared on the invoice
    char *batch;
    int64_t price; // for one
    int old_part;  // what became of the part taken out
    char *note;
} DwFittedPart;

extern const DwEntity dw_operation_entity;
extern const DwEntity dw_lubrication_entity;
extern const DwEntity dw_part_entity;

// Whether OPERATION was done: one without minutes and day was only planned.
bool dw_operation_is_done(const DwOperation *operation);
// Keeps OPERATION, added or changed, with its place and the line by which it was planned.
DwStatus dw_operation_keep_plan(DwBook *book, DwOperation *operation, DwMessage *message);
// The operations of JOB that were planned, in the order of the plan. The caller frees them with dw_records_clear().
DwStatus dw_operation_plan(DwBook *book, int64_t job, DwRecords *operations, DwMessage *message);
// The operation that has PLACE in the plan of JOB, into an initialised record.
DwStatus dw_operation_planned(DwBook *book, int64_t job, int64_t place, DwOperation *operation, DwMessage *message);
// Sets that OPERATION was done now, in MINUTES (0 where nobody counted), or that it was not done after all, or with
// WHY that it is left out. To be kept by whoever asked.
void dw_operation_tick(DwBook *book, DwOperation *operation, int64_t minutes);
void dw_operation_untick(DwOperation *operation);
DwStatus dw_operation_leave_out(DwOperation *operation, const char *why, DwMessage *message);
// Adds an initialised PART to its job. With a stock number it takes the quantity
// out of stock, and its name, price and batch from there where they are not set.
DwStatus dw_part_fit(DwBook *book, DwFittedPart *part, DwMessage *message);

// What an operation has taken in this shop so far.
typedef struct {
    int64_t count;
    double mean_minutes; // NAN when it was never done
    int64_t least_minutes, most_minutes;
} DwOperationHistory;

// Over all operations called NAME with actual minutes, on decks with drive DRIVE
// (a word of the deck's drive; "" for all).
DwStatus dw_operation_history(DwBook *book, const char *name, const char *drive, DwOperationHistory *history,
                              DwMessage *message);

#endif
