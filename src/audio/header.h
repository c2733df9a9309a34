// SPDX-License-Identifier: MIT
// What a file says of itself before any decoder sees it: whether it can be read
// at all, what its first bytes look like, how many samples its header promises.
#ifndef DW_AUDIO_HEADER_H
#define DW_AUDIO_HEADER_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct {
    const char *name; // with its article: "a WAV"
    bool by_decoder;  // the decoder, not the file reader, knows best what is wrong
} DwHeaderKind;

// Whether there is a readable file with something in it at PATH.
DwStatus dw_header_check(const char *path, DwMessage *message);
// What the first bytes look like, or NULL when like nothing known.
const DwHeaderKind *dw_header_kind(const char *path);
// Bytes of samples that the header of the WAV or RF64 file at PATH promises, or
// -1 when it is no such file or the recorder never filled the length in.
int64_t dw_header_promised_bytes(const char *path);
// Whether the file at PATH begins like MPEG audio: a frame, or a tag before it.
bool dw_header_is_mpeg(const char *path);

#endif
