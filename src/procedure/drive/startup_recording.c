// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "procedure/input/tone_settings.h"

static void push(void *startup, const float *interleaved, size_t frames)
{
    dw_startup_push(startup, interleaved, frames);
}

DwStatus dw_startup_recording_take(const char *path, const DwInputs *inputs, double band_percent, DwSheet *sheet,
                                   DwStartup **startup, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwStartup *made = dw_startup_new((DwStartupSettings){
        .rate_hz = recording.rate_hz,
        .channels = recording.channels,
        .tone_hz = dw_inputs_in(inputs, "record.tone", "Hz"),
        .speed_rpm = dw_nominal_speed(inputs),
        .band_percent = band_percent,
        .skip_s = recording.start_s,
    });
    status = dw_recording_play(&recording, push, made, message);
    if (status == DW_OK) {
        dw_startup_finish(made);
        dw_recording_describe(&recording, path, sheet);
        *startup = made;
    } else
        dw_startup_free(made);
    dw_recording_close(&recording);
    return status;
}
