// SPDX-License-Identifier: MIT
// What was found, what it costs, and the move that mends it.
#include "procedure/align/align_sheet.h"

#include "base/text.h"

#include <math.h>
#include <stdlib.h>

// The screws of a cartridge stand half an inch apart (common practice), and
// its stylus 9.5 ± 1 mm ahead of them (IEC 98:1987).
static const double screws_apart_mm = 12.7;
static const double stylus_ahead_mm = 9.5;

static const char *way_name(DwFoundWay way)
{
    switch (way) {
    case DW_FOUND_TANGENCIES:
        return "from the radii of tangency and pivot to spindle";
    case DW_FOUND_ERRORS:
        return "from angular errors at known radii and pivot to spindle";
    case DW_FOUND_STATED:
    case DW_FOUND_NOTHING:
        return "as stated";
    }
    return "";
}

static void add(DwSheet *sheet, const char *key, const char *label, double value, double uncertainty, const char *unit,
                int digits, const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    reading->uncertainty = uncertainty;
    dw_reading_set_method(reading, method);
}

static void add_found(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found, const DwTrackingCost *cost)
{
    const char *method = way_name(found->readings.way);
    add(sheet, "found.overhang", "Overhang as found", dw_arm_overhang(&found->arm), found->overhang_uncertainty_mm,
        "mm", 2, method);
    add(sheet, "found.offset", "Offset as found", found->arm.offset_deg, found->offset_uncertainty_deg, "deg", 2,
        method);
    add(sheet, "found.effective_length", "Effective length as found", found->arm.effective_length_mm, NAN, "mm", 2,
        method);
    add(sheet, "found.error_max", "Worst tracking error as found", cost->error_deg.value, NAN, "deg", 2, method);
    add(sheet, "found.distortion_max", "Worst distortion as found", cost->distortion_percent.value,
        found->distortion_uncertainty_percent, "%", 3, method);
    add(sheet, "found.distortion_rms", "Mean distortion as found (rms)", cost->distortion_rms_percent, NAN, "%", 3,
        method);
    if (found->mounted_elsewhere)
        add(sheet, "found.pivot_error", "Pivot out of place",
            found->readings.distance_mm - setup->ideal.pivot_to_spindle_mm, NAN, "mm", 2,
            "distance as mounted less the one stated");
}

static void add_move(DwSheet *sheet, const DwFoundSetup *found, const DwTrackingCost *after)
{
    static const struct {
        const char *key, *label, *unit;
    } rows[] = {{"move.slide", "Slide along the slots (+ forward)", "mm"},
                {"move.twist", "Twist about the stylus (+ inwards)", "deg"}};
    const double values[] = {found->move.slide_mm, found->move.twist_deg};
    const double uncertainties[] = {found->slide_uncertainty_mm, found->twist_uncertainty_deg};
    const double good[] = {dw_align_good_slide_mm, dw_align_good_twist_deg};
    for (int i = 0; i < 2; i++) {
        DwReading *reading = dw_sheet_add_reading(sheet, rows[i].key, rows[i].label, values[i], rows[i].unit, 2);
        reading->uncertainty = uncertainties[i];
        dw_reading_set_method(reading, "first the slide, then the twist");
        // Beyond it the arm still serves; whether it needs the move, its distortion says.
        dw_reading_set_limit(reading, (DwRange){NAN, NAN}, (DwRange){-good[i], good[i]}, "common practice");
    }
    add(sheet, "move.distortion_max", "Worst distortion after the move", after->distortion_percent.value, NAN, "%", 3,
        "the move done exactly");
    if (found->has_slots)
        dw_reading_set_method(
            dw_sheet_add_word(sheet, "move.allowed", "The slots allow it", found->move.allowed ? "yes" : "no"),
            "travel stated for the slots");
    else
        dw_sheet_not_measured(sheet, "move.allowed", "the slots' travel was not given: add arm.slot_length");
}

// "back 1.0 mm along the slots, twist 0.4° inwards"
static char *move_in_words(const DwFoundSetup *found, bool underhung)
{
    DwText words = {0};
    double slide = found->move.slide_mm, twist = found->move.twist_deg;
    if (fabs(slide) >= 0.05)
        dw_text_add(&words, "%s %.1f mm along the slots", slide < 0 ? "back" : "forward", fabs(slide));
    if (fabs(twist) >= 0.05)
        dw_text_add(&words, "%stwist %.1f° %s", words.length ? ", " : "", fabs(twist),
                    twist > 0 ? "inwards" : "outwards");
    if (!words.length)
        dw_text_add(&words, "%s", underhung ? "leave it where it stands" : "leave it as it is");
    return dw_text_take(&words);
}

static void remark_move(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found,
                        const DwTrackingCost *before, const DwTrackingCost *after)
{
    char *words = move_in_words(found, setup->kind == DW_ARM_UNDERHUNG);
    bool near = fabs(found->move.slide_mm) <= dw_align_good_slide_mm &&
                fabs(found->move.twist_deg) <= dw_align_good_twist_deg && found->move.allowed;
    if (near)
        dw_sheet_remark(sheet, "Good enough: within ±%.2f mm and ±%.1f° of right. To be exact: %s.",
                        dw_align_good_slide_mm, dw_align_good_twist_deg, words);
    else
        dw_sheet_remark(sheet,
                        "%s: %s. The worst distortion goes from %.2f %% to %.2f %%, the mean from %.2f %% to %.2f %%.",
                        found->move.allowed ? "The move" : "The slots are too short; the best they allow", words,
                        before->distortion_percent.value, after->distortion_percent.value,
                        before->distortion_rms_percent, after->distortion_rms_percent);
    free(words);
    double twist = found->move.twist_deg;
    if (fabs(twist) >= 0.05)
        dw_sheet_remark(
            sheet,
            "Forward is away from the pivot, inwards is the nose towards the spindle. %.1f° is %.2f mm between the "
            "two screws. Turned about its screws the stylus goes %.2f mm %s: check its place on the arc "
            "again after the twist.",
            fabs(twist), screws_apart_mm * tan(fabs(twist) * M_PI / 180),
            fabs(dw_arm_twist_shift(&found->arm, twist, stylus_ahead_mm)),
            dw_arm_twist_shift(&found->arm, twist, stylus_ahead_mm) < 0 ? "back" : "forward");
}

