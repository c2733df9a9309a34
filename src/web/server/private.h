// SPDX-License-Identifier: MIT
// The server from within.
#ifndef DW_WEB_PRIVATE_H
#define DW_WEB_PRIVATE_H

#include "book/store/hold.h"
#include "web/server/body.h"
#include "web/server/gate.h"
#include "web/server/once.h"
#include "web/server/pairs.h"
#include "web/server/request.h"
#include "web/server/route.h"
#include "web/server/server.h"

#include <microhttpd.h>
#include <netinet/in.h>
#include <pthread.h>
#include <sodium.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

// --- upload.c ------------------------------------------------------
// Files sent to the bench. They are written to the disk as they come, under a
// name of ours in the book's folder, and are gone when their request ends.

enum { DW_UPLOADS_OF_REQUEST = 32 };

typedef struct DwUploads DwUploads;

// Files are kept in FOLDER/incoming. What lies there now is left over from an earlier run.
DwUploads *dw_uploads_new(const char *folder);
// Removes the leftovers, and nothing that came since. Only the bench that has the book may (book/store/hold.h).
void dw_uploads_clear_old(DwUploads *uploads);
void dw_uploads_free(DwUploads *uploads);

typedef struct {
    char *field;
    char *name; // what the device calls it: words only, never a path
    char *path; // ours
    FILE *file;
    uint64_t bytes;
    crypto_generichash_state *hash; // of what came so far
    bool stays;                     // it came before, in pieces, and outlives the request
} DwUpload;

// The files of one request. Start it with {0}; dw_upload_end() removes them.
typedef struct {
    DwUpload *files;
    size_t count;
    bool shut;    // what comes next is no file of the list
    bool refused; // one was larger than is taken, one too many, or could not be written
} DwUploadList;

// A file called NAME begins in the form's field FIELD; then it comes in pieces.
void dw_upload_begin(DwUploads *uploads, DwUploadList *list, const char *field, const char *name);
void dw_upload_more(DwUploadList *list, const char *bytes, size_t length);
// The file at PATH, which came before, as if it came in FIELD as NAME; NULL where there are too many. Valid until the
// list ends.
const DwUpload *dw_upload_adopt(DwUploads *uploads, DwUploadList *list, const char *field, const char *name,
                                const char *path, uint64_t bytes);
// What begins is not taken: nothing is kept of it.
void dw_upload_skip(DwUploadList *list);
// The file that came in FIELD, the one at PLACE (from 0) when there are several; NULL
// without one. Valid until the list ends.
const DwUpload *dw_upload_find(DwUploadList *list, const char *field, size_t place);
void dw_upload_end(DwUploads *uploads, DwUploadList *list);

// --- arriving.c ----------------------------------------------------

// The file that came in pieces before and that REQUEST's form names for FIELD, whole; NULL without one.
const DwUpload *dw_arriving_find(const DwWebRequest *request, const char *field);

// --- watch.c -------------------------------------------------------
// Keeps an eye on connections whose request does not end. The libraries beneath
// take in a whole request before anybody is asked whether it may come, and only
// silence ends one: without this a stranger could fill the memory with one form,
// or hold a connection for ever with a byte now and then.
//
// It also shares the connections out. When too many are open, one is let go: of
// who has most of them, the one that has been answered nothing for longest. A
// newcomer is never turned away for what others hold.

typedef struct DwWatch DwWatch;

enum {
    DW_WATCH_SECONDS = 60,     // a request has come whole after so long, or is cut off
    DW_WATCH_BYTES = 24 << 20, // of one that sends no file we take; the gate says 413 to less
    DW_WATCH_PERIOD_MS = 200,  // of looking
    DW_WATCH_OF_ADDRESS = 120, // connections of one address; a browser opens six
    DW_WATCH_STRANGERS = 200,  // of all who are neither at this computer nor known
    DW_WATCH_ALL = 400,        // of all; beyond it one from elsewhere goes
};

// Begins to look; the caller ends it with dw_watch_free(), which takes NULL too.
DwWatch *dw_watch_new(void);
void dw_watch_free(DwWatch *watch);

// libmicrohttpd's callback for a connection that was opened or closed; CLS is the watch.
void dw_watch_connection(void *cls, struct MHD_Connection *connection, void **context,
                         enum MHD_ConnectionNotificationCode code);
// INCOMING has begun on CONNECTION, and has ended.
void dw_watch_begin(struct MHD_Connection *connection, const DwIncoming *incoming);
void dw_watch_end(struct MHD_Connection *connection);
// A known device sent INCOMING: its connection is no stranger's.
void dw_watch_know(DwWatch *watch, const DwIncoming *incoming);
// INCOMING may take its time: a known device sends a file, or we are answering.
void dw_watch_allow(DwWatch *watch, const DwIncoming *incoming);

