// SPDX-License-Identifier: MIT
#include "procedure/align/align_sheet.h"

#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const double dw_align_good_slide_mm = 0.25;
const double dw_align_good_twist_deg = 0.5;

void dw_align_arms_add(DwAlignArms *arms, const DwArmSetup *setup, const char *prefix, const char *name,
                       const DwArm *arm)
{
    DwAlignArm added = {.prefix = prefix, .name = name, .arm = *arm};
    if (arms->count < DW_ALIGN_ARMS_MOST && dw_tracking_cost(arm, setup->groove, setup->signal, &added.cost))
        arms->arms[arms->count++] = added;
}

static void add(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits,
                const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    dw_reading_set_method(reading, method);
}

static void add_cost(DwSheet *sheet, const DwTrackingCost *cost, const char *method)
{
    const char *distortion = "second harmonic of the velocity, Löfgren/Baerwald formula, no replay weighting";
    add(sheet, "align.error_max", "Worst tracking error", cost->error_deg.value, "deg", 3, method);
    add(sheet, "align.weighted_error_max", "Worst error for its radius", cost->weighted_error_deg_cm.value, "deg/cm", 4,
        method);
    add(sheet, "align.distortion_max", "Worst tracking distortion", cost->distortion_percent.value, "%", 3, distortion);
    add(sheet, "align.distortion_rms", "Mean tracking distortion (rms)", cost->distortion_rms_percent, "%", 3,
        distortion);
}

// What every figure of distortion on the sheet is for.
static void remark_reference(DwSheet *sheet, const DwArmSetup *setup)
{
    dw_sheet_remark(
        sheet,
        "Distortion is the second harmonic of a lateral tone of %g cm/s peak at %.4g rpm, by the formula of "
        "Löfgren and Baerwald, without replay (RIAA) weighting; it rises in proportion to the velocity. "
        "Grooves from %g to %g mm.",
        setup->signal.peak_velocity_cm_s, setup->signal.speed_rpm, setup->groove.inner_mm, setup->groove.outer_mm);
}

static void remark_groove(DwSheet *sheet, const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "record.groove");
    bool moved = dw_inputs_given(inputs, "record.inner_radius") || dw_inputs_given(inputs, "record.outer_radius");
    if (strcmp(word, "own") != 0 && moved)
        dw_sheet_remark(sheet, "The groove radius stated stands in place of the one of record.groove=%s.", word);
    else if (strcmp(word, "iec") == 0)
        dw_sheet_remark(sheet, "The IEC pair 60.325 and 146.05 mm is the one the alignment literature uses; since "
                               "1964 the standard's outer radius is 146.3 mm (record.groove=iec_1964).");
    else if (strcmp(word, "din") == 0)
        dw_sheet_remark(sheet, "The DIN pair is quoted with 146.05 mm outside; the standard itself (1981) allows "
                               "146.3 mm (add record.outer_radius=146.3).");
    else if (strcmp(word, "seven_inch") == 0 && !dw_inputs_given(inputs, "deck.speed"))
        dw_sheet_remark(sheet, "A 7-inch record mostly turns at 45 rpm: give deck.speed=45 for its distortion.");
}

static void add_nulls(DwSheet *sheet, const DwArmSetup *setup, const char *method)
{
    add(sheet, "align.null_inner", setup->kind == DW_ARM_UNDERHUNG ? "Radius of tangency" : "Inner null radius",
        setup->nulls.inner_mm, "mm", 3, method);
    if (setup->kind == DW_ARM_UNDERHUNG)
        dw_sheet_not_measured(sheet, "align.null_outer", "an arm without offset stands tangent at one radius only");
    else
        add(sheet, "align.null_outer", "Outer null radius", setup->nulls.outer_mm, "mm", 3, method);
}

