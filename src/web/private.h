// SPDX-License-Identifier: MIT
// What the pages share behind the server's face: the server itself, the routes.
#ifndef DW_WEB_PRIVATE_H
#define DW_WEB_PRIVATE_H

#include "web/access.h"
#include "web/result.h"
#include "web/server.h"
#include "web/upload.h"
#include "web/visit.h"

#include <netinet/in.h>
#include <pthread.h>
#include <ulfius.h>

enum { DW_BOOKS_KEPT = 8 };

struct DwServer {
    struct _u_instance instance;
    struct sockaddr_in place; // where it listens
    char *folder; // of the book
    char *url;
    bool ready;    // the instance is to be cleaned
    void *bounds;  // what Ulfius hands back: a route and this server, each
    bool secure;   // TLS
    bool loopback; // listens on loopback alone
    DwAccess *access;
    DwUploads *uploads;
    DwResults *results;
    char *hosts[4]; // what a Host header may say, "name:port"; NULL last
    pthread_mutex_t books_lock;
    DwBook *books[DW_BOOKS_KEPT]; // handles nobody is using
    size_t book_count;
};

// A page or an act: what answers METHOD on PATTERN (Ulfius's: "/job/:number").
typedef struct {
    const char *method;
    const char *pattern;
    void (*answer)(DwVisit *visit);
    bool open; // answered to devices that have not shown who they are
} DwWebRoute;

// One table a file of pages; the last row has no method.
extern const DwWebRoute dw_routes_board[];
extern const DwWebRoute dw_routes_access[];
extern const DwWebRoute dw_routes_asset[];
extern const DwWebRoute dw_routes_measure[];
extern const DwWebRoute dw_routes_setup[];
extern const DwWebRoute dw_routes_sheet[];
extern const DwWebRoute dw_routes_sheet_files[];
// All tables, NULL last.
extern const DwWebRoute *const dw_routes[];

// A handle on the book that nobody else uses until it is given back.
DwStatus dw_server_lend_book(DwServer *server, DwBook **book, DwMessage *message);
void dw_server_return_book(DwServer *server, DwBook *book);

// Whether a known device sent REQUEST to us from a page of ours.
bool dw_guard_admits(DwServer *server, const struct _u_request *request);
// Answers one request by ROUTE: checks it first, and refuses what fails.
void dw_guard_answer(DwServer *server, const DwWebRoute *route, const struct _u_request *request,
                     struct _u_response *response);

#endif
