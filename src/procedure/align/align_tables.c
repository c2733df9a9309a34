// SPDX-License-Identifier: MIT
// The alignment's tables and curves.
#include "procedure/align/align_sheet.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void table_of_arms(DwSheet *sheet, const DwAlignArms *arms)
{
    static const char *const columns[] = {
        "arm|Arm||0",
        "null_inner|Inner null|mm|2",
        "null_outer|Outer null|mm|2",
        "overhang|Overhang|mm|2",
        "effective_length|Effective length|mm|2",
        "offset|Offset|deg|2",
        "error_max|Worst error|deg|2",
        "weighted_error_max|Worst for its radius|deg/cm|3",
        "distortion_max|Worst distortion|%|3",
        "distortion_rms|Mean distortion|%|3",
        NULL,
    };
    DwTable *table = dw_sheet_add_table(sheet, "align.arms", "Side by side", columns);
    for (size_t i = 0; i < arms->count; i++) {
        const DwAlignArm *arm = &arms->arms[i];
        size_t row = dw_table_add_row(table);
        DwNulls nulls = {NAN, NAN};
        dw_arm_nulls(&arm->arm, &nulls);
        const double numbers[] = {nulls.inner_mm,
                                  nulls.outer_mm,
                                  dw_arm_overhang(&arm->arm),
                                  arm->arm.effective_length_mm,
                                  arm->arm.offset_deg,
                                  arm->cost.error_deg.value,
                                  arm->cost.weighted_error_deg_cm.value,
                                  arm->cost.distortion_percent.value,
                                  arm->cost.distortion_rms_percent};
        dw_table_set_word(table, row, 0, arm->name);
        for (size_t j = 0; j < sizeof numbers / sizeof *numbers; j++)
            dw_table_set_number(table, row, j + 1, numbers[j]);
    }
}

static void table_by_radius(DwSheet *sheet, const DwArmSetup *setup, const DwArm *arm)
{
    static const char *const columns[] = {
        "radius|Radius|mm|1",
        "error|Tracking error|deg|3",
        "distortion|Distortion|%|3",
        "per_slide|Error per mm of length|deg/mm|3",
        "per_pivot|Error per mm of pivot|deg/mm|3",
        NULL,
    };
    DwTable *table = dw_sheet_add_table(sheet, "align.by_radius", "By radius, as it should be", columns);
    double inner = setup->groove.inner_mm, outer = setup->groove.outer_mm;
    // The ends and every whole centimetre between them.
    double radius = inner;
    for (bool last = false; !last;) {
        double error = dw_arm_tracking_error(arm, radius);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, radius);
        dw_table_set_number(table, row, 1, error);
        dw_table_set_number(table, row, 2, dw_tracking_distortion(setup->signal, radius, error));
        dw_table_set_number(table, row, 3, dw_arm_error_per_length(arm, radius));
        dw_table_set_number(table, row, 4, dw_arm_error_per_distance(arm, radius));
        last = radius >= outer;
        radius = fmin(outer, (floor(radius / 10 + 1e-9) + 1) * 10);
    }
}

// ARM moved to one of the nine places of the tolerance, SLIDE and TWIST each −1, 0 or 1.
static DwArm moved(const DwArm *arm, int slide, int twist)
{
    DwArm off = *arm;
    off.effective_length_mm += slide * dw_align_good_slide_mm;
    off.offset_deg += twist * dw_align_good_twist_deg;
    return off;
}

DwTrackingCost dw_align_worst_in_tolerance(const DwArmSetup *setup, const DwArm *arm)
{
    DwTrackingCost worst = {0};
    for (int place = 0; place < 9; place++) {
        DwArm off = moved(arm, place / 3 - 1, place % 3 - 1);
        DwTrackingCost cost;
        if (!dw_tracking_cost(&off, setup->groove, setup->signal, &cost))
            continue;
        if (cost.error_deg.value > worst.error_deg.value)
            worst.error_deg = cost.error_deg;
        if (cost.weighted_error_deg_cm.value > worst.weighted_error_deg_cm.value)
            worst.weighted_error_deg_cm = cost.weighted_error_deg_cm;
        if (cost.distortion_percent.value > worst.distortion_percent.value)
            worst.distortion_percent = cost.distortion_percent;
        worst.distortion_rms_percent = fmax(worst.distortion_rms_percent, cost.distortion_rms_percent);
    }
    return worst;
}

