// SPDX-License-Identifier: MIT
// Who has the book: a lock on FOLDER/lock, a file that nothing else is done to and
// that is never removed. Each open book shares it; what needs the book alone (making
// it, bringing it forward, putting a backup in its place, moving files) takes it
// alone; a bench also marks itself in it, and there is one at most. A lock ends with
// its program, however that ends.
//
// The lock is never on book.sqlite: closing any descriptor of that file would drop all
// locks that this process holds on it, SQLite's too (sqlite.org/howtocorrupt.html, 2.2).
#ifndef DW_BOOK_HOLD_H
#define DW_BOOK_HOLD_H

#include "base/status.h"

#include <stdbool.h>

typedef struct DwHold DwHold;

enum { DW_HOLD_TEXT = 400 };

// How often a command that has the book is waited for, and how many milliseconds each time.
enum { DW_HOLD_TRIES = 200, DW_HOLD_PAUSE = 50 };

// Shares the book in FOLDER, which is there; waits for whoever has it alone. The caller ends it with dw_hold_end().
DwStatus dw_hold_share(const char *folder, DwHold **hold, DwMessage *message);
// Shares it without writing anything, on a disk that takes nothing; NULL where there is no lock to share.
DwHold *dw_hold_share_as_it_is(const char *folder);
// Takes it alone for ACT ("restore it"). Waits for commands; a running bench, or a command that
// goes on, is DW_BAD_INPUT with a line that says who has it.
DwStatus dw_hold_alone(const char *folder, const char *act, DwHold **hold, DwMessage *message);
// The same without waiting for anybody.
DwStatus dw_hold_alone_now(const char *folder, const char *act, DwHold **hold, DwMessage *message);
// Marks the bench of FOLDER (on a disk that can only be read it has no mark: *HOLD is NULL); a second one is
// DW_BAD_INPUT with the first one's address.
DwStatus dw_hold_bench(const char *folder, DwHold **hold, DwMessage *message);
// Says where the bench is ("http://127.0.0.1:8710/"), and by a MARK which files it has open; NULL for none.
// HOLD may be NULL.
void dw_hold_tell(DwHold *hold, const char *place, const char *mark);
// Whether a bench has the book in FOLDER: WHERE gets what people are told of it, MARK (which may be NULL) its mark.
bool dw_hold_find_bench(const char *folder, char where[DW_HOLD_TEXT], char mark[DW_HOLD_TEXT]);
// Takes a shared one alone if nobody else shares it, without waiting; and gives that back.
bool dw_hold_try_alone(DwHold *hold);
void dw_hold_share_again(DwHold *hold);
// HOLD may be NULL.
void dw_hold_end(DwHold *hold);

// Notes in the file that there is a whole book: without it the folder is never taken for a new one again.
void dw_hold_note_book(DwHold *hold);

#endif
