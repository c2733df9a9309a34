// SPDX-License-Identifier: MIT
#include "physics/rates.h"

#include "physics/drive.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

// Standard uncertainties of what a technician states (common practice).
static const double pulley_error_mm = 0.02, rim_error_mm = 0.1, centre_error_mm = 0.5, thickness_error_mm = 0.05;
static const double mains_error = 0.001;                     // relative; mains frequency within a day
static const double motor_error = 0.005;                     // relative; a plate or tachometer reading
static const double platter_error = 0.0001;                  // relative; the recorder's clock
static const double loose_belt_error = 0.01;                 // relative; stretch of 2 to 5 %, unknown
static const double usual_belt_stretch = 0.035;              // the middle of 2 to 5 %
static const double usual_slip = 0.045, slip_error = 0.0125; // of 2 to 7 %, common practice
static const double stated_slip_error = 0.005;

const char *dw_part_word(DwPart part)
{
    static const char *const words[DW_PART_COUNT] = {"platter", "record", "belt",  "motor",
                                                     "idler",   "pole",   "mains", "unknown"};
    assert(part < DW_PART_COUNT);
    return words[part];
}

void dw_drive_init(DwDrive *drive, DwDriveKind kind)
{
    *drive = (DwDrive){kind, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, DW_MOTOR_UNSTATED, NAN};
}

// For lengths and diameters an unstated thickness may count as none; an idler has none.
static double thickness(const DwDrive *drive)
{
    return drive->kind == DW_DRIVE_BELT && !isnan(drive->belt_thickness_mm) ? drive->belt_thickness_mm : 0;
}

double dw_drive_motor_rpm(const DwDrive *drive)
{
    if (!isnan(drive->motor_rpm))
        return drive->motor_rpm;
    double synchronous = dw_drive_synchronous_rpm(drive->mains_hz, drive->motor_poles);
    switch (drive->motor) {
    case DW_MOTOR_UNSTATED:
    case DW_MOTOR_SYNCHRONOUS:
        return synchronous;
    case DW_MOTOR_INDUCTION:
        return synchronous * (1 - (isnan(drive->slip) ? usual_slip : drive->slip));
    case DW_MOTOR_DC:
        return NAN;
    }
    return NAN;
}

int dw_drive_motor_is_known(const DwDrive *drive)
{
    return isfinite(drive->motor_rpm) ||
           (isfinite(dw_drive_motor_rpm(drive)) &&
            (drive->motor == DW_MOTOR_SYNCHRONOUS || (drive->motor == DW_MOTOR_INDUCTION && isfinite(drive->slip))));
}

// Platter over motor speed; NAN for a belt of unstated thickness, which would be
// several percent out.
static double ratio(const DwDrive *drive)
{
    double t = drive->kind == DW_DRIVE_BELT ? drive->belt_thickness_mm : 0;
    return dw_drive_ratio(drive->pulley_mm, drive->rim_mm, t, 0);
}

double dw_drive_platter_rpm(const DwDrive *drive)
{
    if (drive->kind == DW_DRIVE_DIRECT)
        return NAN;
    return dw_drive_motor_rpm(drive) * ratio(drive);
}

double dw_drive_ratio_error(const DwDrive *drive)
{
    double t = thickness(drive), pulley = drive->pulley_mm + t, rim = drive->rim_mm + t;
    // The belt's thickness lies on both circles.
    double of_belt = t > 0 ? thickness_error_mm * (1 / pulley - 1 / rim) : 0;
    return hypot(hypot(pulley_error_mm / pulley, of_belt), rim_error_mm / rim);
}

double dw_drive_motor_error(const DwDrive *drive)
{
    if (isfinite(drive->motor_rpm))
        return motor_error;
    if (drive->motor == DW_MOTOR_INDUCTION)
        return isnan(drive->slip) ? slip_error : stated_slip_error;
    return 0;
}

