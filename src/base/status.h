// SPDX-License-Identifier: MIT
// How a call tells its caller that it could not do what was asked.
#ifndef DW_BASE_STATUS_H
#define DW_BASE_STATUS_H

#include <stdbool.h>
#include <stddef.h>

// Trouble from the outside world. A bad call by the program itself is an
// assertion; a bad signal is a reading with flags; neither is a status.
typedef enum {
    DW_OK = 0,
    DW_FAILED,    // the operation failed (disk, device); the program exits 1
    DW_BAD_INPUT, // what the user gave cannot be used; the program exits 2
} DwStatus;

// One line for the user that says what is wrong and what to do about it. Of one that is too long the middle is left
// out.
typedef struct {
    char text[600];
    char said[600]; // the same in the language of the program's user (base/tongue.h), "" for English
} DwMessage;

// The line as the program's user reads it. Valid as long as MESSAGE.
const char *dw_message_said(const DwMessage *message);

// A line as dw_fail() is given it, which speaks of the command line, and what a page says in its place. PAGE numbers
// the places of LINE ("%2$s") and leaves out what is no reader's business ("%3$.0s").
typedef struct {
    const char *line, *page;
} DwPageLine;

// From here on dw_message_said() speaks to readers of pages: LINES, the last of them {0}, are said in their words,
// units have their signs and choices are named in the reader's language. Call it before any thread writes; LINES last
// as long as the program runs. NULL is the command line again.
void dw_message_for_pages(const DwPageLine *lines);
bool dw_message_is_for_pages(void);

// Writes the line into MESSAGE (which may be NULL) and returns STATUS, so that
// a failing call reads `return dw_fail(message, DW_BAD_INPUT, "...", ...);`.
DwStatus dw_fail(DwMessage *message, DwStatus status, const char *format, ...) __attribute__((format(printf, 3, 4)));

#endif
