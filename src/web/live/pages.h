// SPDX-License-Identifier: MIT
// The live page: what comes in now, and keeping it.
#ifndef DW_WEB_LIVE_PAGES_H
#define DW_WEB_LIVE_PAGES_H

#include "base/status.h"
#include "procedure/live/live_session.h"
#include "web/page/page.h"
#include "web/server/request.h"
#include "web/server/route.h"

extern const DwWebRoute dw_routes_live[];
extern const DwWebRoute dw_routes_live_keep[];

// The id NAME of an element on the page of PLACE: each id stands once on a page.
typedef struct {
    char text[32];
} DwLiveId;
DwLiveId dw_live_id(unsigned place, const char *name);
// The place that the address of REQUEST names, "place=2"; the first without one.
unsigned dw_live_place(const DwWebRequest *request);

// --- live_choice.c -------------------------------------------------
// What can be listened to: the inputs of this computer by their names, and
// recordings of the book by their ids. A device never names a file.

// Writes the list that PLACE chooses from, each input with its level of now, with the
// recordings of JOB, or the newest of all for 0.
void dw_live_choice_write(DwPage *page, unsigned place, int64_t job);

typedef struct {
    char *input; // as dw_live_open() takes it
    char *label;
} DwLiveChoice;

// Finds what VALUE of that list stands for. Anything else is DW_BAD_INPUT. The
// caller clears it.
DwStatus dw_live_choice_find(const DwWebRequest *request, const char *value, DwLiveChoice *choice, DwMessage *message);
// Notes VALUE, with which Live was started, as what is offered first the next time; a recording is not.
DwStatus dw_live_choice_remember(const DwWebRequest *request, const char *value, DwMessage *message);
void dw_live_choice_clear(DwLiveChoice *choice);

// --- live_before.c -------------------------------------------------
// What was measured of the job as received, to stand beside what is heard now.

// The newest sheet of each procedure whose readings Live shows, too.
typedef struct DwLiveBefore DwLiveBefore;

// What JOB has; nothing without a job, or while it is measured as received itself. The caller frees
// it with dw_live_before_free().
DwLiveBefore *dw_live_before_read(const DwWebRequest *request, int64_t job);
void dw_live_before_free(DwLiveBefore *before);
// The reading KEY with a value, or NULL.
const DwReading *dw_live_before_find(const DwLiveBefore *before, const char *key);
// The flutter by frequency as Live's own has it, for the script: "1230 - 2000 …" in 0.00001 % from the
// lowest bin on, "-" for none; NULL when there is no such curve. The caller frees it.
char *dw_live_before_spectrum(const DwLiveBefore *before);

// --- live_view.c ---------------------------------------------------
// The figures of the live page: as they stand in a snapshot, in words, with the
// marks that the page's script moves.

// The large figure and its bar.
void dw_live_view_write_speed(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot, const DwLiveBefore *before);
void dw_live_view_write_raster(DwPage *page, unsigned place);
// Everything below it.
void dw_live_view_write_rest(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot, const DwLiveBefore *before);
// Why the figures are not of now, or what is captured.
const char *dw_live_view_state(const DwLiveSnapshot *snapshot);

// --- live_pictures.c -----------------------------------------------
// What only the page's scripts can draw.

// The marks that drift as fast as the speed is wrong.
void dw_live_pictures_needle(DwPage *page, unsigned place);
// The button that shows what it stands in on the whole screen; WHAT says so to who does not see it.
void dw_live_pictures_large(DwPage *page, const char *what);
// The last ten minutes, and the flutter by frequency.
void dw_live_pictures_write(DwPage *page, unsigned place, const DwLiveBefore *before);

// --- live_said.c ---------------------------------------------------
// Puts the words of the scripts into the page.
void dw_live_said_write(DwHtml *html);

// --- live_keep.c ---------------------------------------------------
// Keeping what was heard: as the sheet that a recording of it gives, as the
// recording, or as the clock error of a recording chain.

// The bar at the thumb and the form behind it.
void dw_live_keep_write(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot);
// The form that keeps the clock's error, as soon as it is known.
void dw_live_keep_write_clock(DwPage *page, unsigned place, const DwLiveSnapshot *snapshot);

#endif
