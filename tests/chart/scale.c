// SPDX-License-Identifier: MIT
#include "chart/draw/scale.h"
#include "chart/draw/number.h"
#include "support/suite.h"

#include <math.h>

// Expected values worked out by hand from "1, 2 or 5 times a power of ten".
START_TEST(linear_ticks_are_the_round_values_within)
{
    static const struct {
        double low, high;
        size_t wanted, count;
        double first, step;
        int digits;
    } cases[] = {
        {0, 58.2, 8, 6, 0, 10, 0},          {-0.21, 0.24, 5, 5, -0.2, 0.1, 1}, {0, 1, 10, 11, 0, 0.1, 1},
        {60.3, 146.05, 5, 4, 80, 20, 0},    {0, 0.0007, 4, 4, 0, 0.0002, 4},   {-1e300, 1e300, 4, 5, -1e300, 5e299, 0},
        {31400, 31600, 5, 5, 31400, 50, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwScale scale = {.low = cases[i].low, .high = cases[i].high, .from = 0, .to = 100};
        DwTicks ticks = dw_scale_ticks(&scale, cases[i].wanted);
        ck_assert_uint_eq(ticks.count, cases[i].count);
        for (size_t j = 0; j < ticks.count; j++)
            ck_assert_double_eq_tol(ticks.at[j], cases[i].first + (double)j * cases[i].step, 1e-9 * cases[i].step);
        ck_assert_int_eq(ticks.digits, cases[i].digits);
    }
}
END_TEST

START_TEST(logarithmic_ticks_are_1_2_5)
{
    static const double expected[] = {0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200};
    DwScale scale = dw_scale_logarithmic((DwRange){0.15, 200}, 0, 100);
    DwTicks ticks = dw_scale_ticks(&scale, 8);
    ck_assert_uint_eq(ticks.count, 10);
    for (size_t i = 0; i < 10; i++)
        ck_assert_double_eq_tol(ticks.at[i], expected[i], 1e-12 * expected[i] + 1e-15);
    // An axis that begins or ends beside a tick begins or ends at it.
    scale = dw_scale_logarithmic((DwRange){0.2008, 198}, 0, 100);
    ck_assert_double_eq_tol(scale.low, 0.2, 1e-12);
    ck_assert_double_eq_tol(scale.high, 200, 1e-9);
    // A narrow range still gets readable ticks.
    scale = dw_scale_logarithmic((DwRange){30, 45}, 0, 100);
    ck_assert_uint_ge(dw_scale_ticks(&scale, 4).count, 3);
    // The whole of what a double holds does not overflow the list.
    scale = dw_scale_logarithmic((DwRange){1e-300, 1e300}, 0, 100);
    ticks = dw_scale_ticks(&scale, 8);
    ck_assert_uint_ge(ticks.count, 3);
    ck_assert_uint_le(ticks.count, DW_SCALE_TICKS_MOST);
}
END_TEST

START_TEST(places_lie_between_the_ends)
{
    DwScale linear = dw_scale_linear((DwRange){10, 20}, 0, 100, 300);
    ck_assert_double_eq_tol(dw_scale_place(&linear, 12.5), 150, 1e-9);
    DwScale falling = dw_scale_linear((DwRange){0, 1}, 0, 300, 100);
    ck_assert_double_eq_tol(dw_scale_place(&falling, 0.25), 250, 1e-9);
    // The geometric mean stands in the middle of a logarithmic scale.
    DwScale logarithmic = dw_scale_logarithmic((DwRange){0.2, 200}, 0, 60);
    ck_assert_double_eq_tol(dw_scale_place(&logarithmic, 2), 20, 1e-9);
    // No value may leave for where a drawing library's numbers end.
    ck_assert_double_le(fabs(dw_scale_place(&linear, 1e308)), 600);
    ck_assert_double_ge(dw_scale_place(&logarithmic, 0), -61);
}
END_TEST

START_TEST(ranges_without_a_span_get_room)
{
    static const double values[] = {0, 33.3, -5, 1e300, -1e300, 1e-200, 1e-310};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        DwScale scale = dw_scale_linear(dw_scale_widen(dw_scale_nothing(), values[i]), 0.1, 0, 100);
        ck_assert(scale.low < values[i] && scale.high > values[i]);
        ck_assert_double_eq_tol(dw_scale_place(&scale, values[i]), 50, 1e-6);
        ck_assert_uint_ge(dw_scale_ticks(&scale, 5).count, 1);
    }
    DwScale empty = dw_scale_linear(dw_scale_widen(dw_scale_nothing(), NAN), 0.1, 0, 100);
    ck_assert_double_eq_tol(empty.high - empty.low, 1.2, 1e-12);
}
END_TEST

