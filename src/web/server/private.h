// SPDX-License-Identifier: MIT
// What the pages share behind the server's face: the server itself, the routes.
#ifndef DW_WEB_PRIVATE_H
#define DW_WEB_PRIVATE_H

#include "book/store/hold.h"
#include "web/server/access.h"
#include "web/server/once.h"
#include "web/photo/pictures.h"
#include "web/measure/result.h"
#include "web/server/server.h"
#include "web/server/request.h"
#include "web/server/visit.h"
#include "web/server/watch.h"

#include <netinet/in.h>
#include <pthread.h>

enum { DW_BOOKS_KEPT = 8, DW_HOSTS_MOST = 8 };

// Not by its header, whose drives (physics) are others than the book's.
typedef struct DwLiveRoom DwLiveRoom;

struct DwServer {
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
    DwPictures *pictures;
    DwResults *results;
    DwLiveRoom *live;
    DwWatch *watch;
    // Draws the page of a refusal.
    DwAnswer (*draw_refusal)(DwVisit *visit, const char *words, const char *again);
    _Atomic unsigned port;      // where it listens; requests may come before it is noted
    char *names[DW_HOSTS_MOST]; // of the host, as a Host header may say beside numbers; NULL last
    pthread_mutex_t books_lock;
    DwBook *books[DW_BOOKS_KEPT]; // handles nobody is using
    size_t book_count;
};

// A page or an act: what answers METHOD on PATTERN ("/job/:number"; see dw_request_fits()).
typedef struct {
    const char *method;
    const char *pattern;
    DwAnswer (*answer)(DwVisit *visit);
    bool open;  // answered to devices that have not shown who they are
    bool asset; // no page: begins no session, needs no book
} DwWebRoute;

// One table a file of pages; the last row has no method.
extern const DwWebRoute dw_routes_asset[];
extern const DwWebRoute dw_routes_backup[];
extern const DwWebRoute dw_routes_belt[];
extern const DwWebRoute dw_routes_board[];
extern const DwWebRoute dw_routes_book[];
extern const DwWebRoute dw_routes_customer[];
extern const DwWebRoute dw_routes_devices[];
extern const DwWebRoute dw_routes_enter[];
extern const DwWebRoute dw_routes_find[];
extern const DwWebRoute dw_routes_job[];
extern const DwWebRoute dw_routes_job_act[];
extern const DwWebRoute dw_routes_job_new[];
extern const DwWebRoute dw_routes_journal[];
extern const DwWebRoute dw_routes_live[];
extern const DwWebRoute dw_routes_live_keep[];
extern const DwWebRoute dw_routes_measure[];
extern const DwWebRoute dw_routes_papers[];
extern const DwWebRoute dw_routes_photo[];
extern const DwWebRoute dw_routes_photo_measure[];
extern const DwWebRoute dw_routes_photos[];
extern const DwWebRoute dw_routes_picture[];
extern const DwWebRoute dw_routes_record[];
extern const DwWebRoute dw_routes_settings[];
extern const DwWebRoute dw_routes_setup[];
extern const DwWebRoute dw_routes_sheet[];
extern const DwWebRoute dw_routes_sheet_files[];
extern const DwWebRoute dw_routes_shop[];
extern const DwWebRoute dw_routes_sign[];
// All tables, NULL last.
extern const DwWebRoute *const dw_routes[];

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

// Gives the device a session of its own with TOKEN; SECONDS 0 is until the browser ends,
// more is a paired device's.
void dw_guard_give_session(DwVisit *visit, const char *token, unsigned seconds);
// Pairs the device that sends VISIT by the name NAME and gives it its session.
DwStatus dw_guard_pair(DwVisit *visit, const char *name, DwMessage *message);
// By whom a try of the password is counted: a paired device by itself, whoever else
// has its address, and a stranger by the address.
uint64_t dw_guard_who(const DwVisit *visit);
// Whether PATH is one of our pages, as a place to go to after something else.
bool dw_guard_is_page(const char *path);
// Whether a known device sent REQUEST to us from a page of ours.
bool dw_guard_admits(DwServer *server, const DwWebRequest *request);
// Answers one request by ROUTE: checks it first, and refuses what fails. The caller
// clears ANSWER.
void dw_guard_answer(DwServer *server, const DwWebRoute *route, DwWebRequest *request, DwAnswer *answer);

#endif
