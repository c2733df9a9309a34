// SPDX-License-Identifier: MIT
#include "base/text.h"
#include "support/suite.h"

#include <stdlib.h>
#include <string.h>

static double number(const char *text, const char *rest)
{
    double value = -999;
    const char *after = dw_text_number(text, &value);
    ck_assert_msg(after, "%s", text);
    ck_assert_str_eq(after, rest);
    return value;
}

START_TEST(numbers_are_read_as_they_are_typed)
{
    ck_assert_double_eq_tol(number("222mm", "mm"), 222, 1e-12);
    ck_assert_double_eq_tol(number("1,54 g", " g"), 1.54, 1e-15);
    ck_assert_double_eq_tol(number("-.5", ""), -0.5, 1e-12);
    ck_assert_double_eq_tol(number("−2", ""), -2, 1e-12);
    ck_assert_double_eq_tol(number("1e-3H", "H"), 1e-3, 1e-15);
    ck_assert_double_eq_tol(number("33⅓rpm", "rpm"), 33 + 1.0 / 3, 1e-12);
    ck_assert_double_eq_tol(number("33 1/3 rpm", " rpm"), 33 + 1.0 / 3, 1e-12);
    ck_assert_double_eq_tol(number("-9 3/8in", "in"), -9.375, 1e-12);
    ck_assert_double_eq_tol(number("½", ""), 0.5, 1e-12);
}
END_TEST

START_TEST(what_is_no_number_is_refused)
{
    double value;
    const char *const bad[] = {"", "x", "-", ".", "nan", "inf", "1e999", "mm"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_msg(!dw_text_number(bad[i], &value), "%s", bad[i]);
}
END_TEST

START_TEST(decimals_never_show_minus_zero)
{
    char buffer[32];
    ck_assert_str_eq(dw_text_decimal(buffer, sizeof buffer, -0.001, 2), "0.00");
    ck_assert_str_eq(dw_text_decimal(buffer, sizeof buffer, -0.006, 2), "-0.01");
    ck_assert_str_eq(dw_text_decimal(buffer, sizeof buffer, 0.0 / 0.0, 2), "–");
}
END_TEST

START_TEST(distance_counts_edits)
{
    // The textbook pair of V. I. Levenshtein's distance: kitten, sitting, 3.
    ck_assert_uint_eq(dw_text_distance("kitten", "sitting"), 3);
    ck_assert_uint_eq(dw_text_distance("", "abc"), 3);
    ck_assert_uint_eq(dw_text_distance("same", "same"), 0);
}
END_TEST

START_TEST(words_are_found_by_how_they_begin)
{
    static const struct {
        const char *text, *beginning;
        bool found;
    } cases[] = {{"Clean the bearing", "clean", true},
                 {"uncleaned", "clean", false},
                 {"(Glass) platter", "glass", true},
                 {"fibreglass", "glass", false},
                 {"", "x", false},
                 {"hot water", "hot water", true},
                 {"hot, water", "hot water", false},
                 {"x", "", true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_msg(dw_text_has_word(cases[i].text, cases[i].beginning, strlen(cases[i].beginning)) == cases[i].found,
                      "\"%s\" in \"%s\"", cases[i].beginning, cases[i].text);
}
END_TEST

START_TEST(names_in_braces_are_replaced)
{
    char *text = dw_text_replace("{a} and {b}, {a}{", "a", "one {b}");
    ck_assert_str_eq(text, "one {b} and {b}, one {b}{");
    free(text);
}
END_TEST

DW_SUITE("text", numbers_are_read_as_they_are_typed, what_is_no_number_is_refused, decimals_never_show_minus_zero,
         distance_counts_edits, words_are_found_by_how_they_begin, names_in_braces_are_replaced)
