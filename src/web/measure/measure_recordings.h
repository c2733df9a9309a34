// SPDX-License-Identifier: MIT
// The recordings of a procedure's form: sent with it, or kept on the job before.
#ifndef DW_WEB_MEASURE_RECORDINGS_H
#define DW_WEB_MEASURE_RECORDINGS_H

#include "web/measure/measure_form.h"
#include "web/page/page.h"

enum { DW_MEASURE_RECORDINGS_MOST = 8 };

// Where each lies, and what people call it.
typedef struct {
    char *paths[DW_MEASURE_RECORDINGS_MOST + 1];
    char *names[DW_MEASURE_RECORDINGS_MOST + 1];
    bool sent[DW_MEASURE_RECORDINGS_MOST + 1]; // with this form, not kept before
    size_t count;
    size_t others; // past the last: files that are no recordings and have names too
} DwMeasureRecordings;

// Writes the fields that take them.
void dw_measure_recordings_write(DwPage *page, const DwMeasureForm *form);
// Finds what was sent or chosen; on false FORM says what is wrong. Clear it in either case.
bool dw_measure_recordings_find(const DwWebRequest *request, DwMeasureForm *form, DwMeasureRecordings *recordings);
void dw_measure_recordings_clear(DwMeasureRecordings *recordings);
// Has RECORDINGS also know the name of another file that lies at PATH.
void dw_measure_recordings_know(DwMeasureRecordings *recordings, const char *path, const char *name);
// Puts the names of the files where SHEET says where they lie.
void dw_measure_recordings_name(const DwMeasureRecordings *recordings, DwSheet *sheet);
// The same in a line of words.
void dw_measure_recordings_name_in(const DwMeasureRecordings *recordings, char **words);
// Keeps the recording at PATH on the form's job under NAME.
DwStatus dw_measure_recordings_keep_one(const DwWebRequest *request, const DwMeasureForm *form, const char *path,
                                        const char *name, DwMessage *message);
// Keeps those that were sent on the form's job, where that is asked for or, after a measurement that FAILED,
// can be done: nobody need send them again. *KEPT is how many.
DwStatus dw_measure_recordings_keep(const DwWebRequest *request, const DwMeasureForm *form,
                                    const DwMeasureRecordings *recordings, bool failed, size_t *kept,
                                    DwMessage *message);

#endif
