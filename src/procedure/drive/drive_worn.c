// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "physics/belt_path.h"
#include "physics/belt_tension.h"

#include <math.h>

// Half-widths (95 %) of what a technician reads (common practice, no source).
static const double PLUCK_SHARE = 0.02;  // of a frequency read off a tuner or a telephone
static const double MASS_OFF_G = 0.02;   // stylus scale
static const double SPAN_OFF_MM = 1;     // by caliper from the dimensions
static const double PUSH_SHARE = 0.03;   // spring or stylus scale, held by hand
static const double GIVE_OFF_MM = 0.25;  // against a rule
static const double RADIUS_OFF_MM = 0.5; // where the thread runs
static const double HARD_OFF = 3;        // Shore A, by hand: ISO 868 (1985 on) asks for a stand; value from memory
static const double HARD_LEAST = 40, HARD_MOST = 60; // Shore A
static const double RESERVE_LEAST = 3;               // stall over drag
// Of the slow bare platter's drag: what one at speed under the stylus asks for, with what the stylus adds at most.
static const double DRAG_LEAST = 0.7, DRAG_MOST = 4, STYLUS_MNM = 3;

static DwReading *add(DwSheet *sheet, const char *key, const char *label, double value, double off, const char *unit,
                      int digits, const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    reading->uncertainty = off;
    dw_reading_set_method(reading, method);
    return reading;
}

static double value(const DwInputs *inputs, const char *key, const char *unit)
{
    return dw_inputs_in(inputs, key, unit);
}

// The belt's way round, where the dimensions tell it.
static bool find_path(const DwDrive *drive, double *span_mm, double *length_mm)
{
    DwBeltPath path = dw_drive_belt_path(drive);
    if (drive->kind != DW_DRIVE_BELT || !dw_drive_path_exists(&path))
        return false;
    *span_mm = dw_drive_free_span_mm(&path);
    *length_mm = dw_drive_belt_length_mm(&path);
    return true;
}

static void read_pluck(const DwInputs *inputs, const DwDrive *drive, double hz, double off_hz, DwSheet *sheet)
{
    double span, length, mass = value(inputs, "drive.belt_mass", "g");
    bool heard = isfinite(hz);
    if (!heard) {
        hz = value(inputs, "drive.belt_pluck", "Hz");
        off_hz = PLUCK_SHARE * hz;
    }
    if (heard)
        add(sheet, "drive.pluck", "The plucked belt rings at", hz, off_hz, "Hz", 1,
            "the rate at which the recording repeats itself after each pluck");
    if (isnan(hz) || drive->kind != DW_DRIVE_BELT) // what is not used is remarked upon elsewhere
        return;
    if (!find_path(drive, &span, &length) || isnan(mass)) {
        dw_sheet_not_measured(sheet, "drive.pluck_tension",
                              "needs drive.belt_mass, the whole belt on a stylus scale, and pulley, rim and centre "
                              "distance: the span that rings is reckoned from them.");
        return;
    }
    double tension = dw_belt_tension_by_pluck(hz, span, mass, length);
    double share = hypot(2 * hypot(off_hz / hz, SPAN_OFF_MM / span), MASS_OFF_G / mass);
    add(sheet, "drive.pluck_tension", "Belt tension by its plucked tone", tension, share * tension, "N", 2,
        "string frequency of the free span, belt's mass over its fitted length");
    dw_sheet_remark(sheet,
                    "Pluck the free span of %.0f mm in its middle with the platter held still, and damp the other span "
                    "with a finger. Both spans alike, else the pulley turns.",
                    span);
}

static void read_push(const DwInputs *inputs, const DwDrive *drive, DwSheet *sheet)
{
    double span, length, push = value(inputs, "drive.belt_push", "N"), give = value(inputs, "drive.belt_give", "mm");
    if ((isnan(push) && isnan(give)) || drive->kind != DW_DRIVE_BELT)
        return;
    if (isnan(push) || isnan(give) || !(give > 0) || !find_path(drive, &span, &length)) {
        dw_sheet_not_measured(sheet, "drive.push_tension",
                              "needs drive.belt_push and drive.belt_give, what the middle of the free span gives way "
                              "by, and pulley, rim and centre distance.");
        return;
    }
    double stiffness = value(inputs, "drive.belt_modulus", "MPa") * value(inputs, "drive.belt_width", "mm") *
                       value(inputs, "drive.belt_thickness", "mm");
    double tension = dw_belt_tension_by_push(push, give, span, stiffness);
    double share = hypot(hypot(PUSH_SHARE, GIVE_OFF_MM / give), SPAN_OFF_MM / span);
    DwReading *reading = add(sheet, "drive.push_tension", "Belt tension by its give", tension, fabs(share * tension),
                             "N", 2, "push in the middle of the free span against what it gives way by");
    if (isnan(stiffness) && give > 0.05 * span) {
        reading->flags |= DW_FLAG_APPROXIMATE;
        dw_sheet_remark(sheet, "So far a push stretches the belt as well and reads high: push less, or give the belt's "
                               "modulus, width and thickness.");
    }
}

