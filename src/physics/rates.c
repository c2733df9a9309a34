// SPDX-License-Identifier: MIT
#include "physics/rates.h"

#include "physics/belt_path.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

// Standard uncertainties of what a technician states (common practice).
static const double pulley_error_mm = 0.02, rim_error_mm = 0.1, centre_error_mm = 0.5, thickness_error_mm = 0.05;
static const double mains_error = 0.0005;                    // relative; grids hold 0.05 Hz (from memory)
static const double motor_error = 0.005;                     // relative; a plate or tachometer reading
static const double platter_error = 0.0001;                  // relative; the recorder's clock
static const double loose_belt_error = 0.01;                 // relative; stretch of 2 to 5 %, unknown
static const double usual_belt_stretch = 0.035;              // the middle of 2 to 5 %
static const double usual_slip = 0.045, slip_error = 0.0125; // of 2 to 7 %, common practice
static const double stated_slip_error = 0.005;
static const double creep_error = 0.002; // relative, wherever rubber drives
static const double slip_least = 0.01,
                    slip_most = 0.12;         // of a motor of unstated kind that is none but an induction motor
static const double agree_sigmas = 3;         // of what two ways of telling one rate may differ by
static const double divisor_least = 5;        // a turn; fewer are the platter's own harmonics
static const unsigned harmonics_of_steps = 6; // magnets pull by steps, not by sines
static const double beat_weight = 0.1, another_weight = 0.5;

const double dw_drive_hunting_low_hz = 0.2, dw_drive_hunting_high_hz = 8;

int dw_drive_is_dc(const DwDrive *drive)
{
    return drive->motor == DW_MOTOR_DC || drive->motor == DW_MOTOR_SERVO || drive->motor == DW_MOTOR_QUARTZ;
}

int dw_drive_is_controlled(const DwDrive *drive)
{
    return drive->kind == DW_DRIVE_DIRECT || dw_drive_is_dc(drive);
}

const char *dw_part_word(DwPart part)
{
    static const char *const words[DW_PART_COUNT] = {"platter", "record", "belt",  "motor",  "idler",
                                                     "pole",    "tacho",  "mains", "unknown"};
    assert(part < DW_PART_COUNT);
    return words[part];
}

