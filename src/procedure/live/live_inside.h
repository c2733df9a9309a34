// SPDX-License-Identifier: MIT
// The inside of a live session. Of live_session, live_readers and live_recall only.
#ifndef DW_PROCEDURE_LIVE_INSIDE_H
#define DW_PROCEDURE_LIVE_INSIDE_H

#include "audio/live.h"
#include "measure/live/clock_check.h"
#include "procedure/live/live_course.h"
#include "procedure/live/live_intake.h"
#include "procedure/live/live_take.h"

#include <pthread.h>

// Everything the capture thread touches but what is guarded below.
typedef struct {
    DwSource *source;
    DwLiveMeter *meter;
    DwLiveTake *take; // NULL: none is kept
    char *note;       // where what must be known of the take is written down; NULL: nowhere
    double noted_s;   // when it was last
    bool take_failed; // nothing is added to it any more
    DwClockCheck check;
    bool is_device; // it has a clock of its own, and may go away
    char *input;    // its name
    double asked_hz;
    DwLiveIntake intake;
    float *block;
    size_t block_frames;
    unsigned channels;
    uint64_t frames;
} DwLiveCapture;

struct DwLiveSession {
    pthread_mutex_t control; // start, stop and keep, one at a time; taken before `lock`
    pthread_t thread;
    bool has_thread;
    DwLiveCapture capture;
    char *folder, *label; // for the take; what pages call the input
    DwInputs *inputs;     // what the input was started with
    pthread_mutex_t lock; // for all below
    pthread_cond_t changed;
    bool stop, reset_marks, forget_sides;
    double arrived_s; // when the last samples came
    DwLiveCourse course;
    DwLiveSnapshot snapshot;
};

// --- live_recall.c ---------------------------------------------------

// Writes down what must be known of the take to find it again after a restart, once a second or, with
// AT_ONCE, now. By the capture thread, or when there is none.
void dw_live_recall_note(DwLiveSession *session, bool at_once);
// Where the take called NAME in FOLDER is written, and the note beside it. The caller frees it with free().
char *dw_live_recall_path(const char *folder, const char *name, bool is_note);

// --- live_session.c ---------------------------------------------------

// Nothing is left of an earlier capture but what lies on disk. With `control` taken.
void dw_live_session_forget(DwLiveSession *session);

#endif
