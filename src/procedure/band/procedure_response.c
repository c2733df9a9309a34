// SPDX-License-Identifier: MIT
// response: frequency response and crosstalk from sweeps or spot tones.
#include "procedure/input/measure_inputs.h"
#include "procedure/registry/procedures.h"
#include "procedure/input/recording.h"
#include "procedure/input/right_band.h"

#include <math.h>

static const char *const quantities[] = {
    "record.start",
    "record.end",
    "response.riaa",
    "response.cut",
    "response.channel",
    "response.smoothing",
    "record.name",
    "record.radius",
    "deck.class",
    "deck.name",
    "chain.name",
    "cartridge.inductance",
    "cartridge.inductance_tolerance",
    "cartridge.resistance",
    "arm.wire_capacitance",
    "cable.capacitance",
    "cable.length",
    "cable.capacitance_per_length",
    "preamp.resistance",
    "preamp.capacitance",
    "load.step_up",
    NULL,
};

static void take(void *user, const float *interleaved, size_t frames)
{
    dw_response_push(user, interleaved, frames);
}

static DwStatus listen(const char *path, const DwInputs *inputs, DwResponse *response, DwSheet *sheet,
                       DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    dw_response_begin(response, recording.rate_hz, recording.channels > 1 ? 2 : 1);
    status = dw_recording_play(&recording, take, response, message);
    dw_response_end(response);
    if (status == DW_OK)
        dw_recording_describe(&recording, path, sheet);
    dw_recording_close(&recording);
    return status;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    DwLoading loading;
    DwResponseSettings settings = dw_measure_inputs_response(inputs, &loading);
    DwStatus status = dw_right_band_check(request, "response", DW_RIGHT_BAND_SWEEP | DW_RIGHT_BAND_SPOTS, message);
    if (status != DW_OK)
        return status;
    DwResponse *response = dw_response_new(&settings);
    for (size_t i = 0; status == DW_OK && i < request->recording_count; i++)
        status = listen(request->recordings[i], inputs, response, sheet, message);
    if (status == DW_OK)
        status = dw_response_read(response, sheet, message);
    dw_response_free(response);
    bool coil = isfinite(dw_inputs_in(inputs, "cartridge.inductance", "mH")) &&
                isfinite(dw_inputs_in(inputs, "cartridge.resistance", "ohm"));
    if (status == DW_OK && coil && !settings.loading)
        dw_sheet_not_measured(sheet, "load's part in the treble", "give cable.capacitance, or cable.length.");
    return status;
}

const DwProcedure dw_procedure_response = {
    .name = "response",
    .title = "Frequency response and crosstalk",
    .summary = "Measure response and crosstalk from a sweep or spot tones.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 2,
    .run = run,
};
