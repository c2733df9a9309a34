// SPDX-License-Identifier: MIT
// `drive`: from the drive's dimensions to speeds, the pulley and belt that would
// be right, and the rate at which each part turns.
#include "base/text.h"
#include "measure/tone/pluck.h"
#include "physics/drive.h"
#include "physics/trace.h"
#include "procedure/drive/parts.h"
#include "procedure/input/drive_unused.h"
#include "procedure/input/recording.h"
#include "procedure/registry/procedures.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double other_mains(double mains_hz)
{
    return mains_hz < 55 ? 60 : 50;
}

// A motor that follows the mains, with or without slip, and no speed of its own stated.
static bool follows_mains(const DwDrive *drive)
{
    return isnan(drive->motor_rpm) && dw_drive_motor_is_known(drive);
}

// Adds a reading, or notes that it was not measured for REASON.
static DwReading *add_or_note(DwSheet *sheet, const char *key, const char *label, double value, const char *unit,
                              int digits, const char *reason)
{
    if (!isfinite(value)) {
        dw_sheet_not_measured(sheet, key, "%s", reason);
        return NULL;
    }
    return dw_sheet_add_reading(sheet, key, label, value, unit, digits);
}

// NULL when all is known. A part is cut by these figures: a motor of unknown kind, or
// an induction motor of unknown slip, gives none.
static const double most_stretch = 0.1; // of a fitted belt: data/belt.ini

static const char *what_speed_needs(const DwDrive *drive)
{
    if (isnan(drive->motor_rpm) && isnan(drive->motor_poles))
        return "needs the motor: drive.motor_speed by tachometer, or drive.motor_poles and drive.motor_kind";
    if (isnan(drive->motor_rpm) && dw_drive_is_dc(drive))
        return "needs drive.motor_speed: a motor on direct current does not follow the mains";
    if (isnan(drive->motor_rpm) && drive->motor == DW_MOTOR_UNSTATED)
        return "needs drive.motor_kind: a synchronous motor turns with the mains, an induction motor 2 to 7 % slower; "
               "or drive.motor_speed by tachometer";
    if (!dw_drive_motor_is_known(drive))
        return "needs drive.motor_slip, or drive.motor_speed by tachometer: the usual slip of 2 to 7 % would make the "
               "pulley up to 3 % wrong";
    if (isnan(drive->rim_mm))
        return "needs drive.rim_diameter";
    if (dw_drive_has_between(drive) && isnan(drive->idler_mm))
        return "needs drive.idler_diameter, where the wheel between drives the rim or carries the belt to it";
    if (drive->kind == DW_DRIVE_BELT && isnan(dw_drive_first_belt_mm(drive)) && dw_drive_has_between(drive))
        return "needs drive.first_belt_thickness: half of it counts on each side, several percent of speed";
    if (isnan(dw_drive_first_belt_mm(drive)) || isnan(dw_drive_second_ratio(drive)))
        return "needs drive.belt_thickness: half of it counts on each side, several percent of speed";
    return isnan(drive->pulley_mm) ? "needs drive.pulley_diameter" : NULL;
}

// Whether nothing but the pulley in hand is missing.
static bool can_size_pulley(const DwDrive *drive)
{
    DwDrive with = *drive;
    with.pulley_mm = 1;
    return !what_speed_needs(&with);
}

// The pulley that is right for STEP on mains of MAINS_HZ (mm); NAN where unknown.
static double pulley_wanted(const DwDriveStep *step, double mains_hz, double creep)
{
    DwDrive drive = step->drive;
    if (!can_size_pulley(&drive))
        return NAN;
    drive.mains_hz = mains_hz;
    double ratio = step->nominal_rpm / dw_drive_motor_rpm(&drive) / dw_drive_second_ratio(&drive);
    return dw_drive_pulley_for_ratio_mm(ratio, dw_drive_first_wheel_mm(&drive), dw_drive_first_belt_mm(&drive), creep);
}

static void read_speed(DwSheet *sheet, const DwDriveStep *step, double creep)
{
    const DwDrive *drive = &step->drive;
    const char *needs = what_speed_needs(drive);
    double speed = needs ? NAN : dw_drive_platter_rpm(drive) * (1 - creep);
    double error = 100 * (speed / step->nominal_rpm - 1);
    double doubt = 200 * hypot(dw_drive_ratio_error(drive), dw_drive_motor_error(drive));
    DwReading *reading = add_or_note(sheet, "drive.speed", "Platter speed by dimensions", speed, "rpm", 3, needs);
    if (reading) {
        reading->uncertainty = speed * doubt / 100;
        dw_reading_set_method(reading, "motor speed times effective diameters, half the belt's thickness on each side");
    }
    reading = add_or_note(sheet, "drive.error", "Speed error by dimensions", error, "%", 2, needs);
    if (reading) {
        reading->uncertainty = doubt;
        dw_reading_set_method(reading, "against the nominal speed of the step");
    }
    if (reading && fabs(error) > doubt)
        dw_sheet_remark(sheet, "By its dimensions this drive runs %.2f %% %s at %.4g rpm; a caliper explains ±%.2f %%.",
                        fabs(error), error > 0 ? "fast" : "slow", step->nominal_rpm, doubt);
}

