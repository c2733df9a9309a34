// SPDX-License-Identifier: MIT
#include "procedure/input/recorded_tone.h"

#include "procedure/input/tone_settings.h"

static void push(void *speed, const float *interleaved, size_t frames)
{
    dw_speed_push(speed, interleaved, frames);
}

DwStatus dw_recorded_tone_speed(const char *path, const DwInputs *inputs, const DwDrive *drive, DwSheet *described,
                                DwSheet *sheet, DwMessage *message)
{
    DwRecording recording;
    DwMessage why;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwSpeed *speed = dw_speed_new(dw_tone_settings(inputs, &recording, drive));
    status = dw_recording_play(&recording, push, speed, message);
    if (status == DW_OK) {
        dw_speed_finish(speed);
        status = dw_speed_read(speed, sheet, &why);
        if (status != DW_OK)
            dw_fail(message, status, "%s: %s", path, why.text);
        else
            dw_recording_describe(&recording, path, described);
    }
    dw_speed_free(speed);
    dw_recording_close(&recording);
    return status;
}

DwStatus dw_recorded_tone_measure(const char *path, const DwInputs *inputs, DwSheet *sheet, DwRecordedTone *tone,
                                  DwMessage *message)
{
    DwSheet *measured = dw_sheet_new("speed", "");
    DwStatus status = dw_recorded_tone_speed(path, inputs, NULL, sheet, measured, message);
    if (status == DW_OK) {
        const DwReading *frequency = dw_sheet_reading(measured, "tone.frequency");
        *tone =
            (DwRecordedTone){frequency->value, frequency->uncertainty, dw_sheet_reading(measured, "speed.mean")->value};
    }
    dw_sheet_free(measured);
    return status;
}
