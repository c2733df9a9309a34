// SPDX-License-Identifier: MIT
#include "audio/pulse_level.h"

#include <math.h>

void dw_pulse_level_note_device(DwPulseLevel *level, const pa_source_info *info)
{
    level->device = info->volume;
    level->base = info->base_volume;
    level->device_is_muted = info->mute;
}

void dw_pulse_level_note_stream(DwPulseLevel *level, const pa_source_output_info *info)
{
    if (info->has_volume)
        level->stream = info->volume;
    level->stream_is_muted = info->mute;
}

// By which CHANNEL is multiplied.
static double channel_db(const DwPulseLevel *level, unsigned channel)
{
    // Of a device with a control of its own, the base volume is that control's 0 dB.
    double device = pa_sw_volume_to_dB(level->device.values[channel]) - pa_sw_volume_to_dB(level->base);
    unsigned streams = level->stream.channels;
    return device + (streams ? pa_sw_volume_to_dB(level->stream.values[channel < streams ? channel : 0]) : 0);
}

void dw_pulse_level_tell(const DwPulseLevel *level, DwSourceOrigin *origin)
{
    double least = INFINITY, most = -INFINITY;
    for (unsigned i = 0; i < level->device.channels; i++) {
        least = fmin(least, channel_db(level, i));
        most = fmax(most, channel_db(level, i));
    }
    bool told = level->device.channels > 0;
    origin->gain_db = !told ? NAN : fabs(least) > fabs(most) ? least : most;
    origin->uneven_db = told ? most - least : 0;
    origin->is_muted = level->device_is_muted || level->stream_is_muted;
}
