// SPDX-License-Identifier: MIT
// channels: balance, separation, polarity, level and distortion of the channels.
#include "procedure/input/band_recordings.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/right_band.h"
#include "procedure/registry/procedures.h"

static const char *const quantities[] = {
    "channels.left",       "channels.right",   "channels.both",    "channels.vertical",
    "channels.order",      "record.tone",      "record.crosstalk", "channels.velocity",
    "channels.full_scale", "cartridge.output", "record.balance",   "record.balance_tolerance",
    "record.start",        "record.end",       "record.name",      "deck.class",
    "deck.name",           "arm.name",         "chain.name",       NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    DwNamedBand named[DW_BAND_KINDS];
    size_t count;
    DwStatus status = dw_band_recordings_named(request, named, &count, message);
    if (status == DW_OK)
        status = dw_right_band_check(request, "channels", DW_RIGHT_BAND_TONE, message);
    if (status != DW_OK)
        return status;
    DwChannelsSettings settings = dw_measure_inputs_channels(inputs);
    DwBandSet *set = dw_channels_new_set(dw_inputs_in(inputs, "record.tone", "Hz"));
    status = dw_band_recordings_feed(request, set, sheet, message);
    if (status == DW_OK)
        status = dw_channels_read(set, named, count, &settings, sheet, message);
    dw_band_set_free(set);
    return status;
}

const DwProcedure dw_procedure_channels = {
    .name = "channels",
    .title = "Channels",
    .summary = "Measure balance, separation, polarity, level and distortion from tone bands.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 4,
    .run = run,
};