double dw_drive_pulley_error_mm(const DwDrive *drive, double wanted)
{
    double t = thickness(drive), effective = wanted * (drive->rim_mm + t);
    double of_belt = t > 0 ? (1 - wanted) * thickness_error_mm : 0;
    return hypot(hypot(wanted * rim_error_mm, of_belt), effective * dw_drive_motor_error(drive));
}

static int path_is_known(const DwDrive *drive)
{
    DwBeltPath path = {drive->rim_mm, drive->pulley_mm, drive->centre_mm};
    return dw_drive_path_exists(&path);
}

double dw_drive_fitted_belt_mm(const DwDrive *drive)
{
    double t = thickness(drive);
    DwBeltPath path = {drive->rim_mm + t, drive->pulley_mm + t, drive->centre_mm};
    if (path_is_known(drive))
        return dw_drive_belt_length_mm(&path);
    return (drive->belt_length_mm + M_PI * t) * (1 + usual_belt_stretch);
}

static DwRate belt_rate(const DwDrive *drive, double platter_hz)
{
    double length = dw_drive_fitted_belt_mm(drive);
    double rim = drive->rim_mm + thickness(drive);
    double error = path_is_known(drive) ? 2 * centre_error_mm / length : loose_belt_error;
    double rate = M_PI * rim * platter_hz / length;
    return (DwRate){DW_PART_BELT, rate, rate * hypot(error, rim_error_mm / rim)};
}

// The shaft's rate: by the mains where the motor may be locked to it, else back from
// the platter by the dimensions, else as stated or by its usual slip.
static DwRate motor_rate(const DwDrive *drive, double platter_hz)
{
    double stated = dw_drive_motor_rpm(drive) / 60;
    bool locked = isnan(drive->motor_rpm) && drive->motor != DW_MOTOR_INDUCTION;
    if (locked && !isnan(stated))
        return (DwRate){DW_PART_MOTOR, stated, stated * mains_error};
    double back = platter_hz / ratio(drive);
    if (!isnan(back))
        return (DwRate){DW_PART_MOTOR, back, back * dw_drive_ratio_error(drive)};
    return (DwRate){DW_PART_MOTOR, stated, stated * hypot(mains_error, dw_drive_motor_error(drive))};
}

static DwRate idler_rate(const DwDrive *drive, double platter_hz)
{
    double rate = platter_hz * drive->rim_mm / drive->idler_mm;
    return (DwRate){DW_PART_IDLER, rate, rate * hypot(rim_error_mm / drive->idler_mm, rim_error_mm / drive->rim_mm)};
}

static DwRate pole_rate(const DwDrive *drive, DwRate motor, double platter_hz)
{
    if (drive->kind == DW_DRIVE_DIRECT) {
        double rate = drive->direct_poles * platter_hz;
        return (DwRate){DW_PART_POLE, rate, rate * platter_error};
    }
    double poles = drive->motor_poles;
    return (DwRate){DW_PART_POLE, poles * motor.rate_hz, poles * motor.uncertainty_hz};
}

size_t dw_drive_rates(const DwDrive *drive, double platter_rpm, DwRate rates[DW_PART_COUNT])
{
    double platter = platter_rpm / 60;
    DwRate motor = {DW_PART_MOTOR, NAN, NAN};
    size_t count = 0;
    rates[count++] = (DwRate){DW_PART_PLATTER, platter, platter * platter_error};
    rates[count++] = (DwRate){DW_PART_RECORD, platter, platter * platter_error};
    if (drive->kind == DW_DRIVE_BELT)
        rates[count++] = belt_rate(drive, platter);
    if (drive->kind != DW_DRIVE_DIRECT)
        rates[count++] = motor = motor_rate(drive, platter);
    if (drive->kind == DW_DRIVE_IDLER)
        rates[count++] = idler_rate(drive, platter);
    rates[count++] = pole_rate(drive, motor, platter);
    rates[count++] = (DwRate){DW_PART_MAINS, drive->mains_hz, drive->mains_hz * mains_error};
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(rates[i].rate_hz) && rates[i].rate_hz > 0)
            rates[kept++] = rates[i];
    return kept;
}
