// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include "base/memory.h"
#include "physics/force.h"
#include "physics/skating.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The last step of a display as a 95 % half-width: 1.96/√12 of the step.
#define ROUNDING 0.566

typedef struct {
    double force_g; // what stands now; NAN when no reading was given
    double half_width_g;
} Tracking;

static double front_change_g(const DwInputs *inputs)
{
    double fitted = dw_inputs_in(inputs, "force.fitted_mass", "g");
    double next = dw_inputs_in(inputs, "cartridge.mass", "g") + dw_inputs_in(inputs, "cartridge.hardware_mass", "g");
    return isfinite(fitted) && isfinite(next) ? next - fitted : 0;
}

// The mean of the readings, corrected by a check weight where there is one.
static Tracking scale_mean(DwSheet *sheet, const DwInputs *inputs)
{
    size_t count = dw_inputs_count(inputs, "force.reading");
    if (count == 0)
        return (Tracking){NAN, NAN};
    double *readings = dw_memory_new(count, sizeof *readings);
    for (size_t i = 0; i < count; i++)
        readings[i] = dw_inputs_in_at(inputs, "force.reading", i, "g");
    DwForceMean mean = dw_force_mean(readings, count);
    free(readings);
    double step = dw_inputs_in(inputs, "force.scale_resolution", "g") * ROUNDING;
    double true_g = dw_inputs_in(inputs, "force.check_weight", "g");
    double shown_g = dw_inputs_in(inputs, "force.check_reading", "g");
    bool checked = true_g > 0 && shown_g > 0;
    double factor = checked ? true_g / shown_g : 1;
    double scale = checked ? step * mean.mean / shown_g : dw_inputs_in(inputs, "force.scale_accuracy", "g");
    if (checked)
        dw_sheet_remark(sheet, "The check weight corrects the scale by %+.1f %%: its readings are multiplied by %.4f.",
                        (factor - 1) * 100, factor);
    if (count > 1) {
        DwReading *spread =
            dw_sheet_add_reading(sheet, "force.spread", "Spread of the readings", mean.deviation, "g", 3);
        dw_reading_set_method(spread, "standard deviation");
        if (mean.deviation > 0.05)
            dw_sheet_remark(sheet, "The readings scatter by more than 0.05 g. Look for a sticking bearing, arm wires "
                                   "that drag, or a stylus that does not rest freely on the pan.");
    } else
        dw_sheet_remark(sheet, "One reading cannot show its own spread. Lift the arm, set it down twice more and give "
                               "force.reading three times.");
    return (Tracking){mean.mean * factor, hypot(mean.half_width, hypot(step, scale)) * factor};
}

// Refers the force to the record where the pan stands at another height.
static void refer_to_record(DwSheet *sheet, const DwInputs *inputs, Tracking *tracking)
{
    double rise = dw_inputs_in(inputs, "force.pan_height", "mm");
    if (!isfinite(rise) || rise == 0 || !isfinite(tracking->force_g))
        return;
    DwForceBalance balance = {
        .length_mm = dw_inputs_in(inputs, "arm.effective_length", "mm"),
        .weight_g = dw_inputs_in(inputs, "arm.counterweight_mass", "g"),
        .weight_drop_mm = dw_inputs_in(inputs, "arm.counterweight_drop", "mm"),
        .bearing_height_mm = dw_inputs_in(inputs, "arm.bearing_height", "mm"),
    };
    if (!isfinite(balance.length_mm + balance.weight_g + balance.weight_drop_mm + balance.bearing_height_mm)) {
        dw_sheet_not_measured(
            sheet, "force.pan_change",
            "The pan stands %.1f mm off the record's height. Give arm.effective_length, "
            "arm.counterweight_mass, arm.counterweight_drop and arm.bearing_height to correct for it, "
            "or lower the scale until the arm stands as in play.",
            rise);
        return;
    }
    double at_record = dw_force_from_rise_g(&balance, tracking->force_g, rise);
    DwReading *change = dw_sheet_add_reading(sheet, "force.pan_change", "Reading too high by the pan's height",
                                             tracking->force_g - at_record, "g", 3);
    dw_reading_set_method(change, "moments of the lowered counterweight");
    tracking->force_g = at_record;
}

