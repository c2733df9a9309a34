// SPDX-License-Identifier: MIT
// The papers that go with a deck, as PDF, and the words on them that are edited
// for one job.
#ifndef DW_REPORT_REPORT_H
#define DW_REPORT_REPORT_H

#include "book/store/book.h"

#include <stdbool.h>
#include <stddef.h>

// What is printed on, and whose words.
typedef struct {
    const char *paper;       // "a4" or "letter"; NULL for what the shop's settings say
    const char *words;       // a file of edits, which are kept on the job for this paper; or NULL
    const char *notice;      // of the notice: "ready", "reminder" …; NULL for the newest noted on the job
    const char *invoice;     // of the invoice: its id or its number; NULL for the newest given out on the job
    const char *data_folder; // where data/words is
    // Where the names of the pictures that could not be shown are put, parted by commas, NULL for none: the paper says
    // nothing of those that are gone. The caller frees them with free(). NULL not to be told.
    char **lost;
    bool *electronic; // where it is said whether the electronic form of an invoice went with it, or NULL
} DwReportOptions;

// Writes the paper called NAME ("receipt", "estimate", "service", "proof", "invoice",
// "label", "transport" or "notice") of JOB ("42") to PATH, which appears whole or not at all. The
// words edited for this job stand before the shop's own (setting paper.words), those before
// the program's.
DwStatus dw_report_write(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                         const char *path, DwMessage *message);

// The sentences of all papers one after another, each as a line "group.key = ANSWER to: question": it is printed where
// the book gives that answer. NULL past the last. The caller frees it with free().
char *dw_report_sentence(size_t index);

// A text that stands on a paper.
typedef struct {
    char *key; // "group.key"
    char *text;
    bool edited; // for this job
} DwReportText;

typedef struct {
    DwReportText *texts;
    size_t count;
} DwReportTexts;

// All texts that the paper of JOB uses, with the names in braces as yet unfilled. The
// caller frees them with dw_report_texts_clear().
DwStatus dw_report_texts(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                         DwReportTexts *texts, DwMessage *message);
void dw_report_texts_clear(DwReportTexts *texts);
// Keeps TEXT for KEY ("group.key") on the paper of JOB, in the language of the papers. A paper
// or key that there is not is DW_BAD_INPUT.
DwStatus dw_report_edit(DwBook *book, const char *name, const char *job, const DwReportOptions *options,
                        const char *key, const char *text, DwMessage *message);
// Takes the edit out again.
DwStatus dw_report_drop(DwBook *book, const char *name, const char *job, const char *key, DwMessage *message);

#endif
