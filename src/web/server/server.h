// SPDX-License-Identifier: MIT
// Answers requests from a book. On loopback by default; beyond it a password is needed.
#ifndef DW_WEB_SERVER_H
#define DW_WEB_SERVER_H

#include "base/status.h"

#include <stdbool.h>

typedef struct {
    const char *book;        // the job book's folder
    const char *address;     // IPv4 to listen at; NULL is 127.0.0.1
    unsigned port;           // 0 takes any that is free
    const char *name;        // a further host name by which devices know this computer, or NULL
    const char *certificate; // PEM files of the shop's own certificate and its key, or NULL both
    const char *key;
} DwServerSettings;

typedef struct DwServer DwServer;
typedef struct DwSite DwSite;

// Opens the book once, to see that it can be, and begins to answer as SITE says, which
// lasts until the server was stopped. A listening
// address beyond loopback without a password set, a port that is taken, a
// certificate that cannot be read: DW_BAD_INPUT or DW_FAILED with one line. The
// caller ends it with dw_server_stop().
DwStatus dw_server_start(const DwServerSettings *settings, const DwSite *site, DwServer **server, DwMessage *message);
// Finishes what is being answered, then ends. SERVER may be NULL.
void dw_server_stop(DwServer *server);

// Where it is at this computer, such as "http://127.0.0.1:8710/". Valid until SERVER is stopped.
const char *dw_server_url(const DwServer *server);
// The same for other devices, such as "http://192.168.1.20:8710"; NULL when none can reach it.
const char *dw_server_outside(const DwServer *server);

#endif
