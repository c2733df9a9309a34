// SPDX-License-Identifier: MIT
// A recording or a live input as one stream of samples, wherever it comes from.
// Full scale is ±1.0. A source is used by one thread at a time.
#ifndef DW_AUDIO_SOURCE_H
#define DW_AUDIO_SOURCE_H

#include "audio/origin.h"
#include "base/saying.h"
#include "base/status.h"

#include <stdint.h>

typedef struct DwSource DwSource;

// A device's own count of its samples. Nothing that delays their way here is in it.
typedef struct {
    double time_s;  // monotonic
    double frames;  // that the device had taken by then since the source was opened
    uint64_t count; // how often it was told; 0: not yet
} DwSourceTally;

// Samples are missing before the first frame of the block just read.
#define DW_SOURCE_GAP (1u << 0)

// Opens the recording at PATH, whatever its format. What is missing, empty,
// damaged at its head or no recording is DW_BAD_INPUT; a decoder that is not
// installed is DW_FAILED. The caller frees *SOURCE with dw_source_close().
DwStatus dw_source_open(const char *path, DwSource **source, DwMessage *message);
// Ends SOURCE, which may be NULL.
void dw_source_close(DwSource *source);

// Reads the next FRAMES frames (one sample of each channel) into INTERLEAVED.
// *GOT is smaller before a gap, from a live source and at the end; 0 at the end
// and at every read after it. *FLAGS is 0 or DW_SOURCE_GAP and may be NULL.
// Samples are handed on as they stand, not-a-number and infinity included.
DwStatus dw_source_read(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                        DwMessage *message);

// Frames a second, as recorded [Hz].
double dw_source_rate_hz(const DwSource *source);
// Channels delivered: 1 or 2. Of a recording with more, the first two.
unsigned dw_source_channels(const DwSource *source);
// Frames that reading to the end should give, or -1 when nobody knows.
int64_t dw_source_frames(const DwSource *source);
// What is being read, such as "WAV, 24-bit PCM". Valid until the source is closed.
const char *dw_source_format(const DwSource *source);
// Of a device: how it stands as of the last read. NULL for a recording. Valid until
// the next read or close.
const DwSourceOrigin *dw_source_origin(const DwSource *source);
// Of a device whose server counts: the newest count as of the last read. NULL for others.
// Valid until the next read or close.
const DwSourceTally *dw_source_tally(const DwSource *source);
// What the technician should know about the recording: sentence INDEX, from 0; NULL behind the last. Complete once the
// end was read. Valid until the next read or close.
const DwSaying *dw_source_remark(const DwSource *source, size_t index);

#endif
