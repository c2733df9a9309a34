// SPDX-License-Identifier: MIT
// Whole sides of known truth: every band is found where it begins, at any speed
// error, through announcements, repeats, wrong orders and wiring faults.
#include "measure/side/side_align.h"
#include "support/alike.h"
#include "support/side_plan.h"
#include "support/side_player.h"
#include "support/suite.h"

#include <stdio.h>

typedef struct {
    DwBandPlan plan;
    SidePlayer player;
    DwSideFinder *finder;
    DwSideAlignment alignment;
} Found;

static void find_on(Found *found, const char *plan_text, SideCase what)
{
    DwMessage message = {""};
    ck_assert_msg(dw_band_plan_parse(plan_text, strlen(plan_text), "side.plan", &found->plan, &message) == DW_OK, "%s",
                  message.text);
    side_start(&found->player, &found->plan, what);
    found->finder = dw_side_finder_new(what.pickup.rate_hz, what.mono ? 1 : 2, what.flat, 0);
    float block[2 * SIDE_BLOCK];
    for (size_t count; (count = side_read(&found->player, block)) > 0;)
        dw_side_finder_push(found->finder, block, count);
    dw_side_finder_finish(found->finder);
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(found->finder, &count);
    dw_side_align(segments, count, &found->plan, what.mono, &found->alignment);
}

static void find(Found *found, SideCase what)
{
    find_on(found, side_plan_text, what);
}

static void clear(Found *found)
{
    dw_side_alignment_clear(&found->alignment);
    dw_side_finder_free(found->finder);
    dw_band_plan_clear(&found->plan);
}

static void show(const Found *found)
{
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(found->finder, &count);
    for (size_t i = 0; i < count; i++)
        printf("# %s %s %.3f..%.3f s  %.2f Hz  %.2f..%.2f Hz  %.1f %.1f dB  rise %.1f\n",
               dw_band_plan_kind_word(segments[i].kind), dw_band_plan_channel_word(segments[i].channel),
               segments[i].start_s, segments[i].end_s, segments[i].frequency_hz, segments[i].from_hz, segments[i].to_hz,
               segments[i].level_db[0], segments[i].level_db[1], segments[i].rise_db);
    printf("# ratio %.4f wiring %s\n", found->alignment.speed_ratio, dw_side_wiring_word(found->alignment.wiring));
    for (size_t j = 0; j < found->plan.count; j++)
        printf("# band %u %s: %.3f, truth %.3f\n", found->plan.bands[j].number,
               dw_side_verdict_word(found->alignment.bands[j].verdict), found->alignment.bands[j].start_s,
               side_truth(&found->player, found->plan.bands[j].number));
}

// Every band of the plan that is played is found where it is, within 0.1 s.
static void check_starts(const Found *found, const char *what)
{
    for (size_t j = 0; j < found->plan.count; j++) {
        double truth = side_truth(&found->player, found->plan.bands[j].number);
        const DwSideBand *band = &found->alignment.bands[j];
        bool good = isnan(truth) ? band->verdict == DW_SIDE_MISSING
                                 : band->verdict == DW_SIDE_FOUND && fabs(band->start_s - truth) < 0.1;
        if (!good)
            show(found);
        ck_assert_msg(good, "%s: band %u %s at %.3f s, truth %.3f s", what, found->plan.bands[j].number,
                      dw_side_verdict_word(band->verdict), band->start_s, truth);
    }
}

START_TEST(twenty_bands_are_found_at_any_speed)
{
    static const double speeds[] = {0.94, 1, 1.06, 1.35};
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i += alike(1, 3)) {
        Found found;
        char what[40];
        find(&found, side_case(48000, speeds[i]));
        snprintf(what, sizeof what, "speed %g", speeds[i]);
        check_starts(&found, what);
        ck_assert_double_eq_tol(found.alignment.speed_ratio, speeds[i], 0.0005 * speeds[i]);
        ck_assert_int_eq(found.alignment.wiring, DW_SIDE_AS_CUT);
        clear(&found);
    }
}
END_TEST

START_TEST(twenty_bands_are_found_on_any_chain)
{
    enum { CASES = 7 };
    SideCase cases[CASES];
    for (size_t i = 0; i < CASES; i++)
        cases[i] = side_case(i == 0 ? 96000 : i == 1 ? 44100 : 48000, 1.004);
    cases[2].pickup.noise = 0.003; // a noisy pressing: 36 dB under the tone
    cases[2].pickup.rumble = 0.05;
    cases[3].pickup.leak[0] = cases[3].pickup.leak[1] = 0.15; // a poor cartridge
    cases[4].flat = true;
    cases[4].pickup.noise = 0.0001;
    cases[5].voice_s = 3;
    cases[6].pickup.rotation_deg = 3;
    cases[6].resonance_hz[0] = 8;
    cases[6].resonance_hz[1] = 11;
    cases[6].resonance_q[0] = cases[6].resonance_q[1] = 4;
    for (size_t i = alike(0, 1); i < CASES; i += alike(1, 5)) {
        Found found;
        char what[40];
        find(&found, cases[i]);
        snprintf(what, sizeof what, "case %zu", i);
        check_starts(&found, what);
        ck_assert_int_eq(found.alignment.wiring, DW_SIDE_AS_CUT);
        clear(&found);
    }
}
END_TEST

