// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "base/text.h"
#include "physics/bearing.h"
#include "physics/belt_path.h"
#include "procedure/registry/limits.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

// The usual stretch of a fitted belt, as fractions: least, middle, most.
static const double stretch_least = 0.02, stretch_middle = 0.035, stretch_most = 0.05;

// Modulus times section (N), NAN where not given: MPa · mm² are newtons.
static double stiffness_n(const DwInputs *inputs)
{
    return dw_inputs_in(inputs, "drive.belt_modulus", "MPa") * dw_inputs_in(inputs, "drive.belt_width", "mm") *
           dw_inputs_in(inputs, "drive.belt_thickness", "mm");
}

static double effective_radius_mm(const DwDrive *drive)
{
    return (drive->rim_mm + drive->belt_thickness_mm) / 2;
}

double dw_drive_belt_creep(const DwInputs *inputs, const DwDrive *drive)
{
    if (drive->kind != DW_DRIVE_BELT)
        return NAN;
    // mN·m over mm are newtons.
    double force = dw_inputs_in(inputs, "drive.platter_torque", "mN.m") / effective_radius_mm(drive);
    return dw_drive_creep(force, stiffness_n(inputs));
}

static void add(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits,
                const char *method)
{
    if (isfinite(value))
        dw_reading_set_method(dw_sheet_add_reading(sheet, key, label, value, unit, digits), method);
}

static double pulleys(const DwBeltPath *path)
{
    return fmax(1, path->pulleys);
}

static void add_lengths(const DwDrive *drive, const DwBeltPath *path, double *stretch, DwSheet *sheet)
{
    double length = dw_drive_belt_length_mm(path);
    double wrap = dw_drive_pulley_wrap(path) * 180 / M_PI;
    *stretch = length / drive->belt_length_mm - 1;
    add(sheet, "drive.belt_stretch", "Stretch of the belt in hand", 100 * *stretch, "%", 2,
        "path round both rims over the free inner length");
    add(sheet, "drive.belt_wanted", "Belt wanted, inner length", length / (1 + stretch_middle), "mm", 1,
        "path round both rims less 3.5 %");
    add(sheet, "drive.belt_shortest", "Shortest belt (5 % stretch)", length / (1 + stretch_most), "mm", 1,
        "path round both rims less 5 %");
    add(sheet, "drive.belt_longest", "Longest belt (2 % stretch)", length / (1 + stretch_least), "mm", 1,
        "path round both rims less 2 %");
    add(sheet, "drive.belt_path", "Path round both rims", length, "mm", 2, "exact open-belt length");
    add(sheet, "drive.pulley_wrap", "Belt wrap on the pulley", wrap, "deg", 1, "exact geometry");
    add(sheet, "drive.rim_wrap", "Belt wrap on the rim", 360 - pulleys(path) * wrap, "deg", 1, "exact geometry");
    if (!isfinite(*stretch))
        dw_sheet_not_measured(sheet, "drive.belt_stretch", "needs drive.belt_length, the free inner length");
}

static void add_torque(const DwInputs *inputs, const DwDrive *drive, const DwBeltPath *path, double stretch,
                       DwSheet *sheet)
{
    double stiffness = stiffness_n(inputs), friction = dw_inputs_in(inputs, "drive.belt_friction", "");
    if (!isfinite(stiffness) || !(stretch > 0)) {
        dw_sheet_not_measured(sheet, "drive.belt_torque",
                              "needs a belt under stretch with drive.belt_modulus, drive.belt_width and "
                              "drive.belt_thickness");
        return;
    }
    double tension = stiffness * stretch, wrap = dw_drive_pulley_wrap(path), radius = effective_radius_mm(drive);
    double count = pulleys(path), torque = count * dw_drive_grip_n(tension, friction, wrap) * radius;
    add(sheet, "drive.belt_tension", "Belt tension at rest", tension, "N", 2, "modulus, section and stretch");
    add(sheet, "drive.belt_torque", "Torque the belt can carry", torque, "mN.m", 0, "capstan equation at the pulley");
    dw_sheet_remark(sheet, "With a coefficient of friction of 0.3 to 0.8 the belt carries %.0f to %.0f mN·m.",
                    count * dw_drive_grip_n(tension, 0.3, wrap) * radius,
                    count * dw_drive_grip_n(tension, 0.8, wrap) * radius);
    if (dw_inputs_in(inputs, "drive.platter_torque", "mN.m") > torque)
        dw_sheet_remark(sheet, "The platter asks for more than the belt can carry: it slips. Clean pulley and rim dry, "
                               "look for a stiff bearing, fit a belt of the right length.");
}

