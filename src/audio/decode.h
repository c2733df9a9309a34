// SPDX-License-Identifier: MIT
// Strangers' recordings, decoded in a box. What GStreamer decodes: MP3, phone recordings (M4A, 3GP), the
// sound of a video, and whatever else its plug-ins know. Within this folder only.
#ifndef DW_AUDIO_DECODE_H
#define DW_AUDIO_DECODE_H

#include "audio/source.h"

#include <stdbool.h>

// As dw_source_open(), and CLOCKED: as a live input that plays the recording at
// the speed it was made at. MESSAGE says only why not, without the path. The file is read by
// deckwright-decode, a process that can do no more than that.
DwStatus dw_decode_open(const char *path, bool clocked, DwSource **source, DwMessage *message);
// The same of a file that libsndfile reads (driver.h).
DwStatus dw_file_open(const char *path, DwSource **source, DwMessage *message);
// The first in this very process: for that program.
DwStatus dw_decode_inside(const char *path, bool clocked, DwSource **source, DwMessage *message);

#endif
