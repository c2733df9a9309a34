// SPDX-License-Identifier: MIT
// What a device asks: the head of its request, then the body as it comes.
#ifndef DW_WEB_REQUEST_H
#define DW_WEB_REQUEST_H

#include "web/server/body.h"
#include "web/server/pairs.h"
#include "web/server/upload.h"

#include <microhttpd.h>
#include <stdint.h>

typedef struct DwServer DwServer;

typedef struct DwWebRequest {
    DwServer *server;
    uint32_t client; // the IPv4 address it came from; 0 for any other
    char *method;    // NULL until the head is there
    char *address;   // what was asked for, as it was sent
    char *path;      // the same before the '?'
    DwPairs query;   // what stands after it
    DwPairs parts;   // what stands in the path for a route's ":number"
    DwPairs headers;
    DwPairs cookies;
    DwBody *body; // of a POST, else NULL
    size_t received;
    bool admitted; // a known device sent it from a page of ours; asked when it matters
    bool stopped;  // nobody known sent it, and it is long
    DwUploadList uploads;
} DwWebRequest;

// A request for ADDRESS ("/job/12?open=1"). The caller ends it with dw_request_free().
DwWebRequest *dw_request_new(DwServer *server, const char *address);
void dw_request_free(DwWebRequest *request);

// Its head is there.
void dw_request_head(DwWebRequest *request, struct MHD_Connection *connection, const char *method);
// LENGTH bytes of its body came.
void dw_request_take(DwWebRequest *request, const char *bytes, size_t length);

// A header's value, "" without it. Valid as long as REQUEST.
const char *dw_request_header(const DwWebRequest *request, const char *name);

// Whether the parts of PATH are those of PATTERN; a part that begins with ':' is any
// text, which is added to PARTS by its name (PARTS may be NULL).
bool dw_request_fits(const char *path, const char *pattern, DwPairs *parts);

#endif
