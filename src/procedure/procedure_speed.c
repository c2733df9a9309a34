// SPDX-License-Identifier: MIT
// speed: how fast and how steadily a deck turns, from a recorded tone.
#include "measure/speed.h"
#include "procedure/procedures.h"
#include "procedure/recording.h"

#include <math.h>

static const char *const quantities[] = {
    "record.tone",  "deck.speed",   "record.radius", "record.start", "record.end",  "record.tone_tolerance",
    "record.name",  "flutter.split", "arm.offset",    "deck.class",   "deck.name",   "chain.clock_error",
    "chain.name",   NULL,
};

// A speed typed as 33, 33.3 or 33.33 means 33⅓, of which it is short by up to 1 %.
static double nominal_speed(double rpm)
{
    static const double third = 100.0 / 3;
    return rpm >= 33 && rpm <= 33.4 ? third : rpm;
}

static DwSpeedSettings settings_from(const DwInputs *inputs, const DwRecording *recording)
{
    DwSpeedSettings settings = dw_speed_settings(recording->rate_hz, recording->channels);
    settings.tone_hz = dw_inputs_number(inputs, "record.tone");
    settings.speed_rpm = nominal_speed(dw_inputs_number(inputs, "deck.speed"));
    settings.split_hz = dw_inputs_number(inputs, "flutter.split");
    settings.radius_mm = dw_inputs_number(inputs, "record.radius");
    settings.offset_deg = dw_inputs_number(inputs, "arm.offset");
    settings.clock_error_ppm = 1e4 * dw_inputs_number(inputs, "chain.clock_error");
    settings.tone_tolerance_percent = dw_inputs_number(inputs, "record.tone_tolerance");
    settings.skip_s = recording->start_s;
    return settings;
}

static void take(void *user, const float *interleaved, size_t frames)
{
    dw_speed_push(user, interleaved, frames);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const char *path = request->recordings[0];
    DwRecording recording;
    DwMessage why;
    DwStatus status = dw_recording_open(path, request->inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwSpeed *speed = dw_speed_new(settings_from(request->inputs, &recording));
    status = dw_recording_play(&recording, take, speed, message);
    dw_speed_finish(speed);
    if (status == DW_OK) {
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