// Says it where dimensions contradict each other, though each is possible.
static void remark_dimensions(DwSheet *sheet, const DwDrive *drive)
{
    double wheel = dw_drive_first_wheel_mm(drive), length = drive->first_length_mm;
    bool between = dw_drive_has_between(drive);
    if (drive->pulley_mm > wheel)
        dw_sheet_remark(sheet, "The pulley is larger than the wheel that it drives. Are %s and %s exchanged?",
                        "drive.pulley_diameter", between ? "drive.idler_driven_diameter" : "drive.rim_diameter");
    DwBeltPath path = {.rim_mm = wheel, .pulley_mm = drive->pulley_mm, .pulleys = drive->motors};
    double most_mm = length * (1 + most_stretch);
    if (between && isfinite(length + wheel + path.pulley_mm) && isnan(dw_drive_span_of_length_mm(path, most_mm)))
        dw_sheet_remark(sheet, "A belt of %g mm is too short to go round wheels of %g and %g mm. Check %s.", length,
                        wheel, path.pulley_mm,
                        drive->kind == DW_DRIVE_BELT ? "drive.first_belt_length" : "drive.belt_length");
}

// Says it when the pulley in hand is the one for the other mains.
static void remark_mains(DwSheet *sheet, const DwDriveStep *step, double other)
{
    double t = dw_drive_first_belt_mm(&step->drive), factor = (step->drive.pulley_mm + t) / (other + t);
    if (fabs(factor - 1) < 0.03)
        dw_sheet_remark(
            sheet,
            "This pulley fits %.0f Hz, not %.0f Hz: the deck runs %s. Fit the right pulley or supply; check "
            "the rated frequency on the plate first.",
            other_mains(step->drive.mains_hz), step->drive.mains_hz,
            step->drive.mains_hz < 55 ? "a sixth too slow" : "a fifth too fast");
}

static void read_pulley(DwSheet *sheet, const DwDriveStep *step, double creep)
{
    double other_hz = other_mains(step->drive.mains_hz);
    double wanted = pulley_wanted(step, step->drive.mains_hz, creep);
    DwReading *reading = add_or_note(sheet, "drive.pulley_wanted", "Pulley that would be right", wanted, "mm", 3,
                                     what_speed_needs(&step->drive));
    if (reading) {
        double ratio = step->nominal_rpm / dw_drive_motor_rpm(&step->drive);
        reading->uncertainty = 2 * dw_drive_pulley_error_mm(&step->drive, ratio);
        dw_reading_set_method(reading, "inverse of the speed's formula");
    }
    if (!follows_mains(&step->drive) || !reading)
        return;
    double other = pulley_wanted(step, other_hz, creep);
    char label[60];
    snprintf(label, sizeof label, "Pulley for %.0f Hz mains", other_hz);
    dw_sheet_add_reading(sheet, "drive.pulley_wanted_other", label, other, "mm", 3);
    remark_mains(sheet, step, other);
}

static void add_steps(DwSheet *sheet, const DwDriveStep *steps, size_t count, double creep)
{
    static const char *const columns[] = {"nominal|Nominal|rpm|2",
                                          "pulley|Pulley|mm|3",
                                          "speed|Speed|rpm|3",
                                          "error|Error|%|2",
                                          "wanted|Pulley wanted|mm|3",
                                          "wanted_other|Pulley for the other mains|mm|3",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "drive.steps", "Speed steps", columns);
    for (size_t i = 0; i < count; i++) {
        const DwDrive *drive = &steps[i].drive;
        double speed = what_speed_needs(drive) ? NAN : dw_drive_platter_rpm(drive) * (1 - creep);
        bool has_other = follows_mains(drive);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, steps[i].nominal_rpm);
        dw_table_set_number(table, row, 1, drive->pulley_mm);
        dw_table_set_number(table, row, 2, speed);
        dw_table_set_number(table, row, 3, 100 * (speed / steps[i].nominal_rpm - 1));
        dw_table_set_number(table, row, 4, pulley_wanted(&steps[i], drive->mains_hz, creep));
        dw_table_set_number(table, row, 5,
                            has_other ? pulley_wanted(&steps[i], other_mains(drive->mains_hz), creep) : NAN);
    }
}

