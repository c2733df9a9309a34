// SPDX-License-Identifier: MIT
#include "procedure/live/live_session.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "procedure/live/live_clock.h"
#include "procedure/live/live_inside.h"
#include "procedure/live/live_words.h"

#include <assert.h>
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static const double READ_S = 0.01; // asked of the source at a time
static const double LEAST_RATE_HZ = 8000;

DwLiveSession *dw_live_session_new(void)
{
    DwLiveSession *session = dw_memory_new(1, sizeof *session);
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_mutex_init(&session->control, NULL);
    pthread_mutex_init(&session->lock, NULL);
    pthread_cond_init(&session->changed, &monotonic);
    pthread_condattr_destroy(&monotonic);
    DwLiveSnapshot *snapshot = &session->snapshot;
    snapshot->seq = 1;
    dw_say_into(snapshot->why, sizeof snapshot->why, "No input was started.");
    dw_say_into(snapshot->take_why, sizeof snapshot->take_why, "No input was started.");
    snapshot->clock = (DwLiveClock){.error_ppm = NAN, .off_ppm = NAN, .over_s = NAN};
    dw_say_into(snapshot->clock.why, sizeof snapshot->clock.why, "No input was started.");
    DwLiveMeterSettings settings = dw_live_meter_settings(48000, 2); // its figures say that nothing came in
    DwLiveMeter *meter = dw_live_meter_new(&settings);
    snapshot->figures = *dw_live_meter_figures(meter);
    snapshot->raster = *dw_live_meter_raster(meter);
    dw_live_meter_free(meter);
    return session;
}

static void clear_capture(DwLiveSession *session)
{
    DwLiveCapture *capture = &session->capture;
    dw_source_close(capture->source);
    dw_live_meter_free(capture->meter);
    dw_live_take_free(capture->take);
    free(capture->block);
    free(capture->input);
    free(capture->note);
    dw_live_intake_clear(&capture->intake);
    *capture = (DwLiveCapture){0};
    free(session->folder);
    free(session->label);
    dw_inputs_free(session->inputs);
    session->folder = session->label = NULL;
    session->inputs = NULL;
}

void dw_live_session_free(DwLiveSession *session)
{
    if (!session)
        return;
    dw_live_session_stop(session);
    clear_capture(session);
    pthread_cond_destroy(&session->changed);
    pthread_mutex_destroy(&session->lock);
    pthread_mutex_destroy(&session->control);
    free(session);
}

// --- the capture thread ---------------------------------------------------------

static void publish(DwLiveSession *session)
{
    const DwLiveCapture *capture = &session->capture;
    DwLiveClock clock;
    uint64_t from = 0, to = 0;
    dw_live_words_clock(&capture->check, capture->is_device, &clock);
    if (capture->take)
        dw_live_take_span(capture->take, &from, &to);
    pthread_mutex_lock(&session->lock);
    DwLiveSnapshot *snapshot = &session->snapshot;
    const DwSourceOrigin *origin = capture->source ? dw_source_origin(capture->source) : NULL;
    snapshot->stretches = dw_live_course_stretches(&session->course, from, snapshot->stretch);
    snapshot->seq++;
    snapshot->position = capture->frames;
    snapshot->take_from = from;
    snapshot->figures = *dw_live_meter_figures(capture->meter);
    snapshot->raster = *dw_live_meter_raster(capture->meter);
    snapshot->history = *dw_live_meter_history(capture->meter);
    snapshot->spectrum = *dw_live_meter_spectrum(capture->meter);
    snapshot->clock = clock;
    dw_live_words_origin(origin, snapshot);
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
    dw_live_recall_note(session, false);
}

static void change_state(DwLiveSession *session, DwLiveState state, const char *why)
{
    pthread_mutex_lock(&session->lock);
    session->snapshot.seq++;
    session->snapshot.state = state;
    snprintf(session->snapshot.why, sizeof session->snapshot.why, "%s", dw_said(why));
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
}

// Takes what readers asked for. Returned: false when it is to stop.
static bool take_wishes(DwLiveSession *session)
{
    pthread_mutex_lock(&session->lock);
    bool goes_on = !session->stop, marks = session->reset_marks, sides = session->forget_sides;
    session->reset_marks = session->forget_sides = false;
    pthread_mutex_unlock(&session->lock);
    if (marks)
        dw_live_meter_reset_marks(session->capture.meter);
    if (sides)
        dw_live_meter_forget_sides(session->capture.meter);
    return goes_on;
}

