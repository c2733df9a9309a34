// SPDX-License-Identifier: MIT
// A sheet is what a procedure returns and everything else shows, keeps or
// prints: readings, tables, curves, rasters, remarks in plain words, cautions,
// and the list of what was not measured and why. It owns all its text.
#ifndef DW_BASE_SHEET_H
#define DW_BASE_SHEET_H

#include "base/inputs.h"
#include "base/saying.h"

// What is doubtful about a reading; any number of them.
typedef enum {
    DW_FLAG_CLIPPED = 1 << 0,     // the recording was overdriven
    DW_FLAG_SHORT = 1 << 1,       // too little was recorded for this reading
    DW_FLAG_GAPS = 1 << 2,        // samples are missing or much was masked
    DW_FLAG_APPROXIMATE = 1 << 3, // the method or its table is not exact
    DW_FLAG_NOISY = 1 << 4,       // the reading is at or near its noise floor
    DW_FLAG_UNSTEADY = 1 << 5,    // it changed while it was measured
    DW_FLAG_FAULT = 1 << 6,       // a fault of the channels stands between it and the record
    DW_FLAG_COUNT = 7
} DwFlag;

// Grades are never averaged; "none" is a reading without a limit.
typedef enum {
    DW_VERDICT_NONE,
    DW_VERDICT_GOOD,
    DW_VERDICT_SERVICEABLE,
    DW_VERDICT_CANNOT_TELL, // its uncertainty reaches over a limit
    DW_VERDICT_ATTENTION,
    DW_VERDICT_REPLACE,
    DW_VERDICT_UNSAFE,
    DW_VERDICT_NOT_TESTED,
} DwVerdict;

// The allowed range of a reading: NAN at an end that is open. `good` lies within
// `allowed`; without a good range of its own it is the allowed one.
typedef struct {
    double low, high;           // allowed
    double good_low, good_high; // NAN where not stated
    char *source;               // the standard or "common practice"
} DwLimit;

typedef struct {
    char *key;
    char *label;
    double value; // NAN when it is undefined
    char *word;   // instead of a value, for readings that are a word; else NULL
    char *unit;
    int digits;         // decimals worth showing
    double uncertainty; // half-width of the 95 % interval, in `unit`; NAN when unknown
    unsigned flags;     // DwFlag
    DwLimit *limit;     // NULL without one
    bool unjudged;      // what it is referred to is not stated: no class's limit applies
    bool explained;     // the procedure has said itself what "cannot tell" means for it
    DwVerdict verdict;
    char *method; // how it was measured, a few words
} DwReading;

typedef struct {
    char *key;
    char *label;
    char *unit; // "" for words and plain counts
    int digits;
} DwColumn;

typedef struct {
    double number; // NAN when it is a word or undefined
    char *word;    // NULL when it is a number
} DwCell;

typedef struct {
    char *key;
    char *label;
    DwColumn *columns;
    size_t column_count;
    DwCell *cells; // row after row
    size_t row_count, row_room;
} DwTable;

typedef struct {
    char *label;
    char *unit;
} DwAxis;

// COUNT points (x, y); x ascends. NAN in y is a gap in the line.
typedef struct {
    char *key;
    char *label;
    DwAxis x, y;
    size_t count;
    double *x_values, *y_values;
} DwCurve;

// A picture of numbers: ROWS × COLUMNS values, row after row, oldest row first.
// NAN is a place that was not measured.
typedef struct {
    char *key;
    char *label;
    DwAxis across, down; // what runs along a row, what counts the rows
    char *unit;          // of the values
    double across_span;  // what the columns together span, in across.unit
    double down_start, down_step;
    size_t rows, columns;
    float *values;
} DwRaster;

typedef struct {
    char *key;
    char *label;
    char *text;   // as shown, without unit
    double value; // NAN for words
    char *unit;
    bool given; // false: the catalogue's preset stood
} DwSheetInput;

typedef struct {
    char *key;
    DwSaying reason;
} DwNotMeasured;

typedef struct {
    char *procedure;
    char *title;
    char *subject; // the recording's file name, or "" for a computation
    DwSheetInput *inputs;
    size_t input_count;
    DwReading *readings;
    size_t reading_count;
    DwTable *tables;
    size_t table_count;
    DwCurve *curves;
    size_t curve_count;
    DwRaster *rasters;
    size_t raster_count;
    DwSaying *remarks;
    size_t remark_count;
    DwSaying *cautions;
    size_t caution_count;
    DwNotMeasured *not_measured;
    size_t not_measured_count;
} DwSheet;

// An empty sheet of PROCEDURE, whose name and title are copied. The caller frees it with dw_sheet_free().
DwSheet *dw_sheet_new(const char *procedure, const char *title);
void dw_sheet_free(DwSheet *sheet);

