// SPDX-License-Identifier: MIT
// intermod: intermodulation from bands of a low and a high tone together.
#include "measure/band/intermod.h"
#include "procedure/input/band_recordings.h"
#include "procedure/registry/procedures.h"

static const char *const quantities[] = {
    "record.start", "record.end", "record.name", "deck.class", "deck.name", "chain.name", NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwBandSet *set = dw_intermod_new_set();
    DwStatus status = dw_band_recordings_feed(request, set, sheet, message);
    if (status == DW_OK)
        status = dw_intermod_read(set, sheet, message);
    dw_band_set_free(set);
    return status;
}

const DwProcedure dw_procedure_intermod = {
    .name = "intermod",
    .title = "Intermodulation",
    .summary = "Measure the intermodulation of 400 Hz or 60 Hz with 4 kHz.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 4,
    .run = run,
};
