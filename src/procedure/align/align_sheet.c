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

// WHEN: the state that it is the cost of.
static void add_cost(DwSheet *sheet, const DwTrackingCost *cost, const char *when, const char *method)
{
    const char *distortion = "second harmonic of the velocity, Löfgren/Baerwald formula, no replay weighting";
    const struct {
        const char *key, *label, *unit;
        int digits;
        double value;
        const char *method;
    } rows[] = {
        {"align.error_max", "Worst tracking error", "deg", 3, cost->error_deg.value, method},
        {"align.weighted_error_max", "Worst error for its radius", "deg/cm", 4, cost->weighted_error_deg_cm.value,
         method},
        {"align.distortion_max", "Worst tracking distortion", "%", 3, cost->distortion_percent.value, distortion},
        {"align.distortion_rms", "Mean tracking distortion (rms)", "%", 3, cost->distortion_rms_percent, distortion},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *label = dw_text_format("%s, %s", rows[i].label, when);
        add(sheet, rows[i].key, label, rows[i].value, rows[i].unit, rows[i].digits, rows[i].method);
        free(label);
    }
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
    add_cost(sheet, &ideal->cost, found->mounted_elsewhere ? "were the pivot as stated" : "set exactly", method);
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

// What a linear arm's headshell allows of the turn that it needs.
static void remark_linear_move(DwSheet *sheet, const DwShell *shell, double twist_deg)
{
    double left = fmax(0, fabs(twist_deg) - shell->allows.twist_deg);
    const char *way = twist_deg > 0 ? "inwards" : "outwards";
    if (fabs(twist_deg) < 0.05)
        dw_sheet_remark(sheet, "The cartridge stands square: leave it as it is.");
    else if (left == 0)
        dw_sheet_remark(sheet, "Turn it %.1f° %s.", fabs(twist_deg), way);
    else if (shell->allows.twist_deg > 0)
        dw_sheet_remark(sheet,
                        "Plain holes allow %.1f° %s of the %.1f° that it needs; the rest is turned where the arm is "
                        "mounted on its carriage, or in another headshell.",
                        shell->allows.twist_deg, way, fabs(twist_deg));
    else
        dw_sheet_remark(sheet,
                        "This headshell (%s) lets nothing turn: the %.1f° %s that it needs are turned where the arm is "
                        "mounted on its carriage, or in another headshell.",
                        dw_shell_name(shell->kind), fabs(twist_deg), way);
}

// What was given and says nothing of a linear arm.
static void remark_linear_unused(DwSheet *sheet, const DwInputs *inputs)
{
    static const char *const keys[] = {
        "arm.pivot_to_spindle", "arm.effective_length",     "arm.slot_length",         "align.null_inner",
        "align.null_outer",     "found.radius_uncertainty", "found.pivot_uncertainty", "found.overhang_uncertainty"};
    DwText list = {0};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (dw_inputs_given(inputs, keys[i]))
            dw_text_add(&list, "%s%s", list.length ? ", " : "", keys[i]);
    if (list.length)
        dw_sheet_remark(sheet, "Not used, for it says nothing of a linear arm: %s.", list.chars);
    dw_text_clear(&list);
}

DwStatus dw_align_sheet_linear(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, DwMessage *message)
{
    DwShell shell;
    DwStatus status = dw_shell_read(inputs, &shell, message);
    if (status != DW_OK)
        return status;
    remark_linear_unused(sheet, inputs);
    if (!dw_inputs_given(inputs, "found.twist")) {
        dw_sheet_remark(sheet, "A linear arm has no offset, overhang or null radii: it is tangent everywhere when the "
                               "cartridge stands square to its travel and the travel goes through the spindle.");
        dw_sheet_not_measured(sheet, "align.error_max",
                              "the error of zenith was not given: read it on a grid and add "
                              "found.twist=ANGLE");
        return DW_OK;
    }
    bool by_body = strcmp(dw_inputs_word(inputs, "found.line"), "body") == 0;
    double zenith = dw_inputs_in(inputs, "found.twist", "deg") + (by_body ? setup->skew_deg : 0);
    DwTrackingCost cost = dw_tracking_linear_cost(zenith, setup->groove, setup->signal);
    add_cost(sheet, &cost, "as found", "one error at every radius");
    DwReading *twist = dw_sheet_add_reading(sheet, "move.twist", "Twist that mends it (+ inwards)", -zenith, "deg", 2);
    dw_reading_set_limit(twist, (DwRange){-dw_align_good_twist_deg, dw_align_good_twist_deg}, (DwRange){NAN, NAN},
                         "common practice");
    dw_sheet_remark(
        sheet,
        "The cantilever is turned %.2f° %s at every radius; that makes %.2f %% at the last groove and %.2f %% "
        "at the first.",
        fabs(zenith), zenith >= 0 ? "inwards" : "outwards", cost.distortion_percent.value,
        dw_tracking_distortion(setup->signal, setup->groove.outer_mm, zenith));
    remark_linear_move(sheet, &shell, -zenith);
    dw_align_sheet_skew(sheet, inputs, setup, NAN);
    remark_reference(sheet, setup);
    remark_groove(sheet, inputs);
    return DW_OK;
}
