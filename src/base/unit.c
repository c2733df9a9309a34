// SPDX-License-Identifier: MIT
#include "base/unit.h"

#include "base/text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

// 1 gram-force is 9.80665 mN (standard gravity, exact by definition, CGPM 1901).
static const DwUnit units[] = {
    {DW_DIMENSION_NUMBER, "", 1, 0},
    {DW_DIMENSION_RATIO, "%", 1, 0},
    {DW_DIMENSION_RATIO, "ppm", 1e-4, 0},
    {DW_DIMENSION_RATIO, "fraction", 100, 0, true},
    {DW_DIMENSION_LEVEL, "dB", 1, 0},
    {DW_DIMENSION_LENGTH, "mm", 1, 0},
    {DW_DIMENSION_LENGTH, "cm", 10, 0},
    {DW_DIMENSION_LENGTH, "m", 1000, 0},
    {DW_DIMENSION_LENGTH, "in", 25.4, 0},
    {DW_DIMENSION_LENGTH, "um", 1e-3, 0},
    {DW_DIMENSION_ANGLE, "deg", 1, 0},
    {DW_DIMENSION_ANGLE, "rad", 57.29577951308232, 0},
    {DW_DIMENSION_TIME, "s", 1, 0},
    {DW_DIMENSION_TIME, "ms", 1e-3, 0},
    {DW_DIMENSION_TIME, "min", 60, 0},
    {DW_DIMENSION_TIME, "h", 3600, 0},
    {DW_DIMENSION_TIME, "a", 31557600, 0}, // years, of belts and parts
    {DW_DIMENSION_FREQUENCY, "Hz", 1, 0},
    {DW_DIMENSION_FREQUENCY, "kHz", 1000, 0},
    {DW_DIMENSION_FREQUENCY, "k", 1000, 0, true}, // as in 20k
    {DW_DIMENSION_ROTATION, "rpm", 1, 0},
    {DW_DIMENSION_ROTATION, "Hz", 60, 0},
    {DW_DIMENSION_ROTATION, "rad/s", 9.549296585513721, 0, true}, // 60/2π
    {DW_DIMENSION_MASS, "g", 1, 0},
    {DW_DIMENSION_MASS, "mg", 1e-3, 0},
    {DW_DIMENSION_MASS, "kg", 1000, 0},
    {DW_DIMENSION_MASS, "oz", 28.349523125, 0},
    {DW_DIMENSION_FORCE, "mN", 1, 0},
    {DW_DIMENSION_FORCE, "N", 1000, 0},
    {DW_DIMENSION_FORCE, "g", 9.80665, 0},
    {DW_DIMENSION_FORCE, "gf", 9.80665, 0},
    {DW_DIMENSION_FORCE, "mg", 9.80665e-3, 0},
    {DW_DIMENSION_FORCE, "kgf", 9806.65, 0},
    {DW_DIMENSION_COMPLIANCE, "um/mN", 1, 0},
    {DW_DIMENSION_COMPLIANCE, "mm/N", 1, 0},
    {DW_DIMENSION_COMPLIANCE, "cu", 1, 0}, // 10^-6 cm/dyn, the trade's compliance unit
    {DW_DIMENSION_COMPLIANCE, "cm/dyn", 1e6, 0, true},
    {DW_DIMENSION_COMPLIANCE, "x10-6cm/dyn", 1, 0, true}, // as makers print it
    {DW_DIMENSION_RESISTANCE, "ohm", 1, 0},
    {DW_DIMENSION_RESISTANCE, "kohm", 1000, 0},
    {DW_DIMENSION_RESISTANCE, "k", 1000, 0},
    {DW_DIMENSION_RESISTANCE, "Mohm", 1e6, 0},
    {DW_DIMENSION_CAPACITANCE, "pF", 1, 0},
    {DW_DIMENSION_CAPACITANCE, "nF", 1000, 0},
    {DW_DIMENSION_CAPACITANCE, "uF", 1e6, 0},
    {DW_DIMENSION_CAPACITANCE, "F", 1e12, 0, true},
    {DW_DIMENSION_CAPACITANCE_PER_LENGTH, "pF/m", 1, 0},
    {DW_DIMENSION_CAPACITANCE_PER_LENGTH, "pF/ft", 1 / 0.3048, 0},
    {DW_DIMENSION_INDUCTANCE, "mH", 1, 0},
    {DW_DIMENSION_INDUCTANCE, "uH", 1e-3, 0},
    {DW_DIMENSION_INDUCTANCE, "H", 1000, 0},
    {DW_DIMENSION_VOLTAGE, "mV", 1, 0},
    {DW_DIMENSION_VOLTAGE, "uV", 1e-3, 0},
    {DW_DIMENSION_VOLTAGE, "V", 1000, 0},
    {DW_DIMENSION_NOISE_VOLTAGE, "nV/rtHz", 1, 0},
    {DW_DIMENSION_NOISE_VOLTAGE, "V/rtHz", 1e9, 0, true},
    {DW_DIMENSION_NOISE_CURRENT, "pA/rtHz", 1, 0},
    {DW_DIMENSION_NOISE_CURRENT, "fA/rtHz", 1e-3, 0},
    {DW_DIMENSION_NOISE_CURRENT, "A/rtHz", 1e12, 0, true},
    {DW_DIMENSION_VELOCITY, "cm/s", 1, 0},
    {DW_DIMENSION_VELOCITY, "mm/s", 0.1, 0},
    {DW_DIMENSION_TEMPERATURE, "degC", 1, 0},
    {DW_DIMENSION_TEMPERATURE, "K", 1, -273.15},
    {DW_DIMENSION_TEMPERATURE, "degF", 5.0 / 9.0, -160.0 / 9.0},
    {DW_DIMENSION_VISCOSITY_KINEMATIC, "mm2/s", 1, 0},
    {DW_DIMENSION_VISCOSITY_KINEMATIC, "cSt", 1, 0},
    {DW_DIMENSION_VISCOSITY_DYNAMIC, "mPa.s", 1, 0},
    {DW_DIMENSION_VISCOSITY_DYNAMIC, "Pa.s", 1000, 0},
    {DW_DIMENSION_VISCOSITY_DYNAMIC, "cP", 1, 0},
    {DW_DIMENSION_DENSITY, "kg/m3", 1, 0},
    {DW_DIMENSION_DENSITY, "g/cm3", 1000, 0},
    {DW_DIMENSION_TORQUE, "mN.m", 1, 0},
    {DW_DIMENSION_TORQUE, "N.m", 1000, 0},
    {DW_DIMENSION_INERTIA, "kg.m2", 1, 0},
    {DW_DIMENSION_INERTIA, "g.cm2", 1e-7, 0},
    {DW_DIMENSION_VOLUME, "ml", 1, 0},
    {DW_DIMENSION_PRESSURE, "MPa", 1, 0},
    {DW_DIMENSION_PRESSURE, "kPa", 1e-3, 0},
    {DW_DIMENSION_RATE_OF_CHANGE, "%/min", 1, 0},
    {DW_DIMENSION_RATE_OF_CHANGE, "fraction/s", 6000, 0, true},
    {DW_DIMENSION_RATE, "/min", 1, 0},
    {DW_DIMENSION_RATE, "/s", 60, 0},
    {DW_DIMENSION_RATE, "/h", 1.0 / 60, 0},
    {DW_DIMENSION_STEP, "", 1, 0},
    {DW_DIMENSION_STEP, "um", 1, 0},
};

