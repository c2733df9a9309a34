// SPDX-License-Identifier: MIT
#include "procedure/live/live_clock.h"
#include "procedure/live/live_inside.h"
#include "procedure/live/live_keep.h"
#include "procedure/live/live_words.h"

#include <math.h>
#include <string.h>
#include <time.h>

// A copy, held against the time that has passed since. With `lock` taken.
static void copy_snapshot(const DwLiveSession *session, DwLiveSnapshot *snapshot)
{
    *snapshot = session->snapshot;
    snapshot->since_samples_s = fmax(0, dw_live_clock_now() - session->arrived_s);
    dw_live_words_age(snapshot);
}

// Returned: whether there is a snapshot after AFTER_SEQ. With `lock` taken.
static bool wait_for_change(DwLiveSession *session, uint64_t after_seq, int timeout_ms)
{
    double until = dw_live_clock_now() + fmax(0, timeout_ms) / 1000;
    struct timespec deadline = {.tv_sec = (time_t)until, .tv_nsec = (long)((until - floor(until)) * 1e9)};
    int ended = 0;
    while (session->snapshot.seq <= after_seq && ended == 0)
        ended = pthread_cond_timedwait(&session->changed, &session->lock, &deadline);
    return session->snapshot.seq > after_seq;
}

bool dw_live_session_wait(DwLiveSession *session, uint64_t after_seq, int timeout_ms, DwLiveSnapshot *snapshot)
{
    pthread_mutex_lock(&session->lock);
    bool is_new = wait_for_change(session, after_seq, timeout_ms);
    copy_snapshot(session, snapshot);
    pthread_mutex_unlock(&session->lock);
    return is_new;
}

uint64_t dw_live_session_await(DwLiveSession *session, uint64_t after_seq, int timeout_ms, double *since_s)
{
    pthread_mutex_lock(&session->lock);
    wait_for_change(session, after_seq, timeout_ms);
    uint64_t seq = session->snapshot.seq;
    *since_s = fmax(0, dw_live_clock_now() - session->arrived_s);
    pthread_mutex_unlock(&session->lock);
    return seq;
}

DwStatus dw_live_session_keep(DwLiveSession *session, const DwLiveKeep *keep, DwSheet **sheet, DwMessage *message)
{
    DwLiveCourse course;
    char input[sizeof session->snapshot.input], why[sizeof session->snapshot.take_why];
    *sheet = NULL;
    pthread_mutex_lock(&session->control);
    pthread_mutex_lock(&session->lock);
    course = session->course;
    memcpy(input, session->snapshot.input, sizeof input);
    memcpy(why, session->snapshot.take_why, sizeof why);
    double rate_hz = session->snapshot.rate_hz;
    DwSourceOrigin origin = session->snapshot.origin;
    DwLiveClock clock = session->snapshot.clock;
    pthread_mutex_unlock(&session->lock);
    DwLiveKeepFrom from = {session->capture.take, session->folder, input, rate_hz, &course, &origin, &clock};
    DwStatus status = *why ? dw_fail(message, DW_BAD_INPUT, "Nothing can be kept: %s", why)
                           : dw_live_keep(&from, keep, sheet, message);
    pthread_mutex_unlock(&session->control);
    return status;
}

void dw_live_session_reset_marks(DwLiveSession *session)
{
    pthread_mutex_lock(&session->lock);
    session->reset_marks = true;
    pthread_mutex_unlock(&session->lock);
}

void dw_live_session_forget_sides(DwLiveSession *session)
{
    pthread_mutex_lock(&session->lock);
    session->forget_sides = true;
    pthread_mutex_unlock(&session->lock);
}
