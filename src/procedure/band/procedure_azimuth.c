// SPDX-License-Identifier: MIT
// azimuth: which way and how far to turn the headshell, from the crosstalk.
#include "procedure/input/band_recordings.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/right_band.h"
#include "procedure/registry/procedures.h"

enum { RECORDINGS_MOST = 4 };

static const char *const quantities[] = {
    "channels.left",
    "channels.right",
    "channels.both",
    "channels.vertical",
    "channels.order",
    "record.tone",
    "record.crosstalk",
    "azimuth.width",
    "azimuth.limit",
    "azimuth.tilt",
    "record.start",
    "record.end",
    "record.name",
    "deck.class",
    "deck.name",
    "chain.name",
    NULL,
};

// The tilts given, one for each recording.
static DwStatus read_tilts(const DwRequest *request, size_t named_count, double tilt[RECORDINGS_MOST], size_t *count,
                           DwMessage *message)
{
    *count = dw_inputs_count(request->inputs, "azimuth.tilt");
    if (*count == 0)
        return DW_OK;
    if (*count != request->recording_count || *count < 2 || named_count)
        return dw_fail(message, DW_BAD_INPUT,
                       "azimuth.tilt: give it once for each of two to four recordings, each holding the left and the "
                       "right band, without naming the bands' seconds.");
    for (size_t i = 0; i < *count; i++)
        tilt[i] = dw_inputs_in_at(request->inputs, "azimuth.tilt", i, "deg");
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    DwNamedBand named[DW_BAND_KINDS];
    double tilt[RECORDINGS_MOST];
    size_t named_count, tilt_count;
    DwStatus status = dw_band_recordings_named(request, named, &named_count, message);
    if (status == DW_OK)
        status = read_tilts(request, named_count, tilt, &tilt_count, message);
    if (status == DW_OK)
        status = dw_right_band_check(request, "azimuth", DW_RIGHT_BAND_TONE, message);
    if (status != DW_OK)
        return status;
    DwAzimuthSettings settings = dw_measure_inputs_azimuth(inputs);
    settings.tilt_deg = tilt;
    settings.tilt_count = tilt_count;
    DwBandSet *set = dw_channels_new_set(dw_inputs_in(inputs, "record.tone", "Hz"));
    status = dw_band_recordings_feed(request, set, sheet, message);
    if (status == DW_OK)
        status = dw_azimuth_bands_read(set, named, named_count, &settings, sheet, message);
    dw_band_set_free(set);
    return status;
}

const DwProcedure dw_procedure_azimuth = {
    .name = "azimuth",
    .title = "Azimuth",
    .summary = "Tell which way to turn the headshell from the crosstalk of one-sided bands.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = RECORDINGS_MOST,
    .run = run,
};
