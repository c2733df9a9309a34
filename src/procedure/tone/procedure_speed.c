// SPDX-License-Identifier: MIT
// speed: how fast and how steadily a deck turns, from a recorded tone.
#include "procedure/input/drive_unused.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/registry/procedures.h"
#include "procedure/input/recorded_tone.h"
#include "procedure/input/tone_settings.h"

static const char *const quantities[] = {
    "record.tone",
    "deck.speed",
    "record.radius",
    "record.start",
    "record.end",
    "record.tone_tolerance",
    "record.tone_offset",
    "record.name",
    "flutter.split",
    "arm.offset",
    "deck.class",
    "deck.operation",
    "deck.suspended",
    "deck.name",
    "chain.clock_error",
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
    "drive.poles",
    "drive.slots",
    "drive.tacho_lines",
    "drive.motors",
    NULL,
};

// With a drive described, the step of it that deck.speed asks for is traced.
static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    const char *path = request->recordings[0];
    DwDrive drive;
    bool given;
    DwStatus status = dw_measure_inputs_drive(inputs, dw_nominal_speed(inputs), &given, &drive, message);
    if (status != DW_OK)
        return status;
    status = dw_recorded_tone_speed(path, inputs, given ? &drive : NULL, sheet, sheet, message);
    if (status == DW_OK && given)
        dw_drive_unused_remark(inputs, drive.kind, sheet);
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
