// SPDX-License-Identifier: MIT
// What is said of a live input's clock, speed and way in. The computer's own clock stands in for
// itself here, as well kept as each test wants it.
#include "procedure/live/live_words.h"

#include "procedure/live/live_clock.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static double own_ppm = 1;

double dw_live_clock_now(void)
{
    return 0;
}

double dw_live_clock_off_ppm(void)
{
    return own_ppm;
}

// The words on a device that is ERROR_PPM off, heard for OVER_S in blocks of 10 ms, each as
// late as SCATTER_S allows. Delays follow a fixed course.
static DwLiveClock hear(double error_ppm, double over_s, double scatter_s)
{
    DwClockCheck check;
    dw_clock_check_start(&check, 48000);
    uint64_t seed = 3;
    double real_hz = 48000 * (1 + error_ppm * 1e-6);
    for (double frames = 480; frames < over_s * real_hz; frames += 480) {
        seed = seed * 6364136223846793005u + 1442695040888963407u; // Knuth's LCG
        dw_clock_check_push(&check, frames / real_hz + scatter_s * (double)(seed >> 40) / (double)(1 << 24), frames);
    }
    DwLiveClock clock;
    dw_live_words_clock(&check, true, &clock);
    return clock;
}

START_TEST(a_clock_is_kept_only_when_it_can_be_one)
{
    own_ppm = 1;
    DwLiveClock far = hear(-128715, 300, 0.002), wide = hear(-2035, 300, 0.002), brief = hear(40, 60, 0.002);
    DwLiveClock rough = hear(40, 121, 1.5), good = hear(40, 300, 0.002);
    ck_assert(!far.is_sure && strstr(far.why, "No sound device is so far off"));
    ck_assert(!wide.is_sure && strstr(wide.why, "No sound device is so far off"));
    ck_assert(!brief.is_sure && strstr(brief.why, "after 120 s"));
    ck_assert(!rough.is_sure);
    ck_assert(good.is_sure);
    ck_assert_double_eq_tol(good.error_ppm, 40, good.off_ppm);
    own_ppm = 50;
    good = hear(40, 300, 0.002);
    ck_assert(!good.is_sure && strstr(good.why, "No time server"));
}
END_TEST

START_TEST(a_platter_at_another_speed_is_told)
{
    static const struct {
        double set_rpm, tone_hz;
        const char *words;
    } cases[] = {{100.0 / 3, 3150 * 1.35, "stands at 45"},
                 {45, 3150 / 1.35, "stands at 33 1/3"},
                 {78.26, 3150 * 45 / 78.26, "stands at 45"},
                 {100.0 / 3, 3150 * 1.8, "about 60.0 rpm, far from"}};
    DwLiveSnapshot *snapshot = calloc(1, sizeof *snapshot);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        snapshot->figures = (DwLiveFigures){.speed_rpm = cases[i].set_rpm,
                                            .tone_hz = cases[i].tone_hz,
                                            .engraved_hz = 3150,
                                            .fit = DW_TONE_OTHER_SPEED,
                                            .trouble = DW_LIVE_GOOD};
        dw_live_words_origin(NULL, snapshot);
        ck_assert_msg(strstr(snapshot->remark, cases[i].words), "%s", snapshot->remark);
    }
    snapshot->figures.fit = DW_TONE_EXPECTED;
    dw_live_words_origin(NULL, snapshot);
    ck_assert_str_eq(snapshot->remark, "");
    free(snapshot);
}
END_TEST

// That what ORIGIN does is told in WORDS; NULL: there is nothing to say.
static void expect(DwSourceOrigin origin, const char *words)
{
    DwSaying saying = dw_live_words_way_in(&origin);
    ck_assert(words ? saying.text && strstr(saying.text, words) : !saying.text);
    dw_saying_clear(&saying);
}

START_TEST(what_the_way_in_does_is_told_the_weightiest_first)
{
    expect((DwSourceOrigin){.gain_db = 0.04}, NULL);
    expect((DwSourceOrigin){.gain_db = NAN}, NULL);
    expect((DwSourceOrigin){.gain_db = -18}, "the level of this input by -18.0 dB");
    expect((DwSourceOrigin){.gain_db = 10}, "the level of this input by +10.0 dB");
    expect((DwSourceOrigin){.gain_db = 10, .uneven_db = 3}, "differently, one by +10.0 dB");
    expect((DwSourceOrigin){.gain_db = 10, .uneven_db = 3, .is_muted = true}, "The input is muted");
}
END_TEST

DW_SUITE("live words", a_clock_is_kept_only_when_it_can_be_one, a_platter_at_another_speed_is_told,
         what_the_way_in_does_is_told_the_weightiest_first)
