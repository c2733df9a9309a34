// SPDX-License-Identifier: MIT
#include "base/status.h"
#include "base/text.h"
#include "support/suite.h"

#include <stdio.h>
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

START_TEST(thousands_are_read_where_they_are_clear)
{
    ck_assert_double_eq(number("1,234.5 Hz", " Hz"), 1234.5);
    ck_assert_double_eq(number("1.234,5Hz", "Hz"), 1234.5);
    ck_assert_double_eq(number("1.234.567", ""), 1234567);
    ck_assert_double_eq(number("-1,234,567.25", ""), -1234567.25);
    ck_assert_double_eq(number("1,234.567", ""), 1234.567);
    ck_assert_double_eq(number("47 000ohm", "ohm"), 47000);
    ck_assert_double_eq(number("47\u00a0000 ohm", " ohm"), 47000);
    ck_assert_double_eq(number("47\u202f000,5", ""), 47000.5);
    ck_assert_double_eq(number("1'234'567.5", ""), 1234567.5);
    ck_assert_double_eq(number("0,125", ""), 0.125);
    ck_assert_double_eq(number(",125", ""), 0.125);
    ck_assert_double_eq(number("3159,767", ""), 3159.767);
    ck_assert_double_eq(number("47,0000", ""), 47);
    ck_assert_double_eq(number("33.437", ""), 33.437); // as this program itself writes
    ck_assert_double_eq(number("33 100", ""), 33100);
    ck_assert_double_eq_tol(number("33 100/300", ""), 33 + 1.0 / 3, 1e-12);
    ck_assert_double_eq(number("12 3456", " 3456"), 12);
    ck_assert_double_eq(number("1234 567", " 567"), 1234);
    ck_assert_double_eq(number("22' 500", "' 500"), 22);
}
END_TEST

START_TEST(a_list_is_parted_at_spaces)
{
    double value = 0;
    ck_assert_str_eq(dw_text_number_in_list("315 1000 Hz", &value), " 1000 Hz");
    ck_assert_double_eq(value, 315);
    ck_assert_str_eq(dw_text_number_in_list("40 100 200 um", &value), " 100 200 um");
    ck_assert_double_eq(value, 40);
    ck_assert_ptr_null(dw_text_number_in_list("100,200 um", &value));
    ck_assert_ptr_null(dw_text_number_in_list("100,200,300 um", &value));
}
END_TEST

START_TEST(a_number_that_may_be_two_is_refused_with_both)
{
    static const char *const open[][2] = {
        {"47,000ohm", "47,000 may be 47 or 47 000: write 47000 or 47.0"},
        {"-1,250", "-1,250 may be -1.25 or -1 250: write -1250 or -1.25"},
        {"20,125 mm", "20,125 may be 20.125 or 20 125: write 20125 or 20.1250"},
        {"123,456", "123,456 may be 123.456 or 123 456: write 123456 or 123.4560"},
    };
    double value = 0;
    for (size_t i = 0; i < sizeof open / sizeof *open; i++) {
        DwMessage message = {""};
        ck_assert_msg(!dw_text_number(open[i][0], &value), "%s is read as %g", open[i][0], value);
        ck_assert_int_eq(dw_text_number_clear(NULL, open[i][0], &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, open[i][1]), "%s: %s", open[i][0], message.text);
    }
    static const char *const clear[] = {"47000", "47.0", "20.1250", "0,125", "1,234.5", "x", "", "47.000"};
    for (size_t i = 0; i < sizeof clear / sizeof *clear; i++)
        ck_assert_int_eq(dw_text_number_clear(NULL, clear[i], NULL), DW_OK);
}
END_TEST