static void add_creep(const DwInputs *inputs, const DwDrive *drive, double stretch, DwSheet *sheet)
{
    double creep = 100 * dw_drive_belt_creep(inputs, drive);
    add(sheet, "drive.creep", "Creep of the belt", creep, "%", 3, "difference of tensions over modulus and section");
    if (isfinite(creep))
        dw_sheet_remark(sheet, "The creep of %.3f %% is counted in the speed and in the pulley wanted.", creep);
    else
        dw_sheet_not_measured(sheet, "drive.creep",
                              "needs drive.platter_torque, drive.belt_modulus, drive.belt_width and "
                              "drive.belt_thickness; a platter turns some tenths of a percent slower by it");
    double t = drive->belt_thickness_mm, thin = dw_drive_thinned_mm(t, stretch);
    double from = dw_drive_belt_path(drive).pulley_mm;
    double lost = 1 - dw_drive_ratio(from, drive->rim_mm, thin, 0) / dw_drive_ratio(from, drive->rim_mm, t, 0);
    if (isfinite(lost) && stretch > 0)
        dw_sheet_remark(sheet,
                        "Fitted, the belt thins from %.2f to %.2f mm, which takes another %.2f %% off the speed; "
                        "this is not counted.",
                        t, thin, 100 * lost);
}

// The first belt at the wheel between, its rubber taken for that of the second: N·m a radian; NAN where it is not
// described, infinite where no belt turns that wheel.
static double first_spring(const DwInputs *inputs, const DwDrive *drive)
{
    double t = dw_drive_first_belt_mm(drive), wheel = dw_drive_first_wheel_mm(drive);
    if (t == 0 && isnan(drive->first_length_mm))
        return INFINITY; // the motor's shaft rolls on it
    DwBeltPath path = {.rim_mm = wheel, .pulley_mm = drive->pulley_mm, .pulleys = drive->motors};
    double span = dw_drive_span_of_length_mm(path, drive->first_length_mm * (1 + stretch_middle));
    double stiffness =
        dw_inputs_in(inputs, "drive.belt_modulus", "MPa") * dw_inputs_in(inputs, "drive.first_belt_width", "mm") * t;
    return dw_drive_belt_spring(pulleys(&path) * stiffness, span, (wheel + t) / 2);
}

// Of a wheel between as a disc (kg·m²); 0 where its mass was not stated.
static double wheel_inertia(const DwInputs *inputs, const DwDrive *drive)
{
    double mass = dw_inputs_in(inputs, "drive.idler_mass", "kg");
    return isfinite(mass) ? dw_bearing_ring_inertia(mass, fmax(drive->idler_mm, drive->idler_driven_mm), 0) : 0;
}

// Hz; NAN where something was not stated.
static double torsion_of(const DwInputs *inputs, const DwDrive *drive, const DwBeltPath *path)
{
    double inertia = dw_platter_inertia(inputs);
    double spring = dw_drive_belt_spring(pulleys(path) * stiffness_n(inputs), dw_drive_free_span_mm(path),
                                         effective_radius_mm(drive));
    double first = dw_drive_has_between(drive) ? first_spring(inputs, drive) : INFINITY;
    if (isinf(first))
        return dw_drive_torsion_hz(spring, inertia);
    DwTwoBelts belts = {.first = first,
                        .second = spring,
                        .turns = 1 / dw_drive_second_ratio(drive),
                        .wheel = wheel_inertia(inputs, drive),
                        .platter = inertia};
    return dw_drive_torsion_of_two_hz(&belts);
}

