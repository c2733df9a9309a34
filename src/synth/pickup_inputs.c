// SPDX-License-Identifier: MIT
#include "synth/side_inputs.h"

#include "base/memory.h"
#include "physics/alignment.h"
#include "physics/arm_found.h"
#include "physics/force.h"
#include "physics/load_network.h"
#include "physics/rake.h"
#include "physics/resonance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double degree = M_PI / 180;
// Where an arm's mounting distance is all that is known, it stands as the usual
// alignment has it: Löfgren A for the grooves of IEC 98.
static const DwGroove usual_groove = {60.325, 146.05};

static double number_or(const DwInputs *inputs, const char *key, const char *unit, double otherwise)
{
    double value = dw_inputs_in(inputs, key, unit);
    return isnan(value) ? otherwise : value;
}

// ---- the arm --------------------------------------------------------------

static DwArm usual_arm(double pivot_to_spindle_mm, bool underhung)
{
    if (underhung)
        return dw_alignment_underhung_at_distance(dw_alignment_underhung_null(DW_ALIGNMENT_LOEFGREN_A, usual_groove),
                                                  pivot_to_spindle_mm);
    return dw_arm_at_distance(dw_alignment_nulls(DW_ALIGNMENT_LOEFGREN_A, usual_groove), pivot_to_spindle_mm);
}

static DwStatus read_arm(const DwInputs *inputs, DwPickupSettings *settings, DwMessage *message)
{
    bool underhung = strcmp(dw_inputs_word(inputs, "arm.kind"), "underhung") == 0;
    double made_mm = dw_inputs_in(inputs, "arm.pivot_to_spindle", "mm");
    double length_mm = dw_inputs_in(inputs, "arm.effective_length", "mm");
    double overhang_mm = dw_inputs_in(inputs, "arm.overhang", "mm"),
           offset_deg = dw_inputs_in(inputs, "arm.offset", "deg");
    if (isnan(made_mm) && isnan(length_mm) && isnan(overhang_mm) && isnan(offset_deg))
        return DW_OK;
    if (isnan(made_mm) && !isnan(length_mm) && !isnan(overhang_mm))
        made_mm = length_mm - overhang_mm;
    if (isnan(made_mm))
        return dw_fail(message, DW_BAD_INPUT,
                       "The arm is not known yet: give arm.pivot_to_spindle, or leave out all of its measures.");
    DwArm arm = usual_arm(made_mm, underhung);
    if (!isnan(length_mm))
        arm.effective_length_mm = length_mm;
    else if (!isnan(overhang_mm))
        arm.effective_length_mm = made_mm + overhang_mm;
    if (!isnan(offset_deg))
        arm.offset_deg = offset_deg;
    arm = dw_arm_slid(&arm, number_or(inputs, "found.slip", "mm", 0));
    arm.offset_deg += number_or(inputs, "found.twist", "deg", 0);
    arm.pivot_to_spindle_mm = number_or(inputs, "found.pivot_to_spindle", "mm", made_mm);
    settings->arm = arm;
    settings->has_arm = true;
    return DW_OK;
}

static DwStatus read_angles(const DwInputs *inputs, DwPickupSettings *settings, DwMessage *message)
{
    settings->recorded_deg = dw_inputs_in(inputs, "record.vertical_angle", "deg");
    settings->replayed_deg = dw_inputs_in(inputs, "cartridge.vertical_angle", "deg");
    settings->rotation_deg = dw_inputs_in(inputs, "fault.azimuth", "deg");
    double rise_mm = dw_inputs_in(inputs, "fault.arm_height", "mm");
    if (rise_mm == 0)
        return DW_OK;
    if (!settings->has_arm || isnan(settings->replayed_deg))
        return dw_fail(message, DW_BAD_INPUT,
                       "fault.arm_height turns an angle that is not known yet: give arm.pivot_to_spindle and "
                       "cartridge.vertical_angle.");
    double offset = settings->arm.offset_deg * degree;
    bool across_arm = strcmp(dw_inputs_word(inputs, "arm.bearing_axis"), "across_arm") == 0;
    DwRakeArm lever = {settings->arm.effective_length_mm, offset, across_arm ? 0 : offset};
    DwRakeTilt tilt = dw_rake_tilt(&lever, rise_mm);
    settings->replayed_deg += tilt.pitch / degree;
    // Derived: the head goes down about an axis square to the arm, while the
    // cartridge points further inwards; its top then leans outwards.
    settings->rotation_deg -= tilt.roll / degree;
    return DW_OK;
}

