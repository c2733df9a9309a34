// SPDX-License-Identifier: MIT
// tracking: distortion of each channel at rising levels, and what to change.
#include "measure/band/tracking_steps.h"
#include "procedure/input/band_recordings.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/right_band.h"
#include "procedure/registry/procedures.h"

enum { RECORDINGS_MOST = 4 };

static const char *const quantities[] = {
    "tracking.step",
    "tracking.level",
    "tracking.unit",
    "tracking.limit",
    "tracking.radius",
    "force.reading",
    "force.high",
    "record.tone",
    "record.start",
    "record.end",
    "record.name",
    "deck.class",
    "deck.name",
    "arm.name",
    "chain.name",
    "response.riaa",
    NULL,
};

// What is given once for each of several things.
typedef struct {
    DwTrackingStep steps[DW_TRACKING_STEPS_MOST];
    double levels[DW_TRACKING_STEPS_MOST], radii[RECORDINGS_MOST];
} Lists;

static DwStatus read_lists(const DwInputs *inputs, size_t recordings, Lists *lists, DwTrackingSettings *settings,
                           DwMessage *message)
{
    settings->step_count = dw_inputs_count(inputs, "tracking.step");
    settings->level_count = dw_inputs_count(inputs, "tracking.level");
    settings->radius_count = dw_inputs_count(inputs, "tracking.radius");
    if (settings->step_count > DW_TRACKING_STEPS_MOST || settings->level_count > DW_TRACKING_STEPS_MOST)
        return dw_fail(message, DW_BAD_INPUT, "More than %d steps are given. Leave some out.", DW_TRACKING_STEPS_MOST);
    if (settings->step_count && settings->level_count)
        return dw_fail(message, DW_BAD_INPUT, "Give either tracking.step or tracking.level, not both.");
    if (settings->radius_count && settings->radius_count != recordings)
        return dw_fail(message, DW_BAD_INPUT, "tracking.radius: give it once for each recording, in their order.");
    for (size_t i = 0; i < settings->step_count; i++)
        dw_inputs_pair_in(inputs, "tracking.step", i, "", "s", &lists->steps[i].level, &lists->steps[i].start_s);
    for (size_t i = 0; i < settings->level_count; i++)
        lists->levels[i] = dw_inputs_in_at(inputs, "tracking.level", i, "");
    for (size_t i = 0; i < settings->radius_count; i++)
        lists->radii[i] = dw_inputs_in_at(inputs, "tracking.radius", i, "mm");
    settings->steps = lists->steps;
    settings->levels = lists->levels;
    settings->radius_mm = lists->radii;
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    Lists lists;
    DwTrackingSettings settings = dw_measure_inputs_tracking(inputs);
    DwStatus status = read_lists(inputs, request->recording_count, &lists, &settings, message);
    if (status != DW_OK)
        return status;
    // One step alone is a band of one level.
    if (settings.step_count != 1 && settings.level_count != 1)
        status = dw_right_band_check(request, "tracking", DW_RIGHT_BAND_STEPS, message);
    if (status != DW_OK)
        return status;
    DwBandSet *set = dw_tracking_new_set(dw_inputs_in(inputs, "record.tone", "Hz"), settings.step_count > 0);
    status = dw_band_recordings_feed(request, set, sheet, message);
    if (status == DW_OK)
        status = dw_tracking_read(set, &settings, sheet, message);
    dw_band_set_free(set);
    return status;
}

const DwProcedure dw_procedure_tracking = {
    .name = "tracking",
    .title = "Tracking ability",
    .summary = "Find the highest level each channel tracks, and what to change.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = RECORDINGS_MOST,
    .run = run,
};
