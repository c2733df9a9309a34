// SPDX-License-Identifier: MIT
// The shop's logo, which belongs to the book: backups, exports and restores hold it.
#ifndef DW_BOOK_LOGO_H
#define DW_BOOK_LOGO_H

#include "book/store/attachment.h"

// Takes the PNG or JPEG file at PATH into the book as the logo, an attachment of no job called CAPTION, and lets the
// one before it go; "" takes the logo away. Anything else is DW_BAD_INPUT.
DwStatus dw_logo_set(DwBook *book, const char *path, const char *caption, DwMessage *message);
// Loads the logo into an initialised LOGO; false when the setting is empty or is a path that was set otherwise.
bool dw_logo_find(DwBook *book, DwAttachment *logo);

#endif
