// SPDX-License-Identifier: MIT
// Which seconds of a recording are measured, and what is said of them.
#include "support/play.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

START_TEST(silence_crackle_talk_and_other_bands_are_left_out)
{
    DwSynth *synth = play_open((const char *const[]){
        "synth.rate=24kHz", "synth.length=40s", "synth.lead_silence=3s", "synth.lead_crackle=3s",
        "synth.announcement=6s", "fault.wow=0.1%", "synth.band_before=1000Hz:20s", "synth.band_after=315Hz:15s", NULL});
    DwSpeed *speed = play_into(synth, NAN, 4096);
    DwSheet *sheet = play_sheet(speed);
    const DwSynthTruth *truth = dw_synth_truth(synth);
    double start = reading(sheet, "tone.start"), end = start + reading(sheet, "tone.length");
    ck_assert_msg(start >= truth->tone_start_s && start < truth->tone_start_s + 0.3, "%.2f, tone from %.2f", start,
                  truth->tone_start_s);
    ck_assert_msg(end <= truth->tone_end_s && end > truth->tone_end_s - 0.4, "%.2f, tone to %.2f", end,
                  truth->tone_end_s);
    ck_assert_double_eq_tol(reading(sheet, "revolution.amplitude"), 0.1, 0.001);
    ck_assert(remarks(sheet, "record.tone was not given; the tone was taken for 3150 Hz"));
    dw_sheet_free(sheet);
    dw_speed_free(speed);
    dw_synth_free(synth);
}
END_TEST