static void set_force_limit(DwReading *reading, const DwInputs *inputs, double unit)
{
    double low = dw_inputs_in(inputs, "force.low", "g"), high = dw_inputs_in(inputs, "force.high", "g");
    double target = dw_inputs_in(inputs, "force.target", "g");
    if (isfinite(low) || isfinite(high)) {
        DwRange good = {NAN, NAN};
        if (isfinite(target))
            good = (DwRange){(target - 0.03) * unit, (target + 0.03) * unit};
        dw_reading_set_limit(reading, (DwRange){low * unit, high * unit}, good,
                             "the cartridge maker's range as given; good: ±0.03 g of the target, common practice");
    } else if (isfinite(target))
        dw_reading_set_limit(reading, (DwRange){(target - 0.05) * unit, (target + 0.05) * unit},
                             (DwRange){(target - 0.03) * unit, (target + 0.03) * unit},
                             "±0.05 g of the target, good ±0.03 g: common practice");
}

static Tracking add_tracking(DwSheet *sheet, const DwInputs *inputs)
{
    Tracking tracking = scale_mean(sheet, inputs);
    if (!isfinite(tracking.force_g)) {
        dw_sheet_not_measured(sheet, "force.tracking", "No scale reading was given.");
        return tracking;
    }
    refer_to_record(sheet, inputs, &tracking);
    static const char method[] = "mean of the scale's readings";
    DwReading *force =
        dw_sheet_add_estimate(sheet, "force.tracking", "Tracking force", tracking.force_g * DW_FORCE_MN_PER_G, "mN", 1,
                              tracking.half_width_g * DW_FORCE_MN_PER_G, method);
    set_force_limit(force, inputs, DW_FORCE_MN_PER_G);
    force = dw_sheet_add_estimate(sheet, "force.tracking_g", "Tracking force", tracking.force_g, "g", 2,
                                  tracking.half_width_g, method);
    set_force_limit(force, inputs, 1);
    double low = dw_inputs_in(inputs, "force.low", "g"), high = dw_inputs_in(inputs, "force.high", "g");
    double target = dw_inputs_in(inputs, "force.target", "g");
    double over = tracking.force_g - (isfinite(high) ? high : target);
    double under = (isfinite(low) ? low : target) - tracking.force_g;
    if (force->verdict == DW_VERDICT_ATTENTION && fmax(over, under) > tracking.half_width_g)
        dw_sheet_remark(sheet, "The force is %s what was asked for. Set it before judging anything else by ear.",
                        over > under ? "above" : "below");
    else if (force->verdict == DW_VERDICT_ATTENTION)
        dw_sheet_remark(sheet,
                        "The readings do not tell whether the force is above or below what was asked for: they "
                        "are known to ±%.2f g. Take them again before anything is moved.",
                        tracking.half_width_g);
    else if (tracking.force_g - tracking.half_width_g < low || tracking.force_g + tracking.half_width_g > high)
        dw_sheet_remark(sheet, "The force is within the maker's range, but nearer to its end than the scale can tell.");
    return tracking;
}

// Whether the tail is long enough for the counterweight's new place.
static void add_fit(DwSheet *sheet, const DwInputs *inputs, double place_mm)
{
    double nearest = dw_inputs_in(inputs, "arm.counterweight_nearest", "mm");
    double farthest = dw_inputs_in(inputs, "arm.counterweight_farthest", "mm");
    double weight = dw_inputs_in(inputs, "arm.counterweight_mass", "g");
    if (!isfinite(nearest) && !isfinite(farthest)) {
        dw_sheet_not_measured(sheet, "counterweight.fits",
                              "Give arm.counterweight_nearest and arm.counterweight_farthest to see whether it fits.");
        return;
    }
    bool in = place_mm<nearest, out = place_mm> farthest;
    dw_sheet_add_word(sheet, "counterweight.fits", "This arm balances the cartridge", in || out ? "no" : "yes");
    if (in)
        dw_sheet_remark(sheet,
                        "The weight cannot come that near. A lighter one of at most %.0f g, or more mass at the "
                        "headshell, brings it onto the tail.",
                        floor(weight * place_mm / nearest));
    if (out)
        dw_sheet_remark(
            sheet, "The tail is too short. A heavier weight of at least %.0f g, or %.0f g more on this one, is needed.",
            ceil(weight * place_mm / farthest), ceil(weight * place_mm / farthest - weight));
}

