// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include "base/memory.h"
#include "physics/force.h"
#include "procedure/align/parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The last step of a display as a 95 % half-width: 1.96/√12 of the step.
#define ROUNDING 0.566
#define WORST_SCALE 0.1 // of its reading; a judgement

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

static double range_of(const double *values, size_t count)
{
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        least = fmin(least, values[i]);
        most = fmax(most, values[i]);
    }
    return most - least;
}

// Whether the repeats say more than the scale can.
static void remark_repeats(DwSheet *sheet, double range_g, double scale_g)
{
    if (range_g <= 2 * scale_g)
        dw_sheet_remark(
            sheet,
            "The readings lie %.2f g apart: this is within what the scale can tell (±%.2f g). Setting the arm "
            "down again will not make it better; a check weight, and the zero read again (force.zero_after), would.",
            range_g, scale_g);
    else
        dw_sheet_remark(sheet,
                        "The readings lie %.2f g apart, more than the scale's own ±%.2f g: it is the arm or the way it "
                        "is set down.",
                        range_g, scale_g);
}

// How the scale's readings become grams: what they are multiplied by, what its zero has drifted by
// on the mean, and how well both are known (95 %).
typedef struct {
    double factor, drift_g;
    double scale_g, drift_half_width_g, step_g;
} Scale;

// A zero that drifts is somewhere between nothing and what it ends at, 95 % within 0.475 of it about the middle.
#define DRIFT_SHARE 0.475

static Scale scale_of(DwSheet *sheet, const DwInputs *inputs, double mean_g)
{
    double step = dw_inputs_in(inputs, "force.scale_resolution", "g") * ROUNDING;
    double true_g = dw_inputs_in(inputs, "force.check_weight", "g");
    double shown_g = dw_inputs_in(inputs, "force.check_reading", "g");
    double zero = dw_inputs_in(inputs, "force.zero_after", "g");
    Scale scale = {1, 0, dw_inputs_in(inputs, "force.scale_accuracy", "g"), 0, step};
    if (true_g > 0 && shown_g > 0) {
        scale.factor = true_g / shown_g;
        scale.scale_g = step * mean_g / shown_g;
        dw_sheet_remark(sheet, "The check weight corrects the scale by %+.1f %%: its readings are multiplied by %.4f.",
                        (scale.factor - 1) * 100, scale.factor);
    }
    if (isfinite(zero)) {
        scale.drift_g = zero / 2;
        scale.drift_half_width_g = fabs(zero) * DRIFT_SHARE;
    }
    if (isfinite(zero) && fabs(zero) > step)
        dw_sheet_remark(sheet,
                        "The scale's zero has drifted by %+.2f g while it was read: half of that is taken off, and the "
                        "± counts the rest. Let it warm up, set it to zero and read again.",
                        zero);
    else if (isfinite(zero))
        dw_sheet_remark(sheet, "The scale came back to its zero: it has not drifted while it was read.");
    return scale;
}

