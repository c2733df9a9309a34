// SPDX-License-Identifier: MIT
// noise: rumble, hum and hiss of a silent groove.
#include "procedure/input/measure_inputs.h"
#include "procedure/input/noise_reference.h"
#include "procedure/input/tone_settings.h"
#include "procedure/registry/procedures.h"
#include "procedure/input/recording.h"
#include "procedure/input/right_band.h"

#include <string.h>

static const char *const quantities[] = {
    "record.start",
    "record.end",
    "noise.reference",
    "noise.reference_velocity",
    "noise.reference_direction",
    "noise.reference_level",
    "noise.reference_tone",
    "noise.datum",
    "noise.compare",
    "response.riaa",
    "record.name",
    "record.level_error",
    "deck.mains",
    "deck.speed",
    "deck.class",
    "deck.operation",
    "deck.suspended",
    "deck.name",
    "arm.name",
    "chain.name",
    "drive.kind",
    "drive.motor_kind",
    "drive.motor_poles",
    "drive.motor_slip",
    "drive.motor_speed",
    "drive.pulley_diameter",
    "drive.rim_diameter",
    "drive.centre_distance",
    "drive.belt_length",
    "drive.belt_thickness",
    "drive.idler_diameter",
    "drive.idler_driven_diameter",
    "drive.first_belt_length",
    "drive.first_belt_thickness",
    "drive.poles",
    "drive.slots",
    "drive.tacho_lines",
    "drive.motors",
    NULL,
};

static void take(void *user, const float *interleaved, size_t frames)
{
    dw_noise_push(user, interleaved, frames);
}

static DwNoiseChange change_from(const char *word)
{
    return strcmp(word, "arm") == 0        ? DW_NOISE_ARM
           : strcmp(word, "position") == 0 ? DW_NOISE_POSITION
           : strcmp(word, "motor") == 0    ? DW_NOISE_MOTOR
           : strcmp(word, "earth") == 0    ? DW_NOISE_EARTH
                                           : DW_NOISE_REPAIR;
}

// Takes the silent groove of the recording at PATH. With SHEET not NULL it is the
// sheet's subject. What REFERENCE tells of the channels' phase holds for the groove. The caller frees *NOISE with
// dw_noise_free().
static DwStatus listen(const char *path, const DwInputs *inputs, const DwNoiseReference *reference, DwSheet *sheet,
                       DwNoise **noise, DwMessage *message)
{
    DwRecording recording;
    DwNoiseSettings settings;
    DwStatus status = dw_measure_inputs_noise(inputs, &settings, message);
    if (status == DW_OK)
        status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    settings.find = !dw_inputs_given(inputs, "record.start") && !dw_inputs_given(inputs, "record.end");
    settings.rate_hz = recording.rate_hz;
    settings.channels = recording.channels > 1 ? 2 : 1;
    settings.skip_s = recording.start_s;
    settings.turn_s = 60 / dw_nominal_speed(inputs);
    settings.polarity_known = reference->polarity_known;
    settings.reversed = reference->reversed;
    settings.paired = dw_inputs_given(inputs, "noise.compare") &&
                      change_from(dw_inputs_word(inputs, "noise.compare")) != DW_NOISE_REPAIR;
    DwNoise *heard = dw_noise_new(&settings);
    status = dw_recording_play(&recording, take, heard, message);
    dw_noise_finish(heard);
    if (status == DW_OK && sheet)
        dw_recording_describe(&recording, path, sheet);
    dw_recording_close(&recording);
    if (status == DW_OK)
        *noise = heard;
    else
        dw_noise_free(heard);
    return status;
}

static DwStatus compare(const DwRequest *request, const DwNoise *first, const DwNoiseReference *reference,
                        DwSheet *sheet, DwMessage *message)
{
    DwNoise *second = NULL;
    DwStatus status = listen(request->recordings[1], request->inputs, reference, NULL, &second, message);
    if (status == DW_OK)
        status = dw_noise_compare(first, second, reference,
                                  change_from(dw_inputs_word(request->inputs, "noise.compare")), sheet, message);
    dw_noise_free(second);
    return status;
}

static DwStatus check_call(const DwRequest *request, bool pair, DwMessage *message)
{
    if (pair && request->recording_count < 2)
        return dw_fail(
            message, DW_BAD_INPUT,
            "noise.compare needs two recordings, the first as it was and the second with %s changed; a third "
            "may hold the reference tone.",
            dw_inputs_word(request->inputs, "noise.compare"));
    if (!pair && request->recording_count > 2)
        return dw_fail(message, DW_BAD_INPUT,
                       "noise takes a silent groove and a reference tone; with noise.compare= it "
                       "takes two grooves and a reference tone.");
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    bool pair = dw_inputs_given(request->inputs, "noise.compare");
    DwStatus status = check_call(request, pair, message);
    DwRequest groove = {request->inputs, request->recordings, 1};
    if (status == DW_OK)
        status = dw_right_band_check(&groove, "noise", DW_RIGHT_BAND_SILENCE, message);
    if (status != DW_OK)
        return status;
    size_t tone = pair ? 2 : 1;
    DwNoiseReference reference;
    DwNoiseDrive drive;
    DwNoise *noise = NULL;
    status = dw_noise_reference_read(tone < request->recording_count ? request->recordings[tone] : NULL,
                                     request->recordings[0], request->inputs, &reference, message);
    if (status == DW_OK)
        status = dw_measure_inputs_noise_drive(request->inputs, dw_inputs_in(request->inputs, "deck.speed", "rpm"),
                                               &drive, message);
    if (status == DW_OK)
        status = listen(request->recordings[0], request->inputs, &reference, sheet, &noise, message);
    if (status == DW_OK)
        status = dw_noise_read(noise, &reference, &drive, sheet, message);
    if (status == DW_OK && pair)
        status = compare(request, noise, &reference, sheet, message);
    dw_noise_free(noise);
    return status;
}

const DwProcedure dw_procedure_noise = {
    .name = "noise",
    .title = "Rumble, hum and hiss",
    .summary = "Measure the noise of a silent groove against a reference tone.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 3,
    .run = run,
};
