// SPDX-License-Identifier: MIT
#include "procedure/align/align_sheet.h"

#include "physics/chance.h"

#include <math.h>
#include <string.h>

// Given by hand; tangencies and what the last move left come on top.
enum { READINGS_MOST = DW_ARM_FIT_MOST - 4 };

static const double same_distance_mm = 0.05;
static const double normal_95 = 1.959964;
const double dw_found_hands_mm = 0.15, dw_found_hands_deg = 0.2;
static const double least_apart_mm = 10; // of the radii that fix an arm

static DwStatus check_tangencies(const DwArmSetup *setup, DwNulls read, DwMessage *message)
{
    if (setup->kind == DW_ARM_UNDERHUNG && (isnan(read.inner_mm) || !isnan(read.outer_mm)))
        return dw_fail(message, DW_BAD_INPUT,
                       "An underhung arm stands tangent at one radius: give it as found.null_inner.");
    if (read.outer_mm < read.inner_mm)
        return dw_fail(message, DW_BAD_INPUT, "found.null_outer must not be less than found.null_inner.");
    return DW_OK;
}

static void add(DwFoundReadings *readings, DwArmReading reading)
{
    readings->readings[readings->count++] = reading;
}

// All that was read of the arm, as readings to fit.
static DwStatus read_fitted(const DwInputs *inputs, const DwFoundSetup *found, DwFoundReadings *readings,
                            DwMessage *message)
{
    double radius = found->radius_uncertainty_mm / normal_95, angle = found->angle_uncertainty_deg / normal_95;
    size_t errors = dw_inputs_count(inputs, "found.error_at");
    size_t overhangs = dw_inputs_count(inputs, "found.overhang");
    size_t arcs = dw_inputs_count(inputs, "found.arc_at");
    if (errors + overhangs + arcs > READINGS_MOST)
        return dw_fail(message, DW_BAD_INPUT,
                       "found.error_at, found.overhang and found.arc_at: give at most %d of them together.",
                       READINGS_MOST);
    for (size_t i = 0; i < errors; i++) {
        DwArmReading reading = {DW_ARM_READ_ERROR, 0, 0, radius, angle};
        dw_inputs_pair_in(inputs, "found.error_at", i, "mm", "deg", &reading.radius_mm, &reading.value);
        add(readings, reading);
    }
    const double tangencies[] = {readings->tangencies.inner_mm, readings->tangencies.outer_mm};
    for (int i = 0; i < 2; i++)
        if (!isnan(tangencies[i]))
            add(readings, (DwArmReading){DW_ARM_READ_TANGENCY, tangencies[i], 0, radius, 0});
    for (size_t i = 0; i < overhangs; i++)
        add(readings, (DwArmReading){DW_ARM_READ_OVERHANG, NAN, dw_inputs_in_at(inputs, "found.overhang", i, "mm"), 0,
                                     found->overhang_uncertainty_mm / normal_95});
    for (size_t i = 0; i < arcs; i++) {
        DwArmReading reading = {DW_ARM_READ_ARC, 0, 0, 0,
                                dw_inputs_in(inputs, "found.arc_uncertainty", "mm") / normal_95};
        dw_inputs_pair_in(inputs, "found.arc_at", i, "mm", "mm", &reading.radius_mm, &reading.value);
        add(readings, reading);
    }
    return DW_OK;
}

static bool tells_place(const DwArmReading *reading)
{
    return reading->kind == DW_ARM_READ_OVERHANG || reading->kind == DW_ARM_READ_ARC;
}

// Whether READINGS fix an arm: its overhang or an arc's is one, or two radii far apart.
static DwStatus check_fitted(const DwFoundReadings *readings, DwMessage *message)
{
    double least = INFINITY, most = 0;
    size_t angles = 0;
    for (size_t i = 0; i < readings->count; i++)
        if (!tells_place(&readings->readings[i])) {
            least = fmin(least, readings->readings[i].radius_mm);
            most = fmax(most, readings->readings[i].radius_mm);
            angles++;
        }
    bool place = angles < readings->count;
    if (angles == 0 || readings->count < 2)
        return place ? dw_fail(message, DW_BAD_INPUT,
                               "found.overhang and found.arc_at tell where the stylus stands, not how the cartridge is "
                               "turned: give "
                               "found.error_at for a radius beside it.")
               : readings->readings[0].kind == DW_ARM_READ_TANGENCY
                   ? dw_fail(message, DW_BAD_INPUT,
                             "One tangency alone says nothing of the other: give both found.null_inner and "
                             "found.null_outer.")
                   : dw_fail(message, DW_BAD_INPUT,
                             "found.error_at: give it for 2 to %d radii, as in found.error_at=66mm:-1.4deg.",
                             READINGS_MOST);
    if (!place && most - least < least_apart_mm)
        return dw_fail(message, DW_BAD_INPUT,
                       "found.error_at: the radii lie within %.1f mm of each other. Read near the innermost and near "
                       "the outermost groove.",
                       most - least);
    return DW_OK;
}

