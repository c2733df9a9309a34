// SPDX-License-Identifier: MIT
// What turns how fast: the rate of each part of a described drive, with how
// well the description fixes it.
#ifndef DW_PHYSICS_RATES_H
#define DW_PHYSICS_RATES_H

#include <stddef.h>

typedef enum {
    DW_PART_PLATTER,
    DW_PART_RECORD, // turns with the platter: only reseating tells them apart
    DW_PART_BELT,   // once per pass of the belt
    DW_PART_MOTOR,  // its shaft and pulley
    DW_PART_IDLER,
    DW_PART_POLE,  // magnet poles passing: torque ripple and cogging
    DW_PART_TACHO, // lines of a tacho passing
    DW_PART_MAINS, // the mains itself; its magnetic pull comes at twice this
    DW_PART_UNKNOWN,
    DW_PART_COUNT
} DwPart;

// "platter", "record", "belt" … as in every table.
const char *dw_part_word(DwPart part);

typedef enum { DW_DRIVE_BELT, DW_DRIVE_IDLER, DW_DRIVE_DIRECT } DwDriveKind;

// How a motor with poles keeps to the mains.
typedef enum {
    DW_MOTOR_UNSTATED,
    DW_MOTOR_SYNCHRONOUS, // turns with the mains
    DW_MOTOR_INDUCTION,   // a few percent behind it: its slip
    DW_MOTOR_DC,          // by its supply alone
    DW_MOTOR_SERVO,       // on direct current, by a control that hears its speed
    DW_MOTOR_QUARTZ,      // likewise, locked to a crystal
} DwMotorKind;

// A drive as described; NAN where something was not stated.
typedef struct {
    DwDriveKind kind;
    double mains_hz;
    double motor_poles;
    double motor_rpm; // stated, by plate or tachometer
    double pulley_mm;
    double rim_mm;
    double centre_mm;
    double belt_length_mm; // inner, free
    double belt_thickness_mm;
    double idler_mm;
    double direct_poles;
    DwMotorKind motor;
    double slip;            // stated, of an induction motor, as a fraction
    double slots;           // of a direct drive's stator, or of a motor on direct current: its commutator bars
    double tacho_lines;     // a turn of the motor
    double motors;          // on one belt, alike, round the rim at one distance
    double idler_driven_mm; // where the motor drives a stepped idler or a wheel between; NAN: a plain idler or none
    // A belt from the motor to that wheel; NAN where there is none. `idler_mm` is where the wheel drives the rim, or
    // carries the belt to it.
    double first_length_mm; // inner, free
    double first_thickness_mm;
} DwDrive;

enum { DW_RATES_MOST = 40 };

// Something that comes at a steady rate. A part has one row for its turn, and more for what
// it does several times a turn.
typedef struct {
    DwPart part;
    double rate_hz;
    double uncertainty_hz; // standard uncertainty, from the tools dimensions are taken with
    const char *what;      // "cogging", "commutation" …; NULL: a turn
    double order;          // of the part's first row; 0 counts as 1
    unsigned harmonics;    // that it may show; 0: as many as the part usually does
    double weight;         // how readily, against a part's own turn; 0 counts as 1
    int is_heard;          // its turn was found by a row of lines: what comes near it blends with none of them
    double follows;        // by how much it moves with the part's own turn; 0: it is known apart from that
    const char *turn;      // "first belt", "another motor": a turn of its own beside the part's first; NULL: that
} DwRate;

// The band in which a speed control hunts (Hz).
// Common practice, 0.2 to 2 Hz; up to 8 Hz a loop set too fast (no source).
extern const double dw_drive_hunting_low_hz, dw_drive_hunting_high_hz;
// Whether the motor runs on direct current, whatever controls it.
int dw_drive_is_dc(const DwDrive *drive);
// Whether a control holds the speed of this drive: a direct drive, or a motor on direct current.
int dw_drive_is_controlled(const DwDrive *drive);

// A drive with nothing stated.
void dw_drive_init(DwDrive *drive, DwDriveKind kind);

// The motor's speed (rpm): stated, else by poles and mains: with the mains, or behind
// it by the slip (stated or usual) of an induction motor. NAN where neither tells.
double dw_drive_motor_rpm(const DwDrive *drive);
// Whether that speed is known well enough to size a part by: stated, of a synchronous
// motor, or of an induction motor whose slip was stated.
int dw_drive_motor_is_known(const DwDrive *drive);
// Relative standard uncertainty of the motor's speed on mains of the stated frequency.
double dw_drive_motor_error(const DwDrive *drive);
// Whether a wheel of two diameters stands between motor and platter: a stepped idler, or an intermediate pulley.
int dw_drive_has_between(const DwDrive *drive);
// What the motor's pulley drives: the diameter (mm) of rim or wheel between, and the thickness of the belt that runs
// there (mm): 0 where rubber rolls on it, NAN for a belt of unstated thickness.
double dw_drive_first_wheel_mm(const DwDrive *drive);
double dw_drive_first_belt_mm(const DwDrive *drive);
// Platter over the wheel that the motor drives; 1 where that is the platter.
double dw_drive_second_ratio(const DwDrive *drive);
// The platter's speed by dimensions (rpm), NAN where they do not fix it.
double dw_drive_platter_rpm(const DwDrive *drive);
// Relative standard uncertainty of platter over motor speed: 0.02 mm on the pulley,
// 0.05 mm on the belt's thickness, 0.1 mm on the rim.
double dw_drive_ratio_error(const DwDrive *drive);
// Standard uncertainty (mm) of the pulley that gives RATIO, by the same tools and the motor's.
double dw_drive_pulley_error_mm(const DwDrive *drive, double ratio);
// The length of the fitted belt's middle layer (mm), NAN where unknown: along
// its path, else from the free belt at the middle of the usual 2 to 5 % stretch.
double dw_drive_fitted_belt_mm(const DwDrive *drive);

// The rates at PLATTER_RPM (measured, or from dimensions).
//
// Given: a DRIVE as far as it is described. Returned: in RATES up to DW_RATES_MOST
// rows in the order of DwPart, their number as the value; a part whose rate does
// not follow from what was stated is left out.
// Direct drives: cogging at the least common multiple of poles and slots and its divisors,
// torque ripple at twice the electrical rate (the poles' own), six-step commutation at three
// times that. Motors on direct current with two brushes: ripple at the bars, twice for an odd
// number. Induction motors: their slip beat, poles × (field − shaft).
// Accuracy: `uncertainty_hz` takes 0.02 mm on a pulley, 0.1 mm on rim and idler,
// 0.05 % on the mains, 0.5 % on a stated motor speed, a slip of 4.5 ± 2.5 % (two standard
// uncertainties; shaded-pole motors, common practice, no source) where none was stated, 0.5 mm on the centre distance,
// 1 % on a belt whose path is not known, and 0.2 % of creep wherever rubber drives.
// Reference: permanent-magnet machines, any textbook (the least common multiple from memory).
size_t dw_drive_rates(const DwDrive *drive, double platter_rpm, DwRate rates[DW_RATES_MOST]);

#endif
