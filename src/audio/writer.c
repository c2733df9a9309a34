// SPDX-License-Identifier: MIT
#include "audio/writer.h"

#include "audio/growing.h"
#include "base/memory.h"

#include <assert.h>
#include <errno.h>
#include <math.h>
#include <sndfile.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

enum { BLOCK_SAMPLES = 4096 };

struct DwWriter {
    DwGrowing file;
    SNDFILE *sound;
    unsigned channels;
    int bits; // of a whole-number encoding; 0: samples are handed on as float
    uint64_t limited;
    int reason; // errno of the first write that the disk refused, or 0
    bool broken;
};

typedef struct {
    const char *ending;
    int type;
    bool is_lossy, has_float;
} Container;

static const Container *find_container(const char *path)
{
    static const Container containers[] = {
        // The library turns an RF64 that stayed small into a plain WAV.
        {".wav", SF_FORMAT_RF64, false, true},  {".flac", SF_FORMAT_FLAC, false, false},
        {".aiff", SF_FORMAT_AIFF, false, true}, {".aif", SF_FORMAT_AIFF, false, true},
        {".ogg", SF_FORMAT_OGG, true, false},
    };
    const char *dot = strrchr(path, '.');
    for (size_t i = 0; dot && i < sizeof containers / sizeof *containers; i++)
        if (strcasecmp(dot, containers[i].ending) == 0)
            return &containers[i];
    return NULL;
}

static int subtype_of(const Container *container, DwEncoding encoding)
{
    if (container->is_lossy)
        return SF_FORMAT_VORBIS;
    switch (encoding) {
    case DW_ENCODING_24_BIT:
        return SF_FORMAT_PCM_24;
    case DW_ENCODING_16_BIT:
        return SF_FORMAT_PCM_16;
    case DW_ENCODING_FLOAT:
        return SF_FORMAT_FLOAT;
    }
    return 0;
}

// Chooses how PATH is written, or says why it cannot be.
static DwStatus choose_format(const char *path, double rate_hz, unsigned channels, DwEncoding encoding, SF_INFO *info,
                              DwMessage *message)
{
    const Container *container = find_container(path);
    if (!container)
        return dw_fail(message, DW_BAD_INPUT, "%s: the ending says no format. Use .wav, .flac, .aiff or .ogg.", path);
    bool fits = encoding == DW_ENCODING_24_BIT || (encoding == DW_ENCODING_FLOAT && container->has_float) ||
                (encoding == DW_ENCODING_16_BIT && !container->is_lossy);
    if (!fits)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: a %s file has no such encoding. Use .wav, or leave it to the format.", path,
                       container->ending);
    *info = (SF_INFO){.samplerate = (int)rate_hz,
                      .channels = (int)channels,
                      .format = container->type | subtype_of(container, encoding)};
    if (info->samplerate != rate_hz || !sf_format_check(info))
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: a %s file cannot hold %u channels at %g Hz. Use .wav and a whole rate.", path,
                       container->ending, channels, rate_hz);
    return DW_OK;
}

static int bits_of(int format)
{
    switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_16:
        return 16;
    case SF_FORMAT_PCM_24:
        return 24;
    }
    return 0;
}

// The library's way to the disk goes through here, because its encoders do not
// all tell when the disk is full.
static sf_count_t disk_length(void *opaque)
{
    struct stat about;
    return fstat(((DwWriter *)opaque)->file.descriptor, &about) == 0 ? about.st_size : -1;
}

static sf_count_t disk_seek(sf_count_t offset, int whence, void *opaque)
{
    return lseek(((DwWriter *)opaque)->file.descriptor, offset, whence);
}

static sf_count_t disk_tell(void *opaque)
{
    return disk_seek(0, SEEK_CUR, opaque);
}

static sf_count_t disk_read(void *bytes, sf_count_t count, void *opaque)
{
    return read(((DwWriter *)opaque)->file.descriptor, bytes, (size_t)count);
}

static sf_count_t disk_write(const void *bytes, sf_count_t count, void *opaque)
{
    DwWriter *writer = opaque;
    sf_count_t done = 0;
    while (done < count && !writer->reason) {
        ssize_t now = write(writer->file.descriptor, (const char *)bytes + done, (size_t)(count - done));
        if (now < 0 && errno != EINTR)
            writer->reason = errno;
        done += now > 0 ? now : 0;
    }
    return done;
}

static SF_VIRTUAL_IO disk = {disk_length, disk_seek, disk_read, disk_write, disk_tell};

