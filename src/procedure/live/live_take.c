// SPDX-License-Identifier: MIT
#include "procedure/live/live_take.h"

#include "audio/writer.h"
#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

enum { COPY_FRAMES = 16384 };

static const double SLACK_S = 10; // beyond what is told as held, so that a copy keeps ahead of what is overwritten

struct DwLiveTake {
    int file;
    double rate_hz;
    unsigned channels;
    uint64_t room, keep; // frames
    pthread_mutex_t lock;
    uint64_t end; // frames pushed so far; under the lock
};

static DwLiveTake *make(int file, double rate_hz, unsigned channels, double keep_s)
{
    DwLiveTake *made = dw_memory_new(1, sizeof *made);
    made->file = file;
    made->rate_hz = rate_hz;
    made->channels = channels;
    made->keep = (uint64_t)ceil(keep_s * rate_hz);
    made->room = made->keep + (uint64_t)(SLACK_S * rate_hz);
    pthread_mutex_init(&made->lock, NULL);
    return made;
}

DwStatus dw_live_take_new(const char *folder, double rate_hz, unsigned channels, double keep_s, DwLiveTake **take,
                          DwMessage *message)
{
    char *path = dw_text_format("%s/deckwright-live-XXXXXX", folder);
    int file = mkstemp(path);
    if (file < 0) {
        dw_fail(message, DW_FAILED, "%s: a take cannot be kept there (%s). Check the folder.", folder, strerror(errno));
        free(path);
        return DW_FAILED;
    }
    unlink(path);
    free(path);
    *take = make(file, rate_hz, channels, keep_s);
    return DW_OK;
}

DwStatus dw_live_take_at(const char *path, double rate_hz, unsigned channels, double keep_s, uint64_t end,
                         DwLiveTake **take, DwMessage *message)
{
    int file = open(path, end ? O_RDWR | O_CLOEXEC : O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (file < 0)
        return dw_fail(message, DW_FAILED, "%s: a take cannot be kept there (%s). Check the folder.", path,
                       strerror(errno));
    DwLiveTake *made = make(file, rate_hz, channels, keep_s);
    struct stat status;
    uint64_t held = end < made->room ? end : made->room;
    if (fstat(file, &status) != 0 || (uint64_t)status.st_size < held * channels * sizeof(float)) {
        dw_live_take_free(made);
        return dw_fail(message, DW_BAD_INPUT, "%s: the take is shorter than was noted.", path);
    }
    made->end = end;
    *take = made;
    return DW_OK;
}

void dw_live_take_free(DwLiveTake *take)
{
    if (!take)
        return;
    close(take->file);
    pthread_mutex_destroy(&take->lock);
    free(take);
}

static uint64_t end_of(DwLiveTake *take)
{
    pthread_mutex_lock(&take->lock);
    uint64_t end = take->end;
    pthread_mutex_unlock(&take->lock);
    return end;
}

double dw_live_take_keeps_s(const DwLiveTake *take)
{
    return (double)take->keep / take->rate_hz;
}

void dw_live_take_span(DwLiveTake *take, uint64_t *from, uint64_t *to)
{
    *to = end_of(take);
    *from = *to > take->keep ? *to - take->keep : 0;
}

static bool write_all(int file, const void *bytes, size_t count, off_t at)
{
    for (size_t done = 0; done < count;) {
        ssize_t written = pwrite(file, (const char *)bytes + done, count - done, at + (off_t)done);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return false;
        done += (size_t)written;
    }
    return true;
}

static bool read_all(int file, void *bytes, size_t count, off_t at)
{
    for (size_t done = 0; done < count;) {
        ssize_t got = pread(file, (char *)bytes + done, count - done, at + (off_t)done);
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0)
            return false;
        done += (size_t)got;
    }
    return true;
}

// Frames from stream place AT on that lie in one piece in the file, at most COUNT.
static size_t in_one_piece(const DwLiveTake *take, uint64_t at, size_t count)
{
    uint64_t left = take->room - at % take->room;
    return left < count ? (size_t)left : count;
}

DwStatus dw_live_take_push(DwLiveTake *take, const float *interleaved, size_t frames, DwMessage *message)
{
    size_t frame = take->channels * sizeof(float);
    while (frames > 0) {
        uint64_t at = take->end; // only this thread moves it
        size_t count = in_one_piece(take, at, frames);
        if (!write_all(take->file, interleaved, count * frame, (off_t)(at % take->room * frame)))
            return dw_fail(message, DW_FAILED,
                           "The take cannot be written (%s). Make room on the disk and start again.", strerror(errno));
        pthread_mutex_lock(&take->lock);
        take->end += count;
        pthread_mutex_unlock(&take->lock);
        interleaved += count * take->channels;
        frames -= count;
    }
    return DW_OK;
}

static DwStatus copy(DwLiveTake *take, uint64_t from, uint64_t to, DwWriter *writer, DwMessage *message)
{
    size_t frame = take->channels * sizeof(float);
    float *samples = dw_memory_new(COPY_FRAMES, frame);
    DwStatus status = DW_OK;
    while (status == DW_OK && from < to) {
        size_t count = in_one_piece(take, from, to - from < COPY_FRAMES ? (size_t)(to - from) : (size_t)COPY_FRAMES);
        if (!read_all(take->file, samples, count * frame, (off_t)(from % take->room * frame)))
            status = dw_fail(message, DW_FAILED, "The take cannot be read back (%s).", strerror(errno));
        else if (end_of(take) > from + take->room - COPY_FRAMES)
            status =
                dw_fail(message, DW_FAILED, "The start of the take was overwritten meanwhile. Keep fewer seconds.");
        else
            status = dw_writer_push(writer, samples, count, message);
        from += count;
    }
    free(samples);
    return status;
}

DwStatus dw_live_take_write(DwLiveTake *take, uint64_t from, uint64_t to, const char *path, DwMessage *message)
{
    const char *dot = strrchr(path, '.');
    bool as_it_stands =
        dot && (strcasecmp(dot, ".wav") == 0 || strcasecmp(dot, ".aiff") == 0 || strcasecmp(dot, ".aif") == 0);
    DwWriter *writer = NULL;
    DwStatus status = dw_writer_open(path, take->rate_hz, take->channels,
                                     as_it_stands ? DW_ENCODING_FLOAT : DW_ENCODING_24_BIT, &writer, message);
    if (status != DW_OK)
        return status;
    status = copy(take, from, to, writer, message);
    if (status == DW_OK)
        return dw_writer_close(writer, message);
    dw_writer_abandon(writer);
    return status;
}
