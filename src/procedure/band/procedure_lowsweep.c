// SPDX-License-Identifier: MIT
// lowsweep: resonance and Q of arm and cartridge from low-frequency sweeps,
// or from the arm's own modulation of a pilot tone.
#include "measure/tone/pilot.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/registry/procedures.h"
#include "procedure/input/recording.h"
#include "procedure/input/right_band.h"

static const char *const quantities[] = {
    "record.start",
    "record.end",
    "lowsweep.cut",
    "lowsweep.order",
    "response.riaa",
    "lowsweep.subsonic",
    "arm.effective_mass",
    "arm.lateral_mass",
    "arm.mass_tolerance",
    "cartridge.mass",
    "cartridge.hardware_mass",
    "record.name",
    "deck.class",
    "deck.name",
    "arm.name",
    "chain.name",
    NULL,
};

typedef struct {
    DwLowsweep *lowsweep;
    DwPilot *pilot;
} Listeners;

static void take(void *user, const float *interleaved, size_t frames)
{
    const Listeners *listeners = user;
    dw_lowsweep_push(listeners->lowsweep, interleaved, frames);
    dw_pilot_push(listeners->pilot, interleaved, frames);
}

// Feeds the recording at PATH to LOWSWEEP and PILOT.
static DwStatus listen(const char *path, const DwInputs *inputs, DwLowsweep *lowsweep, DwPilot **pilot, DwSheet *sheet,
                       DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    unsigned channels = recording.channels > 1 ? 2 : 1;
    dw_lowsweep_begin(lowsweep, recording.rate_hz, channels, recording.start_s);
    dw_pilot_free(*pilot);
    *pilot = dw_pilot_new(recording.rate_hz, channels);
    status = dw_recording_play(&recording, take, &(Listeners){lowsweep, *pilot}, message);
    dw_lowsweep_end(lowsweep);
    dw_pilot_finish(*pilot);
    if (status == DW_OK)
        dw_recording_describe(&recording, path, sheet);
    dw_recording_close(&recording);
    return status;
}

// Without any sweep the last recording's tone may show the arm.
static bool read_pilot(const DwPilot *pilot, DwSheet *sheet)
{
    dw_pilot_read(pilot, sheet);
    if (!dw_sheet_reading(sheet, "lowsweep.pilot"))
        return false;
    dw_sheet_not_measured(sheet, "lowsweep.lateral",
                          "no sweep was found, and a tone does not tell the directions apart.");
    dw_sheet_not_measured(sheet, "lowsweep.vertical",
                          "no sweep was found, and a tone does not tell the directions apart.");
    return true;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    // A tone may carry the sweep: whether it does is found out below.
    DwStatus status = dw_right_band_check(request, "lowsweep", DW_RIGHT_BAND_LOW_SWEEP | DW_RIGHT_BAND_TONE, message);
    if (status != DW_OK)
        return status;
    DwLowsweepSettings settings = dw_measure_inputs_lowsweep(request->inputs);
    DwLowsweep *lowsweep = dw_lowsweep_new(&settings);
    DwPilot *pilot = NULL;
    for (size_t i = 0; status == DW_OK && i < request->recording_count; i++)
        status = listen(request->recordings[i], request->inputs, lowsweep, &pilot, sheet, message);
    if (status == DW_OK) {
        status = dw_lowsweep_read(lowsweep, sheet, message);
        if (status != DW_OK && !dw_lowsweep_met_bad_sample(lowsweep) && read_pilot(pilot, sheet))
            status = DW_OK;
    }
    dw_pilot_free(pilot);
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
