// SPDX-License-Identifier: MIT
// What real recordings have on them must not move a flutter reading, and what a
// recording is made of must not either.
#include "support/play.h"
#include "support/suite.h"

static const double WITHIN = 0.005; // percent, absolute

static const char *const flutter_keys[] = {
    "flutter.weighted.two_sigma",
    "flutter.weighted.quasi_peak",
    "flutter.weighted.rms",
    "flutter.weighted.average",
    "flutter.unweighted.two_sigma",
    "flutter.unweighted.quasi_peak",
    "flutter.unweighted.rms",
    "flutter.unweighted.average",
    "flutter.wow",
    "flutter.flutter",
    "revolution.amplitude",
    "revolution.second",
};
enum { KEYS = sizeof flutter_keys / sizeof *flutter_keys };

// The same imperfect deck each time, with what OPERANDS add.
static DwSheet *deck_with(const char *const *operands)
{
    const char *all[24] = {"synth.length=40s",      "synth.snr=60dB",         "fault.wow=0.12%",
                           "fault.line=7Hz:0.06%",  "fault.line=2.5Hz:0.03%", "fault.line=25Hz:0.04%",
                           "fault.speed_error=0.2%"};
    size_t count = 7;
    for (; *operands; operands++) {
        size_t key = strcspn(*operands, "=") + 1, at = 0;
        while (at < count && (strncmp(all[at], *operands, key) != 0 || strncmp(*operands, "fault.line", 10) == 0))
            at++;
        all[at] = *operands;
        count += at == count;
    }
    return play(all, NAN);
}

static void expect_unmoved(const char *const *operands, double within)
{
    static double clean[KEYS];
    static bool known;
    if (!known) {
        DwSheet *sheet = deck_with((const char *const[]){NULL});
        for (size_t i = 0; i < KEYS; i++)
            clean[i] = reading(sheet, flutter_keys[i]);
        known = true;
        dw_sheet_free(sheet);
    }
    DwSheet *sheet = deck_with(operands);
    for (size_t i = 0; i < KEYS; i++) {
        double moved = reading(sheet, flutter_keys[i]) - clean[i];
        ck_assert_msg(fabs(moved) <= within, "%s: %s moved by %.5f %%", *operands, flutter_keys[i], moved);
    }
    ck_assert_double_eq_tol(reading(sheet, "speed.error"), 0.2, 0.002);
    dw_sheet_free(sheet);
}

START_TEST(ticks_are_masked_and_reported)
{
    const char *const ticks[] = {"fault.ticks=100", "fault.tick_level=20dB", NULL};
    expect_unmoved(ticks, WITHIN);
    DwSheet *sheet = deck_with(ticks);
    ck_assert_double_ge(reading(sheet, "tone.excluded"), 1);
    ck_assert_double_le(reading(sheet, "tone.excluded"), 8);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(dropouts_are_masked_and_reported)
{
    const char *const dropouts[] = {"fault.dropouts=20", "fault.dropout_length=20ms", NULL};
    expect_unmoved(dropouts, WITHIN);
    DwSheet *sheet = deck_with(dropouts);
    ck_assert_double_ge(reading(sheet, "tone.excluded"), 0.5);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(hum_rumble_and_level_changes_do_not_count)
{
    expect_unmoved((const char *const[]){"fault.hum=-30dB", NULL}, WITHIN);
    expect_unmoved((const char *const[]){"fault.rumble=-35dB", NULL}, WITHIN);
    expect_unmoved((const char *const[]){"fault.am=4Hz:10%", NULL}, WITHIN);
    expect_unmoved((const char *const[]){"fault.am=0.5556Hz:10%", NULL}, WITHIN);
    expect_unmoved((const char *const[]){"synth.level=-45dB", NULL}, WITHIN);
}
END_TEST

START_TEST(a_dead_or_reversed_channel_is_told_and_does_not_count)
{
    expect_unmoved((const char *const[]){"fault.dead_channel=left", NULL}, WITHIN);
    expect_unmoved((const char *const[]){"fault.dead_channel=right", NULL}, WITHIN);
    expect_unmoved((const char *const[]){"fault.reversed_channel=right", NULL}, WITHIN);
    DwSheet *sheet = deck_with((const char *const[]){"fault.dead_channel=left", NULL});
    bool said = false;
    for (size_t i = 0; i < sheet->remark_count; i++)
        said = said || strstr(sheet->remarks[i].text, "The left channel carries no tone");
    ck_assert(said);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(clipping_is_flagged_and_hardly_counts)
{
    static const char *const clips[] = {"fault.clip=-4dB", "fault.clip=-2dB", "fault.clip=-12dB"};
    for (size_t i = 0; i < 3; i++) {
        const char *const operands[] = {"synth.level=-1dB", clips[i], NULL};
        expect_unmoved(operands, WITHIN);
        DwSheet *sheet = deck_with(operands);
        ck_assert_msg(dw_sheet_reading(sheet, "tone.level")->flags & DW_FLAG_CLIPPED, "%s", clips[i]);
        dw_sheet_free(sheet);
    }
    static const char *const clean[][3] = {{"synth.level=-1dB", NULL, NULL},
                                           {"synth.rate=8kHz", "record.tone=1000Hz", NULL},
                                           {"record.tone=3000Hz", NULL, NULL},
                                           {"record.tone=315Hz", "synth.snr=90dB", NULL}};
    for (size_t i = 0; i < 4; i++) {
        DwSheet *sheet = deck_with(clean[i]);
        ck_assert_msg(!(dw_sheet_reading(sheet, "tone.level")->flags & DW_FLAG_CLIPPED), "%s", clean[i][0]);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(everything_at_once)
{
    expect_unmoved((const char *const[]){"fault.ticks=100", "fault.tick_level=20dB", "fault.dropouts=10",
                                         "fault.hum=-30dB", "fault.rumble=-35dB", "fault.am=4Hz:10%",
                                         "synth.level=-20dB", NULL},
                   WITHIN);
}
END_TEST

START_TEST(gain_channels_rate_and_tone_change_no_reading)
{
    static const char *const ways[] = {"synth.level=-3dB",   "synth.channels=1",   "synth.rate=8kHz",
                                       "synth.rate=11025Hz", "synth.rate=22050Hz", "synth.rate=44100Hz",
                                       "synth.rate=96kHz",   "synth.rate=192kHz",  "record.tone=3000Hz",
                                       "record.tone=1000Hz", "record.tone=315Hz"};
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++)
        expect_unmoved((const char *const[]){ways[i], NULL}, 0.001);
}
END_TEST

DW_SUITE("speed real", ticks_are_masked_and_reported, dropouts_are_masked_and_reported,
         a_dead_or_reversed_channel_is_told_and_does_not_count, gain_channels_rate_and_tone_change_no_reading,
         DW_FIGURES, hum_rumble_and_level_changes_do_not_count, clipping_is_flagged_and_hardly_counts,
         everything_at_once)
