// SPDX-License-Identifier: MIT
// What an operation usually takes: the shop's own minutes once there are enough of
// them, else the list of data/operations.ini, which a technician may edit.
#ifndef DW_BOOK_MINUTES_H
#define DW_BOOK_MINUTES_H

#include "book/shop/deck.h"

// The shop's own minutes count from so many times on.
enum { DW_MINUTES_TIMES = 3 };

// One operation of the list; 0 minutes where it has none for a drive.
typedef struct {
    char *name;
    struct {
        int64_t least, most;
    } drives[DW_DECK_DRIVE_OTHER + 1], automatic; // by DwDeckDrive; what an automatic deck adds
    char *source;
} DwMinutesWork;

typedef struct {
    DwMinutesWork *works;
    size_t count;
} DwMinutesList;

// Reads the list at PATH. Minutes that are no whole numbers, or an operation without
// a source, are DW_BAD_INPUT. The caller clears it with dw_minutes_list_clear().
DwStatus dw_minutes_list_read(const char *path, DwMinutesList *list, DwMessage *message);
void dw_minutes_list_clear(DwMinutesList *list);
// The operation whose words are all in NAME, in any order and whatever their case; of
// several the one with the most words. NULL when there is none.
const DwMinutesWork *dw_minutes_list_find(const DwMinutesList *list, const char *name);

// What is offered for an operation on one deck.
typedef struct {
    int64_t minutes; // 0 when nothing is known
    int64_t least, most;
    int64_t times; // of the shop's own that it is the mean of; 0 when it comes from the list
    char *source;  // "" for the shop's own
} DwMinutesOffer;

// The minutes to offer for NAME on DECK (0: none known, which gives only the shop's own).
// The middle of a range is rounded up to five minutes. The caller frees offer->source.
DwStatus dw_minutes_offer(DwBook *book, const DwMinutesList *list, const char *name, int64_t deck,
                          DwMinutesOffer *offer, DwMessage *message);

#endif
