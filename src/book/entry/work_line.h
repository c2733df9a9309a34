// SPDX-License-Identifier: MIT
// Where a job stands: a station for each stage of the work, in its order; done,
// open, or stale where something that later steps rest on no longer holds.
#ifndef DW_BOOK_WORK_LINE_H
#define DW_BOOK_WORK_LINE_H

#include "book/job/job.h"

typedef enum {
    DW_STATION_INTAKE,
    DW_STATION_SAFETY,
    DW_STATION_AS_RECEIVED,
    DW_STATION_FINDINGS,
    DW_STATION_ESTIMATE, // and the owner's consent
    DW_STATION_WORK,
    DW_STATION_SET_UP,
    DW_STATION_AS_LEFT,
    DW_STATION_PAPERS,
    DW_STATION_COUNT,
} DwStationKind;

typedef enum {
    DW_STATION_OPEN,
    DW_STATION_DONE,
    DW_STATION_STALE, // later steps rest on something that changed since
} DwStationState;

typedef struct {
    DwStationState state;
    const char *missing; // what is missing or stale, a sentence; "" when it is done
} DwStation;

// What a newest estimate, answer or invoice is like; 0 stands for none.
typedef enum { DW_LINE_NO_ESTIMATE, DW_LINE_DRAFT, DW_LINE_ISSUED, DW_LINE_ACCEPTED, DW_LINE_DECLINED } DwLineEstimate;
typedef enum { DW_LINE_NO_ANSWER, DW_LINE_AGREED, DW_LINE_REFUSED, DW_LINE_WAITS } DwLineAnswer;
typedef enum { DW_LINE_NO_INVOICE, DW_LINE_INVOICE_DRAFT, DW_LINE_INVOICE_ISSUED } DwLineInvoice;

// What the book holds of a job, as far as the stations depend on it.
typedef struct {
    bool intake;
    bool words;          // the owner's
    bool list;           // accessories, or that no other was received
    bool list_correct;   // the owner said so
    int64_t use_tested;  // items judged safe or unsafe to use
    int64_t unsafe_open; // unsafe items that nobody acknowledged
    int64_t as_received, as_left;
    int64_t unmatched; // readings taken as received and not as left
    int64_t findings, findings_untried;
    int64_t verdicts;
    int64_t estimate; // DwLineEstimate, of the newest version
    bool ran_out;     // it was given out, is not answered, and its last valid day is over
    int64_t answer;   // DwLineAnswer, the newest
    bool ceiling;     // the owner named an amount at intake
    bool over_agreed; // the newest invoice is above what was agreed to
    int64_t operations, operations_open;
    int64_t set_up_left;        // settings noted as left
    const char *set_up_stale;   // a sentence, or NULL
    int64_t work_after_left;    // operations done or settings moved after the last measurement as left
    int64_t invoice;            // DwLineInvoice, the newest
    int64_t unpaid;             // invoices of the job that are issued and not paid
    bool signed_in, signed_out; // the owner's signature at intake, at hand-over
} DwWorkFacts;

// The key of a station, by which its part of a page goes ("as-received"), and its name. Valid for ever.
const char *dw_station_key(DwStationKind kind);
const char *dw_station_word(DwStationKind kind);

// The stations of JOB in the order of the work, each with its state and why.
DwStatus dw_work_line_read(DwBook *book, int64_t job, DwWorkFacts *facts, DwMessage *message);
// Judges each station by FACTS alone.
void dw_work_line_judge(const DwWorkFacts *facts, DwStation stations[DW_STATION_COUNT]);
// The first station that is not done; DW_STATION_COUNT when all are.
DwStationKind dw_work_line_now(const DwStation stations[DW_STATION_COUNT]);

// The states a job in STATE most likely moves to next, the likeliest first; at most MOST. Returns how many.
size_t dw_work_line_next(DwJobState state, DwJobState next[], size_t most);

#endif