// The one line that says what to set, for the distance at which the arm stands.
static void remark_set(DwSheet *sheet, const DwArmSetup *setup, const DwArm *arm, DwShellKind shell)
{
    DwTrackingCost cost;
    if (!dw_tracking_cost(arm, setup->groove, setup->signal, &cost))
        return;
    if (setup->kind == DW_ARM_UNDERHUNG)
        dw_sheet_remark(sheet,
                        "Set the stylus %.2f mm short of the spindle; the cartridge stands straight and is tangent at "
                        "%.1f mm only. Skating changes its direction there: use no anti-skate.",
                        -dw_arm_overhang(arm), setup->nulls.inner_mm);
    else
        dw_sheet_remark(sheet,
                        "%s %.2f mm past the spindle%s tangent at %.1f and %.1f mm. Worst error %.2f° at %.0f mm, "
                        "worst distortion %.2f %% at %.0f mm.",
                        shell == DW_SHELL_SLOTS ? "Set the stylus"
                                                : "The ideal, which this headshell may not reach: the stylus",
                        dw_arm_overhang(arm),
                        shell == DW_SHELL_SLOTS ? " and turn the cartridge until it stands" : ", the cartridge",
                        setup->nulls.inner_mm, setup->nulls.outer_mm, cost.error_deg.value, cost.error_deg.x,
                        cost.distortion_percent.value, cost.distortion_percent.x);
}

void dw_align_sheet_ideal(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, const DwFoundSetup *found,
                          const DwAlignArm *ideal)
{
    char *method = dw_text_format("%s, %s", ideal->name,
                                  setup->kind == DW_ARM_UNDERHUNG ? "least by true angles" : "closed form in sines");
    const DwArm *arm = &ideal->arm;
    // What is to be set on another mounting is move.overhang and move.offset.
    const char *where = found->mounted_elsewhere ? ", were the pivot as stated" : "";
    char *overhang = dw_text_format("Overhang%s", where), *offset = dw_text_format("Offset angle%s", where);
    char *length = dw_text_format("Effective length%s", where);
    add_nulls(sheet, setup, method);
    add(sheet, "align.overhang", overhang, dw_arm_overhang(arm), "mm", 3, method);
    add(sheet, "align.effective_length", length, arm->effective_length_mm, "mm", 3, method);
    add(sheet, "align.pivot_to_spindle", found->mounted_elsewhere ? "Pivot to spindle as stated" : "Pivot to spindle",
        arm->pivot_to_spindle_mm, "mm", 3, method);
    add(sheet, "align.offset", offset, arm->offset_deg, "deg", 3, method);
    add_cost(sheet, &ideal->cost, method);
    free(method);
    free(overhang);
    free(offset);
    free(length);
    const DwArm *set = found->mounted_elsewhere ? &found->wanted : arm;
    remark_set(sheet, setup, set, found->shell.kind);
    dw_align_sheet_skew(sheet, inputs, setup, set->offset_deg);
    remark_reference(sheet, setup);
    remark_groove(sheet, inputs);
}

void dw_align_sheet_linear(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup)
{
    double zenith = dw_inputs_given(inputs, "found.twist") ? dw_inputs_in(inputs, "found.twist", "deg") : NAN;
    if (isnan(zenith)) {
        dw_sheet_remark(sheet, "A linear arm has no offset, overhang or null radii: it is tangent everywhere when the "
                               "cartridge stands square to its travel and the travel goes through the spindle.");
        dw_sheet_not_measured(sheet, "align.error_max",
                              "the error of zenith was not given: read it on a grid and add "
                              "found.twist=ANGLE");
        return;
    }
    DwTrackingCost cost = dw_tracking_linear_cost(zenith, setup->groove, setup->signal);
    add_cost(sheet, &cost, "one error at every radius");
    DwReading *twist = dw_sheet_add_reading(sheet, "move.twist", "Twist that mends it", -zenith, "deg", 2);
    dw_reading_set_limit(twist, (DwRange){-dw_align_good_twist_deg, dw_align_good_twist_deg}, (DwRange){NAN, NAN},
                         "common practice");
    dw_sheet_remark(
        sheet,
        "The cartridge is turned %.2f° %s at every radius; that makes %.2f %% at the last groove and %.2f %% "
        "at the first. Turn it back.",
        fabs(zenith), zenith >= 0 ? "inwards" : "outwards", cost.distortion_percent.value,
        dw_tracking_distortion(setup->signal, setup->groove.outer_mm, zenith));
    remark_reference(sheet, setup);
    remark_groove(sheet, inputs);
}
