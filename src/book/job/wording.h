// SPDX-License-Identifier: MIT
// Words of a job's papers that were edited for this one job: they stand before
// the shop's own and the program's, so that the paper says the same whenever it
// is printed again.
#ifndef DW_BOOK_WORDING_H
#define DW_BOOK_WORDING_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    int64_t job_id;
    char *paper;  // "service", "notice" …
    char *key;    // the text's name in the catalogue of words, with its group: "service.remark"
    char *locale; // the language it is written in, as in the setting paper.language
    char *text;
} DwWording;

extern const DwEntity dw_wording_entity;

// Keeps TEXT for KEY on the PAPER of JOB in LOCALE, in place of an earlier edit.
// An empty paper, key or text is DW_BAD_INPUT.
DwStatus dw_wording_set(DwBook *book, int64_t job, const char *paper, const char *key, const char *locale,
                        const char *text, DwMessage *message);
// Takes the edit out: the paper says again what it said before. None is DW_BAD_INPUT.
DwStatus dw_wording_drop(DwBook *book, int64_t job, const char *paper, const char *key, const char *locale,
                         DwMessage *message);
// The edits of JOB in the order in which they were made. The caller frees them with dw_records_clear().
DwStatus dw_wording_of_job(DwBook *book, int64_t job, DwRecords *wordings, DwMessage *message);
// Whether WORDING says something: what was erased with its customer does not.
bool dw_wording_stands(const DwWording *wording);

#endif