static void add_place(DwSheet *sheet, const DwInputs *inputs, double shift_mm, double front_g)
{
    double place = dw_inputs_in(inputs, "arm.counterweight_position", "mm");
    if (!isfinite(place)) {
        dw_sheet_not_measured(sheet, "counterweight.position",
                              "Give arm.counterweight_position to see whether the arm balances it and what it does to "
                              "the effective mass.");
        return;
    }
    double next = place - shift_mm;
    dw_sheet_add_estimate(sheet, "counterweight.position", "Counterweight to pivot then", next, "mm", 1, NAN,
                          "moments about the bearing");
    add_fit(sheet, inputs, next);
    double change = front_g + dw_force_mass_change_g(dw_inputs_in(inputs, "arm.counterweight_mass", "g"), place, next,
                                                     dw_inputs_in(inputs, "arm.effective_length", "mm"));
    dw_sheet_add_estimate(sheet, "arm.mass_change", "Change of moving mass, cartridge included", change, "g", 2, NAN,
                          "inertia over length squared; the weight taken as one that does not turn");
}

static void add_balance(DwSheet *sheet, const DwInputs *inputs, const Tracking *tracking)
{
    double length = dw_inputs_in(inputs, "arm.effective_length", "mm");
    double weight = dw_inputs_in(inputs, "arm.counterweight_mass", "g");
    double target = dw_inputs_in(inputs, "force.target", "g");
    double front = front_change_g(inputs);
    if (!isfinite(length) || !isfinite(weight)) {
        dw_sheet_not_measured(sheet, "counterweight.shift",
                              "Give arm.effective_length and arm.counterweight_mass for the counterweight's move.");
        return;
    }
    bool by_spring = strcmp(dw_inputs_word(inputs, "force.applied_by"), "spring") == 0;
    double present = isfinite(tracking->force_g) ? tracking->force_g : 0;
    double force_change = isfinite(target) && !by_spring ? target - present : 0;
    double shift = dw_force_shift_mm(force_change, front, length, weight);
    double spread =
        isfinite(tracking->half_width_g) && force_change != 0 ? tracking->half_width_g * length / weight : NAN;
    dw_sheet_add_estimate(sheet, "counterweight.shift", "Counterweight moves towards the pivot", shift, "mm", 2, spread,
                          "moments about the bearing");
    double pitch = dw_inputs_in(inputs, "arm.counterweight_pitch", "mm");
    if (isfinite(pitch))
        dw_sheet_add_estimate(sheet, "counterweight.turns", "Turns of the counterweight inwards", shift / pitch, "", 2,
                              spread / pitch, "move over the thread's pitch");
    if (dw_inputs_given(inputs, "cartridge.mass") && !dw_inputs_given(inputs, "force.fitted_mass"))
        dw_sheet_remark(sheet,
                        "The cartridge's mass was not used: to exchange cartridges, give force.fitted_mass, what "
                        "hangs there now with its screws.");
    if (!isfinite(tracking->force_g))
        dw_sheet_remark(sheet, "Counted from floating balance, since no scale reading was given.");
    dw_sheet_remark(sheet,
                    "0.1 g is %.2f mm of this counterweight. Moves are towards the pivot when positive, away "
                    "from it when negative.",
                    dw_force_shift_mm(0.1, 0, length, weight));
    if (by_spring)
        dw_sheet_remark(sheet, "The force comes from a spring: the counterweight is moved for balance only, then the "
                               "spring is set.");
    add_place(sheet, inputs, shift, front);
}

// What skating is computed from; the lengths are NAN when only the offset is known.
typedef struct {
    double pivot_mm, length_mm, force_mn;
    double friction[3]; // as likely, least, greatest
} Skating;

static void add_skating_curves(DwSheet *sheet, const Skating *skating)
{
    static const char *const keys[] = {"skating.force", "skating.force_low", "skating.force_high"};
    static const char *const labels[] = {"likely friction", "least friction", "greatest friction"};
    enum { POINTS = 47 };
    for (size_t k = 0; k < 3; k++) {
        DwCurve *curve = dw_sheet_add_curve(sheet, keys[k], labels[k], (DwAxis){"Groove radius", "mm"},
                                            (DwAxis){"Skating force", "mN"}, POINTS);
        for (size_t i = 0; i < POINTS; i++) {
            curve->x_values[i] = 56 + 2.0 * (double)i;
            double angle = dw_skating_angle(skating->pivot_mm, skating->length_mm, curve->x_values[i]);
            curve->y_values[i] =
                dw_skating_at(skating->friction[k], skating->force_mn, skating->length_mm, angle).radial_mn;
        }
    }
}

