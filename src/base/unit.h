// SPDX-License-Identifier: MIT
// The units a technician types and reads, by dimension.
#ifndef DW_BASE_UNIT_H
#define DW_BASE_UNIT_H

#include "base/status.h"

#include <stdbool.h>

typedef enum {
    DW_DIMENSION_NUMBER, // a plain count
    DW_DIMENSION_RATIO,  // %, ppm
    DW_DIMENSION_LEVEL,  // dB
    DW_DIMENSION_LENGTH,
    DW_DIMENSION_ANGLE,
    DW_DIMENSION_TIME,
    DW_DIMENSION_FREQUENCY,
    DW_DIMENSION_ROTATION, // rpm; Hz are revolutions per second
    DW_DIMENSION_MASS,
    DW_DIMENSION_FORCE, // mN; g are grams of force, as a stylus scale reads
    DW_DIMENSION_COMPLIANCE,
    DW_DIMENSION_RESISTANCE,
    DW_DIMENSION_CAPACITANCE,
    DW_DIMENSION_CAPACITANCE_PER_LENGTH,
    DW_DIMENSION_INDUCTANCE,
    DW_DIMENSION_VOLTAGE,
    DW_DIMENSION_NOISE_VOLTAGE, // a density, per root hertz
    DW_DIMENSION_NOISE_CURRENT,
    DW_DIMENSION_VELOCITY,
    DW_DIMENSION_TEMPERATURE,
    DW_DIMENSION_VISCOSITY_KINEMATIC,
    DW_DIMENSION_VISCOSITY_DYNAMIC,
    DW_DIMENSION_DENSITY,
    DW_DIMENSION_TORQUE,
    DW_DIMENSION_INERTIA,
    DW_DIMENSION_VOLUME,
    DW_DIMENSION_PRESSURE,
    DW_DIMENSION_RATE_OF_CHANGE, // %/min
    DW_DIMENSION_RATE,           // events in a time
    DW_DIMENSION_STEP,           // of a record's rising levels: µm, or bare where another key states the unit
} DwDimension;

// A unit's value in its dimension's base is value · factor + offset.
typedef struct {
    DwDimension dimension;
    const char *name; // as shown
    double factor;
    double offset;
    bool inner; // what formulas count in: read when typed, but not offered
} DwUnit;

// The unit of DIMENSION called NAME, also by its common other spellings
// ("um", "µm", "ohm", "Ω", "deg", "°"), or NULL.
const DwUnit *dw_unit_find(DwDimension dimension, const char *name);
// The unit called NAME in any dimension, the first listed; or NULL.
const DwUnit *dw_unit_any(const char *name);
// VALUE in FROM expressed in TO. Both must be of one dimension.
double dw_unit_convert(double value, const DwUnit *from, const DwUnit *to);
// The unit called NAME as it is printed: "deg" is typed, "°" printed. NAME itself where it has no other sign.
const char *dw_unit_sign(const char *name);
// The names of the units of DIMENSION that are offered, "mm, cm, m, in". The caller frees it with free().
char *dw_unit_names(DwDimension dimension);
// The same as they are printed: "mm, cm, m, in, µm".
char *dw_unit_signs(DwDimension dimension);

#endif
