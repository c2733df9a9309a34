// SPDX-License-Identifier: MIT
// What the sound server does to the level of a device's samples: its own control of the device, and the
// mixer's of the one stream that is measured. Of pulse only.
#ifndef DW_AUDIO_PULSE_LEVEL_H
#define DW_AUDIO_PULSE_LEVEL_H

#include "audio/origin.h"

#include <pulse/pulseaudio.h>

typedef struct {
    pa_cvolume device, stream; // of no channels: not told yet
    pa_volume_t base;          // where the device's own control stands at 0 dB
    bool device_is_muted, stream_is_muted;
} DwPulseLevel;

// Notes what the server tells of the device, and of the stream.
void dw_pulse_level_note_device(DwPulseLevel *level, const pa_source_info *info);
void dw_pulse_level_note_stream(DwPulseLevel *level, const pa_source_output_info *info);
// What both do together: the level and mute of ORIGIN.
void dw_pulse_level_tell(const DwPulseLevel *level, DwSourceOrigin *origin);

#endif