static double stated(const DwInputs *inputs, const char *key, double value)
{
    return dw_inputs_given(inputs, key) ? value : 0;
}

static DwFoundReadings readings_of(const DwInputs *inputs, const DwArmSetup *setup)
{
    bool mounted = dw_inputs_given(inputs, "found.pivot_to_spindle");
    bool by_body = strcmp(dw_inputs_word(inputs, "found.line"), "body") == 0;
    return (DwFoundReadings){
        .way = DW_FOUND_NOTHING,
        .distance_mm =
            mounted ? dw_inputs_in(inputs, "found.pivot_to_spindle", "mm") : setup->ideal.pivot_to_spindle_mm,
        .tangencies = {dw_inputs_in(inputs, "found.null_inner", "mm"), dw_inputs_in(inputs, "found.null_outer", "mm")},
        .slip_mm = stated(inputs, "found.slip", dw_inputs_in(inputs, "found.slip", "mm")),
        .twist_deg = stated(inputs, "found.twist", dw_inputs_in(inputs, "found.twist", "deg")),
        .skew_deg = by_body ? setup->skew_deg : 0,
        .skew_deviation_deg =
            by_body ? dw_inputs_in(inputs, "cartridge.cantilever_skew_uncertainty", "deg") / normal_95 : 0,
    };
}

static DwStatus read_readings(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message)
{
    DwFoundReadings *readings = &found->readings;
    *readings = readings_of(inputs, setup);
    bool tangencies = !isnan(readings->tangencies.inner_mm) || !isnan(readings->tangencies.outer_mm);
    bool others = dw_inputs_given(inputs, "found.error_at") || dw_inputs_given(inputs, "found.overhang") ||
                  dw_inputs_given(inputs, "found.arc_at");
    bool told = dw_inputs_given(inputs, "found.slip") || dw_inputs_given(inputs, "found.twist");
    if (told && (tangencies || others))
        return dw_fail(message, DW_BAD_INPUT,
                       "As found, give one of: what was read (tangencies, angular errors, overhang, arc), or slip and "
                       "twist. They answer the same question.");
    if (told || (!tangencies && !others && dw_inputs_given(inputs, "found.pivot_to_spindle")))
        readings->way = DW_FOUND_STATED;
    if (!tangencies && !others)
        return DW_OK;
    DwStatus status = check_tangencies(setup, tangencies ? readings->tangencies : (DwNulls){0, NAN}, message);
    if (status == DW_OK)
        status = read_fitted(inputs, found, readings, message);
    bool single = setup->kind == DW_ARM_UNDERHUNG && !others;
    if (status == DW_OK && !single)
        status = check_fitted(readings, message);
    bool expected = dw_inputs_given(inputs, "found.overhang_expected");
    readings->way = others || (expected && !single) ? DW_FOUND_READINGS : DW_FOUND_TANGENCIES;
    return status;
}

// The arm that stated or tangent READINGS tell of; false when there is none.
static bool arm_of(const DwFoundReadings *readings, const DwArmSetup *setup, DwArm *arm)
{
    if (readings->way == DW_FOUND_TANGENCIES)
        *arm = dw_arm_setup_at_distance(setup->kind, readings->tangencies, readings->distance_mm);
    else {
        // Where the stylus stands and how the cartridge is turned, however it came to be so.
        *arm = dw_arm_slid(&setup->ideal, readings->slip_mm);
        arm->offset_deg += readings->twist_deg;
        arm->pivot_to_spindle_mm = readings->distance_mm;
    }
    return isfinite(arm->effective_length_mm) && isfinite(arm->offset_deg);
}

