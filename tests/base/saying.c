// SPDX-License-Identifier: MIT
// What a sheet says, in its reader's language. The sentences are made up.
#include "base/saying.h"
#include "base/sheet_json.h"
#include "support/suite.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

__attribute__((format(printf, 1, 2))) static DwSaying make(const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    DwSaying saying = dw_saying_make(pattern, arguments);
    va_end(arguments);
    return saying;
}

// A catalogue: pairs of texts, NULL last.
static const char *look_up(const void *context, const char *text)
{
    for (const char *const *pair = context; *pair; pair += 2)
        if (strcmp(pair[0], text) == 0)
            return pair[1];
    return text;
}

static char *in(const DwSaying *saying, const char *const *pairs)
{
    return dw_saying_in(saying, &(DwTongue){.say = look_up, .context = pairs, .mark = ","});
}

START_TEST(says_in_english_what_printf_says)
{
    DwSaying saying = make("%5.1f of %d, %+.*f%% %-4s|%zu %llu %lx %c", 2.25, -3, 2, 0.5, "ab", (size_t)7,
                           1234567890123ULL, 0xffL, 'k');
    ck_assert_str_eq(saying.text, "  2.2 of -3, +0.50% ab  |7 1234567890123 ff k");
    ck_assert_uint_eq(saying.part_count, 8);
    ck_assert_str_eq(saying.parts[2], "+0.50");
    dw_saying_clear(&saying);
}
END_TEST

// What stands at a place and has places of its own, alone, among other letters and within another.
START_TEST(says_phrases_within_sentences)
{
    static const char *const german[] = {"To be done: %s.",
                                         "Zu tun: %s.",
                                         "twist %.1f° %s",
                                         "%2$s drehen, %1$.1f°",
                                         "inwards",
                                         "nach innen",
                                         "%s, or %s",
                                         "%s oder %s",
                                         NULL};
    char *twist = dw_saying_phrase("twist %.1f° %s", -0.25, "inwards"),
         *either = dw_saying_phrase("%s, or %s", twist, "inwards");
    DwSaying one = make("To be done: %s.", twist), two = make("To be done: 1) %s; 2) %s.", either, twist);
    ck_assert_str_eq(one.text, "To be done: twist -0.2° inwards.");
    ck_assert_str_eq(two.text, "To be done: 1) twist -0.2° inwards, or inwards; 2) twist -0.2° inwards.");
    DwSaying kept = dw_saying_of(one.text, one.pattern, (const char *const *)one.parts, one.part_count);
    char *said = in(&kept, german), *both = in(&two, german);
    ck_assert_str_eq(said, "Zu tun: nach innen drehen, −0,2°.");
    ck_assert_str_eq(both, "To be done: 1) nach innen drehen, −0,2° oder nach innen; 2) nach innen drehen, −0,2°.");
    free(said);
    free(both);
    free(twist);
    free(either);
    dw_saying_clear(&one);
    dw_saying_clear(&two);
    dw_saying_clear(&kept);
}
END_TEST

// A name of a file may hold any character: what only looks like a phrase is no pattern, however deep.
START_TEST(takes_no_phrase_that_does_not_fit)
{
    static const char *const none[] = {NULL};
    static const char *const odd[] = {"a\1%s\3b", "a\1%s %s\2x\3b", "a\1b",  "a\3b",
                                      "a\2b",     "\1%n\2x\3",      "\1%\3", "\1\1\1\3\3\3"};
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++) {
        DwSaying saying = make("Of %s.", odd[i]);
        char *said = in(&saying, none);
        ck_assert_uint_eq(strcspn(saying.text, "\1\2\3%x"), strlen(saying.text));
        ck_assert_str_eq(said, saying.text);
        free(said);
        dw_saying_clear(&saying);
    }
    char deep[2001] = "";
    memset(deep, 1, 1000);
    memset(deep + 1000, 3, 1000);
    DwSaying saying = make("Of %s.", deep);
    ck_assert_uint_lt(strlen(saying.text), 20);
    dw_saying_clear(&saying);
}
END_TEST

START_TEST(puts_places_where_the_language_has_them)
{
    static const char *const german[] = {"Set the stylus %.2f mm %s the spindle (%s).",
                                         "Die Nadel %2$s, und zwar %1$.2f mm (%3$s).", "past", "hinter die Achse",
                                         NULL};
    DwSaying saying = make("Set the stylus %.2f mm %s the spindle (%s).", 1.5, "past", "v1.2.wav");
    char *said = in(&saying, german);
    ck_assert_str_eq(said, "Die Nadel hinter die Achse, und zwar 1,50 mm (v1.2.wav).");
    free(said);
    dw_saying_clear(&saying);
}
END_TEST

