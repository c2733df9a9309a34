// SPDX-License-Identifier: MIT
#include "procedure/align/found_setup.h"

#include <math.h>

static const double same_distance_mm = 0.05;

static DwStatus read_tangencies(const DwInputs *inputs, const DwArmSetup *setup, DwFoundReadings *readings,
                                DwMessage *message)
{
    readings->tangencies =
        (DwNulls){dw_inputs_in(inputs, "found.null_inner", "mm"), dw_inputs_in(inputs, "found.null_outer", "mm")};
    if (setup->kind == DW_ARM_UNDERHUNG) {
        if (isnan(readings->tangencies.inner_mm) || dw_inputs_given(inputs, "found.null_outer"))
            return dw_fail(message, DW_BAD_INPUT,
                           "An underhung arm stands tangent at one radius: give it as found.null_inner.");
    } else if (isnan(readings->tangencies.inner_mm) || isnan(readings->tangencies.outer_mm))
        return dw_fail(message, DW_BAD_INPUT,
                       "One tangency alone says nothing of the other: give both "
                       "found.null_inner and found.null_outer.");
    else if (readings->tangencies.outer_mm < readings->tangencies.inner_mm)
        return dw_fail(message, DW_BAD_INPUT, "found.null_outer must not be less than found.null_inner.");
    readings->way = DW_FOUND_TANGENCIES;
    return DW_OK;
}

static DwStatus read_errors(const DwInputs *inputs, DwFoundReadings *readings, DwMessage *message)
{
    size_t count = dw_inputs_count(inputs, "found.error_at");
    if (count < 2 || count > DW_FOUND_READINGS_MOST)
        return dw_fail(message, DW_BAD_INPUT,
                       "found.error_at: give it for 2 to %d radii, as in found.error_at=66mm:-1.4deg.",
                       DW_FOUND_READINGS_MOST);
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < count; i++) {
        DwErrorReading *reading = &readings->errors[i];
        dw_inputs_pair_in(inputs, "found.error_at", i, "mm", "deg", &reading->radius_mm, &reading->error_deg);
        least = fmin(least, reading->radius_mm);
        most = fmax(most, reading->radius_mm);
    }
    if (most - least < 10)
        return dw_fail(message, DW_BAD_INPUT,
                       "found.error_at: the radii lie within %.1f mm of each other. Read near "
                       "the innermost and near the outermost groove.",
                       most - least);
    readings->error_count = count;
    readings->way = DW_FOUND_ERRORS;
    return DW_OK;
}

static DwStatus read_slots(const DwInputs *inputs, DwFoundSetup *found, DwMessage *message)
{
    found->has_slots = dw_inputs_given(inputs, "arm.slot_length");
    double travel = found->has_slots ? dw_inputs_in(inputs, "arm.slot_length", "mm") : INFINITY;
    double forward = dw_inputs_in(inputs, "found.slot_forward", "mm");
    if (!isnan(forward) && !found->has_slots)
        return dw_fail(message, DW_BAD_INPUT, "found.slot_forward needs arm.slot_length, the whole travel, beside it.");
    if (isnan(forward))
        forward = travel / 2;
    if (forward > travel)
        return dw_fail(message, DW_BAD_INPUT, "found.slot_forward (%g mm) is more than arm.slot_length (%g mm).",
                       forward, travel);
    found->readings.slots = (DwSlots){forward, found->has_slots ? travel - forward : INFINITY};
    return DW_OK;
}

static DwStatus read_readings(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message)
{
    DwFoundReadings *readings = &found->readings;
    bool tangencies = dw_inputs_given(inputs, "found.null_inner") || dw_inputs_given(inputs, "found.null_outer");
    bool errors = dw_inputs_given(inputs, "found.error_at");
    bool stated = dw_inputs_given(inputs, "found.slip") || dw_inputs_given(inputs, "found.twist");
    bool mounted = dw_inputs_given(inputs, "found.pivot_to_spindle");
    readings->distance_mm =
        mounted ? dw_inputs_in(inputs, "found.pivot_to_spindle", "mm") : setup->ideal.pivot_to_spindle_mm;
    found->mounted_elsewhere = fabs(readings->distance_mm - setup->ideal.pivot_to_spindle_mm) > same_distance_mm;
    if (tangencies + errors + stated > 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "As found, give one of: the two tangencies, the angular errors, or slip and "
                       "twist. They answer the same question.");
    DwStatus status = read_slots(inputs, found, message);
    if (status != DW_OK)
        return status;
    if (tangencies)
        return read_tangencies(inputs, setup, readings, message);
    if (errors)
        return read_errors(inputs, readings, message);
    if (stated || mounted)
        readings->way = DW_FOUND_STATED;
    readings->slip_mm = dw_inputs_given(inputs, "found.slip") ? dw_inputs_in(inputs, "found.slip", "mm") : 0;
    readings->twist_deg = dw_inputs_given(inputs, "found.twist") ? dw_inputs_in(inputs, "found.twist", "deg") : 0;
    return DW_OK;
}

// The arm that READINGS tell of; false when there is none.
static bool arm_of(const DwFoundReadings *readings, const DwArmSetup *setup, DwArm *arm)
{
    switch (readings->way) {
    case DW_FOUND_TANGENCIES:
        *arm = dw_arm_setup_at_distance(setup->kind, readings->tangencies, readings->distance_mm);
        return isfinite(arm->effective_length_mm) && isfinite(arm->offset_deg);
    case DW_FOUND_ERRORS:
        return dw_arm_found_from_errors(readings->distance_mm, readings->errors, readings->error_count, arm);
    case DW_FOUND_STATED:
        *arm = dw_arm_slid(&setup->ideal, readings->slip_mm);
        arm->offset_deg += readings->twist_deg;
        arm->pivot_to_spindle_mm = readings->distance_mm;
        return true;
    case DW_FOUND_NOTHING:
        return false;
    }
    return false;
}

