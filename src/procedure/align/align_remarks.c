// SPDX-License-Identifier: MIT
// The words about what was found: whether the readings agree, what to move,
// what that gains, and what stands in its way.
#include "procedure/align/align_sheet.h"

#include "base/saying.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>

static const double misread_mm = 4; // of a mounting: farther off it is rather the rule that was misread
static const double least_slide_mm = 0.05, least_twist_deg = 0.05; // that is worth a word

// "back 1.0 mm along the slots, twist 0.4° inwards"
static char *move_in_words(const DwFoundSetup *found, const DwArmMove *move)
{
    DwText words = {0};
    if (fabs(move->slide_mm) >= least_slide_mm)
        dw_text_add_taken(&words, "",
                          dw_saying_phrase("%s %.1f mm %s", move->slide_mm < 0 ? "back" : "forward",
                                           fabs(move->slide_mm), dw_shell_way(found->shell.kind)));
    if (fabs(move->twist_deg) >= least_twist_deg)
        dw_text_add_taken(
            &words, words.length ? ", " : "",
            dw_saying_phrase("twist %.1f° %s", fabs(move->twist_deg), move->twist_deg > 0 ? "inwards" : "outwards"));
    if (!words.length)
        dw_text_add(&words, "leave it as it is");
    return dw_text_take(&words);
}

static char *reading_in_words(const DwArmReading *reading)
{
    switch (reading->kind) {
    case DW_ARM_READ_ERROR:
        return dw_saying_phrase("the angle at %g mm (%+.2f°)", reading->radius_mm, reading->value);
    case DW_ARM_READ_TANGENCY:
        return dw_saying_phrase("the tangency at %g mm", reading->radius_mm);
    case DW_ARM_READ_ARC:
        return dw_saying_phrase("the arc at %g mm (%+.2f mm)", reading->radius_mm, reading->value);
    case DW_ARM_READ_OVERHANG:
        return dw_saying_phrase("the overhang (%.2f mm)", reading->value);
    }
    return dw_text_format("%s", "");
}

// Why that reading: what becomes of the others without it.
static char *reason_of_doubt(const DwFoundSetup *found)
{
    const DwArmDoubt *doubt = &found->doubt;
    const DwArmReading *suspect = &found->readings.readings[doubt->suspect];
    if (doubt->other_sign)
        return dw_saying_phrase("read as %+.2f%s it agrees with the others: the sign may have slipped", -suspect->value,
                                suspect->kind == DW_ARM_READ_ARC ? " mm" : "°");
    if (!doubt->rest_agree)
        return dw_text_format("%s", "the others do not agree without it either, so take all of them again");
    if (found->fit.freedom < 1)
        return dw_text_format("%s", "and read the angle at a third radius, or the overhang, beside them");
    return dw_text_format("%s", "without it the others agree");
}

// One that counts the angles the other way is no misread value: what they mean is asked first.
static void remark_all_turned(DwSheet *sheet, const DwArmDoubt *doubt)
{
    if (doubt->all_turned)
        dw_sheet_remark(sheet,
                        "%s the sign of every angle turned %s agree: positive is where the nose has to turn inwards to "
                        "stand tangent. Were they read the other way round?",
                        doubt->rest_agree ? "Or with" : "With", doubt->rest_agree ? "they all" : "all readings");
}

static void remark_doubt(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found)
{
    const DwArmDoubt *doubt = &found->doubt;
    char *which = reading_in_words(&found->readings.readings[doubt->suspect]);
    char *second = reading_in_words(&found->readings.readings[doubt->second]);
    char *reason = reason_of_doubt(found);
    char *why =
        found->fit.freedom > 0
            ? dw_saying_phrase("The readings belong to no one arm: %.2f° is left between them", found->fit.residual_deg)
            : dw_saying_phrase("The readings tell of an arm that nobody would mount: overhang %.1f mm, offset "
                               "%.1f°",
                               dw_arm_overhang(&found->arm), found->arm.offset_deg);
    dw_sheet_remark(sheet, "%s. Take %s again%s%s: %s. Move nothing before they agree.", why, which,
                    doubt->has_second ? ", or " : "", doubt->has_second ? second : "", reason);
    remark_all_turned(sheet, doubt);
    if (doubt->rest_agree && found->fit.freedom > 0) {
        DwArmMove move = dw_arm_move(&doubt->without, &found->wanted, found->shell.allows, &setup->aim);
        char *words = move_in_words(found, &move);
        dw_sheet_remark(sheet,
                        "If it was that one, the arm stands at overhang %.2f mm and offset %.2f°, and to be "
                        "done would be: %s.",
                        dw_arm_overhang(&doubt->without), doubt->without.offset_deg, words);
        free(words);
    }
    free(which);
    free(second);
    free(reason);
    free(why);
}

