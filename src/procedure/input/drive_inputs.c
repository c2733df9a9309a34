// SPDX-License-Identifier: MIT
#include "procedure/input/drive_inputs.h"

#include "base/usual_speed.h"
#include "physics/drive.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// What each key alone says of the kind of drive; NULL for any.
static const struct {
    const char *key;
    const char *kind;
} keys[] = {
    {"drive.kind", NULL},
    {"drive.first_belt_length", "belt"},
    {"drive.first_belt_thickness", "belt"},
    {"drive.idler_diameter", "idler"},
    {"drive.idler_driven_diameter", "idler"},
    {"drive.poles", "direct"},
    {"drive.belt_length", "belt"},
    {"drive.belt_thickness", "belt"},
    {"drive.slots", NULL},
    {"drive.tacho_lines", NULL},
    {"drive.motors", NULL},
    {"drive.motor_kind", NULL},
    {"drive.motor_slip", NULL},
    {"drive.motor_poles", NULL},
    {"drive.motor_speed", NULL},
    {"drive.pulley_diameter", NULL},
    {"drive.rim_diameter", NULL},
    {"drive.centre_distance", NULL},
};
enum { KEY_COUNT = sizeof keys / sizeof *keys };

// What only one kind of drive has: it tells the kind, though nothing that turns.
static const struct {
    const char *key, *kind;
} hints[] = {
    {"drive.idler_hardness", "idler"}, {"drive.belt_mass", "belt"},  {"drive.belt_pluck", "belt"},
    {"drive.belt_push", "belt"},       {"drive.belt_give", "belt"},  {"drive.belt_width", "belt"},
    {"drive.belt_modulus", "belt"},    {"drive.belt_hump", "belt"},  {"drive.belt_listed_length", "belt"},
    {"drive.belt_age", "belt"},        {"drive.belt_hours", "belt"}, {"drive.belt_friction", "belt"},
};
enum { HINT_COUNT = sizeof hints / sizeof *hints };

// "belt", "idler" or "direct", as stated or plain from the rest; else "".
static const char *kind_word(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "drive.kind");
    for (size_t i = 0; i < KEY_COUNT && !*word; i++)
        if (keys[i].kind && dw_inputs_given(inputs, keys[i].key))
            word = keys[i].kind;
    for (size_t i = 0; i < HINT_COUNT && !*word; i++)
        if (dw_inputs_given(inputs, hints[i].key))
            word = hints[i].kind;
    return word;
}

bool dw_drive_inputs_kind_is_plain(const DwInputs *inputs)
{
    return *kind_word(inputs) != '\0';
}

bool dw_drive_inputs_given(const DwInputs *inputs)
{
    for (size_t i = 0; i < KEY_COUNT; i++)
        if (dw_inputs_given(inputs, keys[i].key))
            return true;
    return false;
}

static DwStatus read_kind(const DwInputs *inputs, DwDriveKind *kind, DwMessage *message)
{
    const char *word = kind_word(inputs);
    if (!*word)
        return dw_fail(message, DW_BAD_INPUT, "The kind of drive is not known. Give drive.kind=belt, idler or direct.");
    *kind = strcmp(word, "belt") == 0 ? DW_DRIVE_BELT : strcmp(word, "idler") == 0 ? DW_DRIVE_IDLER : DW_DRIVE_DIRECT;
    return DW_OK;
}

static DwMotorKind read_motor(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "drive.motor_kind");
    if (strcmp(word, "synchronous") == 0)
        return DW_MOTOR_SYNCHRONOUS;
    if (strcmp(word, "induction") == 0 || (!*word && dw_inputs_given(inputs, "drive.motor_slip")))
        return DW_MOTOR_INDUCTION;
    if (strcmp(word, "servo") == 0)
        return DW_MOTOR_SERVO;
    if (strcmp(word, "quartz") == 0)
        return DW_MOTOR_QUARTZ;
    return strcmp(word, "dc") == 0 ? DW_MOTOR_DC : DW_MOTOR_UNSTATED;
}

// The belt from the motor to a wheel between: with an idler drive the only one there is.
static double first_belt_mm(const DwInputs *inputs, DwDriveKind kind, const char *what)
{
    char key[40];
    snprintf(key, sizeof key, "drive.%sbelt_%s", kind == DW_DRIVE_IDLER ? "" : "first_", what);
    return dw_inputs_in(inputs, key, "mm");
}

static DwDrive read_drive(const DwInputs *inputs, DwDriveKind kind)
{
    return (DwDrive){
        .kind = kind,
        .mains_hz = dw_inputs_in(inputs, "deck.mains", "Hz"),
        .motor_poles = dw_inputs_in(inputs, "drive.motor_poles", ""),
        .motor_rpm = dw_inputs_in(inputs, "drive.motor_speed", "rpm"),
        .pulley_mm = NAN,
        .rim_mm = dw_inputs_in(inputs, "drive.rim_diameter", "mm"),
        .centre_mm = dw_inputs_in(inputs, "drive.centre_distance", "mm"),
        .belt_length_mm = dw_inputs_in(inputs, "drive.belt_length", "mm"),
        .belt_thickness_mm = dw_inputs_in(inputs, "drive.belt_thickness", "mm"),
        .idler_mm = dw_inputs_in(inputs, "drive.idler_diameter", "mm"),
        .direct_poles = dw_inputs_in(inputs, "drive.poles", ""),
        .motor = read_motor(inputs),
        .slip = dw_inputs_in(inputs, "drive.motor_slip", "fraction"),
        .slots = dw_inputs_in(inputs, "drive.slots", ""),
        .tacho_lines = dw_inputs_in(inputs, "drive.tacho_lines", ""),
        .motors = dw_inputs_in(inputs, "drive.motors", ""),
        .idler_driven_mm = dw_inputs_in(inputs, "drive.idler_driven_diameter", "mm"),
        .first_length_mm = first_belt_mm(inputs, kind, "length"),
        .first_thickness_mm = first_belt_mm(inputs, kind, "thickness"),
    };
}