START_TEST(what_is_no_number_is_refused)
{
    double value;
    const char *const bad[] = {"",   "x",        "-",     ".",        "nan",       "inf",        "1e999",
                               "mm", "1,23,456", "1.2.3", "1,234,56", "0,123,456", "1.234,567.8"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_msg(!dw_text_number(bad[i], &value), "%s", bad[i]);
}
END_TEST

START_TEST(a_doubt_is_never_written_as_nothing)
{
    char buffer[40];
    static const struct {
        double doubt;
        int decimals;
        const char *text;
    } tried[] = {
        {0.0123, 3, "0.012"},     {0.0006, 3, "0.001"}, {0.0004, 3, "0.0004"},
        {0.000023, 3, "0.00002"}, {0.3, 0, "0.3"},      {12, 1, "12.0"},
    };
    for (size_t i = 0; i < sizeof tried / sizeof *tried; i++) {
        int decimals = dw_text_doubt_decimals(tried[i].doubt, tried[i].decimals);
        ck_assert_str_eq(dw_text_decimal(buffer, sizeof buffer, tried[i].doubt, decimals), tried[i].text);
    }
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
    // Source (published): the textbook pair of V. I. Levenshtein's distance: kitten, sitting, 3.
    ck_assert_uint_eq(dw_text_distance("kitten", "sitting"), 3);
    ck_assert_uint_eq(dw_text_distance("", "abc"), 3);
    ck_assert_uint_eq(dw_text_distance("same", "same"), 0);
    // Two neighbours swapped are one error. Source (published): F. J. Damerau, A Technique for Computer Detection and
    // Correction of Spelling Errors, 1964.
    ck_assert_uint_eq(dw_text_distance("Gorve", "Grove"), 1);
    ck_assert_uint_eq(dw_text_distance("thron", "thorn"), 1);
    ck_assert_uint_eq(dw_text_distance("ab", "ba"), 1);
    ck_assert_uint_eq(dw_text_distance("abc", "cab"), 2);
    ck_assert_uint_eq(dw_text_distance("abcdef", "badcfe"), 3);
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

// A shell is asked what it takes WORD for.
static void check_word(const char *word)
{
    DwText line = {0};
    char given[200];
    dw_text_add(&line, "printf %%s ");
    dw_text_add_word(&line, word);
    FILE *shell = popen(line.chars, "r");
    ck_assert_ptr_nonnull(shell);
    given[fread(given, 1, sizeof given - 1, shell)] = '\0';
    ck_assert_int_eq(pclose(shell), 0);
    ck_assert_str_eq(given, word);
    dw_text_clear(&line);
}

START_TEST(a_shell_takes_a_word_for_one)
{
    static const char *const words[] = {
        "card.jpg", "",      "my card.jpg", "the owner's, 2nd.jpg", "'",      "''x'", "*.jpg", "$HOME", "a\\b", "`id`",
        "a\nb",     "a;b&c", "β δ.jpg",     "print.scale=98 %",     "\"x\"!", "~",    "#1",    "[a]"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        check_word(words[i]);
    DwText plain = {0};
    dw_text_add_word(&plain, "print.scale=98%");
    ck_assert_str_eq(plain.chars, "print.scale=98%");
    dw_text_clear(&plain);
}
END_TEST

START_TEST(names_in_braces_are_replaced)
{
    char *text = dw_text_replace("{a} and {b}, {a}{", "a", "one {b}");
    ck_assert_str_eq(text, "one {b} and {b}, one {b}{");
    free(text);
}
END_TEST

START_TEST(what_is_cut_ends_with_a_letter)
{
    static const char *const text = "aé€🎛b"; // letters of 1, 2, 3, 4 and 1 bytes
    static const int whole[] = {0, 1, 1, 3, 3, 3, 6, 6, 6, 6, 10, 11, 11, 11};
    for (int most = 0; most < 14; most++)
        ck_assert_int_eq(dw_text_whole(text, most), whole[most]);
    ck_assert_uint_eq(dw_text_letter("é"), 2);
    ck_assert_uint_eq(dw_text_letter("\xC3"), 0);
    ck_assert_uint_eq(dw_text_letter(""), 0);
}
END_TEST

START_TEST(a_long_line_keeps_its_end_and_its_letters)
{
    // However long what was given is: what is wrong with it and what to do stands behind it.
    static const char *const letters[] = {"x", "é", "ع", "🎛"};
    for (size_t l = 0; l < 4; l++)
        for (size_t count = 1; count < 900; count++) {
            char given[4 * 900 + 1] = "";
            for (size_t i = 0; i < count; i++)
                memcpy(given + i * strlen(letters[l]), letters[l], strlen(letters[l]) + 1);
            DwMessage message;
            ck_assert_int_eq(dw_fail(&message, DW_BAD_INPUT, "Name: \"%s\" is no number. Give one.", given),
                             DW_BAD_INPUT);
            const char *text = message.text, *end = "\" is no number. Give one.";
            ck_assert(dw_text_is_utf8(text, strlen(text)));
            ck_assert_msg(strncmp(text, "Name: \"", 7) == 0 && strcmp(text + strlen(text) - strlen(end), end) == 0,
                          "%s", text);
            bool whole = strlen(given) + 7 + strlen(end) < sizeof message.text;
            ck_assert_int_eq(strstr(text, "…") == NULL, whole);
            ck_assert(whole || strlen(text) > sizeof message.text - 12); // no more is cut than must be
        }
}
END_TEST

DW_SUITE("text", what_is_cut_ends_with_a_letter, a_long_line_keeps_its_end_and_its_letters,
         numbers_are_read_as_they_are_typed, thousands_are_read_where_they_are_clear, a_list_is_parted_at_spaces,
         a_number_that_may_be_two_is_refused_with_both, what_is_no_number_is_refused,
         a_doubt_is_never_written_as_nothing, decimals_never_show_minus_zero, distance_counts_edits,
         words_are_found_by_how_they_begin, a_shell_takes_a_word_for_one, names_in_braces_are_replaced)