// ---- the suspension -------------------------------------------------------

static double resonance_hz(double mass_g, double compliance)
{
    return isnan(mass_g) || isnan(compliance) ? NAN : dw_resonance_hz(mass_g, compliance);
}

static double near_10hz(const DwInputs *inputs, const char *key)
{
    double stated = dw_inputs_in(inputs, key, "um/mN");
    return isnan(stated)
               ? NAN
               : dw_resonance_compliance_at_10hz(stated, dw_inputs_in(inputs, "cartridge.compliance_frequency", "Hz"))
                     .likely;
}

static double tracking_force_mn(const DwInputs *inputs)
{
    size_t count = dw_inputs_count(inputs, "force.reading");
    if (count == 0)
        return dw_inputs_in(inputs, "force.target", "mN");
    double *readings = dw_memory_new(count, sizeof *readings);
    for (size_t i = 0; i < count; i++)
        readings[i] = dw_inputs_in_at(inputs, "force.reading", i, "mN");
    double mean_mn = dw_force_mean(readings, count).mean;
    free(readings);
    return mean_mn;
}

static void read_suspension(const DwInputs *inputs, DwPickupSettings *settings)
{
    double hung_g = dw_inputs_in(inputs, "cartridge.mass", "g") + dw_inputs_in(inputs, "cartridge.hardware_mass", "g");
    double arm_g = dw_inputs_in(inputs, "arm.effective_mass", "g");
    double lateral = near_10hz(inputs, "cartridge.compliance");
    double vertical = near_10hz(inputs, "cartridge.compliance_vertical");
    settings->resonance_hz[DW_PICKUP_LATERAL] =
        resonance_hz(number_or(inputs, "arm.lateral_mass", "g", arm_g) + hung_g, lateral);
    settings->resonance_hz[DW_PICKUP_VERTICAL] = resonance_hz(arm_g + hung_g, isnan(vertical) ? lateral : vertical);
    settings->resonance_q = dw_inputs_in(inputs, "resonance.q", "");
    // Tracking bands are near 300 Hz, where a suspension is as stiff as at 100 Hz.
    settings->compliance = lateral / dw_resonance_compliance_at_10hz(1, 100).likely;
    settings->force_mn = tracking_force_mn(inputs);
    settings->friction =
        dw_inputs_in(inputs, "force.friction", "") * (1 - dw_inputs_in(inputs, "fault.antiskating", "fraction"));
}

DwStatus dw_pickup_inputs_read(const DwInputs *inputs, DwPickupSettings *settings, DwMessage *message)
{
    bool linear = strcmp(dw_inputs_word(inputs, "arm.kind"), "linear") == 0;
    *settings = (DwPickupSettings){
        .speed_rpm = dw_inputs_in(inputs, "deck.speed", "rpm"),
        .error_deg = linear ? number_or(inputs, "found.twist", "deg", 0) : NAN,
        .leak = pow(10, -number_or(inputs, "cartridge.separation", "dB", INFINITY) / 20),
        .gain = {1, pow(10, dw_inputs_in(inputs, "cartridge.balance", "dB") / 20)},
    };
    DwStatus status = linear ? DW_OK : read_arm(inputs, settings, message);
    if (status == DW_OK)
        status = read_angles(inputs, settings, message);
    if (status == DW_OK)
        read_suspension(inputs, settings);
    return status;
}

// ---- the chain ------------------------------------------------------------

DwStatus dw_pickup_inputs_read_replay(const DwInputs *inputs, DwReplaySettings *settings, DwMessage *message)
{
    *settings = (DwReplaySettings){
        .equalised = strcmp(dw_inputs_word(inputs, "response.riaa"), "applied") == 0,
        .subsonic = strcmp(dw_inputs_word(inputs, "lowsweep.subsonic"), "yes") == 0,
        .tip = {number_or(inputs, "cartridge.tip_resonance", "Hz", 0), dw_inputs_in(inputs, "cartridge.tip_q", "")},
        .loaded = dw_inputs_given(inputs, "cartridge.inductance") || dw_inputs_given(inputs, "cartridge.resistance"),
    };
    if (!settings->loaded)
        return DW_OK;
    DwLoadNetwork network = dw_load_network_find(inputs);
    settings->loading = network.seen;
    if (isnan(network.seen.inductance_h + network.seen.resistance_ohm + network.total_pf) || network.total_pf <= 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "The cartridge's load needs cartridge.inductance, cartridge.resistance and the lead: "
                       "cable.capacitance or cable.length. Give them all, or none of the coil's.");
    return DW_OK;
}
