// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include "base/text.h"
#include "physics/force.h"
#include "physics/rake.h"
#include "procedure/align/headshell.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define DEGREES (180 / M_PI)
enum { SHIMS_MOST = 16 };

typedef struct {
    double angle, half_width; // [deg]; NAN when nothing was given to find it from
} Rake;

static DwStatus find_rake(const DwInputs *inputs, Rake *rake, DwMessage *message)
{
    double camera = dw_inputs_in(inputs, "rake.camera_error", "deg");
    size_t count = dw_inputs_count(inputs, "rake.point");
    *rake = (Rake){dw_inputs_in(inputs, "rake.measured", "deg"), camera};
    if (count == 0)
        return DW_OK;
    if (isfinite(rake->angle))
        return dw_fail(message, DW_BAD_INPUT, "Give either rake.measured or the three of rake.point, not both.");
    DwRakePoint points[3];
    if (count != 3)
        return dw_fail(message, DW_BAD_INPUT,
                       "rake.point was given %zu times. Give three: the stylus where it meets the record, a point up "
                       "its axis, a point of the record's surface on the pivot's side.",
                       count);
    for (size_t i = 0; i < 3; i++)
        dw_inputs_pair_in(inputs, "rake.point", i, "", "", &points[i].x, &points[i].y);
    rake->angle = dw_rake_from_points(points[0], points[1], points[2]) * DEGREES;
    if (!isfinite(rake->angle))
        return dw_fail(message, DW_BAD_INPUT, "Two of the three rake.point fall together. Pick them farther apart.");
    double picking =
        dw_rake_point_deviation(points[0], points[1], points[2], dw_inputs_in(inputs, "rake.point_error", ""));
    rake->half_width = hypot(1.96 * picking * DEGREES, camera);
    return DW_OK;
}

static void add_rake(DwSheet *sheet, const DwInputs *inputs, const Rake *rake)
{
    if (!isfinite(rake->angle)) {
        dw_sheet_not_measured(sheet, "rake.angle",
                              "Give rake.point three times from a side photograph, or rake.measured.");
        return;
    }
    DwReading *angle =
        dw_sheet_add_estimate(sheet, "rake.angle", "Rake", rake->angle, "deg", 1, rake->half_width,
                              dw_inputs_given(inputs, "rake.point") ? "three points of a side photograph" : "as read");
    double miss = rake->angle - dw_inputs_in(inputs, "rake.target", "deg");
    angle->explained = fabs(miss) <= rake->half_width;
    if (angle->explained)
        dw_sheet_remark(sheet, "The rake is within its own uncertainty of the wanted one: leave it, or settle it by "
                               "the least distortion on a vertical test band.");
}

// Off in height: no arm's base goes so far. Off in rake: no cartridge is built so. Common practice, no source.
static const double FAR_MM = 8, FAR_DEG = 3;

// How much the record's surface comes up between the measurement and use.
static double surface_rise_mm(DwSheet *sheet, const DwInputs *inputs)
{
    static const char *const pairs[][2] = {{"rake.record_before", "rake.record_after"},
                                           {"rake.mat_before", "rake.mat_after"}};
    double rise = 0;
    for (size_t i = 0; i < 2; i++) {
        double before = dw_inputs_in(inputs, pairs[i][0], "mm"), after = dw_inputs_in(inputs, pairs[i][1], "mm");
        if (isfinite(before) && isfinite(after))
            rise += after - before;
        else if (isfinite(before) != isfinite(after))
            dw_sheet_remark(sheet, "%s needs %s beside it; the thickness was taken as unchanged.",
                            isfinite(before) ? pairs[i][0] : pairs[i][1], isfinite(before) ? pairs[i][1] : pairs[i][0]);
    }
    return rise;
}

