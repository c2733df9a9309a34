// SPDX-License-Identifier: MIT
// Arms by their names, what the bands of a side are called, the marks on papers, texts letter by letter.
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/paper_marks.h"
#include "base/place.h"
#include "base/plan/side_measured.h"
#include "base/text.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void expect(char *got, const char *wanted)
{
    ck_assert_str_eq(got, wanted);
    free(got);
}

START_TEST(an_arms_keys_bear_its_name)
{
    DwMessage message = {""};
    ck_assert(dw_arm_key_is_arms("arm.overhang") && dw_arm_key_is_arms("setup.height@rear"));
    ck_assert(!dw_arm_key_is_arms("drive.kind") && !dw_arm_key_is_arms("setup.level@rear"));
    ck_assert_str_eq(dw_arm_key_name("arm.overhang@rear"), "rear");
    ck_assert_str_eq(dw_arm_key_name("arm.overhang"), "");
    expect(dw_arm_key_plain("arm.overhang@rear"), "arm.overhang");
    expect(dw_arm_key_join("arm.overhang", "rear"), "arm.overhang@rear");
    expect(dw_arm_key_join("drive.kind", "rear"), "drive.kind");
    expect(dw_arm_key_label("Overhang", "rear"), "Overhang (rear)");
    expect(dw_arm_key_label("Overhang", ""), "Overhang");
    ck_assert(dw_arm_key_belongs("arm.overhang@Rear", "rear") && !dw_arm_key_belongs("arm.overhang", "rear"));
    ck_assert(dw_arm_key_belongs("drive.kind", "rear") && dw_arm_key_belongs("arm.overhang", ""));
    const DwQuantity *row = dw_arm_key_quantity("arm.effective_length@rear");
    ck_assert(row && strcmp(row->key, "arm.effective_length") == 0 && !dw_arm_key_quantity("arm.nothing@rear"));
    char *words = dw_arm_key_label(row->label, "rear");
    expect(dw_arm_key_of_words(words), "arm.effective_length@rear");
    free(words);
    expect(dw_arm_key_of_words(row->label), "arm.effective_length");
    expect(dw_arm_key_of_words("arm.effective_length@rear"), "arm.effective_length@rear");
    expect(dw_arm_key_of_words("nothing (rear)"), "nothing (rear)");
    ck_assert_int_eq(dw_arm_key_check("arm.overhang@12-inch", &message), DW_OK);
    ck_assert_int_eq(dw_arm_key_check("arm.overhang", &message), DW_OK);
    ck_assert_int_eq(dw_arm_key_check("arm.overhang@the rear", &message), DW_BAD_INPUT);
    ck_assert_int_eq(dw_arm_key_check("drive.kind@rear", &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "no arm's"));
}
END_TEST

START_TEST(readings_belong_to_their_bands)
{
    ck_assert_str_eq(dw_side_measured_word("tone.frequency"), "speed");
    ck_assert_str_eq(dw_side_measured_word("lowsweep.lateral"), "arm resonance");
    ck_assert_str_eq(dw_side_measured_word("tracking.left"), "tracking");
    ck_assert_ptr_null(dw_side_measured_word("side.bands"));
    ck_assert(dw_side_measured_lists("speed, arm resonance", "arm resonance"));
    ck_assert(!dw_side_measured_lists("speed, arm resonance", "resonance ") && !dw_side_measured_lists(NULL, "speed"));
    ck_assert(!dw_side_measured_lists("speed, channels", "channel"));
    size_t count = 0;
    while (dw_side_measured_at(count))
        count++;
    ck_assert_uint_eq(count, 8);
}
END_TEST