static void remark_leave(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found,
                         const DwTrackingCost *before)
{
    DwTrackingCost there;
    DwArmMove best = dw_arm_move(&found->arm, &found->wanted, found->shell.allows, &setup->aim);
    if (best.helps)
        dw_sheet_remark(sheet,
                        "Leave it as it is: it stands well enough (%.2f %% of worst distortion), and the best move is "
                        "smaller than it is known.",
                        before->distortion_percent.value);
    else if (found->move.allowed && dw_tracking_cost(&found->wanted, setup->groove, setup->signal, &there))
        dw_sheet_remark(sheet,
                        "Leave it as it is: set exactly to the alignment the worst distortion would be %.3f %% instead "
                        "of %.3f %%, the mean %.3f %% instead of %.3f %%.",
                        there.distortion_percent.value, before->distortion_percent.value, there.distortion_rms_percent,
                        before->distortion_rms_percent);
    else
        dw_sheet_remark(sheet,
                        "Leave it as it is: nothing that this headshell allows makes it better than the %.2f %% of "
                        "worst distortion that it has.",
                        before->distortion_percent.value);
}

// What stands in the way of the whole move.
static const char *short_of(DwShellKind kind)
{
    switch (kind) {
    case DW_SHELL_SLOTS:
        return "The slots are too short; the best they allow";
    case DW_SHELL_SLIDE:
        return "This headshell does not let the cartridge twist; the best the slide allows";
    case DW_SHELL_HOLES:
        return "Plain holes allow no more than their clearance; the best of that";
    case DW_SHELL_PLUGIN:
        return "A plug-in shell keeps its offset; the best the collet allows";
    case DW_SHELL_FIXED:
    case DW_SHELL_COUNT:
        return "The move";
    }
    return "";
}

static void remark_screws(DwSheet *sheet, const DwFoundSetup *found)
{
    double twist = found->move.twist_deg, shift = dw_arm_twist_shift(&found->arm, twist, dw_headshell_stylus_ahead_mm);
    if (fabs(twist) >= least_twist_deg)
        dw_sheet_remark(
            sheet,
            "Forward is away from the pivot, inwards is the nose towards the spindle. %.1f° is %.2f mm between the "
            "two screws. Turned about its screws the stylus goes %.2f mm %s%s.",
            fabs(twist), dw_headshell_screws_apart_mm * tan(fabs(twist) * M_PI / 180), fabs(shift),
            shift < 0 ? "back" : "forward",
            found->shell.kind == DW_SHELL_SLOTS && fabs(found->move.slide_mm) >= least_slide_mm
                ? ", for which the slide allows: judge the overhang after both are done"
                : "");
    else if (fabs(found->move.slide_mm) >= least_slide_mm)
        dw_sheet_remark(sheet, "Forward is away from the pivot.");
}