void dw_drive_init(DwDrive *drive, DwDriveKind kind)
{
    *drive = (DwDrive){kind, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, DW_MOTOR_UNSTATED,
                       NAN,  NAN, NAN, NAN, NAN, NAN, NAN};
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
    case DW_MOTOR_SERVO:
    case DW_MOTOR_QUARTZ:
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

int dw_drive_has_between(const DwDrive *drive)
{
    return drive->kind != DW_DRIVE_DIRECT && isfinite(drive->idler_driven_mm);
}

double dw_drive_first_wheel_mm(const DwDrive *drive)
{
    return dw_drive_has_between(drive) ? drive->idler_driven_mm : drive->rim_mm;
}

double dw_drive_first_belt_mm(const DwDrive *drive)
{
    if (!dw_drive_has_between(drive))
        return drive->kind == DW_DRIVE_BELT ? drive->belt_thickness_mm : 0;
    bool rolls = isnan(drive->first_length_mm) && isnan(drive->first_thickness_mm);
    return rolls ? 0 : drive->first_thickness_mm;
}

double dw_drive_second_ratio(const DwDrive *drive)
{
    double t = drive->kind == DW_DRIVE_BELT ? drive->belt_thickness_mm : 0;
    return dw_drive_has_between(drive) ? dw_drive_ratio(drive->idler_mm, drive->rim_mm, t, 0) : 1;
}

// Platter over motor speed; NAN for a belt of unstated thickness, which would be
// several percent out.
static double ratio(const DwDrive *drive)
{
    double first = dw_drive_ratio(drive->pulley_mm, dw_drive_first_wheel_mm(drive), dw_drive_first_belt_mm(drive), 0);
    return first * dw_drive_second_ratio(drive);
}

double dw_drive_platter_rpm(const DwDrive *drive)
{
    if (drive->kind == DW_DRIVE_DIRECT)
        return NAN;
    return dw_drive_motor_rpm(drive) * ratio(drive);
}

// Of a belt of THICKNESS (mm; 0: rubber that rolls) from one circle to another: it lies on both.
static double belt_error(double thickness_mm, double from_mm, double to_mm)
{
    return thickness_mm > 0 ? thickness_error_mm * (1 / from_mm - 1 / to_mm) : 0;
}

// Of the stage from a wheel between to the platter, with the wheel's own two diameters; 0 without one.
static double second_error(const DwDrive *drive)
{
    double t = thickness(drive), from = drive->idler_mm + t, to = drive->rim_mm + t;
    if (!dw_drive_has_between(drive))
        return 0;
    double of_wheel = hypot(rim_error_mm / from, rim_error_mm / to);
    return hypot(of_wheel, belt_error(t, from, to));
}

double dw_drive_ratio_error(const DwDrive *drive)
{
    double t = dw_drive_first_belt_mm(drive), thick = isnan(t) ? 0 : t;
    double pulley = drive->pulley_mm + thick, wheel = dw_drive_first_wheel_mm(drive) + thick;
    double first = hypot(hypot(pulley_error_mm / pulley, belt_error(thick, pulley, wheel)), rim_error_mm / wheel);
    return hypot(first, second_error(drive));
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
    double t = dw_drive_first_belt_mm(drive), first = wanted / dw_drive_second_ratio(drive);
    double effective = first * (dw_drive_first_wheel_mm(drive) + t);
    double of_belt = t > 0 ? (1 - first) * thickness_error_mm : 0;
    double share = hypot(dw_drive_motor_error(drive), second_error(drive));
    return hypot(hypot(first * rim_error_mm, of_belt), effective * share);
}

// The same path along the belt's middle layer.
static DwBeltPath middle_path(const DwDrive *drive)
{
    DwBeltPath path = dw_drive_belt_path(drive);
    path.rim_mm += thickness(drive);
    path.pulley_mm += thickness(drive);
    return path;
}

static int path_is_known(const DwDrive *drive)
{
    DwBeltPath path = middle_path(drive);
    return dw_drive_path_exists(&path);
}

double dw_drive_fitted_belt_mm(const DwDrive *drive)
{
    double t = thickness(drive);
    DwBeltPath path = middle_path(drive);
    if (dw_drive_path_exists(&path))
        return dw_drive_belt_length_mm(&path);
    return (drive->belt_length_mm + M_PI * t) * (1 + usual_belt_stretch);
}

static DwRate belt_rate(const DwDrive *drive, double platter_hz)
{
    double length = dw_drive_fitted_belt_mm(drive);
    double rim = drive->rim_mm + thickness(drive);
    double pulleys = fmax(1, dw_drive_belt_path(drive).pulleys); // each has its own distance
    double error = path_is_known(drive) ? sqrt(pulleys) * 2 * centre_error_mm / length : loose_belt_error;
    double rate = M_PI * rim * platter_hz / length;
    return (DwRate){DW_PART_BELT, rate, rate * hypot(creep_error, hypot(error, rim_error_mm / rim))};
}

// Whether a motor is locked to the mains, as far as is stated and as the shaft's rate BACK from the
// platter (NAN: unknown) tells.
static bool is_locked(const DwDrive *drive, double field_hz, double back_hz)
{
    if (isfinite(drive->motor_rpm) || drive->motor == DW_MOTOR_INDUCTION || dw_drive_is_dc(drive))
        return false;
    double behind = 1 - back_hz / field_hz;
    return drive->motor == DW_MOTOR_SYNCHRONOUS || isnan(behind) || behind < slip_least || behind > slip_most;
}

// The shaft's rate by its stated speed and by the platter, BACK: their weighted mean, where they do not contradict each
// other; the platter's word where they do, for a plate tells another load or another speed.
static DwRate both_rates(DwRate stated, DwRate back)
{
    double of_stated = back.uncertainty_hz * back.uncertainty_hz,
           of_back = stated.uncertainty_hz * stated.uncertainty_hz;
    double apart = fabs(stated.rate_hz - back.rate_hz), all = of_stated + of_back;
    if (!(apart < agree_sigmas * sqrt(all)))
        return back;
    return (DwRate){DW_PART_MOTOR, (of_stated * stated.rate_hz + of_back * back.rate_hz) / all,
                    stated.uncertainty_hz * back.uncertainty_hz / sqrt(all)};
}

static DwRate motor_rate(const DwDrive *drive, double platter_hz)
{
    double field = dw_drive_synchronous_rpm(drive->mains_hz, drive->motor_poles) / 60, back = platter_hz / ratio(drive);
    if (isfinite(field) && is_locked(drive, field, back))
        return (DwRate){DW_PART_MOTOR, field, field * mains_error};
    double rpm = dw_drive_motor_rpm(drive) / 60;
    DwRate stated = {DW_PART_MOTOR, rpm, rpm * hypot(mains_error, dw_drive_motor_error(drive))};
    DwRate by_platter = {DW_PART_MOTOR, back, back * hypot(2 * creep_error, dw_drive_ratio_error(drive))};
    if (isnan(back))
        return stated;
    return isfinite(drive->motor_rpm) ? both_rates(stated, by_platter) : by_platter;
}

// A wheel between turns as the platter makes it: by rubber that rolls, or by its belt.
static DwRate idler_rate(const DwDrive *drive, double platter_hz)
{
    double t = thickness(drive), wheel = drive->idler_mm + t, rim = drive->rim_mm + t;
    double rate = platter_hz * rim / wheel;
    double tools = hypot(hypot(rim_error_mm / wheel, rim_error_mm / rim), belt_error(t, wheel, rim));
    return (DwRate){DW_PART_IDLER, rate, rate * hypot(tools, creep_error)};
}

// A belt from the motor to a wheel between, which pulls it round: it is the only belt there unless the wheel carries
// another on to the platter.
static DwRate first_belt_rate(const DwDrive *drive, DwRate motor)
{
    double t = isnan(drive->first_thickness_mm) ? 0 : drive->first_thickness_mm, pulley = drive->pulley_mm + t;
    double length = (drive->first_length_mm + M_PI * t) * (1 + usual_belt_stretch),
           rate = motor.rate_hz * M_PI * pulley / length;
    double own = rate * hypot(hypot(loose_belt_error, creep_error), pulley_error_mm / pulley);
    return (DwRate){DW_PART_BELT, rate, hypot(own, rate * motor.uncertainty_hz / motor.rate_hz),
                    .turn = drive->kind == DW_DRIVE_BELT ? "first belt" : NULL};
}

// A growing list of rows.
typedef struct {
    DwRate *rates;
    size_t count;
} Rows;

static void add(Rows *rows, DwRate rate)
{
    if (isfinite(rate.rate_hz) && rate.rate_hz > 0 && rows->count < DW_RATES_MOST)
        rows->rates[rows->count++] = rate;
}

// What BASE does ORDER times as often.
static void add_order(Rows *rows, DwRate base, const char *what, double order, unsigned harmonics, double weight)
{
    add(rows, (DwRate){base.part, base.rate_hz * order, base.uncertainty_hz * order, what, order, harmonics, weight,
                       .follows = order});
}

static unsigned long common_divisor(unsigned long a, unsigned long b)
{
    return b ? common_divisor(b, a % b) : a;
}

// Cogging: the least common multiple of POLES and SLOTS, and what divides it.
static void add_cogging(Rows *rows, DwRate pole, unsigned long poles, unsigned long slots)
{
    unsigned long cogs = poles / common_divisor(poles, slots) * slots;
    add_order(rows, pole, "cogging", (double)cogs / (double)poles, harmonics_of_steps, 1);
    add_order(rows, pole, "slots", (double)slots / (double)poles, harmonics_of_steps, 0.5);
    for (unsigned long part = 2; part * (unsigned long)divisor_least <= cogs && part <= 12; part++)
        if (cogs % part == 0 && cogs / part != slots && cogs / part != poles && 2 * cogs != part * poles)
            add_order(rows, pole, "part of the cogging", (double)cogs / (double)part / (double)poles, 1, 0.1);
}

static void add_direct(Rows *rows, const DwDrive *drive, DwRate platter)
{
    DwRate pole = {DW_PART_POLE, drive->direct_poles * platter.rate_hz, drive->direct_poles * platter.uncertainty_hz};
    bool known = isfinite(drive->slots) && drive->slots > 0;
    if (isfinite(pole.rate_hz)) {
        add_order(rows, pole, "poles", 1, harmonics_of_steps, 1);
        add_order(rows, pole, "electrical rate", 0.5, 1, 0.15);
        if (known)
            add_cogging(rows, pole, (unsigned long)drive->direct_poles, (unsigned long)drive->slots);
        else // three phases: 12 poles and 9 slots, 16 and 12, 20 and 15 … cog at three times the poles
            add_order(rows, pole, "cogging", 3, harmonics_of_steps, 1);
        add_order(rows, pole, "commutation", 3, 2, known ? 0.5 : 0.1);
    }
}

// The lines by which a control reads the speed of BASE.
static void add_tacho(Rows *rows, const DwDrive *drive, DwRate base)
{
    double lines = drive->tacho_lines;
    add(rows, (DwRate){DW_PART_TACHO, lines * base.rate_hz, lines * base.uncertainty_hz});
}

// Two brushes on BARS: each leaves a bar for the next, together or in turn.
static void add_commutation(Rows *rows, DwRate motor, double bars, double weight)
{
    bool odd = fmod(bars, 2) != 0;
    add_order(rows, motor, "commutation", odd ? 2 * bars : bars, 2, weight);
    if (odd)
        add_order(rows, motor, "commutation", bars, 1, 0.5 * weight);
}

// The other motors on one belt: where no field holds them, each turns as its own pulley makes it.
static DwRate another_motor(const DwDrive *drive, DwRate motor)
{
    double of_pulley = isfinite(drive->pulley_mm) ? pulley_error_mm / drive->pulley_mm : 0;
    return (DwRate){DW_PART_MOTOR, motor.rate_hz,
                    hypot(motor.uncertainty_hz, motor.rate_hz * hypot(of_pulley, creep_error)),
                    .weight = another_weight, .turn = "another motor"};
}

static void add_motor(Rows *rows, const DwDrive *drive, DwRate motor)
{
    add(rows, motor);
    if (drive->motors > 1 && drive->motor != DW_MOTOR_SYNCHRONOUS)
        add(rows, another_motor(drive, motor));
    if (dw_drive_is_dc(drive) && isfinite(drive->slots))
        add_commutation(rows, motor, drive->slots, 1);
    for (double bars = 3; bars <= 7 && dw_drive_is_dc(drive) && isnan(drive->slots); bars += 2)
        add_commutation(rows, motor, bars, 0.3); // as small motors usually have
    double field = dw_drive_synchronous_rpm(drive->mains_hz, drive->motor_poles) / 60;
    bool slips = drive->motor == DW_MOTOR_INDUCTION || drive->motor == DW_MOTOR_UNSTATED;
    double beat = drive->motor_poles * (field - motor.rate_hz);
    double doubt = drive->motor_poles * hypot(motor.uncertainty_hz, field * mains_error);
    if (slips && beat > 2 * doubt)
        add(rows, (DwRate){DW_PART_MOTOR, beat, doubt, "slip beat", beat / motor.rate_hz, 2, beat_weight,
                           .follows = -drive->motor_poles});
}

// What stands between mains and platter where the motor is not the platter's own.
static void add_driven(Rows *rows, const DwDrive *drive, double platter_hz)
{
    DwRate motor = motor_rate(drive, platter_hz);
    if (drive->kind == DW_DRIVE_BELT)
        add(rows, belt_rate(drive, platter_hz));
    if (dw_drive_has_between(drive))
        add(rows, first_belt_rate(drive, motor));
    add_motor(rows, drive, motor);
    if (drive->kind == DW_DRIVE_IDLER || dw_drive_has_between(drive))
        add(rows, idler_rate(drive, platter_hz));
    if (!dw_drive_is_dc(drive))
        add(rows,
            (DwRate){DW_PART_POLE, drive->motor_poles * motor.rate_hz, drive->motor_poles * motor.uncertainty_hz});
}

size_t dw_drive_rates(const DwDrive *drive, double platter_rpm, DwRate rates[DW_RATES_MOST])
{
    double platter_hz = platter_rpm / 60;
    DwRate platter = {DW_PART_PLATTER, platter_hz, platter_hz * platter_error}, record = platter;
    Rows rows = {rates, 0};
    record.part = DW_PART_RECORD;
    add(&rows, platter);
    add(&rows, record);
    if (drive->kind == DW_DRIVE_DIRECT) {
        add_direct(&rows, drive, platter);
        add_tacho(&rows, drive, platter);
    } else
        add_driven(&rows, drive, platter_hz);
    add(&rows, (DwRate){DW_PART_MAINS, drive->mains_hz, drive->mains_hz * mains_error});
    return rows.count;
}