static void add_stack(DwSheet *sheet, const DwInputs *inputs, const DwRakeArm *arm, double spacer_mm)
{
    double shims[SHIMS_MOST];
    size_t count = dw_inputs_count(inputs, "rake.shim");
    if (count == 0)
        return;
    for (size_t i = 0; i < count; i++)
        shims[i] = dw_inputs_in_at(inputs, "rake.shim", i, "mm");
    unsigned taken = dw_rake_stack(shims, count, fabs(spacer_mm));
    DwText list = {0};
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        if (taken >> i & 1) {
            dw_text_add(&list, "%s%.2f", list.length ? " + " : "", shims[i]);
            sum += shims[i];
        }
    double left = spacer_mm - copysign(sum, spacer_mm); // against the spacer where the stack is too high
    dw_sheet_add_estimate(sheet, "rake.stack", "Spacers at hand, stacked", sum, "mm", 2, NAN,
                          "the nearest sum of the spacers given");
    const char *where = !taken ? "" : spacer_mm < 0 ? " between cartridge and headshell" : " under the arm's base";
    dw_sheet_remark(sheet, "Stack %s%s%s; it leaves the rake %+.2f° off.", taken ? list.chars : "none of the spacers",
                    taken ? " mm" : "", where, -dw_rake_tilt(arm, left).pitch * DEGREES);
    dw_text_clear(&list);
}

// What the move does besides the rake, RISE_MM being against the record: overhang, azimuth, force.
static void add_effects(DwSheet *sheet, const DwInputs *inputs, const DwRakeArm *arm, double rise_mm)
{
    double bearing = dw_inputs_in(inputs, "arm.bearing_height", "mm");
    if (isfinite(bearing))
        dw_sheet_add_estimate(sheet, "rake.overhang_change", "Change of overhang",
                              dw_rake_length_change_mm(arm->length_mm, bearing, rise_mm), "mm", 2, NAN,
                              "the slant from bearing to stylus does not change");
    else
        dw_sheet_not_measured(sheet, "rake.overhang_change",
                              "Give arm.bearing_height, the horizontal bearing's height above the record.");
    if (isfinite(arm->offset) && arm->axis_turn != arm->offset)
        dw_sheet_add_estimate(sheet, "rake.azimuth_change", "Change of azimuth",
                              dw_rake_tilt(arm, rise_mm).roll * DEGREES, "deg", 2, NAN,
                              "the part of the tilt across the cartridge");
    DwForceBalance balance = {arm->length_mm, dw_inputs_in(inputs, "arm.counterweight_mass", "g"),
                              dw_inputs_in(inputs, "arm.counterweight_drop", "mm"), bearing};
    double force = dw_inputs_in(inputs, "force.target", "g");
    bool by_spring = strcmp(dw_inputs_word(inputs, "force.applied_by"), "spring") == 0;
    if (!by_spring && isfinite(balance.weight_g + balance.weight_drop_mm + bearing + force))
        dw_sheet_add_estimate(sheet, "rake.force_change", "Change of tracking force",
                              dw_force_at_rise_g(&balance, force, -rise_mm) - force, "g", 3, NAN,
                              "moments of the lowered counterweight");
    else if (!by_spring)
        dw_sheet_not_measured(
            sheet, "rake.force_change",
            "Give force.target, arm.counterweight_mass, arm.counterweight_drop and arm.bearing_height.");
}

static void add_heights(DwSheet *sheet, const DwInputs *inputs, const DwRakeArm *arm, double angle)
{
    static const char *const columns[] = {"rise|Pivot raised|mm|1", "rake|Rake|deg|2", "azimuth|Azimuth change|deg|2",
                                          "overhang|Overhang change|mm|2", NULL};
    double bearing = dw_inputs_in(inputs, "arm.bearing_height", "mm");
    DwTable *table =
        dw_sheet_add_table(sheet, "rake.heights", "Arm height and what it does, on the record to set for", columns);
    for (int step = -8; step <= 8; step += 2) {
        double rise = step / 2.0;
        DwRakeTilt tilt = dw_rake_tilt(arm, rise);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, rise);
        dw_table_set_number(table, row, 1, angle + tilt.pitch * DEGREES);
        dw_table_set_number(table, row, 2, tilt.roll * DEGREES);
        if (isfinite(bearing))
            dw_table_set_number(table, row, 3, dw_rake_length_change_mm(arm->length_mm, bearing, rise));
    }
    enum { POINTS = 41 };
    DwCurve *curve = dw_sheet_add_curve(sheet, "rake.angle", "Rake", (DwAxis){"Pivot raised", "mm"},
                                        (DwAxis){"Rake", "deg"}, POINTS);
    for (size_t i = 0; i < POINTS; i++) {
        curve->x_values[i] = -5 + 0.25 * (double)i;
        curve->y_values[i] = angle + dw_rake_tilt(arm, curve->x_values[i]).pitch * DEGREES;
    }
}

