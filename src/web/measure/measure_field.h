// SPDX-License-Identifier: MIT
// One quantity of the catalogue as a field of a form.
#ifndef DW_WEB_MEASURE_FIELD_H
#define DW_WEB_MEASURE_FIELD_H

#include "base/quantity.h"
#include "web/page/page.h"
#include "web/server/request.h"

typedef struct {
    const DwQuantity *quantity;
    const char *value; // that stands in it
    bool known;        // from the book, and nobody changed it
    const char *wrong; // what is wrong with it, or NULL
    const char *list;  // the id of a <datalist> of names to choose from, or NULL
    const char *from;  // what the book has it from ("the arm's card"), or NULL
    const char *day;   // of that, or ""
    bool again;        // it stands on the page already: what is said of the quantity leads there
} DwMeasureField;

// The LENGTH letters at WORD, a choice of the catalogue ("loefgren_a"), as a person would write them. The caller frees
// them with free().
char *dw_measure_field_word(const char *word, size_t length);
// VALUE of QUANTITY as it stands in the field, beside which the quantity's own unit is written: without that unit
// ("3150.0" for "3150.0 Hz"); one with another unit, or of several lines, as it is line by line. The caller frees it
// with free().
char *dw_measure_field_bare(const DwQuantity *quantity, const char *value);
// Writes the field of one quantity: label, box or choice, unit, where its value is from, help.
void dw_measure_field_write(DwPage *page, const DwMeasureField *field);

#endif
