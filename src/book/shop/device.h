// SPDX-License-Identifier: MIT
// Screens that are paired with the book: a tablet at the bench, a telephone at
// the counter. The book holds only the hash of the key that a screen carries, and
// shows and exports not even that.
#ifndef DW_BOOK_DEVICE_H
#define DW_BOOK_DEVICE_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    char *name;
    char *token_hash; // hexadecimal, of a key drawn at random
    char *paired_at;
    char *last_seen_at; // NULL when it never came
    char *revoked_at;   // NULL as long as it may come
} DwDevice;

extern const DwEntity dw_device_entity;

// Pairs the screen called NAME whose key has the hash TOKEN_HASH. *ID may be NULL.
DwStatus dw_device_add(DwBook *book, const char *name, const char *token_hash, int64_t *id, DwMessage *message);
// The screen whose key has that hash, into an initialised record; none, or one that
// was revoked, is DW_BAD_INPUT.
DwStatus dw_device_find_by_hash(DwBook *book, const char *token_hash, DwDevice *device, DwMessage *message);
// The screens that may come, oldest first. The caller frees them with dw_records_clear().
DwStatus dw_device_list(DwBook *book, DwRecords *devices, DwMessage *message);
// Shuts the screen out for good. Shutting it out twice is DW_BAD_INPUT.
DwStatus dw_device_revoke(DwBook *book, int64_t device, DwMessage *message);
// Notes that the screen came by. Not journalled, and written at most once a minute:
// a page that refreshes itself would else keep the book busy.
DwStatus dw_device_seen(DwBook *book, int64_t device, DwMessage *message);

#endif