START_TEST(a_language_leaves_out_what_it_does_not_say)
{
    static const char *const german[] = {"At %zu place%s it jumps: %.*f mm.",
                                         "An %1$zu Stelle(n)%2$.0s springt es: %3$.*f mm.", NULL};
    DwSaying saying = make("At %zu place%s it jumps: %.*f mm.", (size_t)3, "s", 1, 0.5);
    ck_assert_str_eq(saying.text, "At 3 places it jumps: 0.5 mm.");
    char *said = in(&saying, german);
    ck_assert_str_eq(said, "An 3 Stelle(n) springt es: 0,5 mm.");
    free(said);
    dw_saying_clear(&saying);
}
END_TEST

START_TEST(numbers_have_a_minus_and_the_mark)
{
    static const char *const none[] = {NULL};
    DwSaying saying = make("%+.1f %% or %5.1f, %.1e of %s", -0.5, -2.5, -1.5e-7, "-1.5.wav");
    char *said = in(&saying, none);
    ck_assert_str_eq(said, "−0,5 % or  −2,5, −1,5e-07 of -1.5.wav");
    free(said);
    dw_saying_clear(&saying);
}
END_TEST

START_TEST(a_pattern_that_does_not_fit_is_left_aside)
{
    static const char *const wrong[] = {"%s",         "%s %s", "%1$s %s and %2$s", "%3$s %2$s",    "%n %s",
                                        "100 % of %", "%1$s",  "%0$s %0$s",        "%99999999$s x"};
    DwSaying saying = make("%s by %.1f", "Left", 0.25);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        const char *const pairs[] = {"%s by %.1f", wrong[i], NULL};
        char *said = in(&saying, pairs);
        bool one_place = strcmp(wrong[i], "%s %s") == 0; // as many places: that is a translator's to get right
        ck_assert_msg(one_place || strcmp(said, "Left by 0,2") == 0, "%s: %s", wrong[i], said);
        free(said);
    }
    dw_saying_clear(&saying);
}
END_TEST

START_TEST(is_read_back_with_what_it_was_made_of)
{
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    dw_sheet_remark(sheet, "The %s turns %.1f %% fast.", "platter", 0.8);
    dw_sheet_caution(sheet, "Plain.");
    dw_sheet_not_measured(sheet, "speed.drift", "only %.0f s", 3.0);
    char *json = dw_sheet_json_write(sheet);
    DwSheet *read = NULL;
    ck_assert_int_eq(dw_sheet_json_read(json, &read, NULL), DW_OK);
    static const char *const pairs[] = {"The %s turns %.1f %% fast.",
                                        "%2$.1f %% zu schnell: %1$s.",
                                        "platter",
                                        "Teller",
                                        "Plain.",
                                        "Schlicht.",
                                        "only %.0f s",
                                        "nur %.0f s",
                                        NULL};
    const DwSaying *sayings[] = {&read->remarks[0], &read->cautions[0], &read->not_measured[0].reason};
    const char *const expected[] = {"0,8 % zu schnell: Teller.", "Schlicht.", "nur 3 s"};
    for (size_t i = 0; i < 3; i++) {
        char *said = in(sayings[i], pairs);
        ck_assert_str_eq(said, expected[i]);
        free(said);
    }
    char *again = dw_sheet_json_write(read);
    ck_assert_str_eq(again, json);
    free(again);
    free(json);
    dw_sheet_free(read);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(an_old_sheet_or_a_spoilt_one_keeps_its_english)
{
    static const char *const sheets[] = {
        "{\"deckwright\":1,\"remarks\":[\"As it was.\"]}",
        "{\"deckwright\":1,\"remarks\":[\"As it "
        "was.\"],\"wordings\":7,\"sayings\":{\"remarks\":[{\"pattern\":\"%n%n\",\"parts\":[\"a\"]}]}}",
        "{\"deckwright\":1,\"remarks\":[\"As it was.\"],\"sayings\":{\"remarks\":[{\"pattern\":\"%s "
        "%s\",\"parts\":[\"a\"]}]}}",
        "{\"deckwright\":1,\"remarks\":[\"As it was.\"],\"sayings\":[]}"};
    static const char *const none[] = {NULL};
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++) {
        DwSheet *sheet = NULL;
        ck_assert_int_eq(dw_sheet_json_read(sheets[i], &sheet, NULL), DW_OK);
        char *said = in(&sheet->remarks[0], none);
        ck_assert_str_eq(said, "As it was.");
        free(said);
        dw_sheet_free(sheet);
    }
}
END_TEST

DW_SUITE("saying", says_in_english_what_printf_says, says_phrases_within_sentences, takes_no_phrase_that_does_not_fit,
         puts_places_where_the_language_has_them, numbers_have_a_minus_and_the_mark,
         a_language_leaves_out_what_it_does_not_say, a_pattern_that_does_not_fit_is_left_aside,
         is_read_back_with_what_it_was_made_of, an_old_sheet_or_a_spoilt_one_keeps_its_english)
