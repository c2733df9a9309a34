// SPDX-License-Identifier: MIT
#include "play_file.h"

#include <math.h>

START_TEST(ratios_and_their_causes)
{
    // 1.350 and 2.348 are 45 and 78.26 over 33⅓; 1.200 and 0.833 the two mains.
    static const struct {
        const char *operands;
        double ratio;
        const char *meaning, *words;
    } cases[] = {
        {"ratio.first=33.4 ratio.second=45.09", 1.350, "45 against 33⅓", "stand right"},
        {"ratio.first=33.3333 ratio.second=78.2609", 2.3478, "78.26 against 33⅓", "stand right"},
        {"ratio.first_tone=3150 ratio.second_tone=4252.5", 1.350, "45 against 33⅓", "Their ratio is right"},
        // 40 and 54 are 33⅓ and 45 a fifth fast, 27.8 and 37.5 a sixth slow: the mains' frequencies.
        {"ratio.first=40 ratio.second=54", 1.350, "45 against 33⅓", "is 40, 20.0 % fast. A pulley made for 50 Hz"},
        {"ratio.first=27.778 ratio.second=37.5", 1.350, "45 against 33⅓", "16.7 % slow. A pulley made for 60 Hz"},
        {"ratio.first=34 ratio.second=45.9", 1.350, "45 against 33⅓", "2.0 % fast. Look at what they share"},
        {"ratio.first=33.33 ratio.second=44.4", 1.3321, "45 against 33⅓", "off against the other"},
        {"ratio.first=33.333 ratio.second=40", 1.2000, "60 Hz against 50 Hz", "made for 50 Hz on 60 Hz"},
        {"ratio.first=33.333 ratio.second=27.78", 0.8334, "50 Hz against 60 Hz", "made for 60 Hz on 50 Hz"},
        {"ratio.first=33.33 ratio.second=33.35", 1.0006, "no change of speed", "does not change"},
        {"ratio.first=33.333 ratio.second=54", 1.6200, "45 against 33⅓, a fifth too much", "other mains"},
        {"ratio.first=45 ratio.second=33.333", 0.7407, "33⅓ against 45", "wrong way round"},
        {"ratio.first=33.33 ratio.second=50", 1.5002, NULL, "No common mistake"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = call_well("ratio", cases[i].operands);
        ck_assert_double_eq_tol(value(sheet, "ratio.value"), cases[i].ratio, 6e-5);
        if (cases[i].meaning)
            ck_assert_str_eq(dw_sheet_reading(sheet, "ratio.meaning")->word, cases[i].meaning);
        ck_assert_msg(says(sheet->remarks, sheet->remark_count, cases[i].words), "%s", cases[i].operands);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(what_each_is_known_within_passes_to_the_ratio)
{
    // By hand: 0.3 % of each of two independent values is 0.3 % · √2 of their quotient: 1.35 ± 0.005728; unstated 0.1
    // %.
    static const struct {
        const char *operands;
        double off, off_percent;
        bool is_open;
    } cases[] = {
        {"ratio.first=33.3333 ratio.second=45 ratio.within=0.3%", 0.005728, 0.42426, true},
        {"ratio.first=33.3333 ratio.second=45", 0.001909, 0.14142, false},
        {"ratio.first_tone=3150 ratio.second_tone=4252.5", 0.001909, 0.14142, false},
        {"ratio.first=33.3333 ratio.second=45.1575 ratio.within=0.1%", 0.0019159, 0.14191, true}, // 0.35 % fast
        {"ratio.first=33.3333 ratio.second=45.1575 ratio.within=0.01%", 0.00019159, 0.014191, false},
        {"ratio.first=33.3333 ratio.second=33.35 ratio.within=1%", 0.0141492, 1.41492, false}, // names its cause
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = call_well("ratio", cases[i].operands);
        ck_assert_double_eq_tol(dw_sheet_reading(sheet, "ratio.value")->uncertainty, cases[i].off, 1e-6);
        ck_assert_double_eq_tol(dw_sheet_reading(sheet, "ratio.off")->uncertainty, cases[i].off_percent, 1e-4);
        ck_assert_msg(says(sheet->remarks, sheet->remark_count, "may be right or not") == cases[i].is_open, "%s",
                      cases[i].operands);
        dw_sheet_free(sheet);
    }
}
END_TEST

// One sentence tells what the ratio means, by its ± (√2 times what each is known within) and 0.3 %: right, off, open;
// beyond 3 % it is nobody's. 45.09 over 33.4 is right by itself, 45.09 over 33.3333 is 0.2 % fast, 45.3 is 0.67 %.
START_TEST(one_sentence_is_said_by_the_doubt)
{
    static const char *const sentences[] = {"stand right",     "Their ratio is right", "off against the other",
                                            "may be right or", "no ratio can be",      "No common mistake",
                                            "wrong alike"};
    static const struct {
        const char *operands;
        size_t said;
    } cases[] = {
        {"ratio.first=33.4 ratio.second=45.09", 0},
        {"ratio.first=33.3333 ratio.second=45.09 ratio.within=0.01%", 0},
        {"ratio.first=33.3333 ratio.second=45.09 ratio.within=0.1%", 3},
        {"ratio.first=33.3333 ratio.second=45.3", 2},
        {"ratio.first=33.3333 ratio.second=45.3 ratio.within=0.5%", 3},
        {"ratio.first=34.2 ratio.second=45", 2}, // one is off, so they are not wrong alike
        {"ratio.first=34 ratio.second=45.9", 6},
        {"ratio.first=33.8 ratio.second=45.63 ratio.within=0.05%", 6}, // 1.4 % fast
        {"ratio.first_tone=3150 ratio.second_tone=4252.5", 1},
        {"ratio.first=34 ratio.second=45.9 ratio.within=1%", 3}, // 2 % fast within 1 %
        {"ratio.first=33.3333 ratio.second=45 ratio.within=3%", 4},
        {"ratio.first=33.3333 ratio.second=50", 5},
        {"ratio.first=33.3333 ratio.second=46.5 ratio.within=1%", 4}, // 3.3 % off within 1.4 %
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = call_well("ratio", cases[i].operands);
        for (size_t s = 0; s < sizeof sentences / sizeof *sentences; s++)
            ck_assert_msg(says(sheet->remarks, sheet->remark_count, sentences[s]) == (s == cases[i].said), "%s: %s",
                          cases[i].operands, sentences[s]);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(one_pair_is_asked_for)
{
    DwMessage message;
    ck_assert_ptr_null(call("ratio", "ratio.first=33.3", &message));
    ck_assert_ptr_nonnull(strstr(message.text, "ratio.second"));
    ck_assert_ptr_null(
        call("ratio", "ratio.first=33 ratio.second=45 ratio.first_tone=3150 ratio.second_tone=4252", &message));
    ck_assert_ptr_nonnull(strstr(message.text, "not both"));
}
END_TEST

START_TEST(two_recordings_give_the_ratio)
{
    // One band of 3150 Hz on a deck 0.4 % fast at both settings, the clock off by 300 ppm.
    static const char *const settings[] = {"fault.speed_error=0.4%", "fault.speed_error=35.54%"};
    char *paths[2], operands[300];
    for (size_t i = 0; i < 2; i++) {
        snprintf(operands, sizeof operands,
                 "synth.rate=11025 synth.channels=1 synth.length=15s record.tone=3150 chain.clock_error=300ppm "
                 "fault.wow=0.1%% %s",
                 settings[i]);
        size_t count;
        float *samples = play_samples(operands, &count);
        paths[i] = play_name(i ? "faster" : "slower");
        play_write(paths[i], 11025, samples, count);
        free(samples);
    }
    DwMessage message = {""};
    DwSheet *sheet = call_files("ratio", (const char *const *)paths, 2, "record.tone=3150", &message);
    ck_assert_msg(sheet, "%s", message.text);
    ck_assert_double_eq_tol(value(sheet, "ratio.value"), 1.35, 1e-4);
    ck_assert_str_eq(dw_sheet_reading(sheet, "ratio.meaning")->word, "45 against 33⅓");
    double off = dw_sheet_reading(sheet, "ratio.value")->uncertainty;
    ck_assert_msg(off > 0 && off < 0.002, "%g", off);
    dw_sheet_free(sheet);
    ck_assert_ptr_null(call_files("ratio", (const char *const *)paths, 1, "record.tone=3150", &message));
    ck_assert_ptr_nonnull(strstr(message.text, "two recordings"));
    ck_assert_ptr_null(call_files("ratio", (const char *const *)paths, 2, "ratio.first=33", &message));
    ck_assert_ptr_nonnull(strstr(message.text, "not both"));
    for (size_t i = 0; i < 2; i++) {
        unlink(paths[i]);
        free(paths[i]);
    }
}
END_TEST

DW_SUITE("ratio", ratios_and_their_causes, what_each_is_known_within_passes_to_the_ratio,
         one_sentence_is_said_by_the_doubt, one_pair_is_asked_for, two_recordings_give_the_ratio)
