// SPDX-License-Identifier: MIT
// What is answered to a request: a value, sent when all is said.
#ifndef DW_WEB_ANSWER_H
#define DW_WEB_ANSWER_H

#include "web/server/pairs.h"

#include <stdbool.h>

// Start it with {0}; dw_answer_clear() frees what it holds.
typedef struct {
    unsigned status; // HTTP's; 0 is 200
    DwPairs headers;
    char *bytes; // NULL: an empty body
    size_t length;
} DwAnswer;

// Frees what it holds; it says nothing then.
void dw_answer_clear(DwAnswer *answer);
// Makes it the answer STATUS with LENGTH bytes, whatever it said before. Takes ownership of BYTES.
void dw_answer_body(DwAnswer *answer, unsigned status, char *bytes, size_t length);
// A copy of FROM, which the caller clears.
DwAnswer dw_answer_copy(const DwAnswer *from);
// Gives the browser a cookie that no script reads and no other site sends. SECONDS 0
// is until the browser ends; SECURE only over TLS.
void dw_answer_cookie(DwAnswer *answer, const char *name, const char *value, unsigned seconds, bool secure);

#endif
