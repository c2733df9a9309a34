// SPDX-License-Identifier: MIT
// The marks of the people at the bench, each beside its name.
#ifndef DW_WEB_PERSON_MARK_H
#define DW_WEB_PERSON_MARK_H

#include "book/shop/people.h"
#include "web/page/html.h"

// What MARK is called. Valid for ever.
const char *dw_person_mark_words(unsigned mark);
// Draws MARK; its name stands beside it.
void dw_person_mark_write(DwHtml *html, unsigned mark);
// NAME, of whoever did something, with the mark of that person of PEOPLE if it is one.
void dw_person_write(DwHtml *html, const DwPeople *people, const char *name);

#endif
