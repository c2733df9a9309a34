// SPDX-License-Identifier: MIT
// A customer: what the shop must know to work for a person, and no more.
#ifndef DW_BOOK_CUSTOMER_H
#define DW_BOOK_CUSTOMER_H

#include "book/store/record.h"

typedef enum {
    DW_ROUTE_NOT_SAID,
    DW_ROUTE_TELEPHONE,
    DW_ROUTE_EMAIL,
    DW_ROUTE_MESSAGE,
    DW_ROUTE_LETTER,
    DW_ROUTE_COUNTER,
} DwRoute;

#define DW_ROUTE_WORDS "not said|telephone|email|message|letter|counter"

// The languages that the papers come in.
typedef enum {
    DW_LANGUAGE_OF_SHOP,
    DW_LANGUAGE_ENGLISH,
    DW_LANGUAGE_GERMAN,
    DW_LANGUAGE_FRENCH,
    DW_LANGUAGE_SPANISH,
} DwLanguage;

#define DW_LANGUAGE_WORDS "as the shop|English|German|French|Spanish"

typedef struct {
    DwRecord record;
    char *name;
    char *phone;
    char *email;
    char *address;
    char *country;       // of ISO 3166-1; "" for the shop's own
    int route;           // DwRoute, how they want to be told
    int language;        // DwLanguage, in which they are written to
    char *may_collect;   // who else may collect
    bool keep_photos;    // beyond the warranty
    bool publish_photos; // separate consent
    bool marketing;      // may be written to about anything but the job
    char *note;
    char *erased_on; // when the person's data was erased
} DwCustomer;

extern const DwEntity dw_customer_entity;

// The tag of LANGUAGE, "de"; "" for the shop's own.
const char *dw_customer_language_tag(DwLanguage language);

#endif
