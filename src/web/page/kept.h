// SPDX-License-Identifier: MIT
// What is said after something was kept: that it was, and the way to undo it.
#ifndef DW_WEB_KEPT_H
#define DW_WEB_KEPT_H

#include "book/store/journal.h"
#include "web/page/page.h"
#include "web/server/request.h"

typedef enum {
    DW_KEPT_CHANGED,
    DW_KEPT_SAME, // nothing differed
    DW_KEPT_ADDED,
    DW_KEPT_REMOVED,
    DW_KEPT_UNDONE,
    DW_KEPT_MERGED,
    DW_KEPT_PARTED, // a merging was undone; the span is its line
} DwKeptWhat;

typedef struct {
    DwKeptWhat what;
    const char *path;   // the page a plain form goes to
    const char *anchor; // in it, or NULL
    DwJournalSpan span; // what can be undone
    int64_t revision;   // of the record now, 0 when it plays no part
} DwKept;

// The answer: a page's script gets words, undo and revision; a plain form goes to the page, which says them.
DwAnswer dw_kept_answer(const DwWebRequest *request, const DwKept *kept);
// Keeps a changed RECORD and says so. Words of the book's when it cannot be kept.
DwAnswer dw_kept_change(const DwWebRequest *request, DwRecord *record, const char *path, const char *anchor);
// Says it after a record was added or taken out; its journal line is the way to undo it, where there is one.
DwAnswer dw_kept_line(const DwWebRequest *request, const DwRecord *record, int64_t id, DwKeptWhat what,
                      const char *path, const char *anchor);
// Writes what the page's address says was kept, where the page has its one place for such words.
void dw_kept_write(DwPage *page);

#endif
