// SPDX-License-Identifier: MIT
#include "procedure/align/headshell.h"

#include "physics/azimuth.h"
#include "physics/rake.h"

#include <math.h>
#include <string.h>

static const double radian = M_PI / 180;
static const double least_deg = 0.05;    // that is worth a word
static const double thickest_mm = 2;     // beyond it the usual screws are too short; common practice, no source
static const double usual_width_mm = 17; // of a cartridge's top where none was given; common practice, no source

// A wedge between headshell and cartridge: what it is thicker by at the nose, and at the edge away from the spindle.
typedef struct {
    double nose_mm, outer_mm;
} Wedge;

// How thick it is at a corner; the thinnest corner comes to nothing.
static double thickness(const Wedge *wedge, bool nose, bool outer)
{
    double along = nose ? fmax(0, wedge->nose_mm) : fmax(0, -wedge->nose_mm);
    double across = outer ? fmax(0, wedge->outer_mm) : fmax(0, -wedge->outer_mm);
    return along + across;
}

static void add_cuts(DwSheet *sheet, const Wedge *both, const Wedge *after)
{
    static const char *const columns[] = {"corner|Corner||0", "both|Arm left as high as it is|mm|2",
                                          "after|Arm's height set first|mm|2", NULL};
    static const char *const corners[] = {"nose, spindle's side", "nose, outer side", "pivot's end, spindle's side",
                                          "pivot's end, outer side"};
    DwTable *table =
        dw_sheet_add_table(sheet, "rake.cuts", "A wedge to cut: thickness at its corners, seen as it lies", columns);
    double most = 0;
    bool is_height_known = !isnan(after->outer_mm);
    for (int i = 0; i < 4; i++) {
        size_t row = dw_table_add_row(table);
        double thick = thickness(both, i < 2, i % 2);
        dw_table_set_word(table, row, 0, corners[i]);
        dw_table_set_number(table, row, 1, thick);
        if (is_height_known)
            dw_table_set_number(table, row, 2, thickness(after, i < 2, i % 2));
        most = fmax(most, thick);
    }
    if (most > thickest_mm)
        dw_sheet_remark(sheet, "A wedge of %.1f mm needs longer screws; balance and force are to be set anew.", most);
}

// LEAN: of the top towards the spindle, to be undone. Whoever looks from the front has the spindle on his left.
static void remark_azimuth(DwSheet *sheet, const DwInputs *inputs, double lean_deg, double width_mm)
{
    const char *by = dw_inputs_word(inputs, "arm.azimuth_by");
    bool inwards = lean_deg > 0;
    double shim = dw_azimuth_shim_mm(fabs(lean_deg), width_mm);
    if (fabs(lean_deg) < least_deg)
        dw_sheet_remark(sheet, "Azimuth: the stylus stands upright; leave it.");
    else if (strcmp(by, "shell") == 0)
        dw_sheet_remark(sheet, "Azimuth: turn the headshell %.1f° %s, seen from the front.", fabs(lean_deg),
                        inwards ? "clockwise" : "anticlockwise");
    else if (strcmp(by, "counterweight") == 0)
        dw_sheet_remark(
            sheet,
            "Azimuth: turn the counterweight so that its heavier side goes %s the spindle, until the lean of "
            "%.1f° is gone; a unipivot rolls to the side that is heavier.",
            inwards ? "away from" : "towards", fabs(lean_deg));
    else if (strcmp(by, "side_weight") == 0)
        dw_sheet_remark(sheet, "Azimuth: move the side weight %s the spindle until the lean of %.1f° is gone.",
                        inwards ? "away from" : "towards", fabs(lean_deg));
    else
        dw_sheet_remark(sheet,
                        "Azimuth: a shim of %.2f mm along the cartridge's %s edge (%s, seen from the front), between "
                        "cartridge and headshell.",
                        shim, inwards ? "outer" : "inner", inwards ? "right" : "left");
}