// Every mark is found by its number, lies within its paper, and touches no other.
START_TEST(marks_stand_apart_on_their_papers)
{
    for (DwMarkedPaper paper = 0; paper < DW_MARKED_COUNT; paper++) {
        size_t count = dw_paper_marks_count(paper);
        ck_assert(count > 0 && *dw_marked_paper_name(paper));
        ck_assert(count <= DW_PAPER_MARKS_MOST || !dw_marked_paper_is_full(paper));
        for (size_t i = 0; i < count; i++) {
            DwPaperMark mark = dw_paper_mark(paper, i), found;
            DwMarkedPaper on;
            double corners[4][2];
            ck_assert(dw_paper_mark_find(mark.number, &on, &found) && on == paper && found.x_mm == mark.x_mm);
            dw_paper_mark_corners(&mark, corners);
            ck_assert_double_eq_tol(hypot(corners[1][0] - corners[0][0], corners[1][1] - corners[0][1]), mark.size_mm,
                                    1e-9);
            ck_assert_double_eq_tol((corners[0][0] + corners[2][0]) / 2, mark.x_mm, 1e-9);
            for (size_t k = 0; k < i; k++) {
                DwPaperMark other = dw_paper_mark(paper, k);
                ck_assert(hypot(mark.x_mm - other.x_mm, mark.y_mm - other.y_mm) > mark.size_mm);
            }
        }
    }
    DwMarkedPaper paper;
    DwPaperMark mark;
    double wide, high;
    ck_assert(!dw_paper_mark_find(-1, &paper, &mark) && !dw_paper_mark_find(586, &paper, &mark));
    ck_assert(dw_paper_disc_radius(DW_MARKED_DISC_LARGE) > dw_paper_disc_radius(DW_MARKED_DISC));
    dw_paper_card_reach(DW_MARKED_CARD, &wide, &high);
    ck_assert(wide > 0 && high > 0 && dw_marked_paper_has_spindle(DW_MARKED_DISC) &&
              !dw_marked_paper_has_spindle(DW_MARKED_CARD));
}
END_TEST

START_TEST(texts_are_taken_letter_by_letter)
{
    // The forms of RFC 3629: what is overlong, a surrogate, cut off or above U+10FFFF is none.
    static const char *const good[] = {"a", "é", "€", "🎵", ""}, *const bad[] = {"\x80", "\xc0\xaf", "\xed\xa0\x80",
                                                                                "\xf5\x80\x80\x80", "\xe2\x82"};
    for (size_t i = 0; i < 5; i++) {
        ck_assert(dw_text_is_utf8(good[i], strlen(good[i])));
        ck_assert(!dw_text_is_utf8(bad[i], strlen(bad[i])));
    }
    ck_assert(dw_text_is_blank(" \t\u00a0\u200b\u3000") && dw_text_is_blank("") && !dw_text_is_blank(" é "));
    ck_assert(dw_text_is_figures("09af", 4) && dw_text_is_figures("", 0));
    ck_assert(!dw_text_is_figures("09af", 3) && !dw_text_is_figures("09af", 5));
    ck_assert(!dw_text_is_figures("09AF", 4) && !dw_text_is_figures("09ag", 4) && !dw_text_is_figures("-9af", 4));
    ck_assert_int_eq(dw_text_whole("aé", 2), 1);
    ck_assert_int_eq(dw_text_whole("aé", 3), 3);
    ck_assert_uint_eq(dw_text_columns("aé€"), 3);
    expect(dw_text_replace("{a} of {b}, {a}", "a", "one"), "one of {b}, one");
    expect(dw_text_replace("a { brace", "a", "one"), "a { brace");
    char first[] = "écran", other[] = "œuf", plain[] = "belt", none[] = "÷";
    dw_text_begin_sentence(first);
    dw_text_begin_sentence(other);
    dw_text_begin_sentence(plain);
    dw_text_begin_sentence(none);
    ck_assert_str_eq(first, "Écran");
    ck_assert_str_eq(other, "Œuf");
    ck_assert_str_eq(plain, "Belt");
    ck_assert_str_eq(none, "÷");
}
END_TEST

START_TEST(places_follow_the_environment)
{
    setenv("DECKWRIGHT_DATA", "/somewhere/else", 1);
    setenv("DECKWRIGHT_WORDS", "/words", 1);
    ck_assert_str_eq(dw_data_folder(), "/somewhere/else");
    ck_assert_str_eq(dw_locale_folder(), "/words");
    char *beside = dw_place_beside("other-program");
    ck_assert(beside[0] == '/' && strcmp(beside + strlen(beside) - 14, "/other-program") == 0);
    free(beside);
}
END_TEST

DW_SUITE("keys", an_arms_keys_bear_its_name, readings_belong_to_their_bands, marks_stand_apart_on_their_papers,
         texts_are_taken_letter_by_letter, places_follow_the_environment)
