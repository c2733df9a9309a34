// SPDX-License-Identifier: MIT
// What the door's pages ask of the gate, through which every request comes.
#ifndef DW_WEB_GATE_H
#define DW_WEB_GATE_H

#include "web/server/access.h"
#include "web/server/request.h"

// Pairs the device that sends REQUEST by the name NAME: the answer gives it its session
// and sends it to PLACE.
DwAnswer dw_gate_pair(const DwWebRequest *request, const char *name, const char *place);
// The keys of the door: codes and tries of the password. Valid as long as the server.
DwAccess *dw_gate_access(const DwWebRequest *request);
// By whom a try of the password is counted: a paired device by itself, whoever else
// has its address, and a stranger by the address.
uint64_t dw_gate_who(const DwWebRequest *request);
// Whether PATH is one of our pages, as a place to go to after something else.
bool dw_gate_is_page(const DwWebRequest *request, const char *path);
// Whether a screen may be locked to ADDRESS, "/job/0012/sign?at=intake": a page of ours, and at most the part of it.
bool dw_gate_may_be_shown(const DwWebRequest *request, const char *address);
// Locks the session to ADDRESS, and has ANSWER tell its browser so. False, and nothing done, where it may not be shown
// or too many are locked.
bool dw_gate_lock(const DwWebRequest *request, const char *address, DwAnswer *answer);
void dw_gate_unlock(const DwWebRequest *request, DwAnswer *answer);
// Whether it is locked, and to which PAGE.
bool dw_gate_locked(const DwWebRequest *request, char page[DW_ACCESS_TARGET]);
// The first part of an address by which another device can reach the bench: for one
// that came from elsewhere the same by which it came. NULL when none can. The caller
// frees it with free().
char *dw_gate_outside(const DwWebRequest *request);
// The same by the name under which the shop's network knows the bench; NULL where it knows none. Free as before.
char *dw_gate_called(const DwWebRequest *request);

#endif