START_TEST(wiring_is_told)
{
    static const DwSideWiring wirings[] = {DW_SIDE_SWAPPED_REVERSED, DW_SIDE_SWAPPED, DW_SIDE_LEFT_ONLY,
                                           DW_SIDE_REVERSED,         DW_SIDE_JOINED,  DW_SIDE_RIGHT_ONLY};
    for (size_t i = 0; i < sizeof wirings / sizeof *wirings; i += alike(1, 4)) {
        SideCase what = side_case(48000, 0.99);
        what.pickup.leak[0] = what.pickup.leak[1] = 0.05;
        what.pickup.swapped = wirings[i] == DW_SIDE_SWAPPED || wirings[i] == DW_SIDE_SWAPPED_REVERSED;
        what.pickup.reversed = wirings[i] == DW_SIDE_REVERSED || wirings[i] == DW_SIDE_SWAPPED_REVERSED;
        what.pickup.dead[0] = wirings[i] == DW_SIDE_RIGHT_ONLY;
        what.pickup.dead[1] = wirings[i] == DW_SIDE_LEFT_ONLY;
        what.pickup.strapped = wirings[i] == DW_SIDE_JOINED;
        Found found;
        find(&found, what);
        if (found.alignment.wiring != wirings[i])
            show(&found);
        ck_assert_msg(found.alignment.wiring == wirings[i], "%s, not %s", dw_side_wiring_word(found.alignment.wiring),
                      dw_side_wiring_word(wirings[i]));
        if (wirings[i] < DW_SIDE_LEFT_ONLY)
            check_starts(&found, dw_side_wiring_word(wirings[i]));
        clear(&found);
    }
}
END_TEST

START_TEST(what_is_not_there_is_missing_and_the_rest_is_found)
{
    static const unsigned lacks[] = {1, 2, 3, 5, 6, 8, 9, 10, 11, 12, 14, 16, 18, 19, 20, 0};
    SideCase what = side_case(48000, 1.02);
    what.order = lacks;
    Found found;
    find(&found, what);
    check_starts(&found, "bands left out");
    ck_assert_uint_eq(found.alignment.missing, 5);
    clear(&found);
    what.order = NULL;
    what.stop_s = 140; // half a side
    find(&found, what);
    for (size_t j = 0; j < found.plan.count; j++) {
        double truth = side_truth(&found.player, found.plan.bands[j].number);
        ck_assert_int_eq(found.alignment.bands[j].verdict, j < 7    ? DW_SIDE_FOUND
                                                           : j == 7 ? DW_SIDE_SHORT
                                                                    : DW_SIDE_MISSING);
        ck_assert(j > 7 || fabs(found.alignment.bands[j].start_s - truth) < 0.1);
    }
    clear(&found);
    what.stop_s = 0;
    what.late_s = 17; // into the second band
    find(&found, what);
    ck_assert_int_eq(found.alignment.bands[0].verdict, DW_SIDE_MISSING);
    ck_assert_int_eq(found.alignment.bands[1].verdict, DW_SIDE_SHORT);
    for (size_t j = 2; j < found.plan.count; j++)
        ck_assert(found.alignment.bands[j].verdict == DW_SIDE_FOUND &&
                  fabs(found.alignment.bands[j].start_s - side_truth(&found.player, found.plan.bands[j].number)) < 0.1);
    clear(&found);
}
END_TEST

START_TEST(one_channel_tells_what_it_hears)
{
    SideCase what = side_case(48000, 1.01);
    what.mono = true;
    Found found;
    find(&found, what);
    for (size_t j = 0; j < found.plan.count; j++) {
        bool heard = found.plan.bands[j].channel != DW_PLAN_RIGHT;
        double truth = side_truth(&found.player, found.plan.bands[j].number);
        ck_assert_int_eq(found.alignment.bands[j].verdict, heard ? DW_SIDE_FOUND : DW_SIDE_MISSING);
        ck_assert(!heard || fabs(found.alignment.bands[j].start_s - truth) < 0.1);
    }
    clear(&found);
}
END_TEST