static const char *what_comes(const DwRate *rate)
{
    if (rate->what || rate->turn)
        return rate->what ? rate->what : rate->turn;
    return rate->part == DW_PART_MAINS   ? "a cycle"
           : rate->part == DW_PART_POLE  ? "a pole"
           : rate->part == DW_PART_TACHO ? "a line"
                                         : "a turn";
}

// The rates stand for a deck that runs at its nominal speeds: what a line of a
// recording is compared with once the deck is right.
static void add_rates(DwSheet *sheet, const DwDriveStep *steps, size_t count)
{
    static const char *const columns[] = {"part|Part||0", "speed|At|rpm|2",     "rate|Rate|Hz|4",
                                          "doubt|±|Hz|4", "what|What comes||0", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "drive.rates", "What turns how often", columns);
    for (size_t i = 0; i < count; i++) {
        DwRate rates[DW_RATES_MOST];
        size_t rate_count = dw_drive_rates(&steps[i].drive, steps[i].nominal_rpm, rates);
        for (size_t r = 0; r < rate_count; r++) {
            size_t row = dw_table_add_row(table);
            dw_table_set_word(table, row, 0, dw_part_word(rates[r].part));
            dw_table_set_number(table, row, 1, steps[i].nominal_rpm);
            dw_table_set_number(table, row, 2, rates[r].rate_hz);
            dw_table_set_number(table, row, 3, 2 * rates[r].uncertainty_hz);
            dw_table_set_word(table, row, 4, what_comes(&rates[r]));
        }
    }
}

static void remark_belt_rate(DwSheet *sheet, const DwDriveStep *step)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(&step->drive, step->nominal_rpm, rates);
    for (size_t i = 0; i < count; i++) {
        if (rates[i].part != DW_PART_BELT || rates[i].turn)
            continue;
        double seconds = dw_trace_seconds(rates[0].rate_hz, rates[i].rate_hz);
        if (isinf(seconds))
            dw_sheet_remark(sheet, "Belt and platter turn alike: no recording tells them apart.");
        else
            dw_sheet_remark(sheet,
                            "Belt (%.4f Hz) and platter (%.4f Hz) are told apart only by a recording longer than "
                            "%.0f s.",
                            rates[i].rate_hz, rates[0].rate_hz, ceil(seconds));
        return;
    }
    dw_sheet_not_measured(sheet, "drive.rates",
                          "the belt's rate needs drive.rim_diameter with drive.pulley_diameter and "
                          "drive.centre_distance, or with drive.belt_length");
}

static void remark_rates(DwSheet *sheet, const DwDriveStep *step)
{
    if (step->drive.kind == DW_DRIVE_BELT)
        remark_belt_rate(sheet, step);
    if (step->drive.motor == DW_MOTOR_SYNCHRONOUS && follows_mains(&step->drive))
        dw_sheet_remark(sheet, "The motor is locked to the mains: its poles pass at twice the mains frequency, and its "
                               "shaft keeps its rate at every pulley step.");
    if (step->drive.motor == DW_MOTOR_INDUCTION)
        dw_sheet_remark(sheet,
                        "The motor slips behind the mains, more when it is cold or dragged: oil its bearings and "
                        "warm it for ten minutes before its speed is measured and a pulley is chosen.");
}

static void add_idler_remarks(DwSheet *sheet, bool stepped)
{
    dw_sheet_remark(sheet, stepped
                               ? "A stepped idler sets the speed with both its diameters: its tread wears and slows "
                                 "the deck."
                               : "The idler's diameter does not set the speed; only shaft and rim do. A stepped "
                                 "idler is the exception: give drive.idler_driven_diameter as well.");
    dw_sheet_caution(sheet, "Keep every trace of oil off the motor shaft, the idler and the rim.");
}

static void push(void *pluck, const float *interleaved, size_t frames)
{
    dw_pluck_push(pluck, interleaved, frames);
}

// The rate of the plucked belt in the recording at PATH.
static DwStatus hear_pluck(const DwRequest *request, const char *path, DwPluckReading *reading, DwSheet *sheet,
                           DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, request->inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwPluck *pluck = dw_pluck_new(recording.rate_hz, recording.channels);
    status = dw_recording_play(&recording, push, pluck, message);
    if (status == DW_OK)
        dw_recording_describe(&recording, path, sheet);
    if (status == DW_OK && !dw_pluck_read(pluck, reading))
        status = dw_fail(
            message, DW_BAD_INPUT,
            "%s: no plucked belt is heard: nothing begins, rings and dies away; hum and steady tones do not count. "
            "Hold the microphone near the free span and pluck it five times, a second apart, in a quiet room.",
            path);
    dw_pluck_free(pluck);
    dw_recording_close(&recording);
    return status;
}

