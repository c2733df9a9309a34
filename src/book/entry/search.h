// SPDX-License-Identifier: MIT
// Search by words: names, telephone numbers, makes, models, serials, numbers of
// jobs and stock, and what was written of a job: the owner's words, findings,
// advice. Each word matches the beginnings of words, whatever their case
// and accents; all words must be found. A telephone number is found by its figures, however it is written, and an
// invoice's number finds its job. Where nothing is, the words that the book
// knows and that are most like the typed ones are looked for instead.
#ifndef DW_BOOK_SEARCH_H
#define DW_BOOK_SEARCH_H

#include "book/store/record.h"

typedef struct {
    const DwEntity *entity; // customer, deck, arm, cartridge, job or stock
    int64_t id;
    char *title; // "0042", "A. Sample", "Make Model serial" …
    char *detail;
} DwHit;

typedef struct {
    DwHit *hits; // jobs first, then customers, decks, the rest; the newest first
    size_t count;
    char *instead; // the words that were looked for in place of those typed, or NULL
} DwHits;

// At most MOST hits for WORDS. Nothing to look for gives no hits. The caller
// frees them with dw_hits_clear().
DwStatus dw_search_words(DwBook *book, const char *words, size_t most, DwHits *hits, DwMessage *message);
void dw_hits_clear(DwHits *hits);

#endif
