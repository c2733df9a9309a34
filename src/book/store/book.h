// SPDX-License-Identifier: MIT
// The job book: a folder (mode 0700) with one SQLite file, the attachments and
// the copies taken before a migration. Several programs may have it open at
// once; what a call reported as DW_OK is on the disk.
//
//     FOLDER/book.sqlite          all that is text and numbers
//     FOLDER/attachments/         photographs and documents, each with a row
//     FOLDER/before-migration/    the book as it was before a newer program changed its shape
//     FOLDER/lock                 who has the book (hold.h); once it is there, the folder is no new one
//     FOLDER/last-backup          where the last backup went
//     FOLDER/erased               which customers were erased (erased.c)
//
// Nothing but SQLite opens book.sqlite, book.sqlite-wal or book.sqlite-shm (hold.h says why).
#ifndef DW_BOOK_BOOK_H
#define DW_BOOK_BOOK_H

#include "base/status.h"
#include "book/store/moment.h"

#include <stdbool.h>

typedef struct DwBook DwBook;

// Opens the book in FOLDER, and makes it when there is nothing of one. An older
// book is copied aside and brought forward; a newer one is DW_BAD_INPUT with one
// line and is not touched, and so is what is left of a book whose database is not
// there, empty or something else. The caller frees *BOOK with dw_book_close().
DwStatus dw_book_open(const char *folder, DwBook **book, DwMessage *message);
// To be called with a book that was kept open unused: others may have changed what it had
// read. DW_FAILED when its files are no longer the ones it opened.
DwStatus dw_book_take_up(DwBook *book, DwMessage *message);
// Which files BOOK has open, as a line for dw_hold_tell(). The caller frees it with free().
char *dw_book_mark(const DwBook *book);
// *FOUND: whether there is a book in FOLDER to be opened. What is left of one is
// DW_BAD_INPUT as above.
DwStatus dw_book_find(const char *folder, bool *found, DwMessage *message);
void dw_book_close(DwBook *book);

// Who acts from now on, for the journal ("counter" until it is told).
void dw_book_set_actor(DwBook *book, const char *actor);
const char *dw_book_actor(const DwBook *book);
// Whether who acts sits elsewhere: then no field that is a path is set, be it by
// typing, by undoing or by filling in again. A path names something on this
// computer's disk, which the program would open or write to for somebody else.
void dw_book_set_away(DwBook *book, bool away);
// Lets the book believe that it is MOMENT; NULL gives it the clock back. For an
// invented shop with a past, and for tests.
void dw_book_set_now(DwBook *book, const char *moment);
void dw_book_now(const DwBook *book, char moment[DW_MOMENT_SIZE]);
// The day of the book's present moment.
void dw_book_today(const DwBook *book, char date[DW_DATE_SIZE]);
// Valid until the book is closed.
const char *dw_book_folder(const DwBook *book);

// Why BOOK can only be read, in a sentence (its disk is full, or may not be written to); NULL when it can be
// changed. Every change of one that cannot is refused with that sentence.
const char *dw_book_fixed(const DwBook *book);

// Several changes as one: all are kept, or none.
//
//     DwStatus status = dw_book_begin(book, message);
//     if (status != DW_OK)
//         return status;
//     status = … the changes, as long as each is DW_OK …
//     return dw_book_end(book, status, message);
//
// Begins may be nested; the outermost end decides, and one failure within undoes all.
DwStatus dw_book_begin(DwBook *book, DwMessage *message);
// Keeps the changes when STATUS is DW_OK, else undoes them and returns STATUS.
DwStatus dw_book_end(DwBook *book, DwStatus status, DwMessage *message);

#endif