// A pull on a thread that runs off the platter's rim.
static double torque_mnm(const DwInputs *inputs, const char *key, double *off)
{
    double radius = value(inputs, "drive.thread_radius", "mm"), pull = value(inputs, key, "mN");
    if (isnan(radius))
        radius = value(inputs, "platter.diameter", "mm") / 2;
    double torque = pull * radius / 1000;
    *off = torque * hypot(PUSH_SHARE, RADIUS_OFF_MM / radius);
    return torque;
}

// A platter at speed under the stylus asks for more than a slow bare one, but not for many times as much: whether the
// two torques may be of one deck.
static void compare_torques(double drag, double drag_off, double at_speed, DwSheet *sheet)
{
    if (isnan(at_speed) ||
        (at_speed > DRAG_LEAST * (drag - drag_off) && at_speed < DRAG_MOST * (drag + drag_off) + STYLUS_MNM))
        return;
    dw_sheet_remark(sheet,
                    "The thread says that the platter drags with %.2f mN·m, drive.platter_torque says %.2f mN·m: they "
                    "contradict each other, for at speed and under the stylus it is somewhat more. Measure both again.",
                    drag, at_speed);
}

static void remark_reserve(const DwReading *reserve, DwSheet *sheet)
{
    double most = reserve->value + reserve->uncertainty;
    if (most < 1)
        dw_sheet_remark(sheet,
                        "A pull that stops the platter and is less than what it drags with is of no motor in order: "
                        "were drive.stall_pull and drive.drag_pull swapped? Else read both again, then look at "
                        "bearing, belt or idler, and motor.");
    else if (most < RESERVE_LEAST)
        dw_sheet_remark(sheet, "The motor has little in hand: clean and oil the bearing, clean belt or idler and what "
                               "they run on, then read both pulls again. If it stays so the motor is weak, or its "
                               "supply.");
}

// What a brake that ought to stand clear rubs with: the platter's drag as it is, less that with the pad held off.
static void read_brake(const DwInputs *inputs, double drag, double drag_off, DwSheet *sheet)
{
    double free_off, unbraked = torque_mnm(inputs, "drive.brake_pull", &free_off);
    if (!dw_inputs_given(inputs, "drive.brake_pull"))
        return;
    if (isnan(drag) || isnan(unbraked)) {
        dw_sheet_not_measured(sheet, "drive.brake_drag",
                              "needs drive.drag_pull, the pull with the brake as it stands, on the same thread.");
        return;
    }
    double rubs = drag - unbraked, off = hypot(drag_off, free_off);
    if (rubs < -off) {
        dw_sheet_not_measured(sheet, "drive.brake_drag",
                              "with the brake held off the platter drags more than with it, which no brake does: were "
                              "drive.brake_pull and drive.drag_pull swapped? Else read both again.");
        return;
    }
    add(sheet, "drive.brake_drag", "Drag of the brake", rubs, off, "mN.m", 2,
        "drag as it stands less that with the brake's pad held off");
    if (rubs > off)
        dw_sheet_remark(
            sheet,
            "The brake rubs with %.2f mN·m, %.0f %% of the drag, while it ought to stand clear: free its lever "
            "and spring, set it clear of the platter, or renew the pad.",
            rubs, 100 * rubs / drag);
    else
        dw_sheet_remark(sheet, "The brake stands clear, as far as the two pulls tell: within %.2f mN·m.", off);
}

