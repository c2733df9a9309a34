// SPDX-License-Identifier: MIT
// side: a whole side of a test record by its plan, every band for what it is there for.
#include "base/memory.h"
#include "procedure/input/measure_inputs.h"
#include "measure/side/side_find.h"
#include "measure/side/side_joined.h"
#include "procedure/side/other_plan.h"
#include "procedure/side/plan_file.h"
#include "procedure/registry/procedures.h"
#include "procedure/side/side_parts.h"
#include "procedure/input/tone_settings.h"

#include <math.h>
#include <stdlib.h>

enum { PARTS_MOST = 10 };

static const char *const quantities[] = {
    "record.plan",
    "deck.speed",
    "record.start",
    "record.end",
    "record.radius",
    "record.tone_tolerance",
    "record.crosstalk",
    "record.name",
    "record.level_error",
    "record.balance",
    "record.balance_tolerance",
    "flutter.split",
    "channels.velocity",
    "channels.full_scale",
    "azimuth.width",
    "azimuth.limit",
    "noise.datum",
    "response.riaa",
    "response.smoothing",
    "lowsweep.subsonic",
    "tracking.limit",
    "force.reading",
    "force.high",
    "arm.offset",
    "arm.effective_mass",
    "arm.lateral_mass",
    "arm.mass_tolerance",
    "arm.wire_capacitance",
    "cartridge.mass",
    "cartridge.hardware_mass",
    "cartridge.output",
    "cartridge.inductance",
    "cartridge.inductance_tolerance",
    "cartridge.resistance",
    "cable.capacitance",
    "cable.length",
    "cable.capacitance_per_length",
    "preamp.resistance",
    "preamp.capacitance",
    "load.step_up",
    "deck.class",
    "deck.operation",
    "deck.suspended",
    "deck.name",
    "arm.name",
    "deck.mains",
    "chain.clock_error",
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

static void push_finder(void *user, const float *interleaved, size_t frames)
{
    dw_side_finder_push(user, interleaved, frames);
}

// Reads the plan and tells SHEET what is wrong with it. Status: DW_BAD_INPUT when nothing of it can be used.
static DwStatus read_plan(const DwInputs *inputs, DwBandPlan *plan, DwSheet *sheet, DwMessage *message)
{
    if (!dw_inputs_given(inputs, "record.plan"))
        return dw_fail(message, DW_BAD_INPUT,
                       "side needs the plan of the record's side: record.plan=FILE. "
                       "'deckwright plan guess RECORDING' proposes one.");
    char *path = dw_plan_file_path(dw_inputs_word(inputs, "record.plan"));
    DwPlanTroubles troubles = {0};
    DwStatus status = dw_band_plan_examine(path, plan, &troubles, message);
    size_t usable = 0;
    for (size_t j = 0; status == DW_OK && j < plan->count; j++)
        usable += !plan->bands[j].broken;
    for (size_t i = 0; status == DW_OK && i < troubles.count; i++)
        dw_sheet_remark(sheet, "The plan, line %u: %s", troubles.items[i].line, troubles.items[i].text);
    if (status == DW_OK && usable == 0) {
        status =
            dw_fail(message, DW_BAD_INPUT, "%s: no band of it can be used. 'deckwright plan check' says why.", path);
        dw_band_plan_clear(plan);
    }
    dw_plan_troubles_clear(&troubles);
    free(path);
    return status;
}

// The first pass: looks for the bands.
static DwStatus find_bands(const char *path, DwSideWork *work, DwSideFinder **finder, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, work->inputs, &recording, message);
    if (status != DW_OK)
        return status;
    work->rate_hz = recording.rate_hz;
    work->recorded_channels = work->channels = recording.channels > 1 ? 2 : 1;
    DwSideFinder *found = dw_side_finder_new(work->rate_hz, work->channels, !dw_measure_inputs_equalised(work->inputs),
                                             recording.start_s);
    status = dw_recording_play(&recording, push_finder, found, message);
    if (status == DW_OK) {
        dw_side_finder_finish(found);
        dw_recording_describe(&recording, path, work->sheet);
        status = dw_side_finder_check(found, message);
    }
    dw_recording_close(&recording);
    if (status == DW_OK)
        *finder = found;
    else
        dw_side_finder_free(found);
    return status;
}

// What one measurement says goes onto the sheet, or why it says nothing.
static void read_part(unsigned number, void *part, const DwSideWork *work)
{
    const DwSidePart *row = dw_side_part_at(number);
    DwMessage why = {""};
    DwSheet *own = dw_sheet_new("", "");
    if (row->read(part, work, own, &why) == DW_OK) {
        dw_side_sheet_say_measured(work, number, own);
        dw_sheet_take(work->sheet, own);
    } else {
        dw_sheet_free(own);
        dw_sheet_not_measured(work->sheet, row->key, "%s", why.text);
    }
}