// Adds to the covariance what the deviation BY of one READING changes, half
// the way from low to high.
static bool add_share(const DwArmSetup *setup, DwFoundReadings *readings, double *reading, double by, DwArmFit *fit)
{
    double kept = *reading;
    DwArm low, high;
    *reading = kept - by;
    bool solved = arm_of(readings, setup, &low);
    *reading = kept + by;
    solved = arm_of(readings, setup, &high) && solved;
    *reading = kept;
    const double change[] = {(high.pivot_to_spindle_mm - low.pivot_to_spindle_mm) / 2,
                             (high.effective_length_mm - low.effective_length_mm) / 2,
                             (high.offset_deg - low.offset_deg) / 2};
    for (int i = 0; solved && i < 3; i++)
        for (int j = 0; j < 3; j++)
            fit->covariance[i][j] += change[i] * change[j];
    return solved;
}

// The fit of readings that fix the arm exactly.
static bool fit_exactly(const DwArmSetup *setup, const DwFoundSetup *found, DwFoundReadings readings, DwArmFit *fit)
{
    *fit = (DwArmFit){.residual_deg = NAN};
    if (!arm_of(&readings, setup, &fit->arm))
        return false;
    double radius = found->radius_uncertainty_mm / normal_95, angle = found->angle_uncertainty_deg / normal_95;
    bool solved = true;
    if (readings.way == DW_FOUND_TANGENCIES) {
        solved = add_share(setup, &readings, &readings.tangencies.inner_mm, radius, fit);
        if (setup->kind == DW_ARM_PIVOTED)
            solved = add_share(setup, &readings, &readings.tangencies.outer_mm, radius, fit) && solved;
        else // one radius says nothing of a cartridge turned a little
            fit->covariance[2][2] += angle * angle;
    } else {
        solved = add_share(setup, &readings, &readings.slip_mm, radius, fit);
        solved = add_share(setup, &readings, &readings.twist_deg, angle, fit) && solved;
    }
    return add_share(setup, &readings, &readings.distance_mm, found->pivot_uncertainty_mm / normal_95, fit) && solved;
}

// Joins what is read with the overhang that the last move should have left. (Its
// offset hangs together with that; as a reading of its own it would count twice.)
// What is read must agree by itself first, and with the move; else the move
// went otherwise than told.
static void join_expected(const DwInputs *inputs, const DwArmPrior *prior, DwFoundSetup *found)
{
    DwFoundReadings joined = found->readings;
    DwArmFit fit;
    double value, half_width;
    if (found->doubt.doubtful ||
        !dw_inputs_pair_in(inputs, "found.overhang_expected", 0, "mm", "mm", &value, &half_width))
        return;
    add(&joined, (DwArmReading){DW_ARM_READ_OVERHANG, NAN, value, 0, hypot(half_width, dw_found_hands_mm) / normal_95});
    found->strayed = !dw_arm_fit(joined.readings, joined.count, prior, &fit) ||
                     fit.chi_square - found->fit.chi_square > dw_chance_chi_square(0.999, 1);
    found->joined = !found->strayed;
    if (found->strayed)
        return;
    found->fit.arm = fit.arm;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            found->fit.covariance[i][j] = fit.covariance[i][j];
}

// Readings that scatter more than was stated are known no better than they scatter.
static void widen(DwArmFit *fit)
{
    double student = dw_chance_student(0.975, fit->freedom) / normal_95;
    double factor = fmax(1, fit->chi_square / fit->freedom * student * student);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            fit->covariance[i][j] *= factor;
}

static DwStatus no_arm(const DwFoundReadings *readings, const DwArmDoubt *doubt, DwMessage *message)
{
    const DwArmReading *suspect = &readings->readings[doubt->suspect];
    if (doubt->doubtful && doubt->rest_agree && readings->count > 2 && !tells_place(suspect))
        return dw_fail(message, DW_BAD_INPUT,
                       "No arm fits what was found, but without the reading at %g mm (%+.2f°) the others agree: take "
                       "that one again.",
                       suspect->radius_mm, suspect->value);
    return dw_fail(message, DW_BAD_INPUT,
                   "No arm that reaches the grooves fits what was found: check the radii and the signs of the "
                   "angles (found.*).");
}