// Adds all that PART says after what SHEET says. Takes ownership of PART; its
// title, subject and inputs are dropped.
void dw_sheet_take(DwSheet *sheet, DwSheet *part);

// Names what was measured (a recording's file name).
void dw_sheet_set_subject(DwSheet *sheet, const char *subject);
// Notes the value that INPUTS holds for ROW (all of them when it repeats);
// a quantity with neither a value nor a preset is left out.
void dw_sheet_add_input(DwSheet *sheet, const DwInputs *inputs, const DwQuantity *row);

// Adds a reading without limit, flags or uncertainty and returns it to be
// completed: valid until the next reading is added.
DwReading *dw_sheet_add_reading(DwSheet *sheet, const char *key, const char *label, double value, const char *unit,
                                int digits);
DwReading *dw_sheet_add_word(DwSheet *sheet, const char *key, const char *label, const char *word);
// A reading with its 95 % uncertainty (NAN when unknown) and its method.
DwReading *dw_sheet_add_estimate(DwSheet *sheet, const char *key, const char *label, double value, const char *unit,
                                 int digits, double uncertainty, const char *method);
void dw_reading_set_method(DwReading *reading, const char *method);
// Sets the limit and derives the verdict from the value with its uncertainty: good
// only when the whole interval lies within good, serviceable when it lies within
// allowed, attention when it lies outside, else cannot tell. Without an uncertainty
// the value alone decides. An undefined value gets no verdict.
// Reference: JCGM 106:2012, 8.3.2, guarded acceptance with a guard band of the
// expanded uncertainty (from memory); guarded rejection, 8.3.3, alike.
void dw_reading_set_limit(DwReading *reading, DwRange allowed, DwRange good, const char *source);
// The reading called KEY, or NULL. Valid until the next reading is added.
DwReading *dw_sheet_reading(const DwSheet *sheet, const char *key);

// Puts the reading called KEY before all others; false without one.
bool dw_sheet_put_first(DwSheet *sheet, const char *key);

// Adds an empty table with columns named "key|label|unit|digits", NULL last.
// Valid until the next table is added.
DwTable *dw_sheet_add_table(DwSheet *sheet, const char *key, const char *label, const char *const *columns);
// Adds a row of undefined cells and returns its number.
size_t dw_table_add_row(DwTable *table);
void dw_table_set_number(DwTable *table, size_t row, size_t column, double number);
void dw_table_set_word(DwTable *table, size_t row, size_t column, const char *word);
const DwCell *dw_table_cell(const DwTable *table, size_t row, size_t column);
const DwTable *dw_sheet_table(const DwSheet *sheet, const char *key);

// Adds a curve of COUNT points with undefined y. Valid until the next is added.
DwCurve *dw_sheet_add_curve(DwSheet *sheet, const char *key, const char *label, DwAxis x, DwAxis y, size_t count);
const DwCurve *dw_sheet_curve(const DwSheet *sheet, const char *key);
// Adds a raster of undefined values. Valid until the next is added.
DwRaster *dw_sheet_add_raster(DwSheet *sheet, const char *key, const char *label, DwAxis across, DwAxis down,
                              const char *unit, size_t rows, size_t columns);
const DwRaster *dw_sheet_raster(const DwSheet *sheet, const char *key);

// Add a sentence, formatted as by printf (dw_saying_make says with what) and copied: a remark in plain words, a
// caution, and why KEY was not measured. Their order is kept. FORMAT and the words at its places are texts of the
// catalogue, which scripts/words gathers from these calls.
void dw_sheet_remark(DwSheet *sheet, const char *format, ...) __attribute__((format(printf, 2, 3)));
void dw_sheet_caution(DwSheet *sheet, const char *format, ...) __attribute__((format(printf, 2, 3)));
void dw_sheet_not_measured(DwSheet *sheet, const char *key, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// The same of a remark, unless the very sentence is there already.
void dw_sheet_remark_once(DwSheet *sheet, const char *format, ...) __attribute__((format(printf, 2, 3)));
// Adds a remark that was made elsewhere, copied.
void dw_sheet_remark_as(DwSheet *sheet, const DwSaying *saying);

// What KEY is called in a list of what was not measured: a quantity's label, a side's reading's own, else its parts
// in words, "Load, preamp noise". The caller frees it with free().
char *dw_sheet_missing_name(const char *key);

// Whether any reading carries a flag: the program then exits 3.
bool dw_sheet_is_flagged(const DwSheet *sheet);
// "good", "attention soon" …; "" for none.
const char *dw_verdict_word(DwVerdict verdict);
// "clipped", "short" … of the single flag FLAG.
const char *dw_flag_word(DwFlag flag);
// Worst verdict of the sheet's readings by order of the enum (none and not
// tested aside): how the sheet stands as a whole, not an average.
DwVerdict dw_sheet_worst_verdict(const DwSheet *sheet);

#endif
