// SPDX-License-Identifier: MIT

#include "audio/driver.h"
#include "audio/header.h"
#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct {
    SNDFILE *sound;
    int descriptor;
} FileState;

static void close_file(void *state)
{
    FileState *file = state;
    if (file->sound)
        sf_close(file->sound);
    if (file->descriptor >= 0)
        close(file->descriptor);
    free(file);
}

// Straight into the caller's buffer: reading costs what the library costs.
static DwStatus read_file(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                          DwMessage *message)
{
    (void)message;
    FileState *file = dw_source_state(source);
    sf_count_t count = sf_readf_float(file->sound, interleaved, (sf_count_t)frames);
    *got = count > 0 ? (size_t)count : 0;
    *flags = 0;
    return DW_OK;
}

static const DwDriver file_driver = {read_file, close_file};

// The library's own words for a major type or an encoding.
static const char *library_words(int format)
{
    static _Thread_local SF_FORMAT_INFO info;
    info.format = format;
    return sf_command(NULL, SFC_GET_FORMAT_INFO, &info, sizeof info) == 0 && info.name ? info.name : "unknown";
}

static const char *container_words(int format)
{
    static const struct {
        int type;
        const char *words;
    } names[] = {
        {SF_FORMAT_WAV, "WAV"},   {SF_FORMAT_WAVEX, "WAV"}, {SF_FORMAT_RF64, "RF64"},
        {SF_FORMAT_AIFF, "AIFF"}, {SF_FORMAT_FLAC, "FLAC"}, {SF_FORMAT_OGG, "Ogg"},
        {SF_FORMAT_W64, "W64"},   {SF_FORMAT_CAF, "CAF"},   {SF_FORMAT_AU, "AU"},
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (names[i].type == (format & SF_FORMAT_TYPEMASK))
            return names[i].words;
    return library_words(format & SF_FORMAT_TYPEMASK);
}

static const char *encoding_words(int format)
{
    static const struct {
        int type;
        const char *words;
    } names[] = {
        {SF_FORMAT_PCM_S8, "8-bit PCM"},    {SF_FORMAT_PCM_U8, "8-bit PCM"},  {SF_FORMAT_PCM_16, "16-bit PCM"},
        {SF_FORMAT_PCM_24, "24-bit PCM"},   {SF_FORMAT_PCM_32, "32-bit PCM"}, {SF_FORMAT_FLOAT, "32-bit float"},
        {SF_FORMAT_DOUBLE, "64-bit float"}, {SF_FORMAT_VORBIS, "Vorbis"},     {SF_FORMAT_OPUS, "Opus"},
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (names[i].type == (format & SF_FORMAT_SUBMASK))
            return names[i].words;
    return library_words(format & SF_FORMAT_SUBMASK);
}

// Bytes a frame takes, for encodings in which every frame takes the same; else 0.
static int64_t frame_bytes(const SF_INFO *info)
{
    switch (info->format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
        return info->channels;
    case SF_FORMAT_PCM_16:
        return 2 * (int64_t)info->channels;
    case SF_FORMAT_PCM_24:
        return 3 * (int64_t)info->channels;
    case SF_FORMAT_PCM_32:
    case SF_FORMAT_FLOAT:
        return 4 * (int64_t)info->channels;
    case SF_FORMAT_DOUBLE:
        return 8 * (int64_t)info->channels;
    }
    return 0;
}

// The library silently reads what there is; the technician should know that
// the header promised more.
static void remark_cut_off(DwSource *source, const char *path, const SF_INFO *info)
{
    int64_t bytes = frame_bytes(info);
    int64_t promised = bytes ? dw_header_promised_bytes(path) / bytes : -1;
    if (promised > info->frames)
        dw_source_add_remark(source, "The recording ends early: %.1f of %.1f seconds.",
                             (double)info->frames / info->samplerate, (double)promised / info->samplerate);
}

// What stands in the way of reading, or NULL.
static const char *obstacle(const FileState *file, const SF_INFO *info)
{
    // The library's words for a rate below 1 speak of its own inside.
    if (!file->sound)
        return strstr(sf_strerror(NULL), "SF_INFO") ? "its header says 0 Hz" : sf_strerror(NULL);
    if (info->samplerate <= 0)
        return "its header says 0 Hz";
    if (info->channels <= 0)
        return "its header says 0 channels";
    if (info->frames <= 0)
        return "it holds no samples";
    return NULL;
}

DwStatus dw_file_inside(const char *path, DwSource **source, DwMessage *message)
{
    // The library reads MP3 only as far as it guesses the length, and its MP3
    // decoder writes to the terminal: that is left to the other reader.
    if (dw_header_is_mpeg(path))
        return dw_fail(message, DW_BAD_INPUT, "it is MPEG audio");
    FileState *file = dw_memory_new(1, sizeof *file);
    // By descriptor, so that the library goes by what is in the file and never
    // takes the ending of its name for a headerless format.
    file->descriptor = open(path, O_RDONLY | O_CLOEXEC);
    if (file->descriptor < 0) {
        free(file);
        return dw_fail(message, DW_BAD_INPUT, "%s", strerror(errno));
    }
    SF_INFO info = {0};
    file->sound = sf_open_fd(file->descriptor, SFM_READ, &info, SF_FALSE);
    const char *why = obstacle(file, &info);
    if (why) {
        dw_fail(message, DW_BAD_INPUT, "%s", why);
        close_file(file);
        return DW_BAD_INPUT;
    }
    // An Ogg file that was cut off has no last page to tell its length.
    bool is_known = info.frames < SF_COUNT_MAX;
    DwSourceFacts facts = {
        .rate_hz = info.samplerate, .channels = (unsigned)info.channels, .frames = is_known ? info.frames : -1};
    snprintf(facts.format, sizeof facts.format, "%s, %s", container_words(info.format), encoding_words(info.format));
    *source = dw_source_new(&file_driver, file, &facts);
    remark_cut_off(*source, path, &info);
    return DW_OK;
}