static void keep_block(DwLiveSession *session, const float *samples, size_t frames)
{
    DwLiveCapture *capture = &session->capture;
    DwMessage message;
    capture->frames += frames;
    if (!capture->take || capture->take_failed || dw_live_take_push(capture->take, samples, frames, &message) == DW_OK)
        return;
    pthread_mutex_lock(&session->lock); // measuring goes on without a take
    snprintf(session->snapshot.take_why, sizeof session->snapshot.take_why, "%s", message.text);
    pthread_mutex_unlock(&session->lock);
    capture->take_failed = true; // not freed: someone may be copying from it
}

// Sound is missing before what comes next. The take holds silence of its length, so
// that what follows stands at its time.
static void note_gap(DwLiveSession *session, double lost_s, bool is_apart)
{
    DwLiveCapture *capture = &session->capture;
    double rate_hz = dw_source_rate_hz(capture->source);
    if (!is_apart) {
        float *silence = dw_memory_new(capture->block_frames * capture->channels, sizeof *silence);
        for (size_t left = (size_t)(lost_s * rate_hz), count; left > 0; left -= count) {
            count = left < capture->block_frames ? left : capture->block_frames;
            keep_block(session, silence, count);
        }
        free(silence);
    }
    dw_live_meter_break(capture->meter);
    dw_clock_check_start(&capture->check, rate_hz);
    pthread_mutex_lock(&session->lock);
    dw_live_course_note_gap(&session->course, capture->frames, lost_s, is_apart);
    session->snapshot.lost_s += is_apart ? 0 : lost_s;
    pthread_mutex_unlock(&session->lock);
}

static void measure_block(DwLiveSession *session, const float *samples, size_t frames)
{
    DwLiveCapture *capture = &session->capture;
    for (size_t done = 0, count; done < frames; done += count) {
        count = frames - done < capture->block_frames ? frames - done : capture->block_frames;
        const float *piece = samples + done * capture->channels;
        keep_block(session, piece, count);
        if (dw_live_meter_push(capture->meter, piece, count) > 0)
            publish(session);
    }
}

// With each block, for those that are held back, too: a mute may be over before they are measured.
static void note_level(DwLiveSession *session)
{
    const DwSourceOrigin *origin = dw_source_origin(session->capture.source);
    if (!origin)
        return;
    pthread_mutex_lock(&session->lock);
    dw_live_course_note_level(&session->course, session->capture.frames, origin);
    pthread_mutex_unlock(&session->lock);
}

static void note_arrival(DwLiveSession *session, double now_s)
{
    pthread_mutex_lock(&session->lock);
    session->arrived_s = now_s;
    pthread_mutex_unlock(&session->lock);
}

static void take_block(DwLiveSession *session, size_t frames, unsigned flags)
{
    DwLiveCapture *capture = &session->capture;
    double now_s = dw_live_clock_now(), lost_s = 0;
    bool hole = flags & DW_SOURCE_GAP;
    note_level(session);
    DwLossVerdict verdict = hole ? DW_LOSS_FOUND : DW_LOSS_NONE;
    const DwSourceTally *tally = dw_source_tally(capture->source);
    if (dw_live_intake_count(&capture->intake, tally))
        dw_clock_check_push(&capture->check, tally->time_s, tally->frames);
    if (capture->is_device)
        verdict = dw_live_intake_take(&capture->intake, now_s, capture->block, frames, hole, &lost_s);
    if (verdict == DW_LOSS_SETTLING) { // nobody could tell whether any of it is missing: it is measured by nothing
        note_arrival(session, now_s);
        return;
    }
    if (verdict == DW_LOSS_LATE)
        return;
    if (verdict == DW_LOSS_FOUND)
        note_gap(session, lost_s, false);
    measure_block(session, capture->intake.held, capture->intake.held_frames);
    capture->intake.held_frames = 0;
    measure_block(session, capture->block, frames);
    if (!tally) // else its own counts are pushed, which no delay of this computer is in
        dw_clock_check_push(&capture->check, now_s, (double)capture->frames);
    note_arrival(session, now_s);
}

// Returned: whether the capture is to stop, after at most WAIT_S.
static bool waits_in_vain(DwLiveSession *session, double wait_s)
{
    double until = dw_live_clock_now() + wait_s;
    bool stop;
    do {
        const struct timespec moment = {.tv_nsec = 50000000};
        nanosleep(&moment, NULL);
        pthread_mutex_lock(&session->lock);
        stop = session->stop;
        pthread_mutex_unlock(&session->lock);
    } while (!stop && dw_live_clock_now() < until);
    return stop;
}