// The wedge between headshell and cartridge that adds CHANGE [deg] without moving the arm.
static void add_wedge(DwSheet *sheet, const DwInputs *inputs, const Rake *rake, double change, bool is_doubted)
{
    double base = dw_inputs_in(inputs, "rake.wedge_base", "mm");
    if (!isfinite(base))
        return;
    double wedge = dw_rake_wedge_mm(base, change / DEGREES);
    const char *side = wedge < 0 ? "pivot's end" : "nose";
    char label[60];
    snprintf(label, sizeof label, "Or a wedge, thicker at the %s by", side);
    dw_sheet_add_estimate(sheet, "rake.wedge", label, fabs(wedge), "mm", 2, rake->half_width / DEGREES * base,
                          "the cartridge's length × tangent of the change");
    if (!is_doubted)
        dw_sheet_remark(sheet,
                        "Instead of moving the arm: a wedge between cartridge and headshell, thicker at the %s by "
                        "%.2f mm over %g mm.",
                        side, fabs(wedge), base);
}

// The spacer that gives the wanted rake; what is too much for any arm is read again before anything is stacked.
static void add_spacer(DwSheet *sheet, const DwInputs *inputs, const DwRakeArm *arm, const Rake *rake,
                       double surface_mm)
{
    double per_mm = dw_rake_tilt(arm, 1).pitch * DEGREES;
    double target = dw_inputs_in(inputs, "rake.target", "deg");
    double spacer = surface_mm + dw_rake_rise_mm(arm, (target - rake->angle) / DEGREES);
    double change = target - rake->angle + surface_mm * per_mm;
    bool is_far = fabs(spacer) > FAR_MM, is_doubted = is_far && fabs(change) > FAR_DEG;
    dw_sheet_add_estimate(sheet, "rake.spacer", "Raise the arm's pivot by", spacer, "mm", 2, rake->half_width / per_mm,
                          "wanted less present rake over degrees per millimetre, and the record's thickness");
    if (is_doubted)
        dw_sheet_remark(sheet,
                        "No arm stands %.0f mm too %s: read the rake again, and look at the cantilever and the "
                        "headshell's tilt, before anything is moved.",
                        fabs(spacer), spacer > 0 ? "low" : "high");
    else if (is_far)
        dw_sheet_remark(sheet,
                        "For this rake the pivot stands %.1f mm too %s, more than an arm's base moves: leave the "
                        "height, and set the rake with a wedge between cartridge and headshell%s.",
                        fabs(spacer), spacer > 0 ? "low" : "high",
                        dw_inputs_given(inputs, "rake.wedge_base") ? "" : " (rake.wedge_base tells how thick)");
    else if (spacer < -0.05)
        dw_sheet_remark(sheet,
                        "Negative: lower the arm by %.2f mm. Where it cannot go lower, a flat spacer of that "
                        "thickness between cartridge and headshell does the same (longer screws; force and "
                        "balance anew).",
                        -spacer);
    add_wedge(sheet, inputs, rake, change, is_doubted);
    if (!is_far)
        add_stack(sheet, inputs, arm, spacer);
    add_effects(sheet, inputs, arm, spacer - surface_mm);
    // A roll to the outer side is a lean away from the spindle.
    dw_attitude_add(sheet, inputs, is_doubted ? NAN : change,
                    is_far ? NAN : -dw_rake_tilt(arm, spacer - surface_mm).roll * DEGREES);
    add_heights(sheet, inputs, arm, rake->angle - surface_mm * per_mm);
}

static void add_slope(DwSheet *sheet, const DwInputs *inputs)
{
    double pivot = dw_inputs_in(inputs, "rake.height_pivot", "mm"),
           head = dw_inputs_in(inputs, "rake.height_head", "mm");
    double distance = dw_inputs_in(inputs, "rake.height_distance", "mm");
    if (!isfinite(pivot + head + distance))
        return;
    // A rule reads to half a millimetre at each end.
    dw_sheet_add_estimate(sheet, "rake.arm_slope", "Arm tube, pivot end higher by",
                          atan((pivot - head) / distance) * DEGREES, "deg", 2, hypot(0.5, 0.5) / distance * DEGREES,
                          "two heights over their distance, each ±0.5 mm");
}

