// SPDX-License-Identifier: MIT
#include "base/unit.h"
#include "support/suite.h"

static double convert(DwDimension dimension, double value, const char *from, const char *to)
{
    const DwUnit *source = dw_unit_find(dimension, from), *target = dw_unit_find(dimension, to);
    ck_assert_ptr_nonnull(source);
    ck_assert_ptr_nonnull(target);
    return dw_unit_convert(value, source, target);
}

START_TEST(lengths_follow_the_international_inch)
{
    // 1 in = 25.4 mm exactly (International Yard and Pound Agreement, 1959).
    ck_assert_double_eq_tol(convert(DW_DIMENSION_LENGTH, 9, "in", "mm"), 228.6, 1e-12);
    ck_assert_double_eq_tol(convert(DW_DIMENSION_LENGTH, 9, "\"", "cm"), 22.86, 1e-12);
}
END_TEST

START_TEST(grams_on_a_stylus_scale_are_force)
{
    // Standard gravity 9.80665 m/s² (CGPM 1901): 1 gf = 9.80665 mN.
    ck_assert_double_eq_tol(convert(DW_DIMENSION_FORCE, 2, "g", "mN"), 19.6133, 1e-12);
    ck_assert_double_eq_tol(convert(DW_DIMENSION_MASS, 2, "g", "mg"), 2000, 1e-9);
}
END_TEST

START_TEST(temperatures_have_an_offset)
{
    ck_assert_double_eq_tol(convert(DW_DIMENSION_TEMPERATURE, 68, "degF", "degC"), 20, 1e-9);
    ck_assert_double_eq_tol(convert(DW_DIMENSION_TEMPERATURE, 313.15, "K", "°C"), 40, 1e-9);
    ck_assert_double_eq_tol(convert(DW_DIMENSION_TEMPERATURE, 20, "degC", "K"), 293.15, 1e-9);
    ck_assert_double_eq_tol(convert(DW_DIMENSION_TEMPERATURE, 100, "degC", "degF"), 212, 1e-9);
}
END_TEST

START_TEST(signs_are_spelt_several_ways)
{
    ck_assert_ptr_eq(dw_unit_find(DW_DIMENSION_RESISTANCE, "kΩ"), dw_unit_find(DW_DIMENSION_RESISTANCE, "kohm"));
    ck_assert_ptr_eq(dw_unit_find(DW_DIMENSION_COMPLIANCE, "µm/mN"), dw_unit_find(DW_DIMENSION_COMPLIANCE, "um/mN"));
    ck_assert_ptr_eq(dw_unit_find(DW_DIMENSION_ANGLE, "°"), dw_unit_find(DW_DIMENSION_ANGLE, "deg"));
    ck_assert_ptr_null(dw_unit_find(DW_DIMENSION_LENGTH, "Hz"));
    ck_assert_ptr_null(dw_unit_find(DW_DIMENSION_LENGTH, "a very long name that is no unit at all"));
}
END_TEST

START_TEST(noise_is_a_density)
{
    ck_assert_double_eq_tol(convert(DW_DIMENSION_NOISE_CURRENT, 600, "fA/√Hz", "pA/rtHz"), 0.6, 1e-12);
    ck_assert_ptr_nonnull(dw_unit_find(DW_DIMENSION_NOISE_VOLTAGE, "nV/√Hz"));
    ck_assert_ptr_null(dw_unit_find(DW_DIMENSION_NOISE_VOLTAGE, "uV"));
}
END_TEST

DW_SUITE("unit", lengths_follow_the_international_inch, grams_on_a_stylus_scale_are_force, temperatures_have_an_offset,
         signs_are_spelt_several_ways, noise_is_a_density)