static void remark_slots(DwSheet *sheet, const DwFoundSetup *found)
{
    if (!found->has_slots)
        return;
    DwSlots slots = found->readings.slots;
    if (!found->move.allowed)
        dw_sheet_remark(sheet,
                        "The wanted overhang of %.1f mm is out of the slots' reach; at their end it is %.1f mm. A "
                        "headshell with longer slots, or a cartridge whose stylus stands elsewhere, would reach it.",
                        dw_arm_overhang(&found->wanted), dw_arm_overhang(&found->move.after));
    dw_sheet_remark(sheet, "Travel counted on: %.1f mm forward and %.1f mm back.", slots.forward_mm, slots.back_mm);
}

static void remark_mounting(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found,
                            const DwTrackingCost *after)
{
    if (!found->mounted_elsewhere)
        return;
    double away = found->readings.distance_mm - setup->ideal.pivot_to_spindle_mm;
    DwArm left = setup->ideal;
    left.pivot_to_spindle_mm = found->readings.distance_mm;
    DwTrackingCost cost;
    dw_sheet_remark(
        sheet,
        "The pivot stands %.2f mm too %s the spindle. No position of the cartridge gives back the arm its maker "
        "drew: his overhang and any arc drawn for %.1f mm mislead now. Move the pivot if its mounting "
        "allows it.",
        fabs(away), away > 0 ? "far from" : "near", setup->ideal.pivot_to_spindle_mm);
    if (dw_tracking_cost(&left, setup->groove, setup->signal, &cost))
        dw_sheet_remark(
            sheet,
            "If not, the best compromise is overhang %.2f mm and offset %.2f°, set on a two-point grid: worst "
            "distortion %.2f %%. With the maker's length and offset left as they are it is %.2f %%.",
            dw_arm_overhang(&found->move.after), found->move.after.offset_deg, after->distortion_percent.value,
            cost.distortion_percent.value);
}

static void remark_uncertainty(DwSheet *sheet, const DwFoundSetup *found)
{
    if (isnan(found->slide_uncertainty_mm))
        return;
    char *angles = found->readings.way == DW_FOUND_ERRORS
                       ? dw_text_format(", angles to ±%.2f°", found->angle_uncertainty_deg)
                       : dw_text_format("%s", "");
    dw_sheet_remark(
        sheet,
        "With radii read to ±%.2f mm%s and pivot to spindle to ±%.2f mm, the slide is known to ±%.2f mm and "
        "the twist to ±%.2f° (95 %%).",
        found->radius_uncertainty_mm, angles, found->pivot_uncertainty_mm, found->slide_uncertainty_mm,
        found->twist_uncertainty_deg);
    free(angles);
    if (fabs(found->move.slide_mm) < found->slide_uncertainty_mm &&
        fabs(found->move.twist_deg) < found->twist_uncertainty_deg)
        dw_sheet_remark(sheet,
                        "That is more than the move itself: read it again, or the two tangencies instead, before "
                        "the screws are touched.");
}

// Whether the move is worth the work: what is found against what the bench's
// own tolerance may leave.
static void judge_worth(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found,
                        const DwTrackingCost *before)
{
    DwTrackingCost corner = dw_align_worst_in_tolerance(setup, &found->wanted);
    double left = corner.distortion_percent.value, had = before->distortion_percent.value;
    dw_reading_set_limit(dw_sheet_reading(sheet, "found.distortion_max"), (DwRange){NAN, left}, (DwRange){NAN, NAN},
                         "what ±0.25 mm and ±0.5° may leave, common practice");
    if (had <= left)
        dw_sheet_remark(sheet,
                        "As found it costs no more (%.2f %%) than a good setting may leave (%.2f %%): the move gains "
                        "little.",
                        had, left);
    else
        dw_sheet_remark(sheet, "As found it costs %.1f times what a good setting may leave (%.2f %% against %.2f %%).",
                        had / left, had, left);
}

void dw_align_sheet_found(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found)
{
    DwTrackingCost before, after;
    if (!dw_tracking_cost(&found->arm, setup->groove, setup->signal, &before) ||
        !dw_tracking_cost(&found->move.after, setup->groove, setup->signal, &after))
        return; // dw_found_setup_read() refused such arms
    add_found(sheet, setup, found, &before);
    add_move(sheet, found, &after);
    DwNulls nulls;
    if (!dw_arm_nulls(&found->arm, &nulls))
        dw_sheet_remark(sheet, "As found the cartridge is tangent at no radius.");
    remark_move(sheet, setup, found, &before, &after);
    judge_worth(sheet, setup, found, &before);
    remark_slots(sheet, found);
    remark_mounting(sheet, setup, found, &after);
    remark_uncertainty(sheet, found);
}

void dw_align_sheet_not_found(DwSheet *sheet)
{
    dw_sheet_not_measured(
        sheet, "found.overhang",
        "nothing was read as found: give found.null_inner and found.null_outer, found.error_at twice, "
        "or found.slip and found.twist");
}
