// SPDX-License-Identifier: MIT
// What each kind of headshell would make of what was found, and the round before.
#include "procedure/align/align_sheet.h"

#include <math.h>

static void add_row(DwTable *table, const char *name, const DwArmMove *move, const DwTrackingCost *cost, double ideal)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, name);
    dw_table_set_number(table, row, 1, move->slide_mm);
    dw_table_set_number(table, row, 2, move->twist_deg);
    dw_table_set_number(table, row, 3, cost->distortion_percent.value);
    dw_table_set_number(table, row, 4, cost->distortion_rms_percent);
    dw_table_set_number(table, row, 5, cost->distortion_percent.value - ideal);
}

static void remark_cost(DwSheet *sheet, const DwFoundSetup *found, double has, double ideal)
{
    if (found->doubt.doubtful || !found->move.helps || found->move.allowed || has <= ideal)
        return;
    dw_sheet_remark(sheet,
                    "The best with this headshell (%s) is %.2f %% of worst distortion; free to slide and twist it "
                    "would be %.2f %%.",
                    dw_shell_name(found->shell.kind), has, ideal);
}

void dw_align_sheet_headshells(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup,
                               const DwFoundSetup *found)
{
    static const char *const columns[] = {
        "headshell|Headshell||0",
        "slide|Slide|mm|2",
        "twist|Twist|deg|2",
        "distortion|Worst then|%|3",
        "mean|Mean then|%|3",
        "costs|Against the alignment|%|3",
        NULL,
    };
    DwTrackingCost ideal, cost;
    if (!dw_tracking_cost(&found->wanted, setup->groove, setup->signal, &ideal))
        return;
    DwTable *table = dw_sheet_add_table(sheet, "align.headshells", "The best that each headshell allows", columns);
    double has = NAN;
    for (int kind = 0; kind < DW_SHELL_COUNT; kind++) {
        DwShell shell = dw_shell_other(inputs, &found->shell, (DwShellKind)kind);
        DwArmMove move = (DwShellKind)kind == found->shell.kind
                             ? found->move
                             : dw_arm_move(&found->arm, &found->wanted, shell.allows, &setup->aim);
        if (!dw_tracking_cost(&move.after, setup->groove, setup->signal, &cost))
            continue;
        add_row(table, dw_shell_name((DwShellKind)kind), &move, &cost, ideal.distortion_percent.value);
        if ((DwShellKind)kind == found->shell.kind)
            has = cost.distortion_percent.value;
    }
    remark_cost(sheet, found, has, ideal.distortion_percent.value);
}

static void add_round(DwTable *table, const char *name, const DwArm *arm, const DwTrackingCost *cost)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, name);
    dw_table_set_number(table, row, 1, dw_arm_overhang(arm));
    dw_table_set_number(table, row, 2, arm->offset_deg);
    dw_table_set_number(table, row, 3, cost->distortion_percent.value);
    dw_table_set_number(table, row, 4, cost->distortion_rms_percent);
}

// Whether what stood at BEFORE and should have gone to WANTED went the other way, surely: each of the two is known to
// HALF_WIDTH.
static bool went_backwards(double before, double wanted, double now, double half_width, double good)
{
    return fabs(wanted - before) > good && (now - before) * (wanted - before) < 0 &&
           fabs(now - before) > M_SQRT2 * half_width;
}

// A move that went the other way is told again, larger, and so on for ever, unless why is asked.
static void remark_backwards(DwSheet *sheet, const DwFoundSetup *found, double overhang, double offset)
{
    const DwFoundSpread *spread = &found->spread;
    if (found->doubt.doubtful || found->shell.kind != DW_SHELL_SLOTS)
        return; // other shells are told what helps most, which may lead away from the alignment's own figures
    if (went_backwards(offset, found->wanted.offset_deg, found->arm.offset_deg, spread->offset_deg,
                       dw_align_good_twist_deg))
        dw_sheet_remark(sheet,
                        "The offset went away from the %.2f° wanted. Before anything is turned further: was the twist "
                        "made the wrong way (inwards is the nose towards the spindle), or are the angles read with "
                        "their signs turned (positive is where the nose has to turn inwards)?",
                        found->wanted.offset_deg);
    if (went_backwards(overhang, dw_arm_overhang(&found->wanted), dw_arm_overhang(&found->arm), spread->overhang_mm,
                       dw_align_good_slide_mm))
        dw_sheet_remark(sheet,
                        "The overhang went away from the %.2f mm wanted. Before anything is slid further: was it moved "
                        "the wrong way (forward is away from the pivot), or has it slipped?",
                        dw_arm_overhang(&found->wanted));
}

DwStatus dw_align_sheet_rounds(DwSheet *sheet, const DwInputs *inputs, const DwArmSetup *setup,
                               const DwFoundSetup *found, DwAlignArms *arms, DwMessage *message)
{
    static const char *const columns[] = {"round|Round||0",       "overhang|Overhang|mm|2", "offset|Offset|deg|2",
                                          "distortion|Worst|%|3", "mean|Mean|%|3",          NULL};
    double overhang = dw_inputs_in(inputs, "found.overhang_before", "mm");
    double offset = dw_inputs_in(inputs, "found.offset_before", "deg");
    if (isnan(overhang) && isnan(offset))
        return DW_OK;
    if (isnan(overhang) || isnan(offset))
        return dw_fail(message, DW_BAD_INPUT,
                       "The round before needs both found.overhang_before and found.offset_before.");
    if (found->readings.way == DW_FOUND_NOTHING) {
        dw_sheet_remark(sheet,
                        "The round before: overhang %.2f mm, offset %.2f°. Read it again as it stands now to see "
                        "what the move has gained.",
                        overhang, offset);
        return DW_OK;
    }
    double distance = found->readings.distance_mm;
    DwArm arm = {distance, distance + overhang, offset};
    DwTrackingCost before, now, after;
    if (!dw_tracking_cost(&arm, setup->groove, setup->signal, &before) ||
        !dw_tracking_cost(&found->arm, setup->groove, setup->signal, &now) ||
        !dw_tracking_cost(&found->move.after, setup->groove, setup->signal, &after))
        return dw_fail(message, DW_BAD_INPUT, "found.overhang_before: such an arm does not reach the grooves.");
    DwTable *table = dw_sheet_add_table(sheet, "align.rounds", "Round by round", columns);
    add_round(table, "the round before", &arm, &before);
    add_round(table, "as found now", &found->arm, &now);
    if (!found->doubt.doubtful && found->move.helps)
        add_round(table, "expected after the move", &found->move.after, &after);
    double gained = before.distortion_percent.value - now.distortion_percent.value;
    dw_sheet_add_estimate(sheet, "found.gained", "Worst distortion gained since the round before", gained, "%", 3,
                          found->spread.distortion_percent, "the round before less what is found now");
    dw_sheet_remark(
        sheet, "Before → after: overhang %.2f → %.2f mm, offset %.2f → %.2f°, worst distortion %.2f → %.2f %%%s.",
        overhang, dw_arm_overhang(&found->arm), offset, found->arm.offset_deg, before.distortion_percent.value,
        now.distortion_percent.value, gained < 0 ? ": the last move made it worse" : "");
    remark_backwards(sheet, found, overhang, offset);
    dw_align_arms_add(arms, setup, "before", "the round before", &arm);
    return DW_OK;
}
