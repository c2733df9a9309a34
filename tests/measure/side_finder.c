// SPDX-License-Identifier: MIT
// Whole sides of known truth: every band is found where it begins, at any speed
// error, through announcements, repeats, wrong orders and wiring faults.
#include "measure/side_align.h"
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
    found->finder = dw_side_finder_new(what.pickup.rate_hz, what.mono ? 1 : 2, false, 0);
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
        printf("# %s %s %.3f..%.3f s  %.2f Hz  %.2f..%.2f Hz  %.1f %.1f dB  rise %.1f\n", dw_band_plan_kind_word(segments[i].kind),
               dw_band_plan_channel_word(segments[i].channel), segments[i].start_s, segments[i].end_s, segments[i].frequency_hz,
               segments[i].from_hz, segments[i].to_hz, segments[i].level_db[0], segments[i].level_db[1], segments[i].rise_db);
    printf("# ratio %.4f wiring %s\n", found->alignment.speed_ratio, dw_side_wiring_word(found->alignment.wiring));
    for (size_t j = 0; j < found->plan.count; j++)
        printf("# band %u %s: %.3f, truth %.3f\n", found->plan.bands[j].number, dw_side_verdict_word(found->alignment.bands[j].verdict),
               found->alignment.bands[j].start_s, side_truth(&found->player, found->plan.bands[j].number));
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
    static const double speeds[] = {0.94, 0.985, 1, 1.03, 1.06, 1.35};
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++) {
        Found found;
        char what[40];
        find(&found, side_case(48000, speeds[i]));
        snprintf(what, sizeof what, "speed %g", speeds[i]);
        if (getenv("SHOW")) show(&found);
        check_starts(&found, what);
        ck_assert_double_eq_tol(found.alignment.speed_ratio, speeds[i], 0.0005 * speeds[i]);
        ck_assert_int_eq(found.alignment.wiring, DW_SIDE_AS_CUT);
        clear(&found);
    }
}
END_TEST

DW_SUITE("side finder", twenty_bands_are_found_at_any_speed)