static DwStatus check_pairs(const DwInputs *inputs, const char *key, DwMessage *message)
{
    double poles = dw_inputs_in(inputs, key, "");
    if (isnan(poles) || fmod(poles, 2) == 0)
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT, "%s=%g: a motor's poles come in pairs. Count them again.", key, poles);
}

static DwStatus check_whole(const DwInputs *inputs, DwMessage *message)
{
    static const char *const counts[] = {"drive.slots", "drive.tacho_lines", "drive.motors"};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        double count = dw_inputs_in(inputs, counts[i], "");
        if (isfinite(count) && count != floor(count))
            return dw_fail(message, DW_BAD_INPUT, "%s=%g: this is a count. Give a whole number.", counts[i], count);
    }
    return DW_OK;
}

// What is stated twice over and differs is asked for again: a part would be cut by one of the two.
static DwStatus check_motor(const DwInputs *inputs, const DwDrive *drive, DwMessage *message)
{
    if (check_pairs(inputs, "drive.motor_poles", message) != DW_OK ||
        check_pairs(inputs, "drive.poles", message) != DW_OK || check_whole(inputs, message) != DW_OK)
        return DW_BAD_INPUT;
    bool synchronous = drive->motor == DW_MOTOR_SYNCHRONOUS;
    if (synchronous && drive->slip > 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "drive.motor_slip: a synchronous motor has none. Leave it out, or give "
                       "drive.motor_kind=induction.");
    if (drive->kind == DW_DRIVE_DIRECT || isnan(drive->motor_rpm) || isnan(drive->motor_poles) ||
        !(synchronous || drive->motor == DW_MOTOR_INDUCTION))
        return DW_OK;
    double field_rpm = 120 * drive->mains_hz / drive->motor_poles, share = drive->motor_rpm / field_rpm;
    // A tachometer and the mains together are within 1 %; an induction motor that slips more than a fifth stalls.
    if (share < 1.01 && share > (synchronous ? 0.99 : 0.8))
        return DW_OK;
    return dw_fail(
        message, DW_BAD_INPUT,
        synchronous ? "drive.motor_speed=%g rpm contradicts drive.motor_poles=%g: on %g Hz such a motor turns %g rpm. "
                      "Leave out the one you trust least, or check deck.mains."
                    : "drive.motor_speed=%g rpm contradicts drive.motor_poles=%g: on %g Hz such a motor turns a little "
                      "less than %g rpm. Leave out the one you trust least, or check deck.mains.",
        drive->motor_rpm, drive->motor_poles, drive->mains_hz, field_rpm);
}

static int compare(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

// A step for each pulley, ascending, named by the ratios of effective diameters.
static void make_steps(const DwInputs *inputs, const DwDrive *drive, size_t count, DwDriveStep *steps)
{
    double pulleys[DW_DRIVE_STEPS_MOST], effective[DW_DRIVE_STEPS_MOST], nominal[DW_DRIVE_STEPS_MOST];
    double belt = dw_drive_first_belt_mm(drive), thickness = isnan(belt) ? 0 : belt;
    for (size_t i = 0; i < count; i++)
        pulleys[i] = dw_inputs_in_at(inputs, "drive.pulley_diameter", i, "mm");
    qsort(pulleys, count, sizeof *pulleys, compare);
    for (size_t i = 0; i < count; i++)
        effective[i] = pulleys[i] + thickness;
    dw_drive_name_steps(effective, count, nominal);
    for (size_t i = 0; i < count; i++) {
        steps[i] = (DwDriveStep){*drive, nominal[i]};
        steps[i].drive.pulley_mm = pulleys[i];
    }
}

DwStatus dw_drive_inputs_read(const DwInputs *inputs, DwDriveStep steps[DW_DRIVE_STEPS_MOST], size_t *count,
                              DwMessage *message)
{
    DwDriveKind kind = DW_DRIVE_BELT;
    DwStatus status = read_kind(inputs, &kind, message);
    if (status != DW_OK)
        return status;
    DwDrive drive = read_drive(inputs, kind);
    status = check_motor(inputs, &drive, message);
    if (status != DW_OK)
        return status;
    size_t pulleys = dw_inputs_count(inputs, "drive.pulley_diameter");
    if (pulleys > DW_DRIVE_STEPS_MOST)
        return dw_fail(message, DW_BAD_INPUT,
                       "drive.pulley_diameter was given %zu times; a pulley has at most %d steps.", pulleys,
                       DW_DRIVE_STEPS_MOST);
    if (kind == DW_DRIVE_DIRECT) {
        *count = 0;
        for (size_t i = DW_USUAL_DECK_FIRST; i < DW_USUAL_SPEEDS; i++)
            steps[(*count)++] = (DwDriveStep){drive, dw_usual_speed[i].rpm};
        return DW_OK;
    }
    *count = pulleys ? pulleys : 1;
    if (pulleys > 1) {
        make_steps(inputs, &drive, pulleys, steps);
        return DW_OK;
    }
    drive.pulley_mm = dw_inputs_in(inputs, "drive.pulley_diameter", "mm");
    steps[0] = (DwDriveStep){drive, dw_inputs_in(inputs, "deck.speed", "rpm")};
    return DW_OK;
}

size_t dw_drive_inputs_step(const DwDriveStep *steps, size_t count, double speed_rpm)
{
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
        if (fabs(steps[i].nominal_rpm - speed_rpm) < fabs(steps[best].nominal_rpm - speed_rpm))
            best = i;
    return best;
}
