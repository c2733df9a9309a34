// SPDX-License-Identifier: MIT
// A sheet in a page: its large readings on their range marks, the rest as
// tables, its pictures, cautions, remarks and what was not measured.
#ifndef DW_WEB_SHEET_VIEW_H
#define DW_WEB_SHEET_VIEW_H

#include "base/sheet.h"
#include "book/job/measurement.h"
#include "web/page/html.h"
#include "web/page/page.h"
#include "web/server/request.h"

// For whom and as what a sheet is.
typedef struct {
    const DwSheet *sheet;
    const char *job; // its number, "" for none
    const char *as;  // received, during, left or ""
} DwSheetNext;

typedef struct {
    const DwSheet *sheet;
    const DwSheetNext *next;          // where what follows from it goes; or NULL
    const DwSheet *before;            // as received, on the same axes; or NULL
    const DwMeasurement *from;        // of the sheet, when it is kept
    const DwMeasurement *before_from; // of `before`
    const char *place;                // where its pictures are: "/sheet/12", "/result/…"
    const char *query;                // what follows the '?' there, "with=7", or ""
} DwSheetView;

// Writes a whole sheet, with BEFORE (NULL: none) beside it.
void dw_sheet_view_write(DwPage *page, const DwSheetView *view);

// --- sheet_reading.c -----------------------------------------------
// One large reading of a sheet in a page.

// Writes a reading as one of the large ones: label, value, unit, range mark, verdict.
void dw_sheet_reading_write_large(DwPage *page, const DwSheetView *view, const DwReading *reading);
// The number or word of READING, its unit in quiet ink and its uncertainty.
void dw_sheet_reading_write_value(DwPage *page, const DwReading *reading);
// What is doubtful about it, "clipped, short"; "" when nothing is. The caller frees it with free().
char *dw_sheet_reading_doubts(const DwReading *reading);

// --- sheet_table.c -------------------------------------------------
// The tables of a sheet in a page.

// Writes a table of the sheet with its heading, numbers aligned.
void dw_sheet_table_write(DwPage *page, const DwTable *table);
// The readings that are not in LARGE, which has a place for each.
void dw_sheet_table_write_readings(DwPage *page, const DwSheetView *view, const bool *large);
// The readings that are not LEFT_OUT, as a table called LABEL.
void dw_sheet_table_write_some(DwPage *page, const DwSheetView *view, const bool *left_out, const char *label);
// What the sheet was made with, folded.
void dw_sheet_table_write_inputs(DwPage *page, const DwSheet *sheet);

// --- sheet_bands.c -------------------------------------------------
// The bands of a side, each to be opened on its readings.

// Writes them where the sheet has any, and marks in WRITTEN, which has a place for each reading, those that they hold.
void dw_sheet_bands_write(DwPage *page, const DwSheetView *view, bool *written);

// --- sheet_say.c ---------------------------------------------------
// What a sheet says in words.

// Writes LABEL, or a word that a sheet holds for a number, in the reader's language, in an element TAG of the class
// LOOK (NULL: none).
void dw_sheet_say_words(DwHtml *html, const char *tag, const char *label, const char *look);

// Writes SAYING in the reader's language. A quantity that it names stands with its label, a link to its field in the
// form that the sheet came of.
void dw_sheet_say(DwPage *page, const DwSheetView *view, const DwSaying *saying);

// --- sheet_next.c --------------------------------------------------
// What comes after a sheet: note it in the set-up, print the template for it, the
// next thing to measure; and, before it is kept as left, whether it can be held
// against what was measured as received.

// The form of the procedure called NAME with what NEXT's sheet was made with:
// "/measure/template?job=…&arm.overhang=17.2%20mm". The caller frees it with free().
char *dw_sheet_next_path(const DwSheetNext *next, const char *name);
// Writes the steps that follow from NEXT's sheet; nothing where none does.
void dw_sheet_next_write(DwPage *page, const DwSheetNext *next);
// Says what would spoil the comparison with what was measured as received, with the way to
// measure it the same way; or that nothing does.
void dw_sheet_next_compare(DwPage *page, const DwSheetNext *next);
// Why AFTER cannot be held against BEFORE, "" when it can, NULL where they have no reading in common. The caller frees
// it with free().
char *dw_sheet_next_spoils(const DwMeasurement *before_from, const DwSheet *before, const DwMeasurement *after_from,
                           const DwSheet *after);

// --- range_mark.c --------------------------------------------------
// A reading on its range mark, drawn in the page: the allowed range thickened, a
// hollow mark as received, a filled one as left, the uncertainty as a whisker.

// Whether there is something to hold READING against: a limit, or BEFORE (NAN: none).
bool dw_range_mark_is_wanted(const DwReading *reading, double before);
void dw_range_mark_write(DwHtml *html, const DwReading *reading, double before);

// --- take_words.c -----------------------------------------------------

// What a page says for WORD of a sheet's table "take"; WORD itself where it is a name or a number.
const char *dw_take_words(const char *word);

#endif
