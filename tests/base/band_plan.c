// SPDX-License-Identifier: MIT
#include "base/plan/band_plan.h"
#include "support/suite.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RECORD                                                                                                         \
    "[record]\nname = Set-up record\nnumber = X 1\nspeed = 33\nreference = 5 cm/s\nlead_in = 4 s\ngap = 2 s\n"
#define TONE "[band 1]\nkind = tone\nchannel = left\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 20 s\nradius = 140 mm\n"

static DwBandPlan parsed(const char *text)
{
    DwBandPlan plan;
    DwMessage message = {""};
    ck_assert_msg(dw_band_plan_parse(text, strlen(text), "x.plan", &plan, &message) == DW_OK, "%s", message.text);
    return plan;
}

START_TEST(every_kind_of_band_is_read)
{
    DwBandPlan plan = parsed(
        RECORD TONE
        "[band 2]\nkind=sweep\nchannel=right\nfrom=20 Hz\nto=20 kHz\nlevel=5 cm/s\nlength=50\n"
        "[band 3]\nkind=steps\nchannel=lateral\nfrequency=300 Hz\nlevel=40 50 um\nlevel=60um 70um\nlength=40 s\ngap=1\n"
        "[band 4]\nkind=silence\nlength=0.5 min\n"
        "[band 5]\nkind=two-tone\nchannel=vertical\nfrequency=400 Hz 4 kHz\nlevel=-6 dB\nlength=20 s\n"
        "[band 6]\nkind=sweep\nchannel=lateral\nfrom=25\nto=4\ncut=amplitude\nlevel=1 cm/s\nlength=60 s\n");
    ck_assert_str_eq(plan.name, "Set-up record");
    ck_assert_str_eq(plan.number, "X 1");
    ck_assert_double_eq_tol(plan.speed_rpm, 100.0 / 3, 1e-12);
    ck_assert_uint_eq(plan.count, 6);
    const DwBandPlanBand *band = plan.bands;
    ck_assert(band[0].kind == DW_PLAN_TONE && band[0].channel == DW_PLAN_LEFT && band[0].line == 9);
    ck_assert_double_eq_tol(band[0].frequency_hz, 1000, 1e-9);
    ck_assert_double_eq_tol(band[0].velocity_cm_s, 5, 1e-12);
    ck_assert_double_eq_tol(band[0].radius_mm, 140, 1e-12);
    ck_assert(band[1].kind == DW_PLAN_SWEEP && band[1].cut == DW_PLAN_CUT_RIAA && isnan(band[1].radius_mm));
    ck_assert(band[1].from_hz == 20 && band[1].to_hz == 20000 && band[1].gap_s == 2);
    ck_assert(band[2].kind == DW_PLAN_STEPS && band[2].step_count == 4 && band[2].gap_s == 1);
    ck_assert_double_eq_tol(band[2].steps_um[0], 40, 1e-9);
    ck_assert_double_eq_tol(band[2].steps_um[3], 70, 1e-9);
    // Source (published): 2π · 300 Hz · 70 µm = 13.2 cm/s: the level a published test record states
    // for its 70 µm band.
    ck_assert_double_eq_tol(band[2].velocity_cm_s, 13.2, 0.01);
    ck_assert(band[3].kind == DW_PLAN_SILENCE && band[3].length_s == 30);
    ck_assert(band[4].kind == DW_PLAN_TWO_TONE && band[4].from_hz == 400 && band[4].frequency_hz == 4000);
    ck_assert_double_eq_tol(band[4].velocity_cm_s, 5 / pow(10, 0.3), 1e-9);
    ck_assert(band[4].high_db == -12 && band[5].cut == DW_PLAN_CUT_AMPLITUDE);
    ck_assert_double_eq_tol(dw_band_plan_start_s(&plan, 2), 4 + 22 + 52, 1e-9);
    dw_band_plan_clear(&plan);
}
END_TEST