START_TEST(another_order_is_told)
{
    static const unsigned order[] = {1, 2, 3, 4, 5, 12, 13, 6, 7, 8, 9, 10, 11, 14, 15, 16, 17, 18, 19, 20, 0};
    SideCase what = side_case(48000, 0.98);
    what.order = order;
    Found found;
    find(&found, what);
    size_t moved = 0;
    for (size_t j = 0; j < found.plan.count; j++) {
        const DwSideBand *band = &found.alignment.bands[j];
        moved += band->verdict == DW_SIDE_OUT_OF_ORDER;
        ck_assert(band->verdict == DW_SIDE_FOUND || band->verdict == DW_SIDE_OUT_OF_ORDER);
        ck_assert_double_eq_tol(band->start_s, side_truth(&found.player, found.plan.bands[j].number), 0.1);
    }
    ck_assert_uint_eq(moved, 2);
    clear(&found);
}
END_TEST

START_TEST(a_repeated_groove_and_a_skip_do_no_harm)
{
    static const double at_s[] = {8, 105, 155, 170, 210}; // in tones, a sweep, silence and steps
    for (size_t i = 0; i < sizeof at_s / sizeof *at_s; i++) {
        SideCase what = side_case(48000, 1);
        what.repeat_at_s = at_s[i];
        what.repeat_s = 1.8;
        Found found;
        find(&found, what);
        for (size_t j = 0; j < found.plan.count; j++) {
            double truth = side_truth(&found.player, found.plan.bands[j].number);
            const DwSideBand *band = &found.alignment.bands[j];
            bool good = band->verdict < DW_SIDE_OUT_OF_ORDER && fabs(band->start_s - truth) < 0.1;
            if (!good)
                show(&found);
            ck_assert_msg(good, "repeat at %g s: band %u %s at %.3f, truth %.3f", at_s[i], found.plan.bands[j].number,
                          dw_side_verdict_word(band->verdict), band->start_s, truth);
        }
        clear(&found);
    }
}
END_TEST

START_TEST(block_size_changes_nothing_and_nothing_is_found_in_nothing)
{
    DwBandPlan plan;
    ck_assert_int_eq(dw_band_plan_parse(side_plan_text, strlen(side_plan_text), "side.plan", &plan, NULL), DW_OK);
    enum { FRAMES = 48000 * 20 };
    float *samples = calloc(2 * FRAMES, sizeof *samples);
    for (size_t n = 0; n < FRAMES; n++)
        samples[2 * n] = samples[2 * n + 1] =
            n > 48000 * 5 && n < 48000 * 12 ? 0.1f * sinf(0.13f * (float)(n % 48000)) : 0;
    static const size_t blocks[] = {FRAMES, 777};
    size_t count[2];
    const DwSideSegment *segments[2];
    DwSideFinder *finder[2];
    for (size_t i = 0; i < 2; i++) {
        finder[i] = dw_side_finder_new(48000, 2, false, 0);
        for (size_t at = 0; at < FRAMES; at += blocks[i])
            dw_side_finder_push(finder[i], samples + 2 * at, FRAMES - at < blocks[i] ? FRAMES - at : blocks[i]);
        dw_side_finder_finish(finder[i]);
        segments[i] = dw_side_finder_segments(finder[i], &count[i]);
    }
    ck_assert_uint_eq(count[0], count[1]);
    for (size_t i = 0; i < count[0]; i++)
        ck_assert(segments[0][i].start_s == segments[1][i].start_s && segments[0][i].end_s == segments[1][i].end_s);
    for (size_t i = 0; i < 2; i++)
        dw_side_finder_free(finder[i]);
    memset(samples, 0, 2 * FRAMES * sizeof *samples);
    finder[0] = dw_side_finder_new(48000, 2, false, 0);
    dw_side_finder_push(finder[0], samples, FRAMES);
    samples[100] = NAN;
    dw_side_finder_finish(finder[0]);
    segments[0] = dw_side_finder_segments(finder[0], &count[0]);
    DwSideAlignment alignment;
    dw_side_align(segments[0], count[0], &plan, false, &alignment);
    ck_assert_uint_eq(alignment.found, 0);
    ck_assert_uint_eq(alignment.missing, 20);
    dw_side_alignment_clear(&alignment);
    ck_assert_int_eq(dw_side_finder_check(finder[0], NULL), DW_OK);
    dw_side_finder_push(finder[0], samples, FRAMES);
    DwMessage message;
    ck_assert_int_eq(dw_side_finder_check(finder[0], &message), DW_BAD_INPUT);
    dw_side_finder_free(finder[0]);
    dw_band_plan_clear(&plan);
    free(samples);
}
END_TEST

DW_SUITE("side finder", twenty_bands_are_found_at_any_speed, twenty_bands_are_found_on_any_chain, wiring_is_told,
         what_is_not_there_is_missing_and_the_rest_is_found, one_channel_tells_what_it_hears, another_order_is_told,
         a_repeated_groove_and_a_skip_do_no_harm, block_size_changes_nothing_and_nothing_is_found_in_nothing)