static DwStatus read_worn(const DwRequest *request, const DwDrive *drive, DwSheet *sheet, DwMessage *message)
{
    DwPluckReading reading = {NAN, NAN, 0};
    DwStatus status = DW_OK;
    if (request->recording_count && drive->kind != DW_DRIVE_BELT)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: a recording here is of a plucked belt, and this drive has none. Leave it out, or give "
                       "drive.kind=belt.",
                       request->recordings[0]);
    if (request->recording_count)
        status = hear_pluck(request, request->recordings[0], &reading, sheet, message);
    if (status == DW_OK)
        dw_drive_worn_read(request->inputs, drive, reading.hz, reading.off_hz, sheet);
    return status;
}

// A thread's pulls tell a torque whatever drives the platter, and only a belt is plucked: whether no more than that is
// stated.
static bool is_worn_alone(const DwRequest *request)
{
    const DwInputs *inputs = request->inputs;
    bool pulls = dw_inputs_given(inputs, "drive.stall_pull") || dw_inputs_given(inputs, "drive.drag_pull") ||
                 dw_inputs_given(inputs, "drive.brake_pull");
    return (pulls || request->recording_count) && !dw_drive_inputs_given(inputs) &&
           !dw_drive_inputs_kind_is_plain(inputs);
}

static DwStatus run_worn_alone(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_BELT);
    dw_sheet_not_measured(sheet, "drive.speed", "needs drive.kind and the drive's dimensions");
    dw_sheet_caution(sheet, "Keep fingers, hair and sleeves from what turns.");
    return read_worn(request, &drive, sheet, message);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    if (is_worn_alone(request))
        return run_worn_alone(request, sheet, message);
    DwDriveStep steps[DW_DRIVE_STEPS_MOST];
    size_t count;
    DwStatus status = dw_drive_inputs_read(request->inputs, steps, &count, message);
    if (status != DW_OK)
        return status;
    const DwDriveStep *step =
        &steps[dw_drive_inputs_step(steps, count, dw_inputs_in(request->inputs, "deck.speed", "rpm"))];
    if (step->drive.kind == DW_DRIVE_DIRECT)
        dw_sheet_not_measured(sheet, "drive.speed",
                              "a direct drive's speed is set by its electronics, not by dimensions");
    else {
        double creep = dw_drive_belt_creep(request->inputs, &step->drive);
        creep = isnan(creep) ? 0 : creep;
        read_speed(sheet, step, creep);
        remark_dimensions(sheet, &step->drive);
        read_pulley(sheet, step, creep);
        if (count > 1)
            add_steps(sheet, steps, count, creep);
    }
    if (step->drive.kind == DW_DRIVE_BELT)
        status = dw_drive_belt_judge(request->inputs, step, sheet, message);
    else if (step->drive.kind == DW_DRIVE_IDLER)
        add_idler_remarks(sheet, isfinite(step->drive.idler_driven_mm));
    if (status == DW_OK)
        status = read_worn(request, &step->drive, sheet, message);
    add_rates(sheet, steps, count);
    remark_rates(sheet, step);
    dw_drive_unused_remark(request->inputs, step->drive.kind, sheet);
    dw_sheet_caution(sheet, "Pull the mains plug before the platter is lifted and hands go near motor and pulley.");
    return status;
}

static const char *const quantities[] = {
    "deck.speed",
    "deck.mains",
    "deck.class",
    "deck.operation",
    "deck.suspended",
    "drive.kind",
    "drive.motor_kind",
    "drive.motor_poles",
    "drive.motor_slip",
    "drive.motor_speed",
    "drive.pulley_diameter",
    "drive.rim_diameter",
    "drive.centre_distance",
    "drive.belt_length",
    "drive.belt_thickness",
    "drive.belt_width",
    "drive.belt_listed_length",
    "drive.belt_age",
    "drive.belt_hours",
    "drive.belt_hump",
    "drive.belt_modulus",
    "drive.belt_friction",
    "drive.platter_torque",
    "platter.mass",
    "platter.diameter",
    "platter.inner_diameter",
    "platter.inertia",
    "drive.idler_diameter",
    "drive.idler_driven_diameter",
    "drive.first_belt_length",
    "drive.first_belt_thickness",
    "drive.first_belt_width",
    "drive.idler_mass",
    "drive.poles",
    "drive.slots",
    "drive.tacho_lines",
    "drive.motors",
    "drive.belt_mass",
    "drive.belt_pluck",
    "drive.belt_push",
    "drive.belt_give",
    "drive.stall_pull",
    "drive.drag_pull",
    "drive.brake_pull",
    "drive.thread_radius",
    "drive.idler_hardness",
    NULL,
};

const DwProcedure dw_procedure_drive = {
    .name = "drive",
    .title = "The drive by its dimensions",
    .summary = "Work out speed, pulley and belt from dimensions, what turns how often, and worn parts by number.",
    .quantities = quantities,
    .recordings_most = 1,
    .run = run,
};