// Other spellings, each mapped onto the plain one before the table is asked.
static const struct {
    const char *typed;
    const char *plain;
} spellings[] = {
    {"µ", "u"},     {"μ", "u"},     {"Ω", "ohm"},   {"Ω", "ohm"}, {"²", "2"},  {"³", "3"},     {"·", "."},
    {"×", "x"},     {"*", "x"},     {"⁻", "-"},     {"⁶", "6"},   {"^", ""},   {" ", ""},      {"√", "rt"},
    {"°C", "degC"}, {"°F", "degF"}, {"°", "deg"},   {"\"", "in"}, {"″", "in"}, {"inch", "in"}, {"degrees", "deg"},
    {"hz", "Hz"},   {"khz", "kHz"}, {"years", "a"}, {"yr", "a"},
};

static void make_plain(const char *name, char *plain, size_t size)
{
    size_t length = 0;
    while (*name && length + 5 < size) {
        size_t used = 0;
        for (size_t i = 0; i < sizeof spellings / sizeof *spellings && !used; i++) {
            size_t typed = strlen(spellings[i].typed);
            if (strncmp(name, spellings[i].typed, typed) == 0) {
                size_t plain_length = strlen(spellings[i].plain);
                memcpy(plain + length, spellings[i].plain, plain_length);
                length += plain_length;
                used = typed;
            }
        }
        if (!used) {
            plain[length++] = *name;
            used = 1;
        }
        name += used;
    }
    plain[length] = 0;
}

static const DwUnit *find(const char *name, int dimension)
{
    char plain[32];
    make_plain(name, plain, sizeof plain);
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if ((dimension < 0 || (int)units[i].dimension == dimension) && strcmp(units[i].name, plain) == 0)
            return &units[i];
    return NULL;
}

const DwUnit *dw_unit_find(DwDimension dimension, const char *name)
{
    return find(name, (int)dimension);
}

const DwUnit *dw_unit_any(const char *name)
{
    return find(name, -1);
}

double dw_unit_convert(double value, const DwUnit *from, const DwUnit *to)
{
    assert(from->dimension == to->dimension);
    if (from == to)
        return value;
    return (value * from->factor + from->offset - to->offset) / to->factor;
}

static char *list(DwDimension dimension, bool signs)
{
    DwText names = {0};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].dimension == dimension && units[i].name[0] && !units[i].inner)
            dw_text_add(&names, "%s%s", names.length ? ", " : "", signs ? dw_unit_sign(units[i].name) : units[i].name);
    return dw_text_take(&names);
}

char *dw_unit_names(DwDimension dimension)
{
    return list(dimension, false);
}

char *dw_unit_signs(DwDimension dimension)
{
    return list(dimension, true);
}

const char *dw_unit_sign(const char *name)
{
    // As it is printed: what is typed in plain letters has a sign of its own.
    static const char *const signs[][2] = {
        {"deg", "°"},          {"deg/cm", "°/cm"}, {"um", "µm"},       {"um/mN", "µm/mN"},    {"uV", "µV"},
        {"uF", "µF"},          {"uH", "µH"},       {"ohm", "Ω"},       {"kohm", "kΩ"},        {"Mohm", "MΩ"},
        {"MOhm", "MΩ"},        {"degC", "°C"},     {"degF", "°F"},     {"mm2/s", "mm²/s"},    {"kg.m2", "kg·m²"},
        {"g.cm2", "g·cm²"},    {"kg/m3", "kg/m³"}, {"g/cm3", "g/cm³"}, {"pA/rtHz", "pA/√Hz"}, {"fA/rtHz", "fA/√Hz"},
        {"nV/rtHz", "nV/√Hz"},
    };
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (strcmp(name, signs[i][0]) == 0)
            return signs[i][1];
    return name;
}