static void add_skating_table(DwSheet *sheet, const Skating *skating)
{
    static const char *const columns[] = {"radius|Radius|mm|0",
                                          "angle|Angle|deg|2",
                                          "radial|Side force|mN|2",
                                          "share|Of the force|%|1",
                                          "across|Square to the arm|mN|2",
                                          "torque|Torque|µN·m|0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "skating.table", "Skating by radius, likely friction", columns);
    for (double radius = 60; radius < 146; radius += 10) {
        double angle = dw_skating_angle(skating->pivot_mm, skating->length_mm, radius);
        DwSkating there = dw_skating_at(skating->friction[0], skating->force_mn, skating->length_mm, angle);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, radius);
        dw_table_set_number(table, row, 1, angle * 180 / M_PI);
        dw_table_set_number(table, row, 2, there.radial_mn);
        dw_table_set_number(table, row, 3, there.radial_mn / skating->force_mn * 100);
        dw_table_set_number(table, row, 4, there.across_mn);
        dw_table_set_number(table, row, 5, there.torque_unm);
    }
}

// The mean of the angle's tangent over the side, or at one radius.
static double mean_tangent(const Skating *skating, double radius_mm)
{
    if (isfinite(radius_mm))
        return tan(dw_skating_angle(skating->pivot_mm, skating->length_mm, radius_mm));
    double sum = 0;
    int count = 0;
    for (double radius = 60; radius <= 146; radius += 2) {
        sum += tan(dw_skating_angle(skating->pivot_mm, skating->length_mm, radius));
        count++;
    }
    return sum / count;
}

static void remark_bias(DwSheet *sheet, const double forces_mn[3])
{
    dw_sheet_remark(sheet,
                    "Start the anti-skating at %.1f mN (%.2f g) of side force; anything from %.1f to %.1f mN can "
                    "be right, because friction changes with tip, record and modulation. Settle it on 300 Hz "
                    "bands: both channels shall begin to break up at the same step.",
                    forces_mn[0], forces_mn[0] / DW_FORCE_MN_PER_G, forces_mn[1], forces_mn[2]);
    dw_sheet_remark(sheet, "The pull is towards the spindle: the inner wall (left) carries more and the right channel "
                           "mistracks first. The figures on an anti-skating dial are tracking forces, not side forces; "
                           "a blank disc or the cantilever's lean does not show the right setting.");
}

static void add_skating_readings(DwSheet *sheet, const Skating *skating, double tangent, bool approximate)
{
    double forces[3];
    for (int k = 0; k < 3; k++)
        forces[k] = skating->friction[k] * skating->force_mn * tangent;
    double spread = fmax(fabs(forces[0] - forces[1]), fabs(forces[2] - forces[0]));
    static const char method[] = "friction × tracking force × tangent of the angle to the groove";
    unsigned flags = approximate ? DW_FLAG_APPROXIMATE : 0;
    dw_sheet_add_estimate(sheet, "skating.force", "Skating force", forces[0], "mN", 2, spread, method)->flags = flags;
    dw_sheet_add_estimate(sheet, "skating.force_g", "Skating force", forces[0] / DW_FORCE_MN_PER_G, "g", 2,
                          spread / DW_FORCE_MN_PER_G, method)
        ->flags = flags;
    dw_sheet_add_estimate(sheet, "skating.low", "With the least friction", forces[1], "mN", 2, NAN, method);
    dw_sheet_add_estimate(sheet, "skating.high", "With the greatest friction", forces[2], "mN", 2, NAN, method);
    DwSkating walls = dw_skating_at(skating->friction[0], skating->force_mn, 1, atan(tangent));
    dw_sheet_add_estimate(sheet, "skating.inner_wall", "Inner wall carries, without bias", walls.inner_mn, "mN", 1, NAN,
                          "45° groove walls");
    dw_sheet_add_estimate(sheet, "skating.outer_wall", "Outer wall carries, without bias", walls.outer_mn, "mN", 1, NAN,
                          "45° groove walls");
    if (skating->pivot_mm > skating->length_mm)
        dw_sheet_remark(sheet,
                        "An underhung arm is pulled inwards outside its null radius and outwards inside it, where "
                        "the table's force is negative: one bias cannot serve both, and none is common practice.");
    else
        remark_bias(sheet, forces);
}