START_TEST(what_is_written_reads_the_same)
{
    DwBandPlan plan =
        parsed(RECORD TONE "[band 2]\nkind=steps\nchannel=lateral\nfrequency=315\nlevel=0 3 6 dB\nlength=40\ngap=7\n"
                           "[band 3]\nkind=two-tone\nchannel=left\nfrequency=60 4000\nhigh=-6\nlength=20\n"
                           "[band 4]\nkind=sweep\nchannel=left\nfrom=1 kHz\nto=20 Hz\ncut=bass\nlength=20\n[band "
                           "5]\nkind=silence\nlength=9\n");
    char *text = dw_band_plan_write(&plan);
    DwBandPlan again = parsed(text);
    ck_assert_uint_eq(again.count, plan.count);
    for (size_t i = 0; i < plan.count; i++) {
        const DwBandPlanBand *a = &plan.bands[i], *b = &again.bands[i];
        ck_assert(a->kind == b->kind && a->channel == b->channel && a->cut == b->cut && a->step_count == b->step_count);
        const double pairs[][2] = {{a->frequency_hz, b->frequency_hz},
                                   {a->from_hz, b->from_hz},
                                   {a->to_hz, b->to_hz},
                                   {a->velocity_cm_s, b->velocity_cm_s},
                                   {a->high_db, b->high_db},
                                   {a->length_s, b->length_s},
                                   {a->gap_s, b->gap_s},
                                   {a->radius_mm, b->radius_mm}};
        for (size_t k = 0; k < sizeof pairs / sizeof *pairs; k++)
            ck_assert((isnan(pairs[k][0]) && isnan(pairs[k][1])) ||
                      fabs(pairs[k][0] - pairs[k][1]) <= 1e-7 * fabs(pairs[k][0]));
    }
    dw_band_plan_clear(&plan);
    dw_band_plan_clear(&again);
    free(text);
}
END_TEST

