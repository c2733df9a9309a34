// SPDX-License-Identifier: MIT
// Who may come in. A browser on this computer needs nothing; any other device
// shows the shop's password once, or a code from a screen that is known already,
// and is paired: it holds a random token in a cookie, the book holds the token's
// hash, and it can be sent away again. Each form carries a form token made from the
// session's token, which no other site can know.
#ifndef DW_WEB_ACCESS_H
#define DW_WEB_ACCESS_H

#include "book/store/book.h"

#include <stdint.h>

typedef struct DwAccess DwAccess;

// Draws the key of the form tokens, which lasts as long as the server runs.
DwStatus dw_access_new(DwAccess **access, DwMessage *message);
void dw_access_free(DwAccess *access);

// A new random token, 64 hexadecimal digits.
void dw_access_token(char token[65]);
// What the book keeps of TOKEN: its BLAKE2b hash, hexadecimal. A random token
// needs no slow hash, there is nothing to guess.
void dw_access_hash(const char *token, char hash[65]);
// The form token of the session that holds TOKEN.
void dw_access_form_token(const DwAccess *access, const char *token, char form_token[65]);
// Whether GIVEN is that form_token, in constant time.
bool dw_access_fits_form(const DwAccess *access, const char *token, const char *given);

// The word in a one-time address by which a device is paired, and how long it holds.
enum { DW_ACCESS_CODE_SIZE = 33, DW_ACCESS_CODE_SECONDS = 600, DW_ACCESS_CODES = 32, DW_ACCESS_TARGET = 96 };

// Draws a code that holds ten minutes and is forgotten when the server ends. The
// device is shown TARGET after it was paired. Of more than DW_ACCESS_CODES the
// oldest no longer holds.
void dw_access_code_new(DwAccess *access, const char *target, char code[DW_ACCESS_CODE_SIZE]);
// Whether CODE holds, and its target.
bool dw_access_code_holds(DwAccess *access, const char *code, char target[DW_ACCESS_TARGET]);
// The same, and it never holds again.
bool dw_access_code_use(DwAccess *access, const char *code, char target[DW_ACCESS_TARGET]);

// Locks the session of TOKEN to the page ADDRESS ("/job/0012/sign?at=intake") and what lies below it,
// until it is unlocked or the server ends. False when too many are locked, or the address is too long.
bool dw_access_lock(DwAccess *access, const char *token, const char *address);
void dw_access_unlock(DwAccess *access, const char *token);
// Whether it is locked, and to which page.
bool dw_access_locked(DwAccess *access, const char *token, char address[DW_ACCESS_TARGET]);

// One try of the shop's password by WHO (dw_gate_who()). Returned: the seconds to
// wait (nothing was looked at), or 0 and whether it was right in *RIGHT.
unsigned dw_access_try(DwAccess *access, DwBook *book, uint64_t who, const char *password, bool *right);

#endif
