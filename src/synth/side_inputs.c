// SPDX-License-Identifier: MIT
#include "synth/side_inputs.h"

#include "base/memory.h"
#include "base/place.h"

#include <math.h>
#include <stdlib.h>

// Of a record that does not state one: 5 cm/s peak, lateral (3.54 in each
// channel), as published test records have it.
#define USUAL_REFERENCE_CM_S 5.0

bool dw_side_inputs_planned(const DwInputs *inputs)
{
    return dw_inputs_given(inputs, "record.plan");
}

DwStatus dw_side_inputs_check(const DwInputs *inputs, DwMessage *message)
{
    static const char *const for_a_tone[] = {"synth.length", "synth.side", "synth.band_before", "synth.band_after",
                                             "fault.separation"};
    static const char *const for_a_side[] = {"synth.announcements", "synth.skip",        "synth.stop",
                                             "fault.azimuth",       "fault.antiskating", "fault.arm_height",
                                             "fault.warp",          "fault.skip",        "fault.arm_flutter"};
    bool music = dw_inputs_given(inputs, "synth.music");
    if (dw_side_inputs_planned(inputs)) {
        if (music)
            return dw_fail(message, DW_BAD_INPUT,
                           "record.plan says what is played, and so does synth.music. Leave one of them out.");
        for (size_t i = 0; i < sizeof for_a_tone / sizeof *for_a_tone; i++)
            if (dw_inputs_given(inputs, for_a_tone[i]))
                return dw_fail(message, DW_BAD_INPUT,
                               "%s is for a recording of one tone; leave it out: record.plan says what is played, and "
                               "cartridge.separation how far the channels leak.",
                               for_a_tone[i]);
        return DW_OK;
    }
    static const char *const not_for_music[] = {"synth.side", "fault.separation"};
    for (size_t i = 0; music && i < sizeof not_for_music / sizeof *not_for_music; i++)
        if (dw_inputs_given(inputs, not_for_music[i]))
            return dw_fail(message, DW_BAD_INPUT,
                           "%s is for a band in one side of the groove; music is in both. Leave it out.",
                           not_for_music[i]);
    for (size_t i = 0; i < sizeof for_a_side / sizeof *for_a_side; i++)
        if (dw_inputs_given(inputs, for_a_side[i]))
            return dw_fail(message, DW_BAD_INPUT, "%s needs a planned side. Add record.plan=FILE, or leave it out.",
                           for_a_side[i]);
    return DW_OK;
}

static DwStatus read_jumps(const DwInputs *inputs, const DwSettings *settings, DwSideInputs *side, DwMessage *message)
{
    size_t count = dw_inputs_count(inputs, "fault.skip");
    side->jumps = dw_memory_new(count, sizeof *side->jumps);
    for (; side->jump_count < count; side->jump_count++) {
        DwTravelJump *jump = &side->jumps[side->jump_count];
        dw_inputs_pair_in(inputs, "fault.skip", side->jump_count, "s", "s", &jump->at_s, &jump->by_s);
        jump->at_s -= settings->lead_silence_s;
        if (jump->at_s < 0)
            return dw_fail(message, DW_BAD_INPUT,
                           "fault.skip: at %.2f s the stylus is not in the groove yet; it is set down after %.2f s.",
                           jump->at_s + settings->lead_silence_s, settings->lead_silence_s);
    }
    return DW_OK;
}

static DwStatus read_arm_flutter(const DwInputs *inputs, DwSideInputs *side, DwMessage *message)
{
    side->arm_flutter_rms = dw_inputs_in(inputs, "fault.arm_flutter", "fraction");
    if (side->arm_flutter_rms > 0 && isnan(side->pickup.resonance_hz[DW_PICKUP_VERTICAL]))
        return dw_fail(message, DW_BAD_INPUT,
                       "fault.arm_flutter needs the arm's resonance: give arm.effective_mass, cartridge.mass and "
                       "cartridge.compliance.");
    return DW_OK;
}

// The groove runs along as the stylus is lifted: ż · h/L of a bearing h above the
// record and an arm of length L, over 2πr turns a second; 100·times·(height/2)·h/L
// over the radius [%]. Derived; 0.5 mm once a turn at 120 mm, h 20 and L 239.3, is
// 0.035 % peak.
static void add_warp_wow(const DwInputs *inputs, const DwSideInputs *side, const DwSideWarp *warp, DwCourse *course,
                         double rotation_hz)
{
    double bearing_mm = dw_inputs_in(inputs, "arm.bearing_height", "mm");
    if (isnan(bearing_mm) || !side->pickup.has_arm)
        return;
    double percent_mm = 100 * warp->times * warp->height_mm / 2 * bearing_mm / side->pickup.arm.effective_length_mm;
    dw_course_add_radial(course, "warp", warp->times * rotation_hz, percent_mm, M_PI / 2);
}

