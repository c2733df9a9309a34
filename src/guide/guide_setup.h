// SPDX-License-Identifier: MIT
// The settings of a deck in the order in which they depend on one another, and
// what must be looked at again when one of them was changed, and why.
#ifndef DW_GUIDE_GUIDE_SETUP_H
#define DW_GUIDE_GUIDE_SETUP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct {
    const char *key;       // of the catalogue (arm.overhang …) or "setup.…"
    const char *label;     // in the words of the bench
    const char *help;      // what it is measured with, one sentence
    const char *unit;      // what a bare number is in; "" for words
    const char *procedure; // that measures or computes it, or NULL
} DwGuideSetting;

// Changing FROM makes TO doubtful.
typedef struct {
    const char *from, *to; // keys
    const char *why;       // one plain sentence
    const char *source;
    bool back; // TO stands earlier in the order: the two are set in turns, roughly and then finely
} DwGuideBearing;

// When a setting was last changed and last looked at, as counts that grow (0:
// never). To look is also to find that it is still so; a change is a look too.
typedef struct {
    int64_t changed, seen;
} DwGuideTimes;

// The settings in their order, NULL past the last; and the place of KEY in it, or -1.
const DwGuideSetting *dw_guide_setup_at(size_t index);
size_t dw_guide_setup_count(void);
int dw_guide_setup_find(const char *key);
// What bears upon what, NULL past the last.
const DwGuideBearing *dw_guide_setup_bearing_at(size_t index);

// Why setting INDEX is doubtful: the bearing whose `from` was changed last of
// those changed after INDEX was seen; NULL when there is none, or when INDEX was
// never seen. TIMES has a place for each setting, in their order.
const DwGuideBearing *dw_guide_setup_stale(const DwGuideTimes *times, size_t index);

#endif
