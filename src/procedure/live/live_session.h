// SPDX-License-Identifier: MIT
// The bench's one live input, shared by all who look at it: a thread reads the
// source and feeds the live meter; readers wait for snapshots. Every function
// but new and free may be called from any thread.
#ifndef DW_PROCEDURE_LIVE_SESSION_H
#define DW_PROCEDURE_LIVE_SESSION_H

#include "audio/origin.h"
#include "base/sheet.h"
#include "measure/live/live_meter.h"

typedef enum {
    DW_LIVE_STOPPED, // nothing was started, or it was stopped
    DW_LIVE_RUNNING,
    DW_LIVE_ENDED,  // the recording that was played is over
    DW_LIVE_FAILED, // the input broke off
    DW_LIVE_AWAY,   // the device went away; it is taken up again, as a new stretch, when it comes back
} DwLiveState;

typedef struct {
    bool stated;
    DwRange allowed, good; // NAN where open
    char source[200];
} DwLiveLimit;

// The running check of the input's sampling clock.
typedef struct {
    double error_ppm; // to be kept as chain.clock_error; NAN: not known
    double off_ppm;   // half-width of its 95 % interval, the computer's own clock within it
    double over_s;
    bool is_sure;  // steady over minutes and within what a sound device can be: fit to be kept
    char why[400]; // why it is not known, or what to bear in mind
} DwLiveClock;

enum { DW_LIVE_STRETCHES = 6 };

// What was taken before the device went away, up to then; it can be kept as long as the take holds it.
typedef struct {
    uint64_t from, to; // frames; TO is an end for dw_live_session_keep()
} DwLiveStretch;

// A copy of everything, to be kept as long as wanted: a reader freezes the page
// by keeping its snapshot. It is large (some 100 kB).
typedef struct {
    uint64_t seq; // grows with every change
    DwLiveState state;
    char why[600]; // in words, unless running; "" when running
    char input[256];
    char format[160];
    DwSourceOrigin origin; // of a device; all zero for a recording or the tone
    char remark[400];      // what the way in does to the sound (level, mute, resampling); "" for nothing
    double lost_s;         // of sound that never came, since the start
    double rate_hz;
    unsigned channels;
    double since_samples_s;                   // since the last samples came
    uint64_t position;                        // frames that had come: an end for dw_live_session_keep()
    uint64_t take_from;                       // the oldest frame that can be kept
    char take_why[600];                       // why nothing can be kept; "" when it can
    DwLiveStretch stretch[DW_LIVE_STRETCHES]; // the earlier ones that are held, the newest first
    size_t stretches;
    DwLiveFigures figures; // all stale unless running and samples come
    DwLiveRaster raster;
    DwLiveHistory history;
    DwLiveSpectrum spectrum;
    DwLiveLimit limit[DW_LIVE_FIGURES];
    DwLiveClock clock;
} DwLiveSnapshot;

typedef struct {
    const char *input;      // as dw_live_open() takes it
    double rate_hz;         // 0: the device's own
    const DwInputs *inputs; // record.tone, deck.speed, deck.mains, deck.class, chain.clock_error …
    const char *folder;     // for the take; NULL: the system's temporary folder
    double keep_s;          // the longest take; 0: none is kept
    const char *name;       // the take lies on disk under this name until it is dropped; NULL: not beyond the session
    const char *label;      // what people call the input; NULL: as INPUT
} DwLiveStart;

typedef struct {
    double last_s;          // NAN: from the start, or as far back as is held
    uint64_t until;         // a snapshot's position; 0: now
    const char *procedure;  // "speed", "channels" …; NULL: only the recording
    const DwInputs *inputs; // that procedure's
    const char *path;       // where the recording is to stay; NULL: nowhere
} DwLiveKeep;

typedef struct DwLiveSession DwLiveSession;

// A session that does not run yet. The caller frees it with dw_live_session_free().
DwLiveSession *dw_live_session_new(void);
// Stops it first. No one may be waiting any more.
void dw_live_session_free(DwLiveSession *session);

// Opens the input and begins to measure. While another one runs it is refused as
// DW_BAD_INPUT: stop it first. Takes as long as the device does.
DwStatus dw_live_session_start(DwLiveSession *session, const DwLiveStart *start, DwMessage *message);
// Finds what a session whose take had NAME in FOLDER left on disk: it can be kept as if the capture had just
// been stopped. Nothing there is DW_OK too. *LABEL is what people called the input, to be freed with free(),
// or NULL when nothing was found; INPUTS gets what it was started with.
DwStatus dw_live_session_recall(DwLiveSession *session, const char *folder, const char *name, DwInputs *inputs,
                                char **label, DwMessage *message);
// Drops what was taken, on disk too. While the input runs it is DW_BAD_INPUT.
DwStatus dw_live_session_drop(DwLiveSession *session, DwMessage *message);
// Ends the capture; what was taken can still be kept. Waits for the device.
void dw_live_session_stop(DwLiveSession *session);

// Waits until there is a snapshot after AFTER_SEQ (0: any), at most TIMEOUT_MS.
// Returned: false when there was none; SNAPSHOT is filled in either case, and
// says so when samples have ceased to come.
bool dw_live_session_wait(DwLiveSession *session, uint64_t after_seq, int timeout_ms, DwLiveSnapshot *snapshot);
// The same without a copy. Returned: the newest snapshot's seq; *SINCE_S is how
// long ago the last samples came.
uint64_t dw_live_session_await(DwLiveSession *session, uint64_t after_seq, int timeout_ms, double *since_s);

// Measures what was captured by the procedure that measures files, and writes the
// recording. Status: the procedure's; nothing to keep is DW_BAD_INPUT. *SHEET,
// NULL without a procedure, is to be freed with dw_sheet_free(). Start and stop
// wait for it, snapshots do not.
DwStatus dw_live_session_keep(DwLiveSession *session, const DwLiveKeep *keep, DwSheet **sheet, DwMessage *message);

// As the live meter's; they hold from the next samples on.
void dw_live_session_reset_marks(DwLiveSession *session);
void dw_live_session_forget_sides(DwLiveSession *session);

#endif