// The second pass: measures on the bands found.
static DwStatus measure_bands(const char *path, DwSideWork *work, DwMessage *message)
{
    void *parts[PARTS_MOST] = {NULL};
    DwStatus status = DW_OK;
    const DwSidePart *row;
    for (work->part = 0; status == DW_OK && (row = dw_side_part_at(work->part)); work->part++)
        status = row->prepare(work, &parts[work->part], message);
    if (status == DW_OK)
        status = dw_side_windows_play(work->windows, path, work->inputs, message);
    for (unsigned i = 0; (row = dw_side_part_at(i)); i++) {
        if (!parts[i])
            continue;
        if (status == DW_OK)
            read_part(i, parts[i], work);
        row->free(parts[i]);
    }
    return status;
}

// Whether the recording is the side that the plan says. Status: DW_BAD_INPUT where nothing of it fits, or where
// little does and another plan fits; where little does and none fits, the sheet says so.
static DwStatus check_fit(const char *path, DwSideWork *work, DwSideFinder *finder, DwMessage *message)
{
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    DwPlanFit fit = dw_other_plan_fit(work->plan, work->alignment, segments, count);
    bool none = work->alignment->found == 0;
    bool doubtful = none || dw_other_plan_is_doubtful(fit);
    if (!doubtful && !dw_other_plan_is_worth_a_look(fit))
        return DW_OK;
    char *plan = dw_plan_file_path(dw_inputs_word(work->inputs, "record.plan"));
    char *other = dw_other_plan_find(plan, finder, work->channels == 1, fit);
    DwStatus status = DW_OK;
    if (other && !doubtful)
        dw_sheet_caution(work->sheet,
                         "The plan %s fits this recording far better than %s: %.0f %% of this one was heard. Is it the "
                         "right side? Give record.plan=%s to read it by that.",
                         other, plan, 100 * fit.played, other);
    else if (other)
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s: this is not the side of %s, of whose %zu bands %zu fit. It is that of %s: give "
                         "record.plan=%s.",
                         path, plan, work->plan->count, work->alignment->found, other, other);
    else if (none)
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s: none of the plan's %zu bands was found in it. Is it this side? 'deckwright plan guess' "
                         "shows what it holds.",
                         path, work->plan->count);
    else if (doubtful)
        dw_sheet_caution(work->sheet,
                         "This is hardly the side of %s: %.0f %% of the plan was heard, and %.0f %% of what is heard "
                         "is not in the plan. No other plan fits either. Look at the label, and at what 'deckwright "
                         "plan guess' hears.",
                         plan, 100 * fit.played, 100 * (1 - fit.explained));
    free(other);
    free(plan);
    return status;
}

static DwStatus align(const char *path, DwSideWork *work, DwSideFinder *finder, DwSideAlignment *alignment,
                      DwMessage *message)
{
    size_t count;
    bool mono = work->channels == 1;
    dw_side_find(finder, work->plan, mono, alignment);
    work->alignment = alignment;
    DwStatus status = check_fit(path, work, finder, message);
    if (status != DW_OK)
        return status;
    dw_side_finder_look(finder, alignment->view); // other plans may have been tried
    work->ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    if (work->channels == 2 && alignment->wiring <= DW_SIDE_SWAPPED_REVERSED &&
        dw_side_is_joined(alignment, segments, work->plan))
        alignment->wiring = DW_SIDE_JOINED; // where which band is stays as it was found
    dw_side_sheet_fill(work, segments, dw_side_finder_end_s(finder));
    work->windows->wiring = alignment->wiring;
    work->windows->gain_db = alignment->gain_db;
    work->channels = dw_side_windows_channels(work->windows, work->channels);
    return DW_OK;
}

// Where no tones were there to tell it by, the fault that the whole side shows.
static void report_fault(const DwSideWork *work)
{
    DwChannelFaults faults = dw_side_faults(work);
    if (!dw_sheet_reading(work->sheet, "channels.fault") && dw_channel_faults_any(&faults))
        dw_channel_faults_report(&faults, work->sheet);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const char *path = request->recordings[0];
    DwBandPlan plan;
    DwStatus status = read_plan(request->inputs, &plan, sheet, message);
    if (status != DW_OK)
        return status;
    DwSideWindows windows = {0};
    DwSideFinder *finder = NULL;
    DwSideAlignment alignment = {0};
    DwSideWork work = {.inputs = request->inputs, .plan = &plan, .windows = &windows, .sheet = sheet};
    work.measured_by = dw_memory_new(plan.count + 1, sizeof *work.measured_by);
    work.speed_rpm =
        dw_inputs_given(request->inputs, "deck.speed") ? dw_nominal_speed(request->inputs) : plan.speed_rpm;
    status = find_bands(path, &work, &finder, message);
    if (status == DW_OK)
        status = align(path, &work, finder, &alignment, message);
    work.finder = finder;
    if (status == DW_OK)
        status = measure_bands(path, &work, message);
    if (status == DW_OK)
        report_fault(&work);
    free(work.measured_by);
    dw_side_finder_free(finder);
    dw_side_windows_clear(&windows);
    dw_side_alignment_clear(&alignment);
    dw_band_plan_clear(&plan);
    return status;
}

const DwProcedure dw_procedure_side = {
    .name = "side",
    .title = "A whole side",
    .summary = "Find the bands of a planned side in one recording and measure each for what it is there for.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 1,
    .run = run,
};
