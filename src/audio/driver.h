// SPDX-License-Identifier: MIT
// What a kind of source supplies to stand behind a DwSource. Within this folder only.
#ifndef DW_AUDIO_DRIVER_H
#define DW_AUDIO_DRIVER_H

#include "audio/source.h"

#include <stdbool.h>

typedef struct {
    // As dw_source_read(), with all channels that the recording carries.
    DwStatus (*read)(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                     DwMessage *message);
    void (*close)(void *state);
    const DwSourceOrigin *(*origin)(const void *state); // NULL: no device
    const DwSourceTally *(*tally)(const void *state);   // NULL: it counts nothing
} DwDriver;

typedef struct {
    double rate_hz;
    unsigned channels; // that the recording carries
    int64_t frames;    // -1: unknown
    int64_t tolerance; // frames that a whole recording may fall short of `frames`
    char format[160];
} DwSourceFacts;

// A source of FACTS that reads by DRIVER from STATE. Takes ownership of STATE.
DwSource *dw_source_new(const DwDriver *driver, void *state, const DwSourceFacts *facts);
void *dw_source_state(DwSource *source);
// Frames delivered so far.
int64_t dw_source_position(const DwSource *source);
// Adds a sentence to what is remarked on, formatted as by printf; FORMAT is a text of the catalogue.
void dw_source_add_remark(DwSource *source, const char *format, ...) __attribute__((format(printf, 2, 3)));
// The same of one that was made elsewhere. Takes ownership of what REMARK holds.
void dw_source_take_remark(DwSource *source, DwSaying remark);

// Recordings that libsndfile reads: WAV, RF64, FLAC, AIFF, Ogg with Vorbis or Opus.

// As dw_source_open(); MESSAGE says only why not, without the path. In this very process: for deckwright-decode, which
// reads them in its box (decode.h).
DwStatus dw_file_inside(const char *path, DwSource **source, DwMessage *message);

#endif
