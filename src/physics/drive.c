// SPDX-License-Identifier: MIT
#include "physics/drive.h"

#include "base/usual_speed.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

// The angle by which the free spans lean against the line of centres.
static double lean(const DwBeltPath *path)
{
    return asin((path->rim_mm - path->pulley_mm) / (2 * path->centre_mm));
}

static double pulleys_of(const DwBeltPath *path)
{
    return path->pulleys > 1 ? path->pulleys : 1;
}

int dw_drive_path_exists(const DwBeltPath *path)
{
    bool apart = path->rim_mm > 0 && path->pulley_mm > 0 && path->centre_mm > fabs(path->rim_mm - path->pulley_mm) / 2;
    return apart && pulleys_of(path) * (M_PI - 2 * lean(path)) < 2 * M_PI;
}

double dw_drive_belt_length_mm(const DwBeltPath *path)
{
    assert(dw_drive_path_exists(path));
    double alpha = lean(path), count = pulleys_of(path), half_wrap = M_PI_2 - alpha;
    return count * (2 * path->centre_mm * cos(alpha) + half_wrap * path->pulley_mm) +
           (M_PI - count * half_wrap) * path->rim_mm;
}

double dw_drive_pulley_wrap(const DwBeltPath *path)
{
    assert(dw_drive_path_exists(path));
    return M_PI - 2 * lean(path);
}

double dw_drive_free_span_mm(const DwBeltPath *path)
{
    assert(dw_drive_path_exists(path));
    return path->centre_mm * cos(lean(path));
}

double dw_drive_synchronous_rpm(double mains_hz, double poles)
{
    return 120 * mains_hz / poles;
}

double dw_drive_ratio(double pulley_mm, double rim_mm, double thickness_mm, double creep)
{
    return (pulley_mm + thickness_mm) / (rim_mm + thickness_mm) * (1 - creep);
}

double dw_drive_pulley_for_ratio_mm(double ratio, double rim_mm, double thickness_mm, double creep)
{
    return ratio * (rim_mm + thickness_mm) / (1 - creep) - thickness_mm;
}

double dw_drive_thinned_mm(double thickness_mm, double stretch)
{
    return thickness_mm / sqrt(1 + stretch);
}

double dw_drive_tension_ratio(double friction, double wrap)
{
    return exp(friction * wrap);
}

double dw_drive_grip_n(double tension_n, double friction, double wrap)
{
    // (e^x − 1)/(e^x + 1) is tanh(x/2), which cannot overflow.
    return 2 * tension_n * tanh(friction * wrap / 2);
}

double dw_drive_creep(double force_n, double stiffness_n)
{
    return force_n / stiffness_n;
}

double dw_drive_belt_spring(double stiffness_n, double span_mm, double radius_mm)
{
    double span = span_mm / 1000, radius = radius_mm / 1000;
    return 2 * stiffness_n / span * radius * radius;
}

double dw_drive_torsion_hz(double spring, double inertia)
{
    return sqrt(spring / inertia) / (2 * M_PI);
}

double dw_drive_torsion_of_two_hz(const DwTwoBelts *belts)
{
    double squared = belts->turns * belts->turns, first = squared * belts->first, wheel = squared * belts->wheel;
    double sum = belts->platter * (belts->second + first) + belts->second * wheel;
    double product = belts->platter * wheel, held = belts->second * first;
    return sqrt(2 * held / (sum + sqrt(sum * sum - 4 * product * held))) / (2 * M_PI); // stable for a light wheel
}

double dw_drive_span_of_length_mm(DwBeltPath path, double length_mm)
{
    enum { HALVINGS = 60 };
    double low = 0.5 * fabs(path.rim_mm - path.pulley_mm), high = low + length_mm;
    if (!(path.rim_mm > 0 && path.pulley_mm > 0 && length_mm > 0))
        return NAN;
    for (int i = 0; i < HALVINGS; i++) {
        path.centre_mm = 0.5 * (low + high);
        bool is_long = dw_drive_path_exists(&path) && dw_drive_belt_length_mm(&path) > length_mm;
        *(is_long ? &high : &low) = path.centre_mm;
    }
    path.centre_mm = high;
    bool fits = dw_drive_path_exists(&path) && fabs(dw_drive_belt_length_mm(&path) / length_mm - 1) < 1e-6;
    return fits ? dw_drive_free_span_mm(&path) : NAN;
}

double dw_drive_eccentric_percent(double eccentricity_mm, double effective_mm)
{
    return 100 * 2 * eccentricity_mm / effective_mm;
}

// How badly the steps' ratios fit the speeds whose bits are set in CHOICE: the
// scatter of log(diameter / speed), which a common factor leaves alone.
static double misfit(const double *effective_mm, size_t count, unsigned choice, double *nominal_rpm)
{
    double sum = 0, squares = 0;
    size_t step = 0;
    for (size_t i = 0; i < DW_USUAL_SPEEDS; i++) {
        if (!(choice >> i & 1))
            continue;
        double distance = log(effective_mm[step] / dw_usual_speed[i].rpm);
        nominal_rpm[step++] = dw_usual_speed[i].rpm;
        sum += distance;
        squares += distance * distance;
    }
    return squares - sum * sum / (double)count;
}

void dw_drive_name_steps(const double *effective_mm, size_t count, double *nominal_rpm)
{
    assert(count >= 1 && count <= DW_USUAL_SPEEDS);
    if (count == 1) {
        nominal_rpm[0] = dw_usual_speed[DW_USUAL_DECK_FIRST].rpm;
        return;
    }
    double least = INFINITY;
    unsigned best = 0;
    for (unsigned choice = 1; choice < 1u << DW_USUAL_SPEEDS; choice++) {
        double named[DW_USUAL_SPEEDS];
        if ((size_t)__builtin_popcount(choice) != count)
            continue;
        double here = misfit(effective_mm, count, choice, named);
        if (here < least) {
            least = here;
            best = choice;
        }
    }
    misfit(effective_mm, count, best, nominal_rpm);
}
