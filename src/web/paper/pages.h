// SPDX-License-Identifier: MIT
// Papers and signatures.
#ifndef DW_WEB_PAPER_PAGES_H
#define DW_WEB_PAPER_PAGES_H

#include "book/job/intake.h"
#include "book/job/job.h"
#include "report/paper_words.h"
#include "web/server/route.h"

#include <stdbool.h>

extern const DwWebRoute dw_routes_papers[];
extern const DwWebRoute dw_routes_sign[];

// --- signing.c -----------------------------------------------------
// What is signed at intake and at hand-over, in the words of the papers, and what
// signing it changes in the book.

// A declaration to be ticked: a yes-or-no field of the intake or of the customer.
typedef struct {
    const char *key;
    char *words;
    bool set;
    bool of_customer;
} DwSigningTick;

typedef struct {
    const DwJob *job;
    const char *at; // "intake" or "handover"
    int phase;      // DwPhase
    char *person;   // whose deck it is
    char *lines[32];
    size_t line_count;
    char *terms;
    DwSigningTick ticks[8];
    size_t tick_count;
    DwIntake intake;
    DwCustomer customer;
    DwPaperWords *words;
} DwSigning;

// Reads into SIGNING what is signed AT a point of JOB. Another point, or an intake that
// was not written down, is DW_BAD_INPUT. Clear it either way with dw_signing_clear().
DwStatus dw_signing_read(DwBook *book, const DwJob *job, const char *at, DwSigning *signing, DwMessage *message);
void dw_signing_clear(DwSigning *signing);

// The drawn signature of FILE_BYTES bytes at PATH, which must be a small PNG. The caller
// frees *BYTES with free().
DwStatus dw_signing_read_drawn(const char *path, size_t file_bytes, char **bytes, size_t *length, DwMessage *message);
// A picture of a typed NAME that says so. The caller frees *BYTES with free().
DwStatus dw_signing_draw_typed(const char *name, char **bytes, size_t *length, DwMessage *message);

// Keeps the ticks, the signature of PERSON and a line of the consent log that repeats what
// was signed: all of it or nothing.
DwStatus dw_signing_keep(DwBook *book, DwSigning *signing, const char *person, bool drawn, const char *bytes,
                         size_t length, DwMessage *message);

#endif