static DwStatus fit_readings(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message)
{
    const DwFoundReadings *readings = &found->readings;
    DwTrackingCost cost;
    if (readings->way != DW_FOUND_READINGS)
        return fit_exactly(setup, found, *readings, &found->fit) &&
                       dw_tracking_cost(&found->fit.arm, setup->groove, setup->signal, &cost)
                   ? DW_OK
                   : no_arm(readings, &found->doubt, message);
    bool as_stated;
    // The paper's cross is aimed at the pivot as well as the distance is measured.
    double pivot = found->pivot_uncertainty_mm / normal_95;
    DwArmPrior prior = {dw_arm_setup_at_distance(setup->kind, setup->nulls, readings->distance_mm), pivot,
                        dw_arm_setup_drawn(inputs, setup, &as_stated),
                        atan(pivot / readings->distance_mm) * 180 / M_PI};
    if (!dw_arm_fit(readings->readings, readings->count, &prior, &found->fit) ||
        !dw_tracking_cost(&found->fit.arm, setup->groove, setup->signal, &cost)) {
        found->doubt = dw_arm_fit_doubt(readings->readings, readings->count, &prior, NULL);
        return no_arm(readings, &found->doubt, message);
    }
    found->doubt = dw_arm_fit_doubt(readings->readings, readings->count, &prior, &found->fit);
    if (found->doubt.doubtful && found->fit.freedom > 0)
        widen(&found->fit);
    join_expected(inputs, &prior, found);
    return DW_OK;
}

static void read_uncertainties(const DwInputs *inputs, DwFoundSetup *found)
{
    found->radius_uncertainty_mm = dw_inputs_in(inputs, "found.radius_uncertainty", "mm");
    found->angle_uncertainty_deg = dw_inputs_in(inputs, "found.angle_uncertainty", "deg");
    found->pivot_uncertainty_mm = dw_inputs_in(inputs, "found.pivot_uncertainty", "mm");
    found->overhang_uncertainty_mm = dw_inputs_in(inputs, "found.overhang_uncertainty", "mm");
}

// A move smaller than it is known, on an arm that stands well enough: as likely
// as not it is for the worse. Slots come back to right; there it must be within
// what is good, for a larger one is the best there is to know.
static bool is_within_doubt(const DwArmSetup *setup, const DwFoundSetup *found)
{
    double slide = fabs(found->move.slide_mm), twist = fabs(found->move.twist_deg);
    DwTrackingCost cost, corner = dw_align_worst_in_tolerance(setup, &found->wanted);
    if (!found->move.helps || slide > found->spread.slide_mm || twist > found->spread.twist_deg)
        return false;
    if (found->shell.kind == DW_SHELL_SLOTS)
        return false;
    return dw_tracking_cost(&found->arm, setup->groove, setup->signal, &cost) &&
           cost.distortion_percent.value <= corner.distortion_percent.value;
}

static DwStatus work_out(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message)
{
    DwStatus status = fit_readings(inputs, setup, found, message);
    if (status != DW_OK)
        return status;
    found->fit.arm.offset_deg += found->readings.skew_deg;
    found->fit.covariance[2][2] += found->readings.skew_deviation_deg * found->readings.skew_deviation_deg;
    found->doubt.without.offset_deg += found->readings.skew_deg;
    found->arm = found->fit.arm;
    found->wanted = dw_arm_setup_at_distance(setup->kind, setup->nulls, found->arm.pivot_to_spindle_mm);
    if (!isfinite(found->wanted.effective_length_mm) || !isfinite(found->wanted.offset_deg))
        return dw_fail(message, DW_BAD_INPUT, "found.pivot_to_spindle: no arm can be aligned at that distance.");
    found->move = dw_arm_move(&found->arm, &found->wanted, found->shell.allows, &setup->aim);
    found->spread = dw_found_spread(setup, found);
    if (is_within_doubt(setup, found)) {
        found->move = (DwArmMove){0, 0, found->move.allowed, false, found->arm};
        found->spread = dw_found_spread(setup, found);
    }
    return DW_OK;
}

DwStatus dw_found_setup_read(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message)
{
    DwFoundSetup read = {.doubt = {.doubtful = false}};
    read_uncertainties(inputs, &read);
    DwStatus status = dw_shell_read(inputs, &read.shell, message);
    if (status == DW_OK)
        status = read_readings(inputs, setup, &read, message);
    read.mounted_elsewhere = fabs(read.readings.distance_mm - setup->ideal.pivot_to_spindle_mm) > same_distance_mm;
    if (status == DW_OK && read.readings.way != DW_FOUND_NOTHING)
        status = work_out(inputs, setup, &read, message);
    if (status == DW_OK)
        *found = read;
    return status;
}
