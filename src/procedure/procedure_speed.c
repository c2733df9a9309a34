// SPDX-License-Identifier: MIT
// speed: how fast and how steadily a deck turns, from a recorded tone.
#include "measure/speed.h"
#include "procedure/procedures.h"
#include "procedure/tone_settings.h"

static const char *const quantities[] = {
    "record.tone",  "deck.speed",   "record.radius", "record.start", "record.end",  "record.tone_tolerance",
    "record.name",  "flutter.split", "arm.offset",    "deck.class",   "deck.name",   "chain.clock_error",
    "chain.name",   NULL,
};

static void push(void *speed, const float *interleaved, size_t frames)
{
    dw_speed_push(speed, interleaved, frames);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const char *path = request->recordings[0];
    DwRecording recording;
    DwMessage why;
    DwStatus status = dw_recording_open(path, request->inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwSpeed *speed = dw_speed_new(dw_tone_settings(request->inputs, &recording));
    status = dw_recording_feed(&recording, push, speed, message);
    if (status == DW_OK) {
        dw_speed_finish(speed);
        status = dw_speed_read(speed, sheet, &why);
        if (status != DW_OK)
            dw_fail(message, status, "%s: %s", path, why.text);
        else
            dw_recording_describe(&recording, path, sheet);
    }
    dw_speed_free(speed);
    dw_recording_close(&recording);
    return status;
}

const DwProcedure dw_procedure_speed = {
    .name = "speed",
    .title = "Speed, wow and flutter",
    .summary = "Measure speed, drift, wow and flutter from a recorded tone.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 1,
    .run = run,
};
