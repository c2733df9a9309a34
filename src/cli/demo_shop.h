// SPDX-License-Identifier: MIT
// The invented shop: a key file of what happened in it, played into a new book.
#ifndef DW_CLI_DEMO_SHOP_H
#define DW_CLI_DEMO_SHOP_H

#include "base/inputs.h"
#include "base/keyfile.h"
#include "book/store/record.h"

// One group of the file: "[kind label]" and its lines.
typedef struct {
    DwBook *book;
    const char *folder; // of the book: for recordings while they are measured
    const DwKeyfile *file;
    size_t from, to; // its lines
    char kind[32];
    const char *label;
    struct {
        char *label;
        int64_t id;
    } * named; // what later groups may call @label
    size_t named_count;
} DwDemoShop;

// Plays the file data/demo/shop.ini into BOOK, whose folder is FOLDER.
DwStatus dw_demo_shop_fill(DwBook *book, const char *folder, DwMessage *message);

// The value of KEY in the present group, or NULL.
const char *dw_demo_shop_value(const DwDemoShop *shop, const char *key);
// The number of the record that KEY names as @label; without KEY or such a label DW_BAD_INPUT.
DwStatus dw_demo_shop_reference(const DwDemoShop *shop, const char *key, int64_t *id, DwMessage *message);

// The groups "measure" (a procedure run on a recording that is made for it),
// "hand" (a reading by hand) and "picture".
DwStatus dw_demo_shop_measure(DwDemoShop *shop, DwMessage *message);
DwStatus dw_demo_shop_hand(DwDemoShop *shop, DwMessage *message);
DwStatus dw_demo_shop_picture(DwDemoShop *shop, DwMessage *message);

#endif
