// SPDX-License-Identifier: MIT
// The server from within.
#ifndef DW_WEB_PRIVATE_H
#define DW_WEB_PRIVATE_H

#include "book/store/hold.h"
#include "web/server/gate.h"
#include "web/server/once.h"
#include "web/server/request.h"
#include "web/server/route.h"
#include "web/server/server.h"
#include "web/server/visit.h"
#include "web/server/watch.h"

#include <netinet/in.h>
#include <pthread.h>

enum { DW_BOOKS_KEPT = 8, DW_HOSTS_MOST = 8 };

struct DwServer {
    const DwSite *site;
    struct MHD_Daemon *daemon; // that listens; NULL before and after
    struct sockaddr_in place;  // where it listens
    char *folder;              // of the book
    DwHold *hold;              // the bench's own on it
    char *mark;                // of the files it has open
    char *url;
    char *outside;      // see dw_server_outside()
    char *outside_name; // the further host name, or NULL
    bool secure;        // TLS
    bool loopback;      // listens on loopback alone
    DwAccess *access;
    DwOnce *once;
    DwUploads *uploads;
    DwWatch *watch;
    _Atomic unsigned port;      // where it listens; requests may come before it is noted
    char *names[DW_HOSTS_MOST]; // of the host, as a Host header may say beside numbers; NULL last
    pthread_mutex_t books_lock;
    DwBook *books[DW_BOOKS_KEPT]; // handles nobody is using
    size_t book_count;
};

// A handle on the book that nobody else uses until it is given back; for somebody away (dw_book_set_away()).
DwStatus dw_server_lend_book(DwServer *server, DwBook **book, DwMessage *message);
void dw_server_return_book(DwServer *server, DwBook *book);

// Host names (host.c).
// Notes the names by which devices may call a server that listens at ADDRESS.
void dw_host_name(DwServer *server, const char *address, const char *name);
// Whether HOST, a Host header's value, is this server: a name of its list, or a
// number of this computer's. A page of another site that had its name point
// here would send that name.
bool dw_host_is_ours(const DwServer *server, const char *host);
// Whether it is this computer as it calls itself ("localhost:8710").
bool dw_host_is_loopback(const DwServer *server, const char *host);
// The first part of an address that another device can use ("http://192.168.1.20:8710"),
// NULL when none can reach the server. The caller frees it with free().
char *dw_host_outside(const DwServer *server);

// Listening (listen.c): answers from now on, or says why not.
DwStatus dw_listen_begin(DwServer *server, const DwServerSettings *settings, DwMessage *message);
void dw_listen_end(DwServer *server);

// Whether a known device sent REQUEST to us from a page of ours.
bool dw_guard_admits(DwServer *server, const DwWebRequest *request);
// Answers one request by ROUTE: checks it first, and refuses what fails. The caller
// clears ANSWER.
void dw_guard_answer(DwServer *server, const DwWebRoute *route, DwWebRequest *request, DwAnswer *answer);

#endif
