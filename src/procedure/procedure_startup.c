// SPDX-License-Identifier: MIT
// startup: how a deck comes up to speed, from a recording begun before the motor.
#include "measure/startup.h"
#include "procedure/procedures.h"
#include "procedure/tone_settings.h"

static const char *const quantities[] = {
    "startup.band", "record.tone", "deck.speed", "record.start", "record.end",
    "record.name",  "deck.class",  "deck.name",  "chain.name",   NULL,
};

static void push(void *startup, const float *interleaved, size_t frames)
{
    dw_startup_push(startup, interleaved, frames);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const char *path = request->recordings[0];
    DwRecording recording;
    DwMessage why;
    DwStatus status = dw_recording_open(path, request->inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwStartup *startup = dw_startup_new((DwStartupSettings){
        .rate_hz = recording.rate_hz,
        .channels = recording.channels,
        .tone_hz = dw_inputs_number(request->inputs, "record.tone"),
        .speed_rpm = dw_nominal_speed(request->inputs),
        .band_percent = dw_inputs_number(request->inputs, "startup.band"),
        .skip_s = recording.start_s,
    });
    status = dw_recording_feed(&recording, push, startup, message);
    if (status == DW_OK) {
        dw_startup_finish(startup);
        status = dw_startup_read(startup, sheet, &why);
        if (status != DW_OK)
            dw_fail(message, status, "%s: %s", path, why.text);
        else
            dw_recording_describe(&recording, path, sheet);
    }
    dw_startup_free(startup);
    dw_recording_close(&recording);
    return status;
}

const DwProcedure dw_procedure_startup = {
    .name = "startup",
    .title = "Start and settling",
    .summary = "Measure how long a deck takes to reach its speed, its overshoot and hunting, from a recording.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 1,
    .run = run,
};
