// SPDX-License-Identifier: MIT
// lowsweep: resonance and Q of arm and cartridge from low-frequency sweeps.
#include "measure/lowsweep.h"
#include "procedure/procedures.h"
#include "procedure/recording.h"

#include <math.h>
#include <string.h>

static const char *const quantities[] = {
    "record.start",       "record.end",       "lowsweep.cut",       "response.riaa",  "lowsweep.subsonic",
    "arm.effective_mass", "arm.lateral_mass", "arm.mass_tolerance", "cartridge.mass", "cartridge.hardware_mass",
    "record.name",        "deck.class",       "deck.name",          "chain.name",     NULL,
};

static DwStatus listen(const char *path, const DwInputs *inputs, DwLowsweep *lowsweep, DwSheet *sheet,
                       DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    dw_lowsweep_begin(lowsweep, recording.rate_hz, recording.channels > 1 ? 2 : 1, recording.start_s);
    for (size_t got = 1; status == DW_OK && got > 0;) {
        status = dw_recording_read(&recording, &got, message);
        if (status == DW_OK)
            dw_lowsweep_push(lowsweep, recording.block, got);
    }
    dw_lowsweep_end(lowsweep);
    if (status == DW_OK)
        dw_recording_describe(&recording, path, sheet);
    dw_recording_close(&recording);
    return status;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    double arm = dw_inputs_number(inputs, "arm.effective_mass"), lateral = dw_inputs_number(inputs, "arm.lateral_mass");
    double hung = dw_inputs_number(inputs, "cartridge.mass") + dw_inputs_number(inputs, "cartridge.hardware_mass");
    DwLowsweepSettings settings = {
        .equalised = strcmp(dw_inputs_word(inputs, "response.riaa"), "applied") == 0,
        .subsonic = strcmp(dw_inputs_word(inputs, "lowsweep.subsonic"), "yes") == 0,
        .amplitude_cut = strcmp(dw_inputs_word(inputs, "lowsweep.cut"), "amplitude") == 0,
        .lateral_g = (isfinite(lateral) ? lateral : arm) + hung,
        .vertical_g = arm + hung,
        .mass_off_g = dw_inputs_number(inputs, "arm.mass_tolerance"),
    };
    DwLowsweep *lowsweep = dw_lowsweep_new(&settings);
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < request->recording_count; i++)
        status = listen(request->recordings[i], inputs, lowsweep, sheet, message);
    if (status == DW_OK)
        status = dw_lowsweep_read(lowsweep, sheet, message);
    dw_lowsweep_free(lowsweep);
    return status;
}

const DwProcedure dw_procedure_lowsweep = {
    .name = "lowsweep",
    .title = "Resonance of arm and cartridge",
    .summary = "Measure the arm's resonance and Q from low-frequency sweeps.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 2,
    .run = run,
};
