// SPDX-License-Identifier: MIT
#include "physics/oil.h"
#include "support/suite.h"

START_TEST(published_d341_examples_are_met)
{
    DwOil oil;
    // Source (published): a worked D341 sheet found in print, 32 mm²/s at 40 °C, 5.4 at 100 °C, T = t + 273
    // gives A 9.5259, B 3.7449 and 8.5 mm²/s at 80 °C. Its 273 is our 273.15 less 0.15.
    ck_assert_int_eq(dw_oil_fit(32, 40 - 0.15, 5.4, 100 - 0.15, &oil, NULL), DW_OK);
    ck_assert_double_eq_tol(oil.a, 9.5259, 6e-5);
    ck_assert_double_eq_tol(oil.b, 3.7449, 6e-5);
    ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 80 - 0.15), 8.5331, 6e-5);
    ck_assert_int_eq(dw_oil_fit(32, 40, 5.4, 100, &oil, NULL), DW_OK);
    ck_assert_double_eq_tol(oil.a, 9.5308, 6e-5);
    ck_assert_double_eq_tol(oil.b, 3.7466, 6e-5);
    ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 80), 8.5, 0.05);
    // Source (published): another worked page found in print, 404 at 40 °C and 28 at 100 °C give 132.126 at 60 °C.
    ck_assert_int_eq(dw_oil_fit(404, 40, 28, 100, &oil, NULL), DW_OK);
    ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 60), 132.126, 6e-4);
}
END_TEST

START_TEST(workshop_oils_meet_the_table)
{
    // Source (recomputed): by another program with T = t + 273.15; the viscosities at 100 °C are
    // typical values from memory.
    static const struct {
        double at_40, at_100, a, b, at_15, at_20, at_25, at_30;
    } rows[] = {
        {10, 2.6, 9.77571, 3.91190, 25.9, 20.8, 17.0, 14.0},
        {22, 4.3, 9.56733, 3.78045, 71.3, 54.3, 42.2, 33.4},
        {32, 5.4, 9.53082, 3.74658, 116.4, 86.3, 65.4, 50.6},
        {46, 6.8, 9.41799, 3.68444, 184.7, 133.8, 99.4, 75.4},
        {68, 8.7, 9.30969, 3.62440, 303.7, 214.8, 155.8, 115.8},
        {100, 11.4, 9.05932, 3.50902, 480.3, 334.3, 238.9, 174.9},
        {150, 15.0, 8.87413, 3.42023, 784.8, 535.9, 376.2, 270.8},
        {220, 19.4, 8.72650, 3.34832, 1248.9, 837.7, 578.0, 409.4},
        {100, 15.0, 7.64469, 2.94220, 361.2, 269.9, 205.5, 159.2},
        {140, 14.5, 8.84021, 3.40904, 711.9, 489.5, 345.7, 250.3},
        {404, 28, 8.69176, 3.31587, 2724.6, 1756.9, 1168.7, 799.8},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwOil oil;
        ck_assert_int_eq(dw_oil_fit(rows[i].at_100, 100, rows[i].at_40, 40, &oil, NULL), DW_OK);
        ck_assert_double_eq_tol(oil.a, rows[i].a, 6e-6);
        ck_assert_double_eq_tol(oil.b, rows[i].b, 6e-6);
        ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 15), rows[i].at_15, 0.06);
        ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 20), rows[i].at_20, 0.06);
        ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 25), rows[i].at_25, 0.06);
        ck_assert_double_eq_tol(dw_oil_viscosity(&oil, 30), rows[i].at_30, 0.06);
    }
}
END_TEST

START_TEST(density_and_dynamic_viscosity)
{
    // Source (memory): 870 kg/m³ at 15 °C is 867.2 at 20 °C.
    ck_assert_double_eq_tol(dw_oil_density(870, 20), 867.2, 0.06);
    // 1 mm²/s at 1000 kg/m³ is 1 mPa·s by definition.
    ck_assert_double_eq_tol(dw_oil_dynamic(1, 1000), 1e-3, 1e-15);
}
END_TEST

START_TEST(what_is_no_oil_is_refused)
{
    DwOil oil;
    DwMessage message;
    ck_assert_int_eq(dw_oil_fit(5.4, 40, 32, 100, &oil, &message), DW_BAD_INPUT);
    ck_assert_int_eq(dw_oil_fit(32, 40, 32, 40, &oil, &message), DW_BAD_INPUT);
    ck_assert_int_eq(dw_oil_fit(32, 40, -1, 100, &oil, &message), DW_BAD_INPUT);
}
END_TEST

DW_SUITE("oil", published_d341_examples_are_met, workshop_oils_meet_the_table, density_and_dynamic_viscosity,
         what_is_no_oil_is_refused)