static void add_arm(DwSheet *sheet, const DwInputs *inputs, const Rake *rake)
{
    double offset = dw_inputs_in(inputs, "arm.offset", "rad");
    bool across_arm = strcmp(dw_inputs_word(inputs, "arm.bearing_axis"), "across_arm") == 0;
    DwRakeArm arm = {dw_inputs_in(inputs, "arm.effective_length", "mm"), offset, across_arm ? 0 : offset};
    if (!isfinite(offset)) {
        arm.offset = arm.axis_turn = 0;
        if (across_arm)
            dw_sheet_not_measured(sheet, "rake.azimuth_change", "Give arm.offset; the rake is taken as for no offset.");
    }
    if (!isfinite(arm.length_mm)) {
        dw_sheet_not_measured(sheet, "rake.spacer", "Give arm.effective_length.");
        dw_attitude_add(sheet, inputs, dw_inputs_in(inputs, "rake.target", "deg") - rake->angle, NAN);
        return;
    }
    double surface = surface_rise_mm(sheet, inputs);
    double per_mm = dw_rake_tilt(&arm, 1).pitch * DEGREES;
    dw_sheet_add_estimate(sheet, "rake.per_mm", "Rake for 1 mm of arm height", per_mm, "deg", 3, NAN,
                          "arc sine of 1 mm over the stylus's distance from the bearing axis");
    if (surface != 0)
        dw_sheet_add_estimate(sheet, "rake.thickness_change", "Rake changed by the other record or mat",
                              -surface * per_mm, "deg", 2, NAN, "thickness × degrees per millimetre");
    if (isfinite(rake->angle))
        add_spacer(sheet, inputs, &arm, rake, surface);
    else {
        dw_sheet_not_measured(sheet, "rake.spacer", "The present rake is not known.");
        dw_attitude_add(sheet, inputs, NAN, 0);
    }
    if (across_arm)
        dw_sheet_remark(sheet, "The bearing axis is square to the arm, not to the cartridge: check the azimuth after "
                               "every change of height.");
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    Rake rake;
    DwStatus status = find_rake(inputs, &rake, message);
    if (status != DW_OK)
        return status;
    if (dw_inputs_count(inputs, "rake.shim") > SHIMS_MOST)
        return dw_fail(message, DW_BAD_INPUT, "rake.shim: more than %d spacers. Give those that come into question.",
                       SHIMS_MOST);
    if (!isfinite(rake.angle) && !dw_inputs_given(inputs, "arm.effective_length"))
        return dw_fail(message, DW_BAD_INPUT,
                       "rake needs the rake (rake.point three times, or rake.measured=91deg) or arm.effective_length.");
    add_rake(sheet, inputs, &rake);
    add_slope(sheet, inputs);
    add_arm(sheet, inputs, &rake);
    dw_sheet_remark(sheet,
                    "Sign: 90° is upright; above 90° the stylus's top leans away from the pivot, and raising the "
                    "arm at its pivot adds to it. IEC 60098 gives rake as 0° to −5°, counted its own way; its "
                    "figure was not at hand, so no limit of it is applied here.");
    dw_sheet_remark(sheet, "Photograph at playing force with the record at rest, level with the surface and square to "
                           "the cartridge. After a "
                           "change of height check overhang, force, lift height and azimuth again.");
    dw_sheet_caution(sheet,
                     "Change height with the arm on its rest and the stylus guard on; a lifted arm base can drop.");
    return DW_OK;
}

static const char *const quantities[] = {
    "arm.name",
    "rake.point",
    "rake.measured",
    "rake.target",
    "rake.point_error",
    "rake.camera_error",
    "arm.effective_length",
    "arm.offset",
    "arm.bearing_axis",
    "arm.bearing_height",
    "rake.record_before",
    "rake.record_after",
    "rake.mat_before",
    "rake.mat_after",
    "rake.shim",
    "rake.wedge_base",
    "rake.lean",
    "azimuth.width",
    "azimuth.limit",
    "arm.azimuth_by",
    "arm.headshell",
    "arm.hole_clearance",
    "found.twist",
    "rake.height_pivot",
    "rake.height_head",
    "rake.height_distance",
    "force.target",
    "force.applied_by",
    "arm.counterweight_mass",
    "arm.counterweight_drop",
    NULL,
};

const DwProcedure dw_procedure_rake = {
    .name = "rake",
    .title = "Rake and arm height",
    .summary = "Find the rake from a side photograph, the spacer for a wanted rake, and what height does to overhang "
               "and force.",
    .quantities = quantities,
    .run = run,
};
