// SPDX-License-Identifier: MIT
// A form acts once. Each page's forms carry a word drawn for that page; what comes
// a second time with the same word and the same fields is the same tap or a repeat
// over a bad connection, and is answered as the first was. Other words in the
// fields are another act. What was refused may be tried again.
#ifndef DW_WEB_ONCE_H
#define DW_WEB_ONCE_H

#include "web/server/answer.h"

#include <stdbool.h>

typedef struct DwOnce DwOnce;

enum { DW_ONCE_KEY = 32, DW_ONCE_ACTS = 512, DW_ONCE_BYTES = 16 << 20 }; // the newest are remembered

typedef struct {
    unsigned char bytes[DW_ONCE_KEY]; // a hash of all that makes an act this one
} DwOnceKey;

// No act was answered yet. The caller frees it with dw_once_free().
DwOnce *dw_once_new(void);
// Nobody may be waiting any more.
void dw_once_free(DwOnce *once);

// Whether the act KEY was answered already; then the same in ANSWER, which the caller
// clears. While another thread is at it, waits for that. False: it is the caller's
// to do now, who says so with dw_once_end().
bool dw_once_begin(DwOnce *once, const DwOnceKey *key, DwAnswer *answer);
// It was answered so. A refusal (400 and above) is forgotten.
void dw_once_end(DwOnce *once, const DwOnceKey *key, const DwAnswer *answer);

#endif
