// SPDX-License-Identifier: MIT
// film: speed, drift, once-a-turn and start of a platter, from a film of the disc with marks.
#include "procedure/input/tone_settings.h"
#include "procedure/registry/procedures.h"
#include "procedure/sight/film_taken.h"

#include <string.h>

static const char *const quantities[] = {
    "deck.speed",   "startup.band", "camera.shutter", "camera.clock_tolerance",
    "record.start", "record.end",   "deck.class",     "deck.name",
    NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwFilmTaken taken;
    DwStatus status = dw_film_taken_read(request->recordings[0], request->inputs, &taken, message);
    if (status == DW_OK) {
        const char *name = strrchr(request->recordings[0], '/');
        dw_sheet_set_subject(sheet, name ? name + 1 : request->recordings[0]);
        status = dw_film_sheet_fill(
            &taken, dw_nominal_speed(request->inputs), dw_inputs_in(request->inputs, "startup.band", "fraction"),
            dw_inputs_in(request->inputs, "camera.clock_tolerance", "fraction"), sheet, message);
    }
    dw_film_taken_clear(&taken);
    return status;
}

const DwProcedure dw_procedure_film = {
    .name = "film",
    .title = "Platter by film",
    .summary = "Measure speed, drift, once-a-turn and start of the platter itself, from a film of the disc with marks.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 1,
    .run = run,
};