// The device went away, as WHY says: waits for it and takes it up again.
// Returned: false when the capture is over instead.
static bool take_up_again(DwLiveSession *session, const char *why)
{
    static const double TRIED_EACH_S = 1;
    DwLiveCapture *capture = &session->capture;
    double rate_hz = dw_source_rate_hz(capture->source);
    char words[sizeof session->snapshot.why];
    dw_say_into(words, sizeof words, "%.*s It is taken up again when it comes back.", dw_text_whole(why, 200), why);
    change_state(session, DW_LIVE_AWAY, words);
    dw_source_close(capture->source);
    capture->source = NULL;
    DwMessage message;
    while (dw_live_open(capture->input, capture->asked_hz, &capture->source, &message) != DW_OK)
        if (waits_in_vain(session, TRIED_EACH_S)) {
            change_state(session, DW_LIVE_STOPPED, "The input was stopped.");
            return false;
        }
    if (fabs(dw_source_rate_hz(capture->source) - rate_hz) > 0 ||
        dw_source_channels(capture->source) != capture->channels) {
        change_state(session, DW_LIVE_FAILED,
                     "The input came back with another rate or other channels. Start it again.");
        return false;
    }
    dw_live_intake_start(&capture->intake, rate_hz, capture->channels);
    pthread_mutex_lock(&session->lock);
    double away_s = dw_live_clock_now() - session->arrived_s;
    pthread_mutex_unlock(&session->lock);
    note_gap(session, away_s, true);
    change_state(session, DW_LIVE_RUNNING, "");
    return true;
}

// Until it is stopped or there is no more.
static void capture_all(DwLiveSession *session)
{
    DwLiveCapture *capture = &session->capture;
    while (take_wishes(session)) {
        size_t got = 0;
        unsigned flags = 0;
        DwMessage message;
        DwStatus status =
            dw_source_read(capture->source, capture->block, capture->block_frames, &got, &flags, &message);
        if (status != DW_OK && capture->is_device) {
            if (!take_up_again(session, message.text))
                return;
            continue;
        }
        if (status != DW_OK || got == 0) {
            change_state(session, status == DW_OK ? DW_LIVE_ENDED : DW_LIVE_FAILED,
                         status == DW_OK ? "The recording is over." : message.text);
            return;
        }
        take_block(session, got, flags);
        dw_live_meter_settle(capture->meter); // after the snapshot, so that it need not wait
    }
    change_state(session, DW_LIVE_STOPPED, "The input was stopped.");
}

static void *run_capture(void *opaque)
{
    capture_all(opaque);
    dw_live_recall_note(opaque, true);
    return NULL;
}

// --- starting and stopping --------------------------------------------------------

static DwInputs *copy_inputs(const DwInputs *inputs)
{
    DwInputs *copy = dw_inputs_new();
    const DwQuantity *row;
    const char *typed;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        for (size_t k = 0; (typed = dw_inputs_own_typed(inputs, row, k)); k++)
            dw_inputs_set_row(copy, row, typed, NULL); // it was accepted before
    return copy;
}

static DwStatus open_input(const DwLiveStart *start, DwSource **source, DwMessage *message)
{
    DwStatus status = dw_live_open(start->input, start->rate_hz, source, message);
    double rate_hz = status == DW_OK ? dw_source_rate_hz(*source) : NAN;
    if (status != DW_OK || rate_hz >= LEAST_RATE_HZ)
        return status;
    dw_source_close(*source);
    return dw_fail(message, DW_BAD_INPUT, "Live input \"%s\" has %g samples a second; 8000 or more are needed.",
                   start->input, rate_hz);
}

// Makes the take, on disk beyond the session or not.
static DwStatus begin_take(DwLiveSession *session, const DwLiveStart *start, DwMessage *message)
{
    DwLiveCapture *capture = &session->capture;
    double rate_hz = dw_source_rate_hz(capture->source);
    if (!(start->keep_s > 0))
        return DW_OK;
    if (!start->name)
        return dw_live_take_new(session->folder, rate_hz, capture->channels, start->keep_s, &capture->take, message);
    char *path = dw_live_recall_path(session->folder, start->name, false);
    capture->note = dw_live_recall_path(session->folder, start->name, true);
    unlink(capture->note); // it tells of what is overwritten now
    DwStatus status = dw_live_take_at(path, rate_hz, capture->channels, start->keep_s, 0, &capture->take, message);
    free(path);
    return status;
}

// All that takes from SOURCE, which becomes the session's.
static DwStatus prepare(DwLiveSession *session, const DwLiveStart *start, DwSource *source, DwMessage *message)
{
    DwLiveCapture *capture = &session->capture;
    capture->source = source;
    double rate_hz = dw_source_rate_hz(source);
    capture->channels = dw_source_channels(capture->source);
    capture->block_frames = (size_t)ceil(READ_S * rate_hz);
    capture->block = dw_memory_new(capture->block_frames * capture->channels, sizeof(float));
    DwLiveMeterSettings settings = dw_live_settings_meter(start->inputs, rate_hz, capture->channels);
    capture->meter = dw_live_meter_new(&settings);
    capture->is_device = strcmp(start->input, "tone") != 0 && strncmp(start->input, "file:", 5) != 0;
    capture->input = dw_memory_text(start->input);
    capture->asked_hz = start->rate_hz;
    dw_clock_check_start(&capture->check, rate_hz);
    dw_live_intake_start(&capture->intake, rate_hz, capture->channels);
    const char *temporary = getenv("TMPDIR");
    session->folder = dw_memory_text(start->folder ? start->folder : temporary && *temporary ? temporary : "/tmp");
    session->label = dw_memory_text(start->label ? start->label : start->input);
    session->inputs = copy_inputs(start->inputs);
    return begin_take(session, start, message);
}

