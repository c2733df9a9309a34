// SPDX-License-Identifier: MIT
#include "procedure/input/recording.h"

#include "base/memory.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

enum { SLOTS = 8 };

static const double LEAST_RATE_HZ = 6000;

// Blocks between the decoding thread and the caller: `filled` counts those
// decoded, `taken` those that the caller is done with. What a slot holds
// belongs to one side at a time, so only the two counts need the lock.
struct DwReadAhead {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    size_t filled, taken;
    bool stop;
    struct {
        float *samples;
        size_t frames; // 0 at the end
        unsigned flags;
        DwStatus status;
        DwMessage message;
    } slot[SLOTS];
    DwSource *source;
    uint64_t left; // frames to go until record.end
};

// Waits for a free slot. Returned: false when the caller has had enough.
static bool wait_for_room(DwReadAhead *ahead)
{
    pthread_mutex_lock(&ahead->lock);
    while (!ahead->stop && ahead->filled - ahead->taken == SLOTS)
        pthread_cond_wait(&ahead->changed, &ahead->lock);
    bool go_on = !ahead->stop;
    pthread_mutex_unlock(&ahead->lock);
    return go_on;
}

static void *decode(void *user)
{
    DwReadAhead *ahead = user;
    for (bool more = true; more && wait_for_room(ahead);) {
        size_t i = ahead->filled % SLOTS;
        size_t wanted = ahead->left < DW_RECORDING_BLOCK ? (size_t)ahead->left : (size_t)DW_RECORDING_BLOCK;
        ahead->slot[i].frames = 0;
        ahead->slot[i].status =
            wanted ? dw_source_read(ahead->source, ahead->slot[i].samples, wanted, &ahead->slot[i].frames,
                                    &ahead->slot[i].flags, &ahead->slot[i].message)
                   : DW_OK;
        ahead->left -= ahead->slot[i].frames;
        more = ahead->slot[i].status == DW_OK && ahead->slot[i].frames > 0;
        pthread_mutex_lock(&ahead->lock);
        ahead->filled++;
        // A caller that waits is woken when half is filled: fewer turns between the threads.
        if (!more || ahead->filled - ahead->taken == SLOTS / 2)
            pthread_cond_signal(&ahead->changed);
        pthread_mutex_unlock(&ahead->lock);
    }
    return NULL;
}

static DwReadAhead *start_ahead(DwSource *source, unsigned channels, uint64_t frames)
{
    DwReadAhead *ahead = dw_memory_new(1, sizeof *ahead);
    ahead->source = source;
    ahead->left = frames;
    for (size_t i = 0; i < SLOTS; i++)
        ahead->slot[i].samples = dw_memory_new((size_t)DW_RECORDING_BLOCK * channels, sizeof(float));
    pthread_mutex_init(&ahead->lock, NULL);
    pthread_cond_init(&ahead->changed, NULL);
    if (pthread_create(&ahead->thread, NULL, decode, ahead) != 0)
        abort(); // no thread is no memory for one
    return ahead;
}

static void stop_ahead(DwReadAhead *ahead)
{
    if (!ahead)
        return;
    pthread_mutex_lock(&ahead->lock);
    ahead->stop = true;
    pthread_cond_signal(&ahead->changed);
    pthread_mutex_unlock(&ahead->lock);
    pthread_join(ahead->thread, NULL);
    pthread_cond_destroy(&ahead->changed);
    pthread_mutex_destroy(&ahead->lock);
    for (size_t i = 0; i < SLOTS; i++)
        free(ahead->slot[i].samples);
    free(ahead);
}

// Reads over the first FRAMES frames.
static DwStatus skip(DwRecording *recording, const char *path, uint64_t frames, DwMessage *message)
{
    float *unused = dw_memory_new((size_t)DW_RECORDING_BLOCK * recording->channels, sizeof(float));
    DwStatus status = DW_OK;
    for (uint64_t at = 0; status == DW_OK && at < frames;) {
        size_t wanted = frames - at < DW_RECORDING_BLOCK ? (size_t)(frames - at) : (size_t)DW_RECORDING_BLOCK, got = 0;
        status = dw_source_read(recording->source, unused, wanted, &got, NULL, message);
        if (status == DW_OK && got == 0)
            status = dw_fail(message, DW_BAD_INPUT, "%s: ends at %.1f s, before record.start. Give an earlier one.",
                             path, (double)at / recording->rate_hz);
        at += got;
    }
    free(unused);
    return status;
}

