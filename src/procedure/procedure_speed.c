// SPDX-License-Identifier: MIT
// speed: how fast and how steadily a deck turns, from a recorded tone.
#include "procedure/drive_inputs.h"
#include "procedure/procedures.h"
#include "procedure/recorded_tone.h"
#include "procedure/tone_settings.h"

static const char *const quantities[] = {
    "record.tone",
    "deck.speed",
    "record.radius",
    "record.start",
    "record.end",
    "record.tone_tolerance",
    "record.name",
    "flutter.split",
    "arm.offset",
    "deck.class",
    "deck.name",
    "chain.clock_error",
    "chain.name",
    "deck.mains",
    "drive.kind",
    "drive.motor_poles",
    "drive.motor_speed",
    "drive.pulley_diameter",
    "drive.rim_diameter",
    "drive.centre_distance",
    "drive.belt_length",
    "drive.belt_thickness",
    "drive.idler_diameter",
    "drive.poles",
    NULL,
};

// With a drive described, the step of it that deck.speed asks for is traced.
static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    const char *path = request->recordings[0];
    if (!dw_drive_inputs_given(inputs))
        return dw_recorded_tone_speed(path, inputs, NULL, sheet, sheet, message);
    DwDriveStep steps[DW_DRIVE_STEPS_MOST];
    size_t count = 0;
    DwStatus status = dw_drive_inputs_read(inputs, steps, &count, message);
    if (status != DW_OK)
        return status;
    size_t step = dw_drive_inputs_step(steps, count, dw_nominal_speed(inputs));
    return dw_recorded_tone_speed(path, inputs, &steps[step].drive, sheet, sheet, message);
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