static void remark_move(DwSheet *sheet, const DwFoundSetup *found, const DwTrackingCost *before,
                        const DwTrackingCost *after)
{
    char *words = move_in_words(found, &found->move);
    double slide = fabs(found->move.slide_mm), twist = fabs(found->move.twist_deg);
    bool near = slide <= dw_align_good_slide_mm && twist <= dw_align_good_twist_deg && found->move.allowed;
    // Hands do no better than that; what is more is worth the screws, for what is read is not all that there is.
    bool at_hand = slide <= dw_found_hands_mm && twist <= dw_found_hands_deg;
    if (near && at_hand)
        dw_sheet_remark(sheet, "Good enough: within ±%.2f mm and ±%.1f° of right. To be exact: %s.",
                        dw_align_good_slide_mm, dw_align_good_twist_deg, words);
    else if (near)
        dw_sheet_remark(sheet,
                        "Within ±%.2f mm and ±%.1f° of right as it was read, but not surely, for the slide is known to "
                        "±%.2f mm and the twist to ±%.2f°. To be sure: %s.",
                        dw_align_good_slide_mm, dw_align_good_twist_deg, found->spread.slide_mm,
                        found->spread.twist_deg, words);
    else
        dw_sheet_remark(
            sheet, "%s: %s. The worst distortion goes from %.2f %% to %.2f %%, the mean from %.2f %% to %.2f %%.",
            found->move.allowed ? "The move" : short_of(found->shell.kind), words, before->distortion_percent.value,
            after->distortion_percent.value, before->distortion_rms_percent, after->distortion_rms_percent);
    free(words);
    remark_screws(sheet, found);
    if (!near && !isnan(found->spread.after_overhang_mm))
        dw_sheet_remark(sheet,
                        "Then read it again, with found.overhang_expected=%.2fmm:%.2fmm beside the new readings: both "
                        "rounds count together then.",
                        dw_arm_overhang(&found->move.after), found->spread.after_overhang_mm);
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
    bool moves = fabs(found->move.slide_mm) >= least_slide_mm || fabs(found->move.twist_deg) >= least_twist_deg;
    if (had <= left && !moves)
        return; // it is left as it is
    if (had <= left)
        dw_sheet_remark(sheet,
                        "As found it costs no more (%.2f %%) than a good setting may leave (%.2f %%): the move gains "
                        "little.",
                        had, left);
    else if (had < 1.05 * left)
        dw_sheet_remark(sheet,
                        "As found it costs a little more than a good setting may leave (%.2f %% against %.2f %%).", had,
                        left);
    else
        dw_sheet_remark(sheet, "As found it costs %.1f times what a good setting may leave (%.2f %% against %.2f %%).",
                        had / left, had, left);
}

static void remark_slots(DwSheet *sheet, const DwFoundSetup *found)
{
    DwHeadshell allows = found->shell.allows;
    if (!found->shell.travel_known || found->shell.kind == DW_SHELL_FIXED || found->shell.kind == DW_SHELL_HOLES)
        return;
    if (!found->move.allowed && found->move.slide_mm != 0 && found->shell.kind == DW_SHELL_SLOTS)
        dw_sheet_remark(sheet,
                        "The wanted overhang of %.1f mm is out of the slots' reach; at their end it is %.1f mm. A "
                        "headshell with longer slots, or a cartridge whose stylus stands elsewhere, would reach it.",
                        dw_arm_overhang(&found->wanted), dw_arm_overhang(&found->move.after));
    dw_sheet_remark(sheet, "Travel counted on: %.1f mm forward and %.1f mm back.", allows.forward_mm, allows.back_mm);
}

static void remark_mounting(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found)
{
    if (!found->mounted_elsewhere)
        return;
    double away = found->readings.distance_mm - setup->ideal.pivot_to_spindle_mm;
    DwArm left = setup->ideal;
    left.pivot_to_spindle_mm = found->readings.distance_mm;
    // What the headshell allows of the alignment here; what is left as it is gets no second advice.
    const DwArm *best = found->move.allowed ? &found->wanted : &found->move.after;
    bool stays = !found->doubt.doubtful && !found->move.helps;
    DwTrackingCost cost, there;
    if (fabs(away) > misread_mm)
        dw_sheet_remark(
            sheet,
            "Measure pivot to spindle again before anything is moved: %.1f mm off what the arm was made for "
            "is more than a mounting slips, and a line of the rule is easily misread.",
            fabs(away));
    dw_sheet_remark(
        sheet,
        "The pivot stands %.2f mm too %s the spindle. No position of the cartridge gives back the arm its maker "
        "drew: his overhang and any arc drawn for %.1f mm mislead now. %s",
        fabs(away), away > 0 ? "far from" : "near", setup->ideal.pivot_to_spindle_mm,
        stays ? "The cartridge is set for where the pivot stands: nothing needs to be moved."
              : "Move the pivot if its mounting allows it.");
    if (!stays && dw_tracking_cost(&left, setup->groove, setup->signal, &cost) &&
        dw_tracking_cost(best, setup->groove, setup->signal, &there))
        dw_sheet_remark(
            sheet,
            "If not, the best compromise is overhang %.2f mm and offset %.2f°, set on a two-point grid: worst "
            "distortion %.2f %%. With the maker's length and offset left as they are it is %.2f %%.",
            dw_arm_overhang(best), best->offset_deg, there.distortion_percent.value, cost.distortion_percent.value);
}

