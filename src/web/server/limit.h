// SPDX-License-Identifier: MIT
// How often a password may be tried: a few times at once, then after a pause
// that doubles with each wrong one, for each address and for all together.
//
//     unsigned wait = dw_limit_try(&limit, address, now);
//     if (wait == 0 && the password is right)
//         dw_limit_pardon(&limit, address);
#ifndef DW_WEB_LIMIT_H
#define DW_WEB_LIMIT_H

#include <stddef.h>
#include <stdint.h>

enum {
    DW_LIMIT_FREE = 4,         // wrong ones of an address without a pause: mistyping is no attack
    DW_LIMIT_LONGEST = 900,    // seconds; the pause of one address
    DW_LIMIT_FREE_ALL = 40,    // of all addresses together
    DW_LIMIT_LONGEST_ALL = 30, // short: a stranger must not shut the shop out
    DW_LIMIT_FORGOTTEN = 3600, // seconds without a try, after which an address begins anew
    DW_LIMIT_ADDRESSES = 256,
};

typedef struct {
    uint32_t address;
    unsigned wrong;   // in a row; 0: the slot is free
    int64_t tried_at; // seconds
    int64_t open_at;  // the next try is looked at from then on
} DwLimitEntry;

// Start it with {0}.
typedef struct {
    DwLimitEntry entries[DW_LIMIT_ADDRESSES];
    DwLimitEntry all;
} DwLimit;

// Notes a try from ADDRESS at the moment NOW (seconds of a clock that is never
// set back). Returned: 0 when the password may be looked at; the try counts as a
// wrong one until it is pardoned. Else the seconds to wait, and nothing counts.
unsigned dw_limit_try(DwLimit *limit, uint32_t address, int64_t now);
// The password was right.
void dw_limit_pardon(DwLimit *limit, uint32_t address);

#endif
