// SPDX-License-Identifier: MIT
// startup: how a deck comes up to speed, from a recording begun before the motor.
#include "procedure/registry/procedures.h"
#include "procedure/drive/parts.h"

static const char *const quantities[] = {
    "startup.band", "record.tone",    "deck.speed",     "record.start", "record.end", "record.name", "drive.kind",
    "deck.class",   "deck.operation", "deck.suspended", "deck.name",    "chain.name", NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwStartup *startup = NULL;
    DwMessage why;
    const char *path = request->recordings[0];
    DwStatus status = dw_startup_recording_take(
        path, request->inputs, dw_inputs_in(request->inputs, "startup.band", "%"), sheet, &startup, message);
    if (status != DW_OK)
        return status;
    status = dw_startup_read(startup, sheet, &why);
    if (status != DW_OK)
        dw_fail(message, status, "%s: %s", path, why.text);
    dw_startup_free(startup);
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
