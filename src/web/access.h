// SPDX-License-Identifier: MIT
// Who may come in. A browser on this computer needs nothing; any other device
// shows the shop's password once and is paired: it holds a random token in a
// cookie, the book holds the token's hash, and it can be sent away again.
// Each form carries a seal made from the session's token, which no other site
// can know.
#ifndef DW_WEB_ACCESS_H
#define DW_WEB_ACCESS_H

#include "web/visit.h"

typedef struct DwAccess DwAccess;

// Draws the key of the seals, which lasts as long as the server runs.
DwStatus dw_access_new(DwAccess **access, DwMessage *message);
void dw_access_free(DwAccess *access);

// A new random token, 64 hexadecimal digits.
void dw_access_token(char token[65]);
// The seal of the session that holds TOKEN.
void dw_access_seal(const DwAccess *access, const char *token, char seal[65]);
// Whether GIVEN is that seal, in constant time.
bool dw_access_sealed(const DwAccess *access, const char *token, const char *given);

#endif
