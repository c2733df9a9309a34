// SPDX-License-Identifier: MIT
// The platter's bearing: drag of a lubricated sleeve, the run-down of a platter
// left to itself, and a spindle sinking into its oil.
#ifndef DW_PHYSICS_BEARING_H
#define DW_PHYSICS_BEARING_H

#include "base/status.h"

// A spindle in its sleeve.
typedef struct {
    double radius_mm;
    double length_mm;    // of the sleeve that holds oil
    double clearance_mm; // radial
} DwSleeve;

// Viscous drag of a sleeve, torque per angular speed (N·m·s).
//
// Given: SLEEVE (mm), VISCOSITY dynamic (Pa·s). Returned: 2π µ R³ l / c.
// Accuracy: a centred spindle in a full film.
// Reference: N. Petroff, 1883; S. S. Rao, Mechanical Vibrations, SI edition, 2017,
// example 1.15, equations E.4 to E.6.
double dw_bearing_petroff(const DwSleeve *sleeve, double viscosity);

// Moment of inertia (kg·m²) of a disc or ring: m (R² + r²)/2, diameters in mm.
double dw_bearing_ring_inertia(double mass_kg, double outer_mm, double inner_mm);

// What the air about a turning disc brakes, both faces: torque over ω^1.5 (N·m·s^1.5).
//
// Given: DIAMETER_MM. Returned: 0.616 π ρ R⁴ √ν for air of 20 °C (1.20 kg/m³, 15.1 mm²/s).
// Accuracy: exact for a free disc, laminar; beside a plinth from half to one and a half of that (no source).
// Reference: T. von Kármán, 1921, W. G. Cochran, 1934; H. Schlichting, Boundary-Layer Theory (from memory).
double dw_bearing_air(double diameter_mm);

// A platter running down: J dω/dt = −b ω − T − A ω^1.5.
typedef struct {
    double start;                                     // rad/s at the first time
    double viscous;                                   // b/J (1/s), from the fit before the inertia is known
    double coulomb;                                   // T/J (rad/s²)
    double start_error, viscous_error, coulomb_error; // standard uncertainties; NAN with three points
    double coverage; // a 95 % interval is this many standard uncertainties (Student's t)
    double residual; // rms of what the fit leaves (rad/s)
    double air;      // A/J (s^−½): stated to the fit, not found by it
} DwCoast;

// Speed (rad/s) SECONDS after the first time; 0 once it has stopped.
//
// Returned: (ω₀ + T/b) e^(−bt/J) − T/b and its limits for b or T of nought.
double dw_bearing_coast_speed(const DwCoast *coast, double seconds);
// Seconds from speed FROM down to TO (rad/s); infinite when it never gets there.
double dw_bearing_coast_time(const DwCoast *coast, double from, double to);
// Time from half to quarter speed over time from full to half: 1 for pure viscous
// drag, ½ for pure Coulomb drag.
double dw_bearing_half_ratio(const DwCoast *coast);

// Fits a run-down by least squares on the speeds.
//
// Given: COUNT (at least 3) times (s, ascending) and speeds (rad/s); AIR is A/J, known within AIR_OFF (standard);
// with nought the air's drag counts as viscous. Returned: COAST; drags below nought are held at nought and the
// rest fitted again.
// Status: DW_BAD_INPUT for fewer points or a platter that does not slow down.
// Accuracy: uncertainties from the scatter about the fit, and of both drags from AIR_OFF.
// Reference: GSL's trust-region least squares with its covariance.
DwStatus dw_bearing_fit(const double *seconds, const double *speeds, size_t count, double air, double air_off,
                        DwCoast *coast, DwMessage *message);

// The radial clearance [mm] of a spindle in a sleeve SPAN_MM long, whose platter goes up and down by ROCK_MM in all at
// RADIUS_MM. NAN where that cannot be.
// Accuracy: the lean is taken as small; 0.1 % at 1 degree. Reference: geometry of a rod in a slot.
double dw_bearing_rock_clearance_mm(double rock_mm, double radius_mm, double span_mm);

// Seconds a spindle takes to sink in an oil-filled well.
//
// Given: SLEEVE (its length is not used), VISCOSITY (Pa·s), WEIGHT_N, and the engaged length
// growing FROM_MM to TO_MM. Returned: 3π µ R³ (z₁² − z₀²)/(W c³) (s).
// Accuracy: a centred spindle in a closed bore without vent or flat; fully to one
// side the oil leaves 2.5 times faster. The platter must not be turned.
// Reference: slit flow past a piston, integrated; compare S. S. Rao, Mechanical
// Vibrations, 2017, example 1.16.
double dw_bearing_sink_seconds(const DwSleeve *sleeve, double viscosity, double weight_n, double from_mm, double to_mm);
// The radial clearance (mm) for which that takes SECONDS.
double dw_bearing_sink_clearance_mm(double radius_mm, double viscosity, double weight_n, double from_mm, double to_mm,
                                    double seconds);

#endif