START_TEST(round_up_takes_the_next_round_value)
{
    static const double cases[][2] = {{0.213, 0.3}, {0.3, 0.3},    {1, 1},   {1.01, 1.5},
                                      {8.2, 10},    {0.061, 0.08}, {99, 100}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_double_eq_tol(dw_scale_round_up(cases[i][0]), cases[i][1], 1e-12);
}
END_TEST

START_TEST(numbers_stand_as_in_print)
{
    ck_assert_str_eq(dw_number_print(-0.214, 2, false).text, "−0.21");
    static const char *const amounts[][2] = {{"0.00", "0.00"},
                                             {"999.99", "999.99"},
                                             {"1234.50", "1\u202f234.50"},
                                             {"-1234567.05", "−1\u202f234\u202f567.05"},
                                             {"123456", "123\u202f456"},
                                             {"-0.05", "−0.05"},
                                             {"", ""}};
    for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++) {
        char *printed = dw_number_amount(amounts[i][0]);
        ck_assert_str_eq(printed, amounts[i][1]);
        free(printed);
    }
    ck_assert_str_eq(dw_number_print(0.24, 2, true).text, "+0.24");
    ck_assert_str_eq(dw_number_print(-0.001, 2, true).text, "0.00");
    ck_assert_str_eq(dw_number_print(NAN, 2, true).text, "–");
    ck_assert_str_eq(dw_number_print(1e300, 2, false).text, "1e+300");
    ck_assert_str_eq(dw_number_print(0.5, -1, false).text, "0.5");
    const DwNumberStyle *before = dw_number_use_style(&(DwNumberStyle){.mark = ",", .thousands = "."});
    ck_assert_str_eq(dw_number_print(3150.25, 2, false).text, "3150,25");
    ck_assert_str_eq(dw_number_print(-12345.5, 1, false).text, "−12.345,5");
    ck_assert_str_eq(dw_number_print(1234567, -1, false).text, "1.234.567");
    ck_assert_str_eq(dw_number_print(1e300, 2, false).text, "1e+300");
    dw_number_use_style(before);
    ck_assert_str_eq(dw_number_print(-12345.5, 1, false).text, "−12345.5");
    ck_assert_int_eq(dw_number_digits(58.2), 1);
    ck_assert_int_eq(dw_number_digits(1.8), 2);
    ck_assert_int_eq(dw_number_digits(0.24), 2);
    ck_assert_int_eq(dw_number_digits(3150), 0);
    ck_assert_str_eq(dw_number_space("deg"), "");
    ck_assert_str_eq(dw_number_unit("deg"), "°");
}
END_TEST

START_TEST(numbers_have_the_mark_that_was_set)
{
    ck_assert(dw_number_set_mark(","));
    ck_assert_str_eq(dw_number_print(-1234.5, 2, true).text, "−1234,50");
    ck_assert_str_eq(dw_number_print(3, 0, true).text, "+3");
    ck_assert(!dw_number_set_mark("") && !dw_number_set_mark("a whole word"));
    ck_assert_str_eq(dw_number_mark(), ",");
    ck_assert(dw_number_set_mark("."));
    ck_assert_str_eq(dw_number_print(0.25, 2, false).text, "0.25");
}
END_TEST

DW_SUITE("scale", linear_ticks_are_the_round_values_within, logarithmic_ticks_are_1_2_5, places_lie_between_the_ends,
         ranges_without_a_span_get_room, round_up_takes_the_next_round_value, numbers_stand_as_in_print,
         numbers_have_the_mark_that_was_set)