static DwStatus start_sound(DwWriter *writer, SF_INFO *info, DwMessage *message)
{
    writer->sound = sf_open_virtual(&disk, SFM_WRITE, info, writer);
    if (!writer->sound)
        return dw_fail(message, DW_FAILED, "%s: cannot be written (%s). Choose another format.", writer->file.path,
                       sf_strerror(NULL));
    sf_command(writer->sound, SFC_RF64_AUTO_DOWNGRADE, NULL, SF_TRUE);
    double quality = 0.9;
    if ((info->format & SF_FORMAT_SUBMASK) == SF_FORMAT_VORBIS)
        sf_command(writer->sound, SFC_SET_VBR_ENCODING_QUALITY, &quality, sizeof quality);
    return DW_OK;
}

DwStatus dw_writer_open(const char *path, double rate_hz, unsigned channels, DwEncoding encoding, DwWriter **writer,
                        DwMessage *message)
{
    assert(path && writer);
    SF_INFO info;
    DwStatus status = choose_format(path, rate_hz, channels, encoding, &info, message);
    if (status != DW_OK)
        return status;
    DwWriter *opened = dw_memory_new(1, sizeof *opened);
    opened->channels = channels;
    opened->bits = bits_of(info.format);
    status = dw_growing_open(path, &opened->file, message);
    if (status == DW_OK)
        status = start_sound(opened, &info, message);
    if (status != DW_OK) {
        dw_writer_abandon(opened);
        return status;
    }
    *writer = opened;
    return DW_OK;
}

// One sample as a left-justified whole number: what the library's reader divides
// by 2 to the power of bits - 1 comes back as it was given.
static int whole_sample(DwWriter *writer, float sample)
{
    double scale = ldexp(1, writer->bits - 1);
    double step = nearbyint(sample * scale);
    if (step > scale - 1 || step < -scale) {
        writer->limited++;
        step = step < 0 ? -scale : scale - 1;
    }
    return (int)((int64_t)step * ((int64_t)1 << (32 - writer->bits)));
}

static bool write_block(DwWriter *writer, const float *samples, size_t count)
{
    if (writer->bits == 0)
        return sf_write_float(writer->sound, samples, (sf_count_t)count) == (sf_count_t)count;
    int whole[BLOCK_SAMPLES];
    for (size_t i = 0; i < count; i++)
        whole[i] = whole_sample(writer, samples[i]);
    return sf_write_int(writer->sound, whole, (sf_count_t)count) == (sf_count_t)count;
}

static DwStatus fail_writing(DwWriter *writer, const char *reason, DwMessage *message)
{
    writer->broken = true;
    return dw_fail(message, DW_FAILED, "%s: writing failed (%s). Make room on the disk or choose another one.",
                   writer->file.path, reason);
}

DwStatus dw_writer_push(DwWriter *writer, const float *interleaved, size_t frames, DwMessage *message)
{
    assert(writer && !writer->broken && (interleaved || frames == 0));
    size_t samples = frames * writer->channels;
    for (size_t i = 0; i < samples; i++)
        if (!isfinite(interleaved[i])) {
            writer->broken = true;
            return dw_fail(message, DW_BAD_INPUT,
                           "%s: a sample to be written is not a finite number. Check its origin.", writer->file.path);
        }
    size_t most = BLOCK_SAMPLES / writer->channels * writer->channels;
    for (size_t done = 0; done < samples; done += most) {
        size_t count = samples - done < most ? samples - done : most;
        bool is_written = write_block(writer, interleaved + done, count);
        if (writer->reason)
            return fail_writing(writer, strerror(writer->reason), message);
        if (!is_written)
            return fail_writing(writer, sf_strerror(writer->sound), message);
    }
    return DW_OK;
}

uint64_t dw_writer_limited(const DwWriter *writer)
{
    return writer->limited;
}

// Ends the sound file. Returned: NULL, or why it is not whole.
static const char *finish_sound(DwWriter *writer)
{
    int error = sf_close(writer->sound);
    writer->sound = NULL;
    if (writer->reason)
        return strerror(writer->reason);
    if (error)
        return sf_error_number(error);
    return NULL;
}

DwStatus dw_writer_close(DwWriter *writer, DwMessage *message)
{
    assert(writer && !writer->broken);
    const char *why = finish_sound(writer);
    if (!why)
        why = dw_growing_keep(&writer->file);
    DwStatus status = why ? fail_writing(writer, why, message) : DW_OK;
    dw_writer_abandon(writer);
    return status;
}

void dw_writer_abandon(DwWriter *writer)
{
    if (!writer)
        return;
    if (writer->sound)
        sf_close(writer->sound);
    dw_growing_drop(&writer->file);
    free(writer);
}