// The mean of the readings, corrected by a check weight and the zero where they were given.
static Tracking scale_mean(DwSheet *sheet, const DwInputs *inputs)
{
    size_t count = dw_inputs_count(inputs, "force.reading");
    if (count == 0)
        return (Tracking){NAN, NAN};
    double *readings = dw_memory_new(count, sizeof *readings);
    for (size_t i = 0; i < count; i++)
        readings[i] = dw_inputs_in_at(inputs, "force.reading", i, "g");
    DwForceMean mean = dw_force_mean(readings, count);
    double readings_range = range_of(readings, count);
    free(readings);
    Scale scale = scale_of(sheet, inputs, mean.mean);
    double known = hypot(scale.scale_g, scale.drift_half_width_g);
    if (count > 1) {
        DwReading *spread =
            dw_sheet_add_reading(sheet, "force.spread", "Spread of the readings", mean.deviation, "g", 3);
        dw_reading_set_method(spread, "standard deviation");
        remark_repeats(sheet, readings_range, known);
        if (mean.deviation > 0.05)
            dw_sheet_remark(sheet, "The readings scatter by more than 0.05 g. Look for a sticking bearing, arm wires "
                                   "that drag, or a stylus that does not rest freely on the pan.");
    } else
        dw_sheet_remark(sheet, "One reading cannot show its own spread. Lift the arm, set it down twice more and give "
                               "force.reading three times.");
    return (Tracking){(mean.mean - scale.drift_g) * scale.factor,
                      hypot(mean.half_width, hypot(scale.step_g, known)) * scale.factor};
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

// A scale without a check weight is known to ±0.05 g: what it is held against must be wider than that.
static const double good_force_g = 0.05, allowed_force_g = 0.1;

static DwRange about(double target_g, double by_g)
{
    return (DwRange){target_g - by_g, target_g + by_g};
}

static void set_force_limit(DwReading *reading, const DwInputs *inputs)
{
    double low = dw_inputs_in(inputs, "force.low", "g"), high = dw_inputs_in(inputs, "force.high", "g");
    double target = dw_inputs_in(inputs, "force.target", "g");
    if (isfinite(low) || isfinite(high))
        dw_reading_set_limit(reading, (DwRange){low, high}, about(target, good_force_g),
                             "the cartridge maker's range as given; good: ±0.05 g of the target, common practice");
    else if (isfinite(target))
        dw_reading_set_limit(reading, about(target, allowed_force_g), about(target, good_force_g),
                             "±0.1 g of the target, good ±0.05 g: common practice");
}

// In words: whether it is what was asked for, and whether the scale can tell.
static void remark_force(DwSheet *sheet, const DwInputs *inputs, const Tracking *tracking, DwReading *force)
{
    DwVerdict verdict = force->verdict;
    double low = dw_inputs_in(inputs, "force.low", "g"), high = dw_inputs_in(inputs, "force.high", "g");
    double target = dw_inputs_in(inputs, "force.target", "g");
    if (target < low || target > high)
        dw_sheet_remark(sheet, "The wanted force of %.2f g lies outside the maker's range. Look at both again.",
                        target);
    double over = tracking->force_g - (isfinite(high) ? high : target);
    double under = (isfinite(low) ? low : target) - tracking->force_g;
    if (verdict == DW_VERDICT_ATTENTION && fmax(over, under) > tracking->half_width_g)
        dw_sheet_remark(sheet, "The force is %s what was asked for. Set it before judging anything else by ear.",
                        over > under ? "above" : "below");
    else if (verdict == DW_VERDICT_ATTENTION || (verdict == DW_VERDICT_CANNOT_TELL && fmax(over, under) > 0)) {
        force->explained = true;
        dw_sheet_remark(sheet,
                        "The readings do not tell whether the force is above or below what was asked for: they "
                        "are known to ±%.2f g. Take them again before anything is moved.",
                        tracking->half_width_g);
    } else if (fabs(tracking->force_g - target) <= tracking->half_width_g && verdict == DW_VERDICT_SERVICEABLE)
        dw_sheet_remark(sheet,
                        "That is the wanted force as far as this scale can tell (±%.2f g). A check weight "
                        "(force.check_weight, force.check_reading) tells more.",
                        tracking->half_width_g);
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
    // One force in two units is judged once, in the one that is spoken of.
    DwReading *force = dw_sheet_add_estimate(sheet, "force.tracking_g", "Tracking force", tracking.force_g, "g", 2,
                                             tracking.half_width_g, method);
    set_force_limit(force, inputs);
    remark_force(sheet, inputs, &tracking, force);
    dw_sheet_add_estimate(sheet, "force.tracking", "Tracking force in mN", tracking.force_g * DW_FORCE_MN_PER_G, "mN",
                          1, tracking.half_width_g * DW_FORCE_MN_PER_G, method);
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

// A spring makes the force: the weight balances alone, and moves only where what hangs at the head changes.
static bool stays(DwSheet *sheet, const DwInputs *inputs, double front_g)
{
    if (strcmp(dw_inputs_word(inputs, "force.applied_by"), "spring") != 0)
        return false;
    dw_sheet_remark(sheet, front_g != 0 ? "The force comes from a spring: set it to nothing, balance the arm with the "
                                          "counterweight, then set the spring."
                                        : "The force comes from a spring: set it there. The counterweight balances "
                                          "alone and stays where it is.");
    return front_g == 0;
}

static void remark_move(DwSheet *sheet, const DwInputs *inputs, const Tracking *tracking)
{
    if (dw_inputs_given(inputs, "cartridge.mass") && !dw_inputs_given(inputs, "force.fitted_mass"))
        dw_sheet_remark(sheet,
                        "The cartridge's mass was not used: to exchange cartridges, give force.fitted_mass, what "
                        "hangs there now with its screws.");
    if (!isfinite(tracking->force_g))
        dw_sheet_remark(sheet, "Counted from floating balance, since no scale reading was given.");
    if (strcmp(dw_inputs_word(inputs, "force.applied_by"), "spring") != 0)
        dw_sheet_remark(sheet,
                        "0.1 g is %.2f mm of this counterweight. Moves are towards the pivot when positive, away "
                        "from it when negative.",
                        dw_force_shift_mm(0.1, 0, dw_inputs_in(inputs, "arm.effective_length", "mm"),
                                          dw_inputs_in(inputs, "arm.counterweight_mass", "g")));
}

// Another mass at a head that lies beside the bearing's line tips the arm sideways; the side weight opposite balances
// it.
static void add_side(DwSheet *sheet, const DwInputs *inputs, double front_g)
{
    double weight = dw_inputs_in(inputs, "arm.side_weight", "g"), lever = dw_inputs_in(inputs, "arm.head_aside", "mm");
    if (isnan(weight) && isnan(lever))
        return;
    if (isnan(weight) || isnan(lever) || !dw_inputs_given(inputs, "force.fitted_mass")) {
        dw_sheet_not_measured(sheet, "counterweight.side_shift",
                              "The side balance needs arm.side_weight, arm.head_aside, and force.fitted_mass with "
                              "cartridge.mass.");
        return;
    }
    double shift = front_g * lever / weight;
    dw_sheet_add_estimate(sheet, "counterweight.side_shift", "Side weight moves away from the arm's line by", shift,
                          "mm", 2, NAN, "moments about the line through the bearing");
    dw_sheet_remark(
        sheet,
        "Side balance: move the side weight %.1f mm %s the arm's line. Check it by tilting the deck a little "
        "to either side: the floating arm must stay where it is.",
        fabs(shift), shift < 0 ? "towards" : "away from");
}

static void add_balance(DwSheet *sheet, const DwInputs *inputs, const Tracking *tracking)
{
    double length = dw_inputs_in(inputs, "arm.effective_length", "mm");
    double weight = dw_inputs_in(inputs, "arm.counterweight_mass", "g");
    double target = dw_inputs_in(inputs, "force.target", "g");
    double front = front_change_g(inputs);
    add_side(sheet, inputs, front);
    if (stays(sheet, inputs, front))
        return;
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
    remark_move(sheet, inputs, tracking);
    add_place(sheet, inputs, shift, front);
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

// A scale that is off by more than a tenth is not corrected, it is broken, or
// the weight is not what it is taken for.
static DwStatus check_weight(const DwInputs *inputs, DwMessage *message)
{
    double weight = dw_inputs_in(inputs, "force.check_weight", "g");
    double shown = dw_inputs_in(inputs, "force.check_reading", "g");
    if (isnan(weight) || isnan(shown) || fabs(shown / weight - 1) <= WORST_SCALE)
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT,
                   "force.check_reading: a check weight of %g g that reads %g g is no scale to be corrected. Check the "
                   "weight, the unit shown and the battery.",
                   weight, shown);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = check(request->inputs, message);
    if (status == DW_OK)
        status = check_weight(request->inputs, message);
    if (status == DW_OK)
        status = dw_force_skating_check(request->inputs, message);
    if (status != DW_OK)
        return status;
    Tracking tracking = add_tracking(sheet, request->inputs);
    add_balance(sheet, request->inputs, &tracking);
    dw_force_skating(sheet, request->inputs, tracking.force_g, tracking.half_width_g);
    dw_sheet_caution(sheet, "Leave the stylus guard on, or take the stylus off, while weights are moved; hold the arm, "
                            "for a weight that slips throws the cartridge onto the platter.");
    dw_sheet_caution(sheet,
                     "Use a scale whose pan is not iron: the cartridge's magnet pulls it and the reading is wrong. "
                     "Keep steel tools away from the cartridge.");
    return DW_OK;
}

static const char *const quantities[] = {"arm.name",
                                         "force.reading",
                                         "force.target",
                                         "force.low",
                                         "force.high",
                                         "force.scale_resolution",
                                         "force.scale_accuracy",
                                         "force.check_weight",
                                         "force.check_reading",
                                         "force.zero_after",
                                         "force.pan_height",
                                         "arm.pivot_to_spindle",
                                         "arm.effective_length",
                                         "arm.offset",
                                         "record.radius",
                                         "force.friction",
                                         "force.friction_low",
                                         "force.friction_high",
                                         "force.antiskating_found",
                                         "force.antiskating_weight",
                                         "force.antiskating_lever",
                                         "force.antiskating_dial",
                                         "force.antiskating_step",
                                         "arm.counterweight_mass",
                                         "arm.counterweight_position",
                                         "arm.counterweight_nearest",
                                         "arm.counterweight_farthest",
                                         "arm.counterweight_pitch",
                                         "arm.counterweight_drop",
                                         "arm.side_weight",
                                         "arm.head_aside",
                                         "arm.bearing_height",
                                         "force.applied_by",
                                         "force.fitted_mass",
                                         "cartridge.name",
                                         "cartridge.mass",
                                         "cartridge.hardware_mass",
                                         NULL};

const DwProcedure dw_procedure_force = {
    .name = "force",
    .title = "Tracking force, balance and skating",
    .summary = "Compare scale readings with the maker's range; find the counterweight's move and the skating force "
               "with its spread.",
    .quantities = quantities,
    .run = run,
};
