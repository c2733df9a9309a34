// SPDX-License-Identifier: MIT
// response: frequency response and crosstalk from sweeps or spot tones.
#include "measure/response.h"
#include "physics/load_network.h"
#include "procedure/procedures.h"
#include "procedure/recording.h"

#include <math.h>
#include <string.h>

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

static DwResponseChannel channel_from(const char *word)
{
    return strcmp(word, "left") == 0    ? DW_RESPONSE_LEFT
           : strcmp(word, "right") == 0 ? DW_RESPONSE_RIGHT
           : strcmp(word, "both") == 0  ? DW_RESPONSE_BOTH
                                        : DW_RESPONSE_AUTO;
}

static DwResponseCut cut_from(const char *word)
{
    return strcmp(word, "bass") == 0       ? DW_RESPONSE_CUT_BASS
           : strcmp(word, "velocity") == 0 ? DW_RESPONSE_CUT_VELOCITY
                                           : DW_RESPONSE_CUT_RIAA;
}

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
    bool coil = isfinite(dw_inputs_number(inputs, "cartridge.inductance")) &&
                isfinite(dw_inputs_number(inputs, "cartridge.resistance"));
    double lead = dw_inputs_number(inputs, "cable.capacitance"), length = dw_inputs_number(inputs, "cable.length");
    bool known = coil && (isfinite(lead) || isfinite(length));
    DwLoading loading = {0};
    if (known)
        loading = dw_load_network_find(inputs).seen;
    DwResponseSettings settings = {
        .equalised = strcmp(dw_inputs_word(inputs, "response.riaa"), "applied") == 0,
        .cut = cut_from(dw_inputs_word(inputs, "response.cut")),
        .channel = channel_from(dw_inputs_word(inputs, "response.channel")),
        .parts = dw_inputs_number(inputs, "response.smoothing"),
        .loading = known ? &loading : NULL,
    };
    DwResponse *response = dw_response_new(&settings);
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < request->recording_count; i++)
        status = listen(request->recordings[i], inputs, response, sheet, message);
    if (status == DW_OK)
        status = dw_response_read(response, sheet, message);
    dw_response_free(response);
    if (status == DW_OK && coil && !known)
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
