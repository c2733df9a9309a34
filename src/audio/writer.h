// SPDX-License-Identifier: MIT
// Writes samples to a sound file that is there whole or not at all: it grows
// under a temporary name in the same folder and takes its name when closed.
#ifndef DW_AUDIO_WRITER_H
#define DW_AUDIO_WRITER_H

#include "base/status.h"

#include <stdint.h>

typedef struct DwWriter DwWriter;

typedef enum {
    DW_ENCODING_24_BIT, // and Vorbis, the only one there is, in .ogg
    DW_ENCODING_16_BIT, // not in .ogg
    DW_ENCODING_FLOAT,  // 32-bit float, in .wav and .aiff
} DwEncoding;

// Starts a file that will be called PATH. Its ending chooses the format: .wav
// (RF64 beyond 4 GB), .flac, .aiff, .aif or .ogg. RATE_HZ must be whole.
// DW_BAD_INPUT for what a format cannot hold, DW_FAILED when the folder cannot
// be written. The caller ends *WRITER with dw_writer_close() or dw_writer_abandon().
DwStatus dw_writer_open(const char *path, double rate_hz, unsigned channels, DwEncoding encoding, DwWriter **writer,
                        DwMessage *message);
// Adds FRAMES frames of INTERLEAVED, full scale ±1.0. Whole-number encodings
// round to the nearest step and limit to full scale. What is not a finite
// number is DW_BAD_INPUT. After a failure only abandoning is left.
DwStatus dw_writer_push(DwWriter *writer, const float *interleaved, size_t frames, DwMessage *message);
// Samples limited to full scale so far.
uint64_t dw_writer_limited(const DwWriter *writer);
// Finishes the file and gives it its name, in place of one already called so.
// Frees WRITER; on failure nothing is left behind and an older file stays.
DwStatus dw_writer_close(DwWriter *writer, DwMessage *message);
// Throws away what was written. Frees WRITER, which may be NULL.
void dw_writer_abandon(DwWriter *writer);

#endif