START_TEST(a_stated_tone_wins_over_a_longer_band)
{
    DwSheet *sheet =
        play((const char *const[]){"synth.rate=16kHz", "synth.length=20s", "synth.band_before=1000Hz:40s", NULL}, 3150);
    ck_assert_double_eq_tol(reading(sheet, "tone.frequency"), 3150, 0.5);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(usual_tones_are_recognised)
{
    static const char *const tones[] = {"record.tone=3150Hz", "record.tone=3000Hz", "record.tone=1000Hz",
                                        "record.tone=315Hz"};
    for (size_t i = 0; i < 4; i++) {
        DwSheet *sheet = play((const char *const[]){"synth.rate=16kHz", "synth.length=20s", "fault.speed_error=1.1%",
                                                    "fault.wow=0.05%", tones[i], NULL},
                              NAN);
        ck_assert_double_eq_tol(reading(sheet, "speed.error"), 1.1, 0.001);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_wrong_speed_is_measured_and_said)
{
    static const struct {
        const char *error, *words;
        double percent;
    } rows[] = {
        {"fault.speed_error=35%", "This is 45 instead of 33⅓ rpm", 35},
        {"fault.speed_error=-25.93%", "This is 33⅓ instead of 45 rpm", -25.93},
        {"fault.speed_error=20%", "50 Hz pulley", 20},
        {"fault.speed_error=-16.67%", "60 Hz pulley", -16.67},
    };
    for (size_t i = 0; i < 4; i++)
        for (int stated = 0; stated < 2; stated++) {
            DwSheet *sheet = play((const char *const[]){"synth.rate=16kHz", "synth.length=20s", rows[i].error, NULL},
                                  stated ? 3150 : NAN);
            ck_assert_double_eq_tol(reading(sheet, "speed.error"), rows[i].percent, 0.001);
            ck_assert_msg(remarks(sheet, rows[i].words), "%s", rows[i].words);
            dw_sheet_free(sheet);
        }
}
END_TEST

START_TEST(a_tone_that_runs_up_is_taken_for_what_it_becomes)
{
    DwSheet *sheet = play((const char *const[]){"synth.rate=16kHz", "synth.length=40s", "fault.startup=3s", NULL}, NAN);
    ck_assert_double_eq_tol(reading(sheet, "speed.error"), 0, 0.02);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(plain_words_carry_the_right_sums)
{
    // 20 min = 1200 s: 1200·(1 − 1/1.0031) = 3.71 s; 1200·log2(1.0031) = 5.36 cents.
    DwSheet *sheet =
        play((const char *const[]){"synth.rate=16kHz", "synth.length=40s", "fault.speed_error=0.31%", NULL}, NAN);
    ck_assert(remarks(sheet, "0.31 % fast: a 20-minute side ends 3.7 s early, 5 cents sharp."));
    dw_sheet_free(sheet);
}
END_TEST

static void expect_refusal(DwSpeed *speed, const char *words)
{
    DwMessage message = {""};
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    ck_assert_int_eq(dw_speed_read(speed, sheet, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, words), "%s", message.text);
    dw_sheet_free(sheet);
    dw_speed_free(speed);
}

static DwSpeed *fed(const float *samples, size_t count)
{
    DwSpeed *speed = dw_speed_new(dw_speed_settings(16000, 1));
    dw_speed_push(speed, samples, count);
    dw_speed_finish(speed);
    return speed;
}

START_TEST(what_cannot_be_measured_is_refused_in_one_line)
{
    enum { N = 16000 * 12 };
    float *x = calloc(N, sizeof *x);
    expect_refusal(fed(x, 0), "No steady tone found between 0.0 and 0.0 s");
    expect_refusal(fed(x, N), "No steady tone found between 0.0 and 12.0 s");
    for (size_t n = 0; n < N; n++) // a sweep is no tone
        x[n] = (float)(0.3 * sin(2 * M_PI * 200 * 12 / log(20) * (pow(20, (double)n / N) - 1)));
    expect_refusal(fed(x, N), "sweeps from");
    for (size_t n = 0; n < N; n++)
        x[n] = (float)(0.3 * sin(2 * M_PI * 440 * (double)n / 16000));
    expect_refusal(fed(x, N), "is at 440.0 Hz, none of");
    for (size_t n = 0; n < N; n++)
        x[n] = (float)(0.3 * sin(2 * M_PI * 3150 * (double)n / 16000));
    expect_refusal(fed(x, 16000 * 4), "three revolutions");
    x[N / 2] = (float)NAN;
    expect_refusal(fed(x, N), "not a number");
    x[N / 2] = (float)INFINITY;
    expect_refusal(fed(x, N), "not a number");
    free(x);
}
END_TEST

START_TEST(asking_twice_and_while_feeding_gives_the_same_kind_of_answer)
{
    DwSynth *synth = play_open((const char *const[]){"synth.rate=16kHz", "synth.length=30s", "fault.wow=0.1%", NULL});
    DwSpeed *speed = dw_speed_new(dw_speed_settings(16000, 2));
    static float samples[2 * 16000];
    for (size_t got, second = 0; (got = dw_synth_read(synth, samples, 16000)) > 0; second++) {
        dw_speed_push(speed, samples, got);
        if (second == 15) {
            DwSheet *early = play_sheet(speed), *again = play_sheet(speed);
            ck_assert_double_eq(reading(early, "speed.error"), reading(again, "speed.error"));
            ck_assert_double_eq_tol(reading(early, "speed.error"), 0, 0.001);
            dw_sheet_free(early);
            dw_sheet_free(again);
        }
    }
    dw_speed_free(speed);
    dw_synth_free(synth);
}
END_TEST

START_TEST(block_size_changes_nothing)
{
    static const size_t blocks[] = {4096, 1, 333, 16384};
    double first[40];
    for (size_t i = 0; i < 4; i++) {
        DwSynth *synth = play_open((const char *const[]){"synth.rate=16kHz", "synth.length=8s", "fault.wow=0.1%",
                                                         "fault.ticks=60", "synth.lead_silence=1s", NULL});
        DwSpeed *speed = play_into(synth, NAN, blocks[i]);
        DwSheet *sheet = play_sheet(speed);
        for (size_t k = 0; k < sheet->reading_count && k < 40; k++) {
            if (i == 0)
                first[k] = sheet->readings[k].value;
            else
                ck_assert(memcmp(&first[k], &sheet->readings[k].value, sizeof(double)) == 0);
        }
        dw_sheet_free(sheet);
        dw_speed_free(speed);
        dw_synth_free(synth);
    }
}
END_TEST

START_TEST(a_long_tone_is_kept_within_bounds)
{
    DwSpeedSettings settings = dw_speed_settings(8000, 1);
    settings.keep_s = 20;
    DwSpeed *speed = dw_speed_new(settings);
    static float second[8000];
    for (size_t s = 0; s < 60; s++) {
        for (size_t n = 0; n < 8000; n++)
            second[n] = (float)(0.3 * sin(2 * M_PI * fmod(3150 * ((double)n / 8000 + (double)s), 1)));
        dw_speed_push(speed, second, 8000);
    }
    dw_speed_finish(speed);
    DwSheet *sheet = play_sheet(speed);
    ck_assert_double_le(reading(sheet, "tone.length"), 20.1);
    ck_assert_double_ge(reading(sheet, "tone.length"), 17);
    ck_assert_double_eq_tol(reading(sheet, "tone.start") + reading(sheet, "tone.length"), 60, 0.4);
    ck_assert(remarks(sheet, "the last part was measured"));
    dw_sheet_free(sheet);
    dw_speed_free(speed);
}
END_TEST

DW_SUITE("speed finding", silence_crackle_talk_and_other_bands_are_left_out, a_stated_tone_wins_over_a_longer_band,
         usual_tones_are_recognised, a_wrong_speed_is_measured_and_said,
         a_tone_that_runs_up_is_taken_for_what_it_becomes, plain_words_carry_the_right_sums,
         what_cannot_be_measured_is_refused_in_one_line, asking_twice_and_while_feeding_gives_the_same_kind_of_answer,
         block_size_changes_nothing, a_long_tone_is_kept_within_bounds)