static void read_thread(const DwInputs *inputs, DwSheet *sheet)
{
    double stall_off, drag_off, stall = torque_mnm(inputs, "drive.stall_pull", &stall_off),
                                drag = torque_mnm(inputs, "drive.drag_pull", &drag_off);
    bool pulls = dw_inputs_given(inputs, "drive.stall_pull") || dw_inputs_given(inputs, "drive.drag_pull");
    if (pulls && isnan(stall) && isnan(drag)) {
        dw_sheet_not_measured(sheet, "drive.stall_torque",
                              "needs drive.thread_radius, or platter.diameter where the thread runs round the rim.");
        return;
    }
    if (isfinite(stall))
        add(sheet, "drive.stall_torque", "Stall torque", stall, stall_off, "mN.m", 1,
            "pull on a thread at which the running platter stops, times its radius");
    if (isfinite(drag))
        add(sheet, "drive.drag_torque", "Drag", drag, drag_off, "mN.m", 2,
            "pull on a thread that keeps the undriven platter turning slowly, times its radius");
    read_brake(inputs, drag, drag_off, sheet);
    if (isfinite(drag))
        compare_torques(drag, drag_off, value(inputs, "drive.platter_torque", "mN.m"), sheet);
    if (!isfinite(stall) || !isfinite(drag) || !(drag > 0))
        return;
    double reserve = stall / drag;
    DwReading *reading = add(sheet, "drive.torque_reserve", "Stall torque over drag", reserve,
                             reserve * hypot(stall_off / stall, drag_off / drag), "", 1, "one over the other");
    dw_reading_set_limit(reading, (DwRange){RESERVE_LEAST, NAN}, (DwRange){NAN, NAN},
                         "common practice, no source: a stylus and a record brush add as much again");
    remark_reserve(reading, sheet);
}

static void read_idler(const DwInputs *inputs, const DwDrive *drive, DwSheet *sheet)
{
    double hard = value(inputs, "drive.idler_hardness", "");
    if (isnan(hard) || drive->kind != DW_DRIVE_IDLER)
        return;
    DwReading *reading = add(sheet, "drive.idler_hardness", "Idler's hardness", hard, HARD_OFF, "", 0,
                             "Shore A, durometer on the tread, mean of several places");
    dw_reading_set_limit(reading, (DwRange){HARD_LEAST, HARD_MOST}, (DwRange){NAN, NAN},
                         "common practice, no source, from memory: Shore A 40 to 60");
    if (hard + HARD_OFF < HARD_LEAST)
        dw_sheet_remark(sheet,
                        "The idler's rubber is far too soft: swollen with oil or gone to tar, it flattens where it "
                        "rests. Was it read on the Shore A scale? Else have it re-rubbered or replace it.");
    if (hard - HARD_OFF > HARD_MOST)
        dw_sheet_remark(sheet, "The idler's rubber has gone hard: it slips and lets the motor be heard. Have it "
                               "re-rubbered or replace it; no solvent softens it for long.");
}

// Whether the tension by the plucked tone and that by the give cannot both be right; says so.
static bool contradict(const DwReading *plucked, const DwReading *pushed, DwSheet *sheet)
{
    if (fabs(plucked->value - pushed->value) <= hypot(plucked->uncertainty, pushed->uncertainty))
        return false;
    dw_sheet_remark(sheet,
                    "Its plucked tone says that the belt pulls with %.2f N, its give says %.2f N: they contradict each "
                    "other, neither is to be used. Weigh the whole belt, pluck with the other span damped, push at "
                    "right angles in the middle of the span, and measure both again.",
                    plucked->value, pushed->value);
    return true;
}

void dw_drive_worn_read(const DwInputs *inputs, const DwDrive *drive, double pluck_hz, double pluck_off_hz,
                        DwSheet *sheet)
{
    read_pluck(inputs, drive, pluck_hz, pluck_off_hz, sheet);
    read_push(inputs, drive, sheet);
    read_thread(inputs, sheet);
    read_idler(inputs, drive, sheet);
    const DwReading *reckoned = dw_sheet_reading(sheet, "drive.belt_tension"),
                    *found = dw_sheet_reading(sheet, "drive.pluck_tension"),
                    *given = dw_sheet_reading(sheet, "drive.push_tension");
    if (found && given && contradict(found, given, sheet))
        return; // neither is known to be right
    found = found ? found : given;
    if (reckoned && found && fabs(found->value - reckoned->value) > found->uncertainty + 0.3 * reckoned->value)
        dw_sheet_remark(
            sheet, "By its stretch and modulus the belt should pull with %.2f N, as fitted it pulls with %.2f N: %s",
            reckoned->value, found->value,
            found->value < reckoned->value ? "it has lost its spring, or the other span was slack when it was measured."
                                           : "it has gone stiff, or the motor is set too far away.");
}