static void add_torsion(const DwInputs *inputs, const DwDrive *drive, const DwBeltPath *path, DwSheet *sheet)
{
    double torsion = torsion_of(inputs, drive, path);
    bool between = dw_drive_has_between(drive);
    add(sheet, "drive.torsion", "Belt and platter resonance", torsion, "Hz", 2,
        between ? "the lower one of platter and wheel between on the free spans of their belts, motor held by the mains"
                : "two free spans a pulley on the platter's inertia, motor held by the mains");
    if (isfinite(torsion))
        dw_sheet_remark(sheet,
                        "Above %.1f Hz the platter smooths what motor and pulley do; near it, it makes it worse.",
                        torsion * M_SQRT2);
    else if (between && isinf(first_spring(inputs, drive)) == 0)
        dw_sheet_not_measured(sheet, "drive.torsion",
                              "needs the belts' modulus, the thickness, width and length of the first, the width of "
                              "the second, and platter.mass with platter.diameter or platter.inertia");
    else
        dw_sheet_not_measured(sheet, "drive.torsion",
                              "needs the belt's modulus and section, and platter.mass with "
                              "platter.diameter or platter.inertia");
    if (isfinite(torsion) && between && !dw_inputs_given(inputs, "drive.idler_mass") &&
        isfinite(first_spring(inputs, drive)))
        dw_sheet_remark(
            sheet,
            "The wheel between is counted without mass; a heavy one lowers the resonance. Give drive.idler_mass.");
}

// What the caliper and the customer said of the belt, as readings to be judged.
static void add_history(const DwInputs *inputs, const DwDrive *drive, DwSheet *sheet)
{
    double growth = drive->belt_length_mm / dw_inputs_in(inputs, "drive.belt_listed_length", "mm") - 1;
    add(sheet, "drive.belt_growth", "Belt longer than new by", 100 * growth, "%", 1, "free length over listed length");
    add(sheet, "drive.belt_age", "Belt age", dw_inputs_in(inputs, "drive.belt_age", "a"), "a", 1, "as told");
    add(sheet, "drive.belt_hours", "Belt hours", dw_inputs_in(inputs, "drive.belt_hours", "h"), "h", 0, "as told");
    double hump = dw_inputs_in(inputs, "drive.belt_hump", "mm");
    add(sheet, "drive.belt_hump", "Belt hump", hump, "mm", 2, "caliper, thickest less thinnest place");
    double dip = 100 * hump / (dw_drive_belt_path(drive).pulley_mm + drive->belt_thickness_mm);
    if (hump > 0 && isfinite(dip))
        dw_sheet_remark(sheet,
                        "A hump of %.2f mm changes the speed by %.2f %% while it is on the pulley, once a pass of "
                        "the belt.",
                        hump, dip);
}

// A worn-out belt is replaced; only a wrong stretch may also be a wrong belt.
static void raise_to_replace(DwSheet *sheet)
{
    static const struct {
        const char *key, *words;
    } rules[] = {
        {"drive.belt_growth", "the belt has grown"},
        {"drive.belt_age", "the belt is old"},
        {"drive.belt_hours", "the belt has run its hours"},
        {"drive.belt_hump", "the belt has a hump"},
    };
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
        DwReading *reading = dw_sheet_reading(sheet, rules[i].key);
        if (!reading || reading->verdict != DW_VERDICT_ATTENTION)
            continue;
        reading->verdict = DW_VERDICT_REPLACE;
        dw_sheet_remark(sheet, "Replace: %s.", rules[i].words);
    }
    DwReading *stretch = dw_sheet_reading(sheet, "drive.belt_stretch");
    if (stretch && stretch->verdict == DW_VERDICT_ATTENTION && stretch->value <= 0) {
        stretch->verdict = DW_VERDICT_REPLACE;
        dw_sheet_remark(sheet, "Replace: the belt is longer than its way round, it hangs slack.");
    }
}

