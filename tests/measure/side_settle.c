// SPDX-License-Identifier: MIT
// Whole sides of known truth through all of the finding: where each band begins and ends once its order is known, with
// a channel that hums or comes and goes, and in noise that hides the sweeps' ends.
#include "measure/side/side_find.h"
#include "support/side_plan.h"
#include "support/side_player.h"
#include "support/suite.h"

// Hum of PEAK added to CHANNEL; where GAP_S is given CHANNEL is silent for half a second that often, else always heard.
typedef struct {
    size_t channel;
    double hum, gap_s;
} Fault;

typedef struct {
    DwBandPlan plan;
    SidePlayer player;
    DwSideFinder *finder;
    DwSideAlignment alignment;
} Found;

static Found find(SideCase what, Fault fault)
{
    Found found;
    DwMessage message = {""};
    ck_assert_int_eq(dw_band_plan_parse(side_plan_text, strlen(side_plan_text), "side.plan", &found.plan, &message),
                     DW_OK);
    side_start(&found.player, &found.plan, what);
    found.finder = dw_side_finder_new(what.pickup.rate_hz, 2, false, 0);
    float block[2 * SIDE_BLOCK];
    size_t frame = 0;
    for (size_t count; (count = side_read(&found.player, block)) > 0;) {
        for (size_t i = 0; i < count; i++, frame++) {
            double t = (double)frame / what.pickup.rate_hz;
            float *sample = &block[2 * i + fault.channel];
            if (fault.gap_s > 0 && fmod(t, fault.gap_s) < 0.5)
                *sample *= 0.01f;
            *sample += (float)(fault.hum * sin(2 * M_PI * 50 * t));
        }
        dw_side_finder_push(found.finder, block, count);
    }
    dw_side_finder_finish(found.finder);
    ck_assert_int_eq(dw_side_finder_check(found.finder, &message), DW_OK);
    dw_side_find(found.finder, &found.plan, false, &found.alignment);
    return found;
}

static void clear(Found *found)
{
    dw_side_alignment_clear(&found->alignment);
    dw_side_finder_free(found->finder);
    dw_band_plan_clear(&found->plan);
}

// Every band is found within TOLERANCE_S, with its planned length; one that was cut for LOST alone like that, by its
// leak, or not at all.
static void check(const Found *found, DwPlanChannel lost, double tolerance_s)
{
    double speed = found->player.what.pickup.speed;
    for (size_t j = 0; j < found->plan.count; j++) {
        const DwBandPlanBand *band = &found->plan.bands[j];
        const DwSideBand *side = &found->alignment.bands[j];
        double truth = side_truth(&found->player, band->number), length = band->length_s / speed;
        if (band->channel == lost && side->verdict == DW_SIDE_MISSING)
            continue;
        ck_assert_msg(side->verdict == DW_SIDE_FOUND && fabs(side->start_s - truth) < tolerance_s &&
                          fabs(side->end_s - truth - length) < tolerance_s,
                      "band %u %s at %.3f to %.3f s, truth %.3f to %.3f s", band->number,
                      dw_side_verdict_word(side->verdict), side->start_s, side->end_s, truth, truth + length);
    }
}

// The plan's band of NUMBER as it was found.
static const DwSideBand *band_of(const Found *found, unsigned number)
{
    for (size_t j = 0; j < found->plan.count; j++)
        if (found->plan.bands[j].number == number)
            return &found->alignment.bands[j];
    return NULL;
}

// Five steps of 40 to 80 um, as long as one another, and a tone that is nothing else.
static void check_steps_and_tone(const Found *found, double speed)
{
    double level_db[8], start_s[8], low_hz, high_hz;
    const DwSideBand *steps = band_of(found, 11), *tone = band_of(found, 18), *silent = band_of(found, 10);
    ck_assert_uint_eq(dw_side_finder_steps(found->finder, steps->start_s, steps->end_s, level_db, start_s, 8), 5);
    for (size_t i = 0; i < 5; i++) {
        ck_assert_double_eq_tol(level_db[i] - level_db[0], 20 * log10((40 + 10 * (double)i) / 40), 0.2);
        ck_assert_double_eq_tol(start_s[i], steps->start_s + 5 * (double)i / speed, 0.2);
    }
    ck_assert(dw_side_finder_range(found->finder, tone->start_s + 1, tone->end_s - 1, &low_hz, &high_hz));
    ck_assert_double_eq_tol(low_hz, 100 * speed, 1);
    ck_assert_double_eq_tol(high_hz, 100 * speed, 1);
    ck_assert(!dw_side_finder_range(found->finder, silent->start_s + 1, silent->end_s - 1, &low_hz, &high_hz));
}

START_TEST(each_band_begins_and_ends_where_it_was_drawn)
{
    SideCase what = side_case(44100, 1.012);
    Found found = find(what, (Fault){0});
    check(&found, DW_PLAN_CHANNELS, 0.15);
    ck_assert_uint_eq(found.alignment.found, found.plan.count);
    ck_assert_uint_eq(found.alignment.missing, 0);
    ck_assert_int_eq(found.alignment.view, DW_SIDE_BOTH_CHANNELS);
    ck_assert_double_eq_tol(found.alignment.speed_ratio, 1.012, 0.001);
    check_steps_and_tone(&found, 1.012);
    ck_assert(!dw_side_finder_is_loud(found.finder, 0) && !dw_side_finder_is_loud(found.finder, 1));
    ck_assert(!dw_side_finder_breaks(found.finder, 0) && !dw_side_finder_breaks(found.finder, 1));
    clear(&found);
}
END_TEST

START_TEST(noise_and_rumble_hide_no_sweep_s_end)
{
    SideCase what = side_case(44100, 0.985);
    what.pickup.noise = 0.003;
    what.pickup.rumble = 0.03;
    Found found = find(what, (Fault){0});
    check(&found, DW_PLAN_CHANNELS, 0.2);
    clear(&found);
}
END_TEST

START_TEST(a_channel_that_hums_is_told_and_the_other_finds_the_side)
{
    SideCase what = side_case(44100, 1);
    Found found = find(what, (Fault){.channel = 1, .hum = 0.3});
    ck_assert(dw_side_finder_is_loud(found.finder, 1));
    ck_assert(!dw_side_finder_is_loud(found.finder, 0));
    check(&found, DW_PLAN_RIGHT, 0.2);
    clear(&found);
}
END_TEST

START_TEST(a_channel_that_comes_and_goes_is_told)
{
    SideCase what = side_case(44100, 1);
    Found found = find(what, (Fault){.channel = 0, .gap_s = 7});
    ck_assert(dw_side_finder_breaks(found.finder, 0));
    ck_assert(!dw_side_finder_breaks(found.finder, 1));
    clear(&found);
}
END_TEST

DW_SUITE("side settle", each_band_begins_and_ends_where_it_was_drawn, noise_and_rumble_hide_no_sweep_s_end,
         a_channel_that_hums_is_told_and_the_other_finds_the_side, a_channel_that_comes_and_goes_is_told)
