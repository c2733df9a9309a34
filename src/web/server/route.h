// SPDX-License-Identifier: MIT
// What the server is given to answer by: routes, each a page or an act, and all of them
// together as the site. The server itself knows no page.
#ifndef DW_WEB_ROUTE_H
#define DW_WEB_ROUTE_H

#include "web/server/answer.h"
#include "web/server/request.h"

// What answers METHOD on PATTERN ("/job/:number"; see dw_incoming_fits()).
typedef struct {
    const char *method;
    const char *pattern;
    DwAnswer (*answer)(const DwWebRequest *request);
    bool open;  // answered to devices that have not shown who they are
    bool asset; // no page: begins no session, needs no book
    bool waits; // it may take long: it has no book meanwhile
} DwWebRoute;

typedef struct DwPictures DwPictures;
typedef struct DwResults DwResults;
typedef struct DwLiveRoom DwLiveRoom;

typedef struct DwSite {
    const DwWebRoute *const *routes; // one table a file of pages, whose last row has no method; NULL last
    // Draws the page that says that nothing was done, for the reason WORDS, of REFUSAL.
    DwAnswer (*draw_refusal)(const DwWebRequest *request, const DwAnswer *refusal, const char *words);
    // What rooms keep between requests, each known to its own alone.
    DwPictures *pictures;
    DwResults *results;
    DwLiveRoom *live;
} DwSite;

// Files that come in pieces (arriving.c).
extern const DwWebRoute dw_routes_arriving[];
// The style sheets, scripts and drawings of data/web, which pages name (asset.c).
extern const DwWebRoute dw_routes_asset[];
// The address of the file NAME with a word that changes when the file does, so
// that browsers may keep it. A NAME that is not in the table is a bad call.
// Valid for ever.
const char *dw_asset_path(const char *name);

#endif
