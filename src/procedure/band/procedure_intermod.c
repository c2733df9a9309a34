// SPDX-License-Identifier: MIT
// intermod: intermodulation from bands of a low and a high tone together.
#include "measure/band/intermod.h"
#include "procedure/input/band_recordings.h"
#include "procedure/registry/procedures.h"

#include <math.h>

static const char *const quantities[] = {
    "intermod.low", "intermod.high", "record.start", "record.end", "record.name",
    "deck.class",   "deck.name",     "chain.name",   NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    double low_hz = dw_inputs_in(request->inputs, "intermod.low", "Hz"),
           high_hz = dw_inputs_in(request->inputs, "intermod.high", "Hz");
    if (isfinite(low_hz) != isfinite(high_hz))
        return dw_fail(message, DW_BAD_INPUT,
                       "Give both tones of the pair, intermod.low and intermod.high, or neither.");
    if (high_hz < 4 * low_hz)
        return dw_fail(message, DW_BAD_INPUT,
                       "intermod.high must be four times intermod.low or more: their side tones "
                       "would meet the low tone's harmonics.");
    DwBandSet *set = dw_intermod_new_set(low_hz, high_hz);
    DwStatus status = dw_band_recordings_feed(request, set, sheet, message);
    if (status == DW_OK)
        status = dw_intermod_read(set, sheet, message);
    dw_band_set_free(set);
    return status;
}

const DwProcedure dw_procedure_intermod = {
    .name = "intermod",
    .title = "Intermodulation",
    .summary = "Measure the intermodulation of 400 Hz or 60 Hz with 4 kHz, or of another pair.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 4,
    .run = run,
};