static void read_warps(const DwInputs *inputs, DwSettings *settings, DwSideInputs *side)
{
    size_t count = dw_inputs_count(inputs, "fault.warp");
    side->warps = dw_memory_new(count, sizeof *side->warps);
    for (; side->warp_count < count; side->warp_count++) {
        DwSideWarp *warp = &side->warps[side->warp_count];
        dw_inputs_pair_in(inputs, "fault.warp", side->warp_count, "", "mm", &warp->times, &warp->height_mm);
        add_warp_wow(inputs, side, warp, &settings->course, settings->rotation_hz);
    }
}

static DwStatus read_plan(const DwInputs *inputs, const DwSettings *settings, DwSideInputs *side, DwMessage *message)
{
    char *path = dw_data_path("plans", dw_inputs_word(inputs, "record.plan"), ".plan");
    DwStatus status = dw_band_plan_read(path, &side->plan, message);
    free(path);
    if (status != DW_OK)
        return status;
    DwEngravingSettings engraving = {
        .run_in_s = settings->lead_crackle_s,
        .announcement_s = settings->announcement_s,
        .announcements_s = dw_inputs_in(inputs, "synth.announcements", "s"),
        .radius_mm = dw_inputs_in(inputs, "record.radius", "mm"),
    };
    dw_engraving_make(&side->plan, &engraving, &side->engraving);
    double reference = isnan(side->plan.reference_cm_s) ? USUAL_REFERENCE_CM_S : side->plan.reference_cm_s;
    side->reference_cm_s = reference * M_SQRT1_2;
    side->from_s = dw_inputs_in(inputs, "synth.skip", "s");
    side->to_s = dw_inputs_given(inputs, "synth.stop") ? dw_inputs_in(inputs, "synth.stop", "s") : INFINITY;
    double end_s = fmin(side->to_s, side->engraving.end_s);
    if (end_s - side->from_s < 0.1)
        return dw_fail(message, DW_BAD_INPUT,
                       "Nothing is left of the side: it ends after %.1f s and the stylus is set down after %.1f s. "
                       "Make synth.skip smaller.",
                       end_s, side->from_s);
    return DW_OK;
}

// What hangs on the radius must know it, and the arm must reach it.
static DwStatus check_radii(const DwSettings *settings, const DwSideInputs *side, DwMessage *message)
{
    bool needed = side->pickup.has_arm || !isnan(side->pickup.replayed_deg) || !isnan(side->pickup.error_deg);
    for (size_t i = 0; i < settings->course.count; i++)
        needed = needed || settings->course.lines[i].radial_percent_mm != 0;
    for (size_t i = 0; needed && i < side->engraving.count; i++) {
        double radius_mm = side->engraving.parts[i].radius_mm;
        if (isnan(radius_mm))
            return dw_fail(message, DW_BAD_INPUT,
                           "The arm's angles, warps and an eccentric record need to know where the bands lie. Give "
                           "radius in the bands of the plan, or record.radius for all of them.");
        if (side->pickup.has_arm && !dw_arm_reaches(&side->pickup.arm, radius_mm))
            return dw_fail(message, DW_BAD_INPUT,
                           "Such an arm does not reach the groove at %.1f mm: check arm.pivot_to_spindle and "
                           "arm.effective_length.",
                           radius_mm);
    }
    return DW_OK;
}

DwStatus dw_side_inputs_read(const DwInputs *inputs, DwSettings *settings, DwSideInputs *side, DwMessage *message)
{
    *side = (DwSideInputs){0};
    DwStatus status = read_plan(inputs, settings, side, message);
    if (status == DW_OK)
        status = dw_pickup_inputs_read(inputs, &side->pickup, message);
    if (status == DW_OK)
        status = dw_pickup_inputs_read_replay(inputs, &side->replay, message);
    if (status == DW_OK)
        status = read_arm_flutter(inputs, side, message);
    if (status == DW_OK)
        status = read_jumps(inputs, settings, side, message);
    if (status == DW_OK) {
        read_warps(inputs, settings, side);
        status = check_radii(settings, side, message);
    }
    if (status != DW_OK)
        dw_side_inputs_clear(side);
    return status;
}

void dw_side_inputs_clear(DwSideInputs *side)
{
    dw_engraving_clear(&side->engraving);
    dw_band_plan_clear(&side->plan);
    free(side->jumps);
    free(side->warps);
    *side = (DwSideInputs){0};
}
