// SPDX-License-Identifier: MIT
// How often a password may be tried: a few times at once, then after a pause
// that doubles with each wrong one. Each who tries is counted alone: whatever the
// others do, who has not been wrong is looked at. When many are wrong, fewer
// wrong ones are free.
//
//     unsigned wait = dw_limit_try(&limit, who, now);
//     if (wait == 0 && the password is right)
//         dw_limit_pardon(&limit, who);
#ifndef DW_WEB_LIMIT_H
#define DW_WEB_LIMIT_H

#include <stddef.h>
#include <stdint.h>

enum {
    DW_LIMIT_FREE = 4,         // wrong ones without a pause: mistyping is no attack
    DW_LIMIT_FREE_ALARM = 1,   // the same while somebody is guessing
    DW_LIMIT_ALARM = 40,       // wrong ones of all together from which on somebody is
    DW_LIMIT_LONGEST = 900,    // seconds; a pause
    DW_LIMIT_FORGOTTEN = 3600, // seconds without a try, after which one begins anew
    DW_LIMIT_KNOWN = 4096,     // who are counted at once; of more the one that tried longest ago is forgotten
};

typedef struct {
    uint64_t who;
    unsigned wrong;   // in a row; 0: the slot is free
    int64_t tried_at; // seconds
    int64_t open_at;  // the next try is looked at from then on
} DwTryLimitEntry;

// Start it with {0}.
typedef struct {
    DwTryLimitEntry entries[DW_LIMIT_KNOWN];
    unsigned wrong; // of all; begins anew like one of them
    int64_t tried_at;
} DwTryLimit;

// Notes a try of WHO at the moment NOW (seconds of a clock that is never
// set back). Returned: 0 when the password may be looked at; the try counts as a
// wrong one until it is pardoned. Else the seconds to wait, and nothing counts.
unsigned dw_limit_try(DwTryLimit *limit, uint64_t who, int64_t now);
// The password was right.
void dw_limit_pardon(DwTryLimit *limit, uint64_t who);

#endif
