// SPDX-License-Identifier: MIT
// The parts of GStreamer that a recording may be taken apart by. Within this folder only.
#ifndef DW_AUDIO_PARTS_H
#define DW_AUDIO_PARTS_H

#include <stdbool.h>

// Whether the part called NAME opens what it is given and nothing else.
bool dw_parts_has(const char *name);
// The same of a part that a film may be shown by.
bool dw_parts_shows(const char *name);

#endif
