// SPDX-License-Identifier: MIT
// The waiting-for board: every deck in the shop, what it waits for and since
// when, and when its owner was last told.
#ifndef DW_BOOK_BOARD_H
#define DW_BOOK_BOARD_H

#include "book/job/job.h"

typedef struct {
    int64_t job_id;
    int64_t number;
    DwJobState state;
    char *customer;
    char *deck; // make and model
    char *place;
    char *waiting_for;
    char *since;       // a day
    long days;         // in this state
    char *promised_on; // "" when nothing was promised
    bool overdue;
    char *told_on;    // "" when the owner was never told anything
    long days_untold; // since then, or since the job was opened
    bool rush;
    bool unsafe; // an unsafe item stands
    size_t lost; // of its files, missing or changed
} DwBoardRow;

typedef struct {
    DwBoardRow *rows; // rush first, then the longest wait
    size_t count;
} DwBoard;

// All jobs that are not handed over; a declined one as long as its deck is here.
// The caller frees the board with dw_board_clear().
DwStatus dw_board_read(DwBook *book, DwBoard *board, DwMessage *message);
void dw_board_clear(DwBoard *board);

#endif