// --- announce.c ----------------------------------------------------
// Tells the shop's network by which name the bench is found, through Avahi where that runs (RFC 6762, RFC 6763).

typedef struct DwAnnounce DwAnnounce;

enum { DW_ANNOUNCE_HOST = 256 };

// Offers the bench called NAME at PORT of this computer, by TLS or not, as long as it lasts; Avahi may come and go
// meanwhile. NULL where the system has none at all. The caller ends it with dw_announce_free(), which takes NULL too.
DwAnnounce *dw_announce_new(const char *name, unsigned port, bool secure);
void dw_announce_free(DwAnnounce *announce);
// Whether it is told just now; then the computer's name in the network ("bench.local").
bool dw_announce_host(DwAnnounce *announce, char host[DW_ANNOUNCE_HOST]);

// --- server.c ------------------------------------------------------

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
    DwAnnounce *_Atomic announce; // NULL where no network is told of it; requests may come before it is there
    _Atomic unsigned port;        // where it listens; requests may come before it is noted
    char *names[DW_HOSTS_MOST];   // of the host, as a Host header may say beside numbers; NULL last
    pthread_mutex_t books_lock;
    DwBook *books[DW_BOOKS_KEPT]; // handles nobody is using
    size_t book_count;
};

// A handle on the book that nobody else uses until it is given back; for somebody away (dw_book_set_away()).
DwStatus dw_server_lend_book(DwServer *server, DwBook **book, DwMessage *message);
void dw_server_return_book(DwServer *server, DwBook *book);

// --- host.c --------------------------------------------------------
// By which names devices may call the bench.

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
// The same by the name that the network has for it (announce.h), NULL where it has none.
char *dw_host_called(const DwServer *server);

// --- listen.c ------------------------------------------------------

// Answers from now on, or says why not.
DwStatus dw_listen_begin(DwServer *server, const DwServerSettings *settings, DwMessage *message);
void dw_listen_end(DwServer *server);

// --- exchange.c ----------------------------------------------------
// What libmicrohttpd calls while a request comes and is answered.

// CLS is the server in all three. A request begins, before its head is read.
void *dw_exchange_begin(void *cls, const char *address, struct MHD_Connection *connection);
// Its head came, then pieces of its body, then no more: now it is answered.
enum MHD_Result dw_exchange_step(void *cls, struct MHD_Connection *connection, const char *address, const char *method,
                                 const char *version, const char *bytes, size_t *size, void **context);
// It ended, answered or broken off.
void dw_exchange_end(void *cls, struct MHD_Connection *connection, void **context, enum MHD_RequestTerminationCode why);

// --- incoming.c ----------------------------------------------------
// What a device sends: the head of its request, then the body as it comes. Pages see
// it as request.h has it, when it is whole.

struct DwIncoming {
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
};

// A request for ADDRESS ("/job/12?open=1"). The caller ends it with dw_incoming_free().
DwIncoming *dw_incoming_new(DwServer *server, const char *address);
void dw_incoming_free(DwIncoming *incoming);

// Its head is there.
void dw_incoming_head(DwIncoming *incoming, struct MHD_Connection *connection, const char *method);
// LENGTH bytes of its body came.
void dw_incoming_take(DwIncoming *incoming, const char *bytes, size_t length);

// A header's value, "" without it. Valid as long as INCOMING.
const char *dw_incoming_header(const DwIncoming *incoming, const char *name);

// Whether the parts of PATH are those of PATTERN; a part that begins with ':' is any
// text, which is added to PARTS by its name (PARTS may be NULL).
bool dw_incoming_fits(const char *path, const char *pattern, DwPairs *parts);

// --- gate.c --------------------------------------------------------

// Whether a known device sent INCOMING to us from a page of ours.
bool dw_gate_admits(DwServer *server, const DwIncoming *incoming);
// Answers one request by ROUTE: checks it first, and refuses what fails. The caller
// clears ANSWER.
void dw_gate_answer(DwServer *server, const DwWebRoute *route, DwIncoming *incoming, DwAnswer *answer);

// --- page_lines.c --------------------------------------------------

// What pages say in place of lines that speak of the command line; the last is {0}.
extern const DwPageLine dw_server_page_lines[];

// --- render.c ------------------------------------------------------
// The edge: what was answered to REQUEST becomes what is sent.

// Makes ANSWER the bytes, the status and the headers that go out. While it is drawn a
// refusal may look at the request's book, of which it names no place to who is away.
void dw_render(const DwWebRequest *request, DwAnswer *answer);

#endif