DwStatus dw_recording_open(const char *path, const DwInputs *inputs, DwRecording *recording, DwMessage *message)
{
    *recording = (DwRecording){0};
    double start = dw_inputs_in(inputs, "record.start", "s"), end = dw_inputs_in(inputs, "record.end", "s");
    if (isfinite(start) && isfinite(end) && end <= start)
        return dw_fail(message, DW_BAD_INPUT, "record.end=%gs must lie after record.start=%gs.", end, start);
    DwStatus status = dw_source_open(path, &recording->source, message);
    if (status != DW_OK)
        return status;
    recording->rate_hz = dw_source_rate_hz(recording->source);
    recording->channels = dw_source_channels(recording->source);
    if (recording->rate_hz < LEAST_RATE_HZ)
        status = dw_fail(message, DW_BAD_INPUT, "%s has %g samples a second; record with 8000 or more.", path,
                         recording->rate_hz);
    uint64_t from = isfinite(start) ? (uint64_t)llround(start * recording->rate_hz) : 0;
    uint64_t to = isfinite(end) ? (uint64_t)llround(end * recording->rate_hz) : UINT64_MAX;
    if (status == DW_OK)
        status = skip(recording, path, from, message);
    if (status != DW_OK) {
        dw_recording_close(recording);
        return status;
    }
    recording->start_s = (double)from / recording->rate_hz;
    recording->ahead = start_ahead(recording->source, recording->channels, to - from);
    return DW_OK;
}

void dw_recording_close(DwRecording *recording)
{
    stop_ahead(recording->ahead);
    dw_source_close(recording->source);
    *recording = (DwRecording){0};
}

DwStatus dw_recording_read(DwRecording *recording, size_t *got, DwMessage *message)
{
    DwReadAhead *ahead = recording->ahead;
    pthread_mutex_lock(&ahead->lock);
    if (recording->block) { // the caller is done with the block before
        ahead->taken++;
        // A full decoder is woken when half is taken: fewer turns between the threads.
        if (ahead->filled - ahead->taken == SLOTS / 2)
            pthread_cond_signal(&ahead->changed);
    }
    while (ahead->filled == ahead->taken)
        pthread_cond_wait(&ahead->changed, &ahead->lock);
    pthread_mutex_unlock(&ahead->lock);
    size_t i = ahead->taken % SLOTS;
    *got = ahead->slot[i].frames;
    recording->block = *got ? ahead->slot[i].samples : NULL; // at the end the last slot stays
    recording->gaps += (ahead->slot[i].flags & DW_SOURCE_GAP) != 0;
    if (ahead->slot[i].status != DW_OK && message)
        *message = ahead->slot[i].message;
    return ahead->slot[i].status;
}

DwStatus dw_recording_play(DwRecording *recording, DwRecordingTake take, void *user, DwMessage *message)
{
    for (;;) {
        size_t got = 0;
        DwStatus status = dw_recording_read(recording, &got, message);
        if (status != DW_OK || got == 0)
            return status;
        take(user, recording->block, got);
    }
}

void dw_recording_describe(const DwRecording *recording, const char *path, DwSheet *sheet)
{
    const char *slash = strrchr(path, '/');
    dw_sheet_set_subject(sheet, slash ? slash + 1 : path);
    dw_sheet_remark(sheet, "Recording: %s, %g Hz, %s.", dw_source_format(recording->source), recording->rate_hz,
                    recording->channels == 1 ? "one channel" : "two channels");
    const DwSaying *remark;
    for (size_t i = 0; (remark = dw_source_remark(recording->source, i)); i++)
        dw_sheet_remark_as(sheet, remark);
    if (recording->gaps)
        dw_sheet_remark(sheet, "Samples are missing at %zu place%s; record again before trusting fine readings.",
                        recording->gaps, recording->gaps == 1 ? "" : "s");
}