static void table_of_tolerance(DwSheet *sheet, const DwArmSetup *setup, const DwArm *arm)
{
    static const char *const columns[] = {
        "overhang|Overhang off by|mm|2",       "offset|Offset off by|deg|1",         "error_max|Worst error|deg|2",
        "distortion_max|Worst distortion|%|3", "distortion_rms|Mean distortion|%|3", NULL,
    };
    DwTable *table = dw_sheet_add_table(sheet, "align.tolerance", "Good enough: what it leaves", columns);
    for (int place = 0; place < 9; place++) {
        int slide = place / 3 - 1, twist = place % 3 - 1;
        DwArm off = moved(arm, slide, twist);
        DwTrackingCost cost;
        if (!dw_tracking_cost(&off, setup->groove, setup->signal, &cost))
            continue;
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, slide * dw_align_good_slide_mm);
        dw_table_set_number(table, row, 1, twist * dw_align_good_twist_deg);
        dw_table_set_number(table, row, 2, cost.error_deg.value);
        dw_table_set_number(table, row, 3, cost.distortion_percent.value);
        dw_table_set_number(table, row, 4, cost.distortion_rms_percent);
    }
    DwTrackingCost worst = dw_align_worst_in_tolerance(setup, arm);
    dw_sheet_remark(
        sheet,
        "Good enough is ±%.2f mm and ±%.1f° (common practice). At the worst corner of that the worst distortion "
        "is %.2f %% and the mean %.2f %%.",
        dw_align_good_slide_mm, dw_align_good_twist_deg, worst.distortion_percent.value, worst.distortion_rms_percent);
}

void dw_align_sheet_tables(DwSheet *sheet, const DwArmSetup *setup, const DwFoundSetup *found, const DwAlignArms *arms)
{
    const DwArm *set = found->mounted_elsewhere ? &found->wanted : &arms->arms[0].arm;
    table_of_arms(sheet, arms);
    table_by_radius(sheet, setup, set);
    table_of_tolerance(sheet, setup, set);
}

static void add_curve(DwSheet *sheet, const DwArmSetup *setup, const DwAlignArm *arm, bool distortion)
{
    enum { POINTS = 121 };
    // All stand on the same axes, so that ideal and found are held against each other.
    bool ideal = strcmp(arm->prefix, "align") == 0;
    char *key =
        dw_text_format("align.%s%s%s", distortion ? "distortion" : "error", ideal ? "" : "_", ideal ? "" : arm->prefix);
    DwAxis x = {"Groove radius", "mm"};
    DwAxis y = {distortion ? "Second harmonic" : "Tracking error", distortion ? "%" : "deg"};
    DwCurve *curve = dw_sheet_add_curve(sheet, key, arm->name, x, y, POINTS);
    double inner = setup->groove.inner_mm, width = setup->groove.outer_mm - inner;
    for (int i = 0; i < POINTS; i++) {
        double radius = inner + width * i / (POINTS - 1);
        double error = dw_arm_tracking_error(&arm->arm, radius);
        curve->x_values[i] = radius;
        curve->y_values[i] = distortion ? dw_tracking_distortion(setup->signal, radius, error) : error;
    }
    free(key);
}

void dw_align_sheet_curves(DwSheet *sheet, const DwArmSetup *setup, const DwAlignArms *arms)
{
    for (size_t i = 0; i < arms->count; i++) {
        add_curve(sheet, setup, &arms->arms[i], false);
        add_curve(sheet, setup, &arms->arms[i], true);
    }
}
