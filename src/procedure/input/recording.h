// SPDX-License-Identifier: MIT
// A recording read block by block between record.start and record.end. A second
// thread decodes ahead while the caller works on the block before.
#ifndef DW_PROCEDURE_RECORDING_H
#define DW_PROCEDURE_RECORDING_H

#include "audio/source.h"
#include "base/sheet.h"

enum { DW_RECORDING_BLOCK = 16384 };

typedef struct DwReadAhead DwReadAhead;

typedef struct {
    DwSource *source;
    DwReadAhead *ahead;
    const float *block; // the frames of the last read, interleaved; valid until the next
    double rate_hz;
    unsigned channels;
    double start_s; // time of the first frame read
    size_t gaps;    // places where samples are missing
} DwRecording;

// Opens PATH and skips to record.start. A start after the end is DW_BAD_INPUT.
DwStatus dw_recording_open(const char *path, const DwInputs *inputs, DwRecording *recording, DwMessage *message);
void dw_recording_close(DwRecording *recording);
// Reads the next block into recording->block; *GOT is 0 at the end.
DwStatus dw_recording_read(DwRecording *recording, size_t *got, DwMessage *message);
// Hands all of it, block by block, to TAKE.
typedef void (*DwRecordingTake)(void *user, const float *interleaved, size_t frames);
DwStatus dw_recording_play(DwRecording *recording, DwRecordingTake take, void *user, DwMessage *message);
// Names the recording on SHEET and says what its source has to say.
void dw_recording_describe(const DwRecording *recording, const char *path, DwSheet *sheet);

#endif