static DwArmMove move_of(const DwFoundReadings *readings, const DwArmSetup *setup, const DwArm *arm)
{
    DwArm wanted = dw_arm_setup_at_distance(setup->kind, setup->nulls, readings->distance_mm);
    return dw_arm_move(arm, &wanted, readings->slots, setup->groove);
}

// What is worked out of the readings and therefore shares their uncertainty.
enum { OVERHANG, OFFSET, SLIDE, TWIST, DISTORTION, OUTCOMES };

static bool outcomes_of(const DwFoundReadings *readings, const DwArmSetup *setup, double outcomes[OUTCOMES])
{
    DwArm arm;
    DwTrackingCost cost;
    if (!arm_of(readings, setup, &arm) || !dw_tracking_cost(&arm, setup->groove, setup->signal, &cost))
        return false;
    DwArmMove move = move_of(readings, setup, &arm);
    outcomes[OVERHANG] = dw_arm_overhang(&arm);
    outcomes[OFFSET] = arm.offset_deg;
    outcomes[SLIDE] = move.slide_mm;
    outcomes[TWIST] = move.twist_deg;
    outcomes[DISTORTION] = cost.distortion_percent.value;
    return true;
}

// Adds to SQUARES what the uncertainty BY of one READING changes, half the way
// from low to high; an arm that cannot be then leaves the whole undefined.
static void add_share(const DwArmSetup *setup, DwFoundReadings *readings, double *reading, double by,
                      double squares[OUTCOMES])
{
    double kept = *reading;
    double low[OUTCOMES] = {0}, high[OUTCOMES] = {0};
    *reading = kept - by;
    bool solved = outcomes_of(readings, setup, low);
    *reading = kept + by;
    solved = outcomes_of(readings, setup, high) && solved;
    *reading = kept;
    for (int i = 0; i < OUTCOMES; i++)
        squares[i] += solved ? (high[i] - low[i]) * (high[i] - low[i]) / 4 : NAN;
}

// Root sum of squares over all that was read.
static void propagate(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found)
{
    double squares[OUTCOMES] = {0};
    DwFoundReadings readings = found->readings;
    // A slide that the slots cut short would hide how uncertain the wanted one is.
    readings.slots = (DwSlots){INFINITY, INFINITY};
    double radius = dw_inputs_in(inputs, "found.radius_uncertainty", "mm");
    double angle = dw_inputs_in(inputs, "found.angle_uncertainty", "deg");
    double pivot = dw_inputs_in(inputs, "found.pivot_uncertainty", "mm");
    if (readings.way == DW_FOUND_TANGENCIES) {
        add_share(setup, &readings, &readings.tangencies.inner_mm, radius, squares);
        if (setup->kind == DW_ARM_PIVOTED)
            add_share(setup, &readings, &readings.tangencies.outer_mm, radius, squares);
    }
    for (size_t i = 0; i < readings.error_count; i++) {
        add_share(setup, &readings, &readings.errors[i].error_deg, angle, squares);
        add_share(setup, &readings, &readings.errors[i].radius_mm, radius, squares);
    }
    add_share(setup, &readings, &readings.distance_mm, pivot, squares);
    found->radius_uncertainty_mm = radius;
    found->angle_uncertainty_deg = angle;
    found->pivot_uncertainty_mm = pivot;
    found->overhang_uncertainty_mm = sqrt(squares[OVERHANG]);
    found->offset_uncertainty_deg = sqrt(squares[OFFSET]);
    found->slide_uncertainty_mm = sqrt(squares[SLIDE]);
    found->twist_uncertainty_deg = sqrt(squares[TWIST]);
    found->distortion_uncertainty_percent = sqrt(squares[DISTORTION]);
}

DwStatus dw_found_setup_read(const DwInputs *inputs, const DwArmSetup *setup, DwFoundSetup *found, DwMessage *message)
{
    DwFoundSetup read = {.overhang_uncertainty_mm = NAN,
                         .offset_uncertainty_deg = NAN,
                         .slide_uncertainty_mm = NAN,
                         .twist_uncertainty_deg = NAN,
                         .distortion_uncertainty_percent = NAN};
    DwStatus status = read_readings(inputs, setup, &read, message);
    if (status != DW_OK)
        return status;
    if (read.readings.way != DW_FOUND_NOTHING) {
        DwTrackingCost cost;
        if (!arm_of(&read.readings, setup, &read.arm) ||
            !dw_tracking_cost(&read.arm, setup->groove, setup->signal, &cost))
            return dw_fail(message, DW_BAD_INPUT,
                           "No arm that reaches the grooves fits what was found: check the radii and the signs of the "
                           "angles (found.*).");
        read.wanted = dw_arm_setup_at_distance(setup->kind, setup->nulls, read.readings.distance_mm);
        if (!isfinite(read.wanted.effective_length_mm) || !isfinite(read.wanted.offset_deg))
            return dw_fail(message, DW_BAD_INPUT, "found.pivot_to_spindle: no arm can be aligned at that distance.");
        read.move = dw_arm_move(&read.arm, &read.wanted, read.readings.slots, setup->groove);
        if (read.readings.way != DW_FOUND_STATED)
            propagate(inputs, setup, &read);
    }
    *found = read;
    return DW_OK;
}