// Each fault in an otherwise good plan, the line it stands in and words of what is said.
static const struct {
    const char *text;
    unsigned line;
    bool doubtful;
    const char *says;
} faults[] = {
    {"[record]\nspeed = 33\n", 0, false, "no band in it"},
    {"[record]\nspeed = 33 parsec\n" TONE, 2, false, "not a unit"},
    {"[record]\nsped = 33\n" TONE, 2, false, "no key of the record"},
    {TONE, 5, false, "Add reference"},
    {RECORD "[band 1]\nchannel = left\nlength = 3 s\n", 9, false, "kind is missing"},
    {RECORD "[band 1]\nkind = tune\nlength = 30 s\n", 9, false, "'tune' is no kind"},
    {RECORD "[band 1]\nkind = tone\nchannel = both\nfrequency = 1000\nlevel = 0 dB\nlength = 30 s\n", 10, false,
     "'both' is no channel"},
    {RECORD "[band 1]\nkind = tone\nchannel = left\nlevel = 0 dB\nlength = 30 s\n", 9, false, "frequency is missing"},
    {RECORD "[band 1]\nkind = tone\nchannel = left\nfreq = 1000\nfrequency = 1000\nlength = 30 s\n", 11, false,
     "Did you mean frequency"},
    {RECORD "[band 1]\nkind = tone\nchannel = left\nfrequency = 1000\nlevel = 5\nlength = 30 s\n", 12, false,
     "needs a unit"},
    {RECORD "[band 1]\nkind = tone\nchannel = left\nfrequency = 1000\nlevel = 0 cm/s\nlength = 30 s\n", 12, false,
     "above zero"},
    {RECORD "[band 1]\nkind = tone\nchannel = left\nfrequency = 1000\nlevel = 60 cm/s\nlength = 30 s\n", 9, false,
     "more than a groove holds"},
    {RECORD "[band 1]\nkind = tone\nchannel = left\nfrequency = 20\nlevel = 8 cm/s\nlength = 30 s\n", 9, true,
     "swings"},
    {RECORD "[band 1]\nkind = sweep\nchannel = left\nfrom = 1000\nto = 1 kHz\nlength = 30 s\n", 12, false, "are equal"},
    {RECORD "[band 1]\nkind = sweep\nchannel = left\nfrom = 1000\nto = 20 Hz\nlength = 30 min\n", 13, true, ""},
    {RECORD "[band 1]\nkind = steps\nchannel = left\nfrequency = 300\nlevel = 40 um\nlength = 30\n", 12, false,
     "two levels"},
    {RECORD "[band 1]\nkind = steps\nchannel = left\nfrequency = 300\nlevel = 40 50 60 70 80 um\nlength = 5\n", 9, true,
     "less than 2 s"},
    {RECORD "[band 1]\nkind = two-tone\nchannel = left\nfrequency = 4000 400\nlength = 30\n", 11, false,
     "lower and the higher"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 30\nfrequency = 5\n", 18, true, "means nothing"},
    {RECORD TONE "[band 3]\nkind = silence\nlength = 30\n", 16, true, "number 2 is missing"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 30\n[band 1]\nkind = silence\nlength = 30\n", 19, false,
     "given twice"},
    {RECORD "[band 2]\nkind = silence\nlength = 30\n[band 1]\nkind = silence\nlength = 30\n", 12, true, "stands after"},
    {RECORD "[band 0]\nkind = silence\nlength = 30\n" TONE, 9, false, "no group of a plan"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 30\nradius = 141 mm\n", 16, false, "Radii must fall"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 30\nradius = 139.9 mm\n", 16, false, "groove pitch"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 30\nradius = 70 mm\n", 16, true, "groove pitch"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 50 min\n", 0, false, "more than a side holds"},
    {RECORD TONE "[band 2]\nkind = silence\nlength = 2 s\n", 16, true, "too short to measure"},
};

START_TEST(every_fault_is_told_with_its_line)
{
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        DwBandPlan plan;
        DwPlanTroubles troubles;
        DwMessage message = {""};
        ck_assert_int_eq(
            dw_band_plan_examine_text(faults[i].text, strlen(faults[i].text), "x.plan", &plan, &troubles, &message),
            DW_OK);
        bool told = faults[i].says[0] == 0 && troubles.count == 0;
        for (size_t k = 0; k < troubles.count; k++)
            told |= faults[i].says[0] && strstr(troubles.items[k].text, faults[i].says) &&
                    troubles.items[k].line == faults[i].line && troubles.items[k].doubtful == faults[i].doubtful;
        ck_assert_msg(told, "fault %zu (%s): %zu troubles, first: line %u %s", i, faults[i].says, troubles.count,
                      troubles.count ? troubles.items[0].line : 0, troubles.count ? troubles.items[0].text : "");
        dw_band_plan_clear(&plan);
        dw_plan_troubles_clear(&troubles);
        DwStatus status = dw_band_plan_parse(faults[i].text, strlen(faults[i].text), "x.plan", &plan, &message);
        ck_assert_int_eq(status, faults[i].doubtful ? DW_OK : DW_BAD_INPUT);
        if (status == DW_OK)
            dw_band_plan_clear(&plan);
    }
}
END_TEST

START_TEST(a_broken_band_leaves_the_others)
{
    const char *text = RECORD TONE "[band 2]\nkind = sweep\nlength = 10\n[band 3]\nkind = silence\nlength = 30\n";
    DwBandPlan plan;
    DwPlanTroubles troubles;
    ck_assert_int_eq(dw_band_plan_examine_text(text, strlen(text), "x.plan", &plan, &troubles, NULL), DW_OK);
    ck_assert_uint_eq(plan.count, 3);
    ck_assert(!plan.bands[0].broken && plan.bands[1].broken && !plan.bands[2].broken);
    ck_assert_uint_eq(troubles.count, 3); // channel, from and to are missing
    dw_band_plan_clear(&plan);
    dw_plan_troubles_clear(&troubles);
    DwMessage message = {""};
    ck_assert_int_eq(dw_band_plan_read("/nonexistent/x.plan", &plan, &message), DW_BAD_INPUT);
    ck_assert_int_eq(dw_band_plan_parse("what", 4, "x.plan", &plan, &message), DW_BAD_INPUT);
}
END_TEST

DW_SUITE("band plan", every_kind_of_band_is_read, what_is_written_reads_the_same, every_fault_is_told_with_its_line,
         a_broken_band_leaves_the_others)
