// SPDX-License-Identifier: MIT
// held: wow from the owner's own music, by what is common to all its held notes.
#include "measure/music/held.h"
#include "procedure/input/drive_unused.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/recording.h"
#include "procedure/input/tone_settings.h"
#include "procedure/registry/procedures.h"

static const char *const quantities[] = {
    "deck.speed",
    "music.tuning",
    "record.start",
    "record.end",
    "record.name",
    "deck.class",
    "deck.operation",
    "deck.suspended",
    "deck.name",
    "chain.name",
    "deck.mains",
    "drive.kind",
    "drive.motor_kind",
    "drive.motor_poles",
    "drive.motor_slip",
    "drive.motor_speed",
    "drive.pulley_diameter",
    "drive.rim_diameter",
    "drive.centre_distance",
    "drive.belt_length",
    "drive.belt_thickness",
    "drive.idler_diameter",
    "drive.idler_driven_diameter",
    "drive.first_belt_length",
    "drive.first_belt_thickness",
    "drive.motors",
    NULL,
};

static void push(void *held, const float *interleaved, size_t frames)
{
    dw_held_push(held, interleaved, frames);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    const char *path = request->recordings[0];
    DwRecording recording;
    DwMessage why;
    DwHeldSettings settings = {.speed_rpm = dw_nominal_speed(inputs),
                               .tuning_hz = dw_inputs_in(inputs, "music.tuning", "Hz")};
    DwStatus status =
        dw_measure_inputs_drive(inputs, settings.speed_rpm, &settings.drive_given, &settings.drive, message);
    if (status == DW_OK)
        status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    settings.rate_hz = recording.rate_hz;
    settings.channels = recording.channels;
    settings.skip_s = recording.start_s;
    DwHeld *held = dw_held_new(settings);
    status = dw_recording_play(&recording, push, held, message);
    if (status == DW_OK) {
        dw_held_finish(held);
        status = dw_held_read(held, sheet, &why);
        if (status != DW_OK)
            dw_fail(message, status, "%s: %s", path, why.text);
        else
            dw_recording_describe(&recording, path, sheet);
    }
    if (status == DW_OK && settings.drive_given)
        dw_drive_unused_remark(inputs, settings.drive.kind, sheet);
    dw_held_free(held);
    dw_recording_close(&recording);
    return status;
}

const DwProcedure dw_procedure_held = {
    .name = "held",
    .title = "Wow by held notes",
    .summary = "Measure wow without a test record, from music that holds notes.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 1,
    .run = run,
};