static void remark_stretch(DwSheet *sheet)
{
    const DwReading *reading = dw_sheet_reading(sheet, "drive.belt_stretch");
    if (!reading || !reading->limit || reading->verdict == DW_VERDICT_GOOD)
        return;
    if (reading->value < reading->limit->low)
        dw_sheet_remark(sheet,
                        "The belt is slack (%.1f %%): too long for this deck, or worn out. Fit one of "
                        "drive.belt_wanted.",
                        reading->value);
    else if (reading->value > reading->limit->high)
        dw_sheet_remark(sheet,
                        "The belt is far too tight (%.1f %%): it loads both bearings. Fit one of "
                        "drive.belt_wanted.",
                        reading->value);
    else
        dw_sheet_remark(sheet, "The belt is tighter than a ground flat belt needs (%.1f %%).", reading->value);
}

static void note_missing(DwSheet *sheet, const DwBeltPath *path, bool between)
{
    const char *keys[3];
    size_t count = 0;
    if (isnan(path->rim_mm))
        keys[count++] = "drive.rim_diameter";
    if (isnan(path->pulley_mm))
        keys[count++] = between ? "drive.idler_diameter" : "drive.pulley_diameter";
    if (isnan(path->centre_mm))
        keys[count++] = "drive.centre_distance";
    if (count == 3)
        dw_sheet_not_measured(sheet, "drive.belt_wanted", "needs %s, %s and %s", keys[0], keys[1], keys[2]);
    else if (count == 2)
        dw_sheet_not_measured(sheet, "drive.belt_wanted", "needs %s and %s", keys[0], keys[1]);
    else
        dw_sheet_not_measured(sheet, "drive.belt_wanted", "needs %s", count ? keys[0] : "dimensions that fit");
}

// Says why no belt can run along PATH: its rims are nested, or the belt of several pulleys passes the rim by.
static DwStatus refuse_path(const DwBeltPath *path, DwMessage *message)
{
    double nested_mm = fabs(path->rim_mm - path->pulley_mm) / 2;
    if (path->centre_mm > nested_mm)
        return dw_fail(
            message, DW_BAD_INPUT,
            "A belt round %g pulleys of %g mm, %g mm from the centre, does not touch the rim of %g mm between "
            "them. Check drive.motors and drive.centre_distance; where it runs from pulley to pulley, leave "
            "out drive.centre_distance and give drive.belt_length.",
            path->pulleys, path->pulley_mm, path->centre_mm, path->rim_mm);
    return dw_fail(message, DW_BAD_INPUT,
                   "No belt can run there: with rims of %g and %g mm the centres must be more than %g mm apart. Check "
                   "drive.centre_distance.",
                   path->rim_mm, path->pulley_mm, nested_mm);
}

DwStatus dw_drive_belt_judge(const DwInputs *inputs, const DwDriveStep *step, DwSheet *sheet, DwMessage *message)
{
    const DwDrive *drive = &step->drive;
    DwBeltPath path = dw_drive_belt_path(drive);
    if (dw_drive_path_exists(&path)) {
        double stretch;
        add_lengths(drive, &path, &stretch, sheet);
        add_torque(inputs, drive, &path, stretch, sheet);
        add_creep(inputs, drive, stretch, sheet);
        add_torsion(inputs, drive, &path, sheet);
    } else if (isfinite(path.rim_mm + path.pulley_mm + path.centre_mm))
        return refuse_path(&path, message);
    else
        note_missing(sheet, &path, dw_drive_has_between(drive));
    add_history(inputs, drive, sheet);
    DwLimits rules;
    DwStatus status = dw_limits_read_file("belt.ini", &rules, message);
    if (status == DW_OK)
        dw_limits_give(&rules, sheet);
    dw_limits_clear(&rules);
    raise_to_replace(sheet);
    remark_stretch(sheet);
    dw_sheet_caution(sheet,
                     "Do not boil a belt, oil it or put rubber dressing on it. Wash it in mild soap and let it "
                     "dry, or replace it. Clean pulley and rim dry or with isopropyl alcohol, never on acrylic.");
    return status;
}