static void remark_uncertainty(DwSheet *sheet, const DwFoundSetup *found)
{
    const DwFoundSpread *spread = &found->spread;
    if (isnan(spread->slide_mm) || found->shell.kind == DW_SHELL_FIXED)
        return;
    bool turns = found->shell.allows.twist_deg > 0;
    if (!turns && found->readings.skew_deviation_deg > 0 && spread->slide_mm > dw_align_good_slide_mm)
        dw_sheet_remark(sheet,
                        "Nothing turns in this headshell, so the slide has to make up for the cantilever's angle too; "
                        "read by the body's sides it is known to ±%.2f mm only. Read the angles with the cantilever "
                        "itself along the line (found.line=cantilever) before it is moved.",
                        spread->slide_mm);
    dw_sheet_remark(
        sheet,
        "With radii read to ±%.2f mm, angles to ±%.2f° and pivot to spindle to ±%.2f mm, the slide is known to "
        "±%.2f mm and the twist to ±%.2f° (95 %%).",
        found->radius_uncertainty_mm, found->angle_uncertainty_deg, found->pivot_uncertainty_mm, spread->slide_mm,
        spread->twist_deg);
    if (fabs(found->move.slide_mm) < spread->slide_mm && fabs(found->move.twist_deg) < spread->twist_deg &&
        found->move.helps &&
        (fabs(found->move.slide_mm) >= least_slide_mm || fabs(found->move.twist_deg) >= least_twist_deg))
        dw_sheet_remark(sheet,
                        "That is more than the move itself: read it again, or the two tangencies instead, before "
                        "the screws are touched.");
}

// The cantilever is what tracks; the body is what many a grid is held against.
static void remark_skew(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup)
{
    bool by_body = dw_inputs_given(inputs, "found.line") && dw_inputs_word(inputs, "found.line")[0] == 'b';
    if (by_body && !setup->has_skew)
        dw_sheet_remark(sheet, "Read by the body's sides, and how the cantilever stands to them was not given: each "
                               "degree it is askew turns everything here by a degree. Look along it and give "
                               "cartridge.cantilever_skew.");
    else if (by_body)
        dw_sheet_remark(sheet,
                        "Read by the body's sides, all angles share the error of the cantilever's angle (±%.1f°): the "
                        "cantilever itself laid along the grid is the better reading.",
                        dw_inputs_in(inputs, "cartridge.cantilever_skew_uncertainty", "deg"));
    if (setup->skew_deg == 0)
        return;
    dw_sheet_remark(sheet,
                    "The cantilever points %.1f° %s of the body. The angles here are the cantilever's: lay the "
                    "cantilever along the line, the body's sides then stand %.1f° %s of it.",
                    fabs(setup->skew_deg), setup->skew_deg > 0 ? "inwards" : "outwards", fabs(setup->skew_deg),
                    setup->skew_deg > 0 ? "outwards" : "inwards");
}

void dw_align_sheet_skew(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup, double offset_deg)
{
    if (setup->skew_deg != 0 && !isnan(offset_deg))
        dw_sheet_add_estimate(sheet, "align.body_offset", "Offset of the body's sides", offset_deg - setup->skew_deg,
                              "deg", 3, NAN, "offset less the cantilever's angle to the body");
    remark_skew(sheet, inputs, setup);
}

void dw_align_remark_found(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found,
                           const DwTrackingCost *before, const DwTrackingCost *after)
{
    if (found->doubt.doubtful)
        remark_doubt(sheet, setup, found);
    else {
        if (found->shell.kind == DW_SHELL_FIXED)
            dw_sheet_remark(sheet,
                            "Nothing moves in this headshell: it stays at %.2f %% of worst distortion. Another "
                            "shell, spacers of another length or the pivot's place are what is left.",
                            before->distortion_percent.value);
        else if (!found->move.helps)
            remark_leave(sheet, setup, found, before);
        else
            remark_move(sheet, found, before, after);
        judge_worth(sheet, setup, found, before);
    }
    if (found->strayed)
        dw_sheet_remark(
            sheet, "It does not stand where the last move should have left it. Was it done as told, and has nothing "
                   "slipped since? What is read now counts alone.");
    else if (found->joined)
        dw_sheet_remark(
            sheet,
            "What is read now is joined with the overhang that the last move should have left (hands: ±%.2f mm).",
            dw_found_hands_mm);
    remark_slots(sheet, found);
    remark_mounting(sheet, setup, found);
    if (!found->doubt.doubtful)
        remark_uncertainty(sheet, found);
}
