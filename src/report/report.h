// SPDX-License-Identifier: MIT
// The papers that go with a deck, as PDF.
#ifndef DW_REPORT_REPORT_H
#define DW_REPORT_REPORT_H

#include "book/book.h"

// What is printed on, and whose words.
typedef struct {
    const char *paper;       // "a4" or "letter"; NULL for what the shop's settings say
    const char *words;       // a file of the shop's own texts, or NULL
    const char *data_folder; // where data/words is
} DwReportOptions;

// Writes the paper called NAME ("receipt", "estimate", "service", "invoice", "label" or
// "transport") of JOB ("42") to PATH, which appears whole or not at all.
DwStatus dw_report_write(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                         const char *path, DwMessage *message);

#endif