static void remark_zenith(DwSheet *sheet, const DwInputs *inputs)
{
    DwShell shell;
    if (!dw_inputs_given(inputs, "found.twist") || dw_shell_read(inputs, &shell, NULL) != DW_OK)
        return;
    double twist = dw_inputs_in(inputs, "found.twist", "deg");
    if (fabs(twist) < least_deg)
        dw_sheet_remark(sheet, "Zenith: the cantilever stands along its line; leave it.");
    else if (shell.allows.twist_deg > 0)
        dw_sheet_remark(sheet, "Zenith: turn the cartridge %.1f° %s about its screws, on the grid, with the overhang.",
                        fabs(twist), twist > 0 ? "outwards" : "inwards");
    else
        dw_sheet_remark(sheet,
                        "Zenith: nothing turns in this headshell (%s), and neither a wedge nor the height changes it: "
                        "%.1f° %s stay; %s.",
                        dw_shell_name(shell.kind), fabs(twist), twist > 0 ? "inwards" : "outwards",
                        shell.kind == DW_SHELL_FIXED ? "align tells what they cost"
                                                     : "the slide makes up for part of it (align)");
}

// Adds what undoes the lean: as it is read, and THEN, once the height is set, which is NAN where it is not.
static void add_lean(DwSheet *sheet, const DwInputs *inputs, double rake_deg, double then_deg)
{
    double lean = dw_inputs_in(inputs, "rake.lean", "deg"), base = dw_inputs_in(inputs, "rake.wedge_base", "mm");
    double width = dw_inputs_in(inputs, "azimuth.width", "mm"), limit = dw_inputs_in(inputs, "azimuth.limit", "deg");
    if (isnan(width))
        width = usual_width_mm;
    if (isfinite(then_deg))
        dw_sheet_add_estimate(sheet, "rake.lean_after", "Lean towards the spindle once the height is set", then_deg,
                              "deg", 2, NAN, "as read, and what the height adds");
    if (fabs(lean) > limit) {
        dw_sheet_remark(sheet,
                        "Azimuth: a lean of %.1f° is beyond the most tilt advised, %g° (azimuth.limit): read it "
                        "again, and look at the cantilever and at how cartridge and headshell sit, before anything "
                        "is moved.",
                        fabs(lean), limit);
        dw_sheet_not_measured(sheet, "rake.cuts", "No wedge is cut for a lean beyond azimuth.limit.");
        return;
    }
    remark_azimuth(sheet, inputs, isnan(then_deg) ? lean : then_deg, width);
    bool is_read = dw_inputs_given(inputs, "rake.measured") || dw_inputs_given(inputs, "rake.point");
    if (isnan(rake_deg) && is_read)
        dw_sheet_not_measured(sheet, "rake.cuts", "No wedge is cut for a rake so far off: read the rake again first.");
    else if (isnan(rake_deg) || isnan(base))
        dw_sheet_not_measured(sheet, "rake.cuts", "A wedge for rake and azimuth together needs %s%s%s.",
                              isnan(rake_deg) ? "the rake" : "", isnan(rake_deg) && isnan(base) ? " and " : "",
                              isnan(base) ? "rake.wedge_base" : "");
    else
        add_cuts(
            sheet,
            &(Wedge){dw_rake_wedge_mm(base, rake_deg * radian), copysign(dw_azimuth_shim_mm(fabs(lean), width), lean)},
            &(Wedge){0, copysign(dw_azimuth_shim_mm(fabs(then_deg), width), then_deg)});
}

void dw_attitude_add(DwSheet *sheet, const DwInputs *inputs, double rake_deg, double height_lean_deg)
{
    double lean = dw_inputs_in(inputs, "rake.lean", "deg");
    if (isnan(lean) && !dw_inputs_given(inputs, "found.twist"))
        return;
    if (strcmp(dw_inputs_word(inputs, "arm.headshell"), "fixed") == 0)
        dw_sheet_remark(sheet, "The order: rake by the arm's height, then azimuth, then the force; each moves what "
                               "comes after it. Overhang and zenith stay in a headshell that is fixed: see what they "
                               "cost with align.");
    else
        dw_sheet_remark(sheet,
                        "The order: rake by the arm's height or a wedge, then azimuth, then overhang and zenith on the "
                        "grid, then the force; each moves what comes after it.");
    if (!isnan(lean))
        add_lean(sheet, inputs, rake_deg, lean + height_lean_deg);
    remark_zenith(sheet, inputs);
}
