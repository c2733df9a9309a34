// SPDX-License-Identifier: MIT
#include "audio/source.h"

#include "audio/decode.h"
#include "audio/driver.h"
#include "audio/header.h"
#include "base/memory.h"

#include <assert.h>
#include <stdarg.h>
#include <stdlib.h>

enum { DELIVERED_MOST = 2, FOLD_FRAMES = 4096 };

struct DwSource {
    const DwDriver *driver;
    void *state;
    DwSourceFacts facts;
    DwSaying *remarks;
    size_t remark_count;
    int64_t position;
    bool ended;
    float *all_channels; // FOLD_FRAMES frames, when more is carried than delivered
};

DwSource *dw_source_new(const DwDriver *driver, void *state, const DwSourceFacts *facts)
{
    DwSource *source = dw_memory_new(1, sizeof *source);
    source->driver = driver;
    source->state = state;
    source->facts = *facts;
    if (facts->channels > DELIVERED_MOST) {
        source->all_channels = dw_memory_new((size_t)FOLD_FRAMES * facts->channels, sizeof(float));
        dw_source_add_remark(source, "The recording has %u channels; the first two are used.", facts->channels);
    }
    return source;
}

void dw_source_close(DwSource *source)
{
    if (!source)
        return;
    source->driver->close(source->state);
    for (size_t i = 0; i < source->remark_count; i++)
        dw_saying_clear(&source->remarks[i]);
    free(source->remarks);
    free(source->all_channels);
    free(source);
}

// The one line for a file that neither reader could open.
static DwStatus refuse(const char *path, const char *from_file, const char *from_decoder, DwMessage *message)
{
    const DwHeaderKind *kind = dw_header_kind(path);
    if (!kind)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: this is no recording in a known format. Give a WAV, FLAC, AIFF, Ogg, MP3 or M4A file.",
                       path);
    return dw_fail(message, DW_BAD_INPUT,
                   "%s: begins like %s file but cannot be read (%s). Copy it again from where it was recorded, or "
                   "record it again.",
                   path, kind->name, kind->by_decoder ? from_decoder : from_file);
}

DwStatus dw_source_open(const char *path, DwSource **source, DwMessage *message)
{
    assert(path && source);
    DwStatus status = dw_header_check(path, message);
    if (status != DW_OK)
        return status;
    DwMessage from_file, from_decoder;
    if (dw_file_open(path, source, &from_file) == DW_OK)
        return DW_OK;
    // What is unknown to the one reader may be known to the other.
    status = dw_decode_open(path, false, source, &from_decoder);
    // A decoder for pages or pictures is not what is missing.
    if (status == DW_FAILED && dw_header_kind(path))
        return dw_fail(message, DW_FAILED, "%s: %s", path, from_decoder.text);
    return status == DW_OK ? DW_OK : refuse(path, from_file.text, from_decoder.text, message);
}

// Reads all channels aside and hands on the first two.
static DwStatus read_folded(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                            DwMessage *message)
{
    if (frames > FOLD_FRAMES)
        frames = FOLD_FRAMES;
    DwStatus status = source->driver->read(source, source->all_channels, frames, got, flags, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < *got; i++)
        for (size_t channel = 0; channel < DELIVERED_MOST; channel++)
            interleaved[i * DELIVERED_MOST + channel] = source->all_channels[i * source->facts.channels + channel];
    return DW_OK;
}

// At the end: was all there that the recording said it would hold?
static void remark_early_end(DwSource *source)
{
    const DwSourceFacts *facts = &source->facts;
    if (facts->frames < 0 || source->position + facts->tolerance >= facts->frames)
        return;
    dw_source_add_remark(source, "The recording ends early or has holes: %.1f of %.1f seconds could be read.",
                         (double)source->position / facts->rate_hz, (double)facts->frames / facts->rate_hz);
}

DwStatus dw_source_read(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                        DwMessage *message)
{
    assert(source && interleaved && frames > 0 && got);
    size_t count = 0;
    unsigned found = 0;
    if (!source->ended) {
        DwStatus status = (source->all_channels ? read_folded : source->driver->read)(source, interleaved, frames,
                                                                                      &count, &found, message);
        if (status != DW_OK)
            return status;
    }
    if (count == 0 && !source->ended) {
        source->ended = true;
        remark_early_end(source);
    }
    source->position += (int64_t)count;
    *got = count;
    if (flags)
        *flags = found;
    return DW_OK;
}

double dw_source_rate_hz(const DwSource *source)
{
    return source->facts.rate_hz;
}

unsigned dw_source_channels(const DwSource *source)
{
    return source->facts.channels > DELIVERED_MOST ? DELIVERED_MOST : source->facts.channels;
}

int64_t dw_source_frames(const DwSource *source)
{
    return source->facts.frames;
}

const char *dw_source_format(const DwSource *source)
{
    return source->facts.format;
}

const DwSaying *dw_source_remark(const DwSource *source, size_t index)
{
    return index < source->remark_count ? &source->remarks[index] : NULL;
}

const DwSourceOrigin *dw_source_origin(const DwSource *source)
{
    return source->driver->origin ? source->driver->origin(source->state) : NULL;
}

const DwSourceTally *dw_source_tally(const DwSource *source)
{
    return source->driver->tally ? source->driver->tally(source->state) : NULL;
}

void *dw_source_state(DwSource *source)
{
    return source->state;
}

int64_t dw_source_position(const DwSource *source)
{
    return source->position;
}

void dw_source_add_remark(DwSource *source, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    dw_source_take_remark(source, dw_saying_make(format, arguments));
    va_end(arguments);
}

void dw_source_take_remark(DwSource *source, DwSaying remark)
{
    source->remarks = dw_memory_resize(source->remarks, source->remark_count + 1, sizeof *source->remarks);
    source->remarks[source->remark_count++] = remark;
}
