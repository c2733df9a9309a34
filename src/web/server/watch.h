// SPDX-License-Identifier: MIT
// Keeps an eye on connections whose request does not end. The libraries beneath
// take in a whole request before anybody is asked whether it may come, and only
// silence ends one: without this a stranger could fill the memory with one form,
// or hold a connection for ever with a byte now and then.
//
// It also shares the connections out. When too many are open, one is let go: of
// who has most of them, the one that has been answered nothing for longest. A
// newcomer is never turned away for what others hold.
#ifndef DW_WEB_WATCH_H
#define DW_WEB_WATCH_H

#include <microhttpd.h>

typedef struct DwWatch DwWatch;
typedef struct DwWebRequest DwWebRequest;

enum {
    DW_WATCH_SECONDS = 60,     // a request has come whole after so long, or is cut off
    DW_WATCH_BYTES = 24 << 20, // of one that sends no file we take; the guard says 413 to less
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
// REQUEST has begun on CONNECTION, and has ended.
void dw_watch_begin(struct MHD_Connection *connection, const DwWebRequest *request);
void dw_watch_end(struct MHD_Connection *connection);
// A known device sent REQUEST: its connection is no stranger's.
void dw_watch_know(DwWatch *watch, const DwWebRequest *request);
// REQUEST may take its time: a known device sends a file, or we are answering.
void dw_watch_allow(DwWatch *watch, const DwWebRequest *request);

#endif
