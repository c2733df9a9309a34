// SPDX-License-Identifier: MIT
// Who works in the shop: a name, a mark that needs no colour, and what each may do. The list is a setting
// ("people.list"), so that the journal has each change of it. What a person did stays under their name.
#ifndef DW_BOOK_PEOPLE_H
#define DW_BOOK_PEOPLE_H

#include "book/shop/setting_check.h"

// Each may also do what those before may.
typedef enum {
    DW_RIGHT_COUNTER,    // takes in, talks to owners, takes payments, hands over
    DW_RIGHT_TECHNICIAN, // measures and works
    DW_RIGHT_OWNER,      // changes the shop itself
} DwRight;

enum { DW_PEOPLE_MOST = 24, DW_PEOPLE_MARKS = 12, DW_PERSON_NAME = 61 };

typedef struct DwPerson {
    char name[DW_PERSON_NAME];
    DwRight right;
    unsigned mark; // 1 to DW_PEOPLE_MARKS
} DwPerson;

typedef struct DwPeople {
    DwPerson list[DW_PEOPLE_MOST];
    size_t count;
} DwPeople;

// "counter", "technician", "owner"; "" past the last.
const char *dw_right_word(DwRight right);

// The people of the book; none where no list was made.
void dw_people_read(DwBook *book, DwPeople *people);
// Keeps the list. A name twice or with a bar in it, and a list in which nobody is an owner, are DW_BAD_INPUT.
DwStatus dw_people_keep(DwBook *book, const DwPeople *people, DwMessage *message);
// The person called NAME, or NULL. Valid as long as PEOPLE.
const DwPerson *dw_people_find(const DwPeople *people, const char *name);
// The first mark that nobody has, else 1.
unsigned dw_people_free_mark(const DwPeople *people);

// One a line: "Ines | owner | 3".
DwSettingCheck dw_people_check;

#endif
