// SPDX-License-Identifier: MIT
// A measurement: a sheet kept on a job as received, during or as left, with the
// record, chain and instrument it was made with. What a person read off a scale
// or a caliper is kept in the same way, as a sheet of the procedure "hand". A
// measurement is evidence: it is never changed, only withdrawn with a reason.
#ifndef DW_BOOK_MEASUREMENT_H
#define DW_BOOK_MEASUREMENT_H

#include "base/sheet.h"
#include "book/store/record.h"
#include "book/store/words.h"

// The procedure of sheets typed in by hand.
#define DW_MEASUREMENT_BY_HAND "hand"

typedef struct {
    DwRecord record;
    int64_t job_id;
    int phase; // DwPhase, not none
    char *procedure;
    char *title;
    char *subject;     // the recording's file name, "" without one
    char *test_record; // its name as in the register, or as typed
    char *chain;
    char *instrument; // of readings by hand
    char *speed;      // the deck's nominal speed as shown, "" when it plays no part
    char *at;
    char *who;
    char *sheet; // the whole sheet as JSON
    char *withdrawn_at;
    char *withdrawn_why;
} DwMeasurement;

// One reading of a measurement, flat, for search, comparison and export.
typedef struct {
    DwRecord record;
    int64_t measurement_id;
    char *key;
    char *label;
    double value;
    char *word;
    char *unit;
    int64_t digits;
    double uncertainty;
    int64_t flags; // DwFlag
    double low, high;
    double good_low, good_high;
    char *source;
    int grade; // DwVerdict
    char *method;
} DwKeptReading;

extern const DwEntity dw_measurement_entity;
extern const DwEntity dw_kept_reading_entity;

// Keeps SHEET. MEASUREMENT is initialised and has its job and phase, and where
// they are not among the sheet's inputs (record.name, chain.name) its test record
// and chain; the rest is filled in. A reading whose verdict is unsafe also gives
// that verdict (verdict.h). A registered test record counts one play.
DwStatus dw_measurement_save(DwBook *book, const DwSheet *sheet, DwMeasurement *measurement, DwMessage *message);
// Fills an initialised MEASUREMENT with what SHEET says of itself, as if it were kept now.
void dw_measurement_describe(const DwBook *book, const DwSheet *sheet, DwMeasurement *measurement);
// The sheet as it was. The caller frees *SHEET with dw_sheet_free().
DwStatus dw_measurement_sheet(const DwMeasurement *measurement, DwSheet **sheet, DwMessage *message);
// Takes a wrong measurement out of comparison and report; it stays in the book.
DwStatus dw_measurement_withdraw(DwBook *book, int64_t measurement, const char *why, DwMessage *message);

// What a measurement was made with and its sheet names wrongly or not at all; NULL where it stands as it is.
typedef struct {
    const char *test_record;
    const char *chain;
    const char *instrument; // of readings by hand
} DwSupplied;
// Supplies afterwards the names of what the measurement OLD was made with. It is evidence and stays, withdrawn with
// the reason WHY; a copy that has the names, and says on its sheet when they came and why, stands in its place, as old
// as it was. Only names can be supplied, such as the register or another sheet has: what was reckoned with is measured
// anew. Gives the id of the copy.
DwStatus dw_measurement_supply(DwBook *book, int64_t old, const DwSupplied *supplied, const char *why, int64_t *id,
                               DwMessage *message);
// The measurements of JOB that stand, oldest first. The caller frees them with dw_records_clear().
DwStatus dw_measurement_standing(DwBook *book, int64_t job, DwRecords *measurements, DwMessage *message);

// The input KEY that SHEET was made with (the first giving), or NULL.
const DwSheetInput *dw_measurement_input(const DwSheet *sheet, const char *key);
// The name of the arm that SHEET is of where a deck carries several, else "". Valid as long as SHEET.
const char *dw_measurement_arm(const DwSheet *sheet);

// A sheet with one reading by hand: KEY (of the catalogue, which then gives label,
// unit and digits, or one of the shop's own) and TEXT as typed ("1.82 g", "dull").
// LABEL may be NULL for a key of the catalogue. The caller frees *SHEET with dw_sheet_free().
DwStatus dw_measurement_by_hand(const char *key, const char *label, const char *text, double uncertainty,
                                DwSheet **sheet, DwMessage *message);

#endif
