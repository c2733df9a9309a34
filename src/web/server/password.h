// SPDX-License-Identifier: MIT
// The shop's one password, which a device shows once. The book keeps its
// Argon2id hash (RFC 9106, by libsodium), never the password.
#ifndef DW_WEB_PASSWORD_H
#define DW_WEB_PASSWORD_H

#include "book/store/book.h"

#include <stdbool.h>

enum {
    DW_PASSWORD_LEAST = 8,  // characters
    DW_PASSWORD_MOST = 256, // bytes
};

// Keeps PASSWORD as the book's. One too short or too long is DW_BAD_INPUT.
DwStatus dw_password_set(DwBook *book, const char *password, DwMessage *message);
// Whether the book has one.
bool dw_password_is_set(DwBook *book);
// Whether PASSWORD is the book's; false without one. Takes a tenth of a second
// and 64 MB, by design: one at a time, however many ask.
bool dw_password_matches(DwBook *book, const char *password);

#endif