// Makes the snapshot one of a running input from which nothing has come.
static void reset_snapshot(DwLiveSession *session, const DwLiveStart *start, const DwLiveLimit *limit)
{
    const DwLiveCapture *capture = &session->capture;
    pthread_mutex_lock(&session->lock);
    DwLiveSnapshot *snapshot = &session->snapshot;
    *snapshot = (DwLiveSnapshot){.seq = snapshot->seq + 1,
                                 .state = DW_LIVE_RUNNING,
                                 .rate_hz = dw_source_rate_hz(capture->source),
                                 .channels = capture->channels,
                                 .figures = *dw_live_meter_figures(capture->meter),
                                 .raster = *dw_live_meter_raster(capture->meter)};
    memcpy(snapshot->limit, limit, sizeof snapshot->limit);
    snprintf(snapshot->input, sizeof snapshot->input, "%s", start->input);
    snprintf(snapshot->format, sizeof snapshot->format, "%s", dw_source_format(capture->source));
    snprintf(snapshot->take_why, sizeof snapshot->take_why, "%s",
             capture->take ? "" : dw_said("No take was asked for."));
    dw_live_words_clock(&capture->check, capture->is_device, &snapshot->clock);
    dw_live_words_origin(capture->source ? dw_source_origin(capture->source) : NULL, snapshot);
    session->arrived_s = dw_live_clock_now();
    session->stop = session->reset_marks = session->forget_sides = false;
    session->course.gap_count = session->course.level_count = 0;
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
}

static bool is_running(DwLiveSession *session)
{
    pthread_mutex_lock(&session->lock);
    bool is = session->snapshot.state == DW_LIVE_RUNNING || session->snapshot.state == DW_LIVE_AWAY;
    pthread_mutex_unlock(&session->lock);
    return is;
}

static void join_thread(DwLiveSession *session)
{
    if (session->has_thread)
        pthread_join(session->thread, NULL);
    session->has_thread = false;
    dw_source_close(session->capture.source); // lets the device go; the take stays
    session->capture.source = NULL;
}

void dw_live_session_forget(DwLiveSession *session)
{
    join_thread(session);
    clear_capture(session);
    pthread_mutex_lock(&session->lock);
    dw_say_into(session->snapshot.take_why, sizeof session->snapshot.take_why, "No input was started.");
    pthread_mutex_unlock(&session->lock);
}

// With `control` taken.
static DwStatus start_capture(DwLiveSession *session, const DwLiveStart *start, DwMessage *message)
{
    DwLiveLimit limit[DW_LIVE_FIGURES];
    if (is_running(session))
        return dw_fail(message, DW_BAD_INPUT, "The bench is listening to \"%s\" already. Stop it first.",
                       session->label);
    DwStatus status = dw_live_settings_limits(start->inputs, limit, message);
    if (status != DW_OK)
        return status;
    DwSource *source = NULL;
    join_thread(session);
    status = open_input(start, &source, message); // what was taken stays while there is nothing in its place
    if (status != DW_OK)
        return status;
    dw_live_session_forget(session);
    status = prepare(session, start, source, message);
    if (status == DW_OK) {
        reset_snapshot(session, start, limit);
        session->has_thread = pthread_create(&session->thread, NULL, run_capture, session) == 0;
        if (session->has_thread)
            return DW_OK;
        change_state(session, DW_LIVE_FAILED, "No thread could be started.");
        status = dw_fail(message, DW_FAILED, "No thread could be started. Close other programs and try again.");
    }
    dw_live_session_forget(session);
    return status;
}

DwStatus dw_live_session_start(DwLiveSession *session, const DwLiveStart *start, DwMessage *message)
{
    assert(start->input && start->inputs);
    pthread_mutex_lock(&session->control);
    DwStatus status = start_capture(session, start, message);
    pthread_mutex_unlock(&session->control);
    return status;
}

void dw_live_session_stop(DwLiveSession *session)
{
    pthread_mutex_lock(&session->control);
    pthread_mutex_lock(&session->lock);
    session->stop = true;
    pthread_mutex_unlock(&session->lock);
    join_thread(session);
    pthread_mutex_unlock(&session->control);
}
