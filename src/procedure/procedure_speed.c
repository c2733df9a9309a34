// SPDX-License-Identifier: MIT
// speed: how fast and how steadily a deck turns, from a recorded tone.
#include "procedure/procedures.h"
#include "procedure/recorded_tone.h"

static const char *const quantities[] = {
    "record.tone",  "deck.speed",   "record.radius", "record.start", "record.end",  "record.tone_tolerance",
    "record.name",  "flutter.split", "arm.offset",    "deck.class",   "deck.name",   "chain.clock_error",
    "chain.name",   NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    return dw_recorded_tone_speed(request->recordings[0], request->inputs, sheet, sheet, message);
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
