// SPDX-License-Identifier: MIT
// Tells the shop's network by which name the bench is found, through Avahi where that runs (RFC 6762, RFC 6763).
#ifndef DW_WEB_ANNOUNCE_H
#define DW_WEB_ANNOUNCE_H

#include <stdbool.h>

typedef struct DwAnnounce DwAnnounce;

enum { DW_ANNOUNCE_HOST = 256 };

// Offers the bench called NAME at PORT of this computer, by TLS or not, as long as it lasts; Avahi may come and go
// meanwhile. NULL where the system has none at all. The caller ends it with dw_announce_free(), which takes NULL too.
DwAnnounce *dw_announce_new(const char *name, unsigned port, bool secure);
void dw_announce_free(DwAnnounce *announce);
// Whether it is told just now; then the computer's name in the network ("bench.local").
bool dw_announce_host(DwAnnounce *announce, char host[DW_ANNOUNCE_HOST]);

#endif
