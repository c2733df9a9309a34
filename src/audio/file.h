// SPDX-License-Identifier: MIT
// Recordings that libsndfile reads: WAV, RF64, FLAC, AIFF, Ogg with Vorbis or Opus. Within this folder only.
#ifndef DW_AUDIO_FILE_H
#define DW_AUDIO_FILE_H

#include "audio/source.h"

// As dw_source_open(); MESSAGE says only why not, without the path.
DwStatus dw_file_open(const char *path, DwSource **source, DwMessage *message);

#endif
