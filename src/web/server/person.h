// SPDX-License-Identifier: MIT
// Who is at work on a device: a person of the shop's list, chosen there (/who). What is done is noted under their name,
// and what is not theirs to do is refused. Without a list, and for who has not said, a device's name stands as before.
#ifndef DW_WEB_PERSON_H
#define DW_WEB_PERSON_H

#include "book/shop/people.h"
#include "web/server/request.h"
#include "web/server/route.h"

// Finds who is at work by what REQUEST's browser shows, and has the book note it.
void dw_person_look(DwWebRequest *request);
// Has the book note DEVICE, as long as nobody is at work on it. Where people are listed it is told to be a device, so
// that no name that somebody gave one passes for a person's.
void dw_person_name_device(const DwWebRequest *request, const char *device);
// Whether they may do what ROUTE does; else REFUSAL says whose it is.
bool dw_person_may(const DwWebRequest *request, const DwWebRoute *route, DwAnswer *refusal);
// Has ANSWER say that PERSON works on this device from now on, as long as their right stays what it is; NULL for
// nobody.
void dw_person_choose(const DwWebRequest *request, const DwPerson *person, DwAnswer *answer);
// The same person still does.
void dw_person_renew(const DwWebRequest *request, DwAnswer *answer);

#endif
