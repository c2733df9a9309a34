// SPDX-License-Identifier: MIT
// twin: two recordings of the same groove, or of the record and a copy of the same performance, against each other.
#include "base/text.h"
#include "procedure/music/twin_taken.h"
#include "procedure/registry/procedures.h"

#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {
    "deck.speed", "record.start", "record.end", "record.name", "deck.class", "deck.name", "chain.name", NULL,
};

static void name_subject(const DwRequest *request, DwSheet *sheet)
{
    const char *first = strrchr(request->recordings[0], '/'), *second = strrchr(request->recordings[1], '/');
    char *subject = dw_text_format("%s, %s", first ? first + 1 : request->recordings[0],
                                   second ? second + 1 : request->recordings[1]);
    dw_sheet_set_subject(sheet, subject);
    free(subject);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwTwinTaken taken;
    DwStatus status = dw_twin_taken_read(request, &taken, message);
    if (status == DW_OK)
        status = dw_twin_read(taken.twin, sheet, message);
    for (unsigned i = 0; status == DW_OK && i < 2; i++)
        dw_recording_describe(&taken.recording[i], request->recordings[i], sheet);
    if (status == DW_OK)
        name_subject(request, sheet);
    dw_twin_taken_clear(&taken);
    return status;
}

const DwProcedure dw_procedure_twin = {
    .name = "twin",
    .title = "Two recordings of one groove",
    .summary = "Compare two recordings of the same groove: speed, wow, level and response of one against the other.",
    .quantities = quantities,
    .recordings_least = 2,
    .recordings_most = 2,
    .takes_differ = true,
    .run = run,
};
