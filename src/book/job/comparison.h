// SPDX-License-Identifier: MIT
// As received against as left: the same reading at the same speed, on the same
// test record through the same chain (or with the same instrument). Where that
// does not hold, the pair says why and offers no change.
#ifndef DW_BOOK_COMPARISON_H
#define DW_BOOK_COMPARISON_H

#include "book/job/measurement.h"

// Whether the change can be told from the uncertainty of the two readings.
typedef enum {
    DW_CHANGE_UNKNOWN, // not comparable, or an uncertainty is not known
    DW_CHANGE_NONE,    // smaller than the two uncertainties together
    DW_CHANGE_REAL,
} DwChange;

typedef struct {
    DwReading *before; // NULL when it was not measured as received; owned by the comparison
    DwReading *after;  // NULL when it was not measured as left
    const DwMeasurement *before_from;
    const DwMeasurement *after_from;
    const char *arm; // whose of several it is, else ""; valid as long as the sheets
    bool comparable;
    char *reason; // why not, a sentence; "" when comparable
    DwChange change;
    double difference; // after − before in their unit; NAN when not comparable or words
} DwPair;

typedef struct {
    DwPair *pairs; // in the order in which the readings were first taken
    size_t count;
    DwRecords measurements; // what the pairs point into
    DwSheet **sheets;
} DwComparison;

// Holds the reading KEY of AFTER, as left (the sheet of measurement B), against
// that of BEFORE, as received (of A). The caller frees pair->reason with free().
void dw_comparison_of(const DwMeasurement *a, const DwSheet *before, const DwMeasurement *b, const DwSheet *after,
                      const char *key, DwPair *pair);

// Compares what stands on JOB. The caller frees it with dw_comparison_clear().
DwStatus dw_comparison_make(DwBook *book, int64_t job, DwComparison *comparison, DwMessage *message);
void dw_comparison_clear(DwComparison *comparison);

#endif