static void add_skating(DwSheet *sheet, const DwInputs *inputs, const Tracking *tracking)
{
    double force_g = isfinite(tracking->force_g) ? tracking->force_g : dw_inputs_in(inputs, "force.target", "g");
    double offset = dw_inputs_in(inputs, "arm.offset", "deg");
    Skating skating = {
        .pivot_mm = dw_inputs_in(inputs, "arm.pivot_to_spindle", "mm"),
        .length_mm = dw_inputs_in(inputs, "arm.effective_length", "mm"),
        .force_mn = force_g * DW_FORCE_MN_PER_G,
        .friction = {dw_inputs_in(inputs, "force.friction", ""), dw_inputs_in(inputs, "force.friction_low", ""),
                     dw_inputs_in(inputs, "force.friction_high", "")},
    };
    bool geometry = isfinite(skating.pivot_mm) && isfinite(skating.length_mm);
    if (!geometry && !isfinite(offset)) {
        dw_sheet_not_measured(sheet, "skating.force",
                              "Give arm.pivot_to_spindle and arm.effective_length (or at least arm.offset).");
        return;
    }
    if (!geometry) {
        add_skating_readings(sheet, &skating, tan(offset * M_PI / 180), true);
        dw_sheet_remark(sheet,
                        "Only the offset was given: this is the force at the two null radii; it is up to a tenth "
                        "greater at the ends of the side.");
        return;
    }
    double tangent = mean_tangent(&skating, dw_inputs_in(inputs, "record.radius", "mm"));
    if (!isfinite(tangent)) {
        dw_sheet_not_measured(sheet, "skating.force",
                              "An arm of these measures does not reach the grooves. Are "
                              "arm.pivot_to_spindle and arm.effective_length exchanged with others?");
        return;
    }
    add_skating_readings(sheet, &skating, tangent, false);
    add_skating_table(sheet, &skating);
    add_skating_curves(sheet, &skating);
}

static DwStatus check(const DwInputs *inputs, DwMessage *message)
{
    static const char *const ordered[][3] = {{"force.low", "force.high", "g"},
                                             {"force.friction_low", "force.friction_high", ""},
                                             {"arm.counterweight_nearest", "arm.counterweight_farthest", "mm"}};
    if (!dw_inputs_given(inputs, "force.reading") && !dw_inputs_given(inputs, "force.target"))
        return dw_fail(message, DW_BAD_INPUT,
                       "force needs a force: give force.reading=1.80g (what the scale shows) or force.target=1.75g.");
    if (dw_inputs_given(inputs, "force.check_weight") != dw_inputs_given(inputs, "force.check_reading"))
        return dw_fail(message, DW_BAD_INPUT, "A check weight needs both force.check_weight and force.check_reading.");
    for (size_t i = 0; i < sizeof ordered / sizeof *ordered; i++)
        if (dw_inputs_in(inputs, ordered[i][0], ordered[i][2]) > dw_inputs_in(inputs, ordered[i][1], ordered[i][2]))
            return dw_fail(message, DW_BAD_INPUT, "%s is greater than %s. Are the two exchanged?", ordered[i][0],
                           ordered[i][1]);
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = check(request->inputs, message);
    if (status != DW_OK)
        return status;
    Tracking tracking = add_tracking(sheet, request->inputs);
    add_balance(sheet, request->inputs, &tracking);
    add_skating(sheet, request->inputs, &tracking);
    dw_sheet_caution(sheet, "Leave the stylus guard on, or take the stylus off, while weights are moved; hold the arm, "
                            "for a weight that slips throws the cartridge onto the platter.");
    dw_sheet_caution(sheet,
                     "Use a scale whose pan is not iron: the cartridge's magnet pulls it and the reading is wrong. "
                     "Keep steel tools away from the cartridge.");
    return DW_OK;
}

static const char *const quantities[] = {"force.reading",
                                         "force.target",
                                         "force.low",
                                         "force.high",
                                         "force.scale_resolution",
                                         "force.scale_accuracy",
                                         "force.check_weight",
                                         "force.check_reading",
                                         "force.pan_height",
                                         "arm.pivot_to_spindle",
                                         "arm.effective_length",
                                         "arm.offset",
                                         "record.radius",
                                         "force.friction",
                                         "force.friction_low",
                                         "force.friction_high",
                                         "arm.counterweight_mass",
                                         "arm.counterweight_position",
                                         "arm.counterweight_nearest",
                                         "arm.counterweight_farthest",
                                         "arm.counterweight_pitch",
                                         "arm.counterweight_drop",
                                         "arm.bearing_height",
                                         "force.applied_by",
                                         "force.fitted_mass",
                                         "cartridge.mass",
                                         "cartridge.hardware_mass",
                                         NULL};

const DwProcedure dw_procedure_force = {
    .name = "force",
    .title = "Tracking force, balance and skating",
    .summary = "Scale readings against the maker's range, the counterweight's move, the skating force and its spread",
    .quantities = quantities,
    .run = run,
};
