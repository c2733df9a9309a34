// SPDX-License-Identifier: MIT
#include "support/computation.h"
#include "support/suite.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

START_TEST(readings_against_the_makers_range)
{
    DwSheet *sheet = COMPUTE("force", "force.reading=1.78", "force.reading=1.82g", "force.reading=17.65mN",
                             "force.target=1.75", "force.low=1.5", "force.high=2");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "force.tracking_g"), 1.8, 1e-3);
    ck_assert_double_eq_tol(value(sheet, "force.tracking"), 1.8 * 9.80665, 0.01);
    const DwReading *reading = dw_sheet_reading(sheet, "force.tracking_g");
    ck_assert_int_eq(reading->verdict, DW_VERDICT_SERVICEABLE); // in the range, 0.05 g off the target
    // t(0.975, 2)·0.02/√3 = 0.0497 with the scale's 0.05 and its rounding.
    ck_assert_double_eq_tol(reading->uncertainty, sqrt(0.0497 * 0.0497 + 0.05 * 0.05 + 0.00566 * 0.00566), 2e-4);
    ck_assert(says_not_measured(sheet, "counterweight.shift"));
    ck_assert(says_not_measured(sheet, "skating.force"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.reading=2.3", "force.low=1.5", "force.high=2");
    ck_assert_int_eq(dw_sheet_reading(sheet, "force.tracking_g")->verdict, DW_VERDICT_ATTENTION);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "force.tracking")->limit); // the same force is judged once
    ck_assert(remarks(sheet, "above"));
    ck_assert(!remarks(sheet, "outside the maker's range"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.reading=1.8", "force.target=3", "force.low=1.5", "force.high=2");
    ck_assert(remarks(sheet, "wanted force of 3.00 g lies outside the maker's range"));
    dw_sheet_free(sheet);
}
END_TEST

static size_t remarks_of(const DwSheet *sheet, const char *words)
{
    size_t count = 0;
    for (size_t i = 0; i < sheet->remark_count; i++)
        count += strstr(sheet->remarks[i].text, words) != NULL;
    return count;
}

// Where the ± reaches over a limit one sentence says so, and none that the limit is kept.
START_TEST(what_cannot_be_told_is_said_once)
{
    static const char *const readings[][2] = {{"force.reading=1.80g", "force.reading=1.95g"},  // inside, 1.92
                                              {"force.reading=1.95g", "force.reading=2.10g"}}; // outside, 2.07
    for (size_t i = 0; i < 2; i++) {
        DwSheet *sheet = COMPUTE("force", readings[i][0], readings[i][1], "force.target=1.8g", "force.low=1.5g",
                                 "force.high=2g", "force.zero_after=-0.08g");
        ck_assert_int_eq(dw_sheet_reading(sheet, "force.tracking_g")->verdict, DW_VERDICT_CANNOT_TELL);
        ck_assert(!remarks(sheet, "is within the maker's range"));
        ck_assert_uint_eq(remarks_of(sheet, "annot tell whether Tracking force") +
                              remarks_of(sheet, "do not tell whether the force"),
                          1);
        dw_sheet_free(sheet);
    }
    static const char *const pulls[] = {"force.antiskating_found=1.5mN", "force.antiskating_found=3.6mN"};
    for (size_t i = 0; i < 2; i++) {
        DwSheet *sheet = COMPUTE("force", "force.target=1.8g", "arm.pivot_to_spindle=222mm",
                                 "arm.effective_length=239.3mm", pulls[i]);
        ck_assert_int_eq(dw_sheet_reading(sheet, "force.antiskating_found")->verdict, DW_VERDICT_CANNOT_TELL);
        ck_assert(!remarks(sheet, "The anti-skating lies within"));
        ck_assert_uint_eq(
            remarks_of(sheet, "annot tell whether Anti-skating") + remarks_of(sheet, "Whether the anti-skating"), 1);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_check_weight_corrects_and_narrows)
{
    DwSheet *sheet = COMPUTE("force", "force.reading=1.827", "force.check_weight=2g", "force.check_reading=2.03");
    ck_assert_double_eq_tol(value(sheet, "force.tracking_g"), 1.8, 1e-9);
    ck_assert_double_lt(dw_sheet_reading(sheet, "force.tracking_g")->uncertainty, 0.01);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_pans_height_is_taken_off_where_it_can_be)
{
    // The arm of tests/physics/force.c: 0.055 g too much on a pan 3 mm up.
    DwSheet *sheet = COMPUTE("force", "force.reading=1.855", "force.pan_height=3mm", "arm.effective_length=230",
                             "arm.counterweight_mass=100", "arm.counterweight_drop=10", "arm.bearing_height=20");
    ck_assert_double_eq_tol(value(sheet, "force.tracking_g"), 1.8, 0.001);
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.reading=1.855", "force.pan_height=3mm");
    ck_assert_double_eq_tol(value(sheet, "force.tracking_g"), 1.855, 1e-9);
    ck_assert(says_not_measured(sheet, "force.pan_change"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_counterweights_move)
{
    // L = 230 mm from balance: 1.75 gf with 110 g, 3.659 mm. Source (recomputed): moments.
    DwSheet *sheet = COMPUTE("force", "force.target=1.75", "arm.effective_length=230", "arm.counterweight_mass=110",
                             "arm.counterweight_pitch=1.5");
    ck_assert_double_eq_tol(value(sheet, "counterweight.shift"), 3.659, 5e-4);
    ck_assert_double_eq_tol(value(sheet, "counterweight.turns"), 3.659 / 1.5, 5e-4);
    ck_assert(remarks(sheet, "floating balance"));
    dw_sheet_free(sheet);
    // Adding 2 g moves a 100 g weight 4.60 mm out and adds 2.72 g. Source (recomputed): moments.
    sheet = COMPUTE("force", "force.reading=1.8", "force.target=1.8", "arm.effective_length=230",
                    "arm.counterweight_mass=100", "arm.counterweight_position=39.16", "force.fitted_mass=6",
                    "cartridge.mass=7", "cartridge.hardware_mass=1", "arm.counterweight_farthest=43",
                    "arm.counterweight_nearest=25");
    ck_assert_double_eq_tol(value(sheet, "counterweight.shift"), -4.60, 5e-3);
    ck_assert_double_eq_tol(value(sheet, "arm.mass_change"), 2.72, 5e-3);
    ck_assert_str_eq(dw_sheet_reading(sheet, "counterweight.fits")->word, "no");
    ck_assert(remarks(sheet, "at least 102 g")); // 100 g × 43.76/43
    dw_sheet_free(sheet);
}
END_TEST

// Moments about the bearing: 96.18 g at 51.06 mm less 5 g at 224.21 mm are 3789.9 g·mm, at 50.56 mm
// 74.96 g; 5 g more at the head make 6032.0 g·mm, at 60 mm 100.53 g, 4.35 g more than the weight.
START_TEST(a_weight_that_is_named_reaches)
{
    DwSheet *sheet =
        COMPUTE("force", "arm.effective_length=224.21mm", "arm.counterweight_mass=96.18g",
                "arm.counterweight_position=51.06mm", "arm.counterweight_nearest=50.56mm", "force.fitted_mass=10g",
                "cartridge.mass=5g", "cartridge.hardware_mass=0g", "force.reading=1.8g", "force.target=1.8g");
    ck_assert(remarks(sheet, "at most 74 g"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "arm.effective_length=224.21mm", "arm.counterweight_mass=96.18g",
                    "arm.counterweight_position=51.06mm", "arm.counterweight_farthest=60mm", "force.fitted_mass=10g",
                    "cartridge.mass=15g", "cartridge.hardware_mass=0g", "force.reading=1.8g", "force.target=1.8g");
    ck_assert(remarks(sheet, "at least 101 g, or 5 g more on this one"));
    dw_sheet_free(sheet);
}
END_TEST

// A preset scale, exactly on the target: it serves, for it cannot be told better; a checked one says good.
START_TEST(a_force_on_its_target_is_told)
{
    DwSheet *sheet =
        COMPUTE("force", "force.reading=1.8", "force.reading=1.8", "force.reading=1.8", "force.target=1.8");
    ck_assert_int_eq(dw_sheet_reading(sheet, "force.tracking_g")->verdict, DW_VERDICT_SERVICEABLE);
    ck_assert(remarks(sheet, "as far as this scale can tell"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.reading=1.8", "force.target=1.8", "force.check_weight=2", "force.check_reading=2");
    ck_assert_int_eq(dw_sheet_reading(sheet, "force.tracking_g")->verdict, DW_VERDICT_GOOD);
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.reading=1.98", "force.target=1.8");
    ck_assert_int_eq(dw_sheet_reading(sheet, "force.tracking_g")->verdict, DW_VERDICT_ATTENTION);
    dw_sheet_free(sheet);
}
END_TEST

// A zero that comes back at 0.04 g: half of it off, and ±0.475 of it beside the checked scale's own.
START_TEST(a_zero_that_drifts_is_taken_off_and_counted)
{
    DwSheet *sheet = COMPUTE("force", "force.reading=1.82", "force.target=1.8", "force.zero_after=0.04g",
                             "force.scale_accuracy=0.03");
    ck_assert_double_eq_tol(value(sheet, "force.tracking_g"), 1.80, 1e-9);
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "force.tracking_g")->uncertainty,
                            sqrt(0.03 * 0.03 + 0.019 * 0.019 + 0.00566 * 0.00566), 2e-5);
    ck_assert(remarks(sheet, "zero has drifted by +0.04 g"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.reading=1.82", "force.target=1.8", "force.zero_after=0g");
    ck_assert_double_eq_tol(value(sheet, "force.tracking_g"), 1.82, 1e-9);
    ck_assert(remarks(sheet, "came back to its zero"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_spring_leaves_the_weight_alone)
{
    DwSheet *sheet = COMPUTE("force", "force.reading=1.5", "force.target=2", "arm.effective_length=230",
                             "arm.counterweight_mass=100", "force.applied_by=spring");
    ck_assert_ptr_null(dw_sheet_reading(sheet, "counterweight.shift"));
    ck_assert(!says_not_measured(sheet, "counterweight.shift") && !says_not_measured(sheet, "counterweight.position"));
    ck_assert(remarks(sheet, "spring: set it there") && !remarks(sheet, "of this counterweight"));
    dw_sheet_free(sheet);
    // Another cartridge is balanced first: 2 g at 230 mm against 100 g are 4.6 mm outwards.
    sheet = COMPUTE("force", "force.reading=1.5", "force.target=2", "arm.effective_length=230",
                    "arm.counterweight_mass=100", "force.applied_by=spring", "force.fitted_mass=6", "cartridge.mass=7",
                    "cartridge.hardware_mass=1");
    ck_assert_double_eq_tol(value(sheet, "counterweight.shift"), -4.6, 1e-9);
    ck_assert(remarks(sheet, "balance the arm with the counterweight, then set the spring"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(skating_with_its_spread)
{
    // d = 222 mm, L = 239.296 mm, μ = 0.30, 20 mN at r = 89.323: 2.414 mN; with
    // 0.2 and 0.5: 1.610 and 4.024. Source (recomputed): the cosine rule.
    DwSheet *sheet = COMPUTE("force", "force.target=20mN", "arm.pivot_to_spindle=222", "arm.effective_length=239.2961",
                             "record.radius=89.323");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "skating.force"), 2.414, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "skating.low"), 0.0805 * 20, 1.1e-3);
    ck_assert_double_eq_tol(value(sheet, "skating.high"), 0.2012 * 20, 1.1e-3);
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "skating.force")->uncertainty, (0.2012 - 0.1207) * 20, 3e-3);
    ck_assert_double_eq_tol(value(sheet, "skating.inner_wall"), 0.7925 * 20, 2e-3);
    ck_assert_uint_eq(dw_sheet_curve(sheet, "skating.force")->count, 47);
    ck_assert(!dw_sheet_is_flagged(sheet));
    dw_sheet_free(sheet);
    // Over the whole side: between the least and the greatest of the table.
    sheet = COMPUTE("force", "force.target=20mN", "arm.pivot_to_spindle=222", "arm.effective_length=239.2961");
    ck_assert_double_gt(value(sheet, "skating.force"), 2.414);
    ck_assert_double_lt(value(sheet, "skating.force"), 2.771);
    dw_sheet_free(sheet);
    // From the offset alone: the force at the nulls, flagged.
    sheet = COMPUTE("force", "force.target=20mN", "arm.offset=22.986");
    ck_assert_double_eq_tol(value(sheet, "skating.force"), 2.545, 6e-4);
    ck_assert(dw_sheet_is_flagged(sheet));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(underhung_and_impossible_arms)
{
    DwSheet *sheet = COMPUTE("force", "force.target=20mN", "arm.pivot_to_spindle=240", "arm.effective_length=228.6");
    const DwTable *table = dw_sheet_table(sheet, "skating.table");
    // The pull turns at √(240² − 228.6²) = 73.1 mm.
    ck_assert_double_lt(dw_table_cell(table, 1, 2)->number, 0);
    ck_assert_double_gt(dw_table_cell(table, 2, 2)->number, 0);
    ck_assert(remarks(sheet, "underhung"));
    ck_assert(!remarks(sheet, "Start the anti-skating"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.target=20mN", "arm.pivot_to_spindle=60", "arm.effective_length=240");
    ck_assert(says_not_measured(sheet, "skating.force"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(bad_calls_say_what_to_give)
{
    REFUSE("force", "force.reading=1.80g", "arm.offset=22");
    REFUSE("force", "both force.check_weight", "force.reading=1.8", "force.check_weight=2");
    REFUSE("force", "exchanged", "force.reading=1.8", "force.low=2", "force.high=1.5");
    REFUSE("force", "out of range", "force.reading=1.8kgf");
}
END_TEST

// 3 g on a lever of 20 mm at 239.3 mm: 3·9.80665·20/239.3 = 2.459 mN at the stylus.
START_TEST(antiskating_is_held_against_the_wanted_force)
{
#define ARM "arm.pivot_to_spindle=222", "arm.effective_length=239.3"
    DwSheet *sheet = COMPUTE("force", "force.reading=1.2", "force.target=1.8", ARM, "force.antiskating_weight=3",
                             "force.antiskating_lever=20");
    ck_assert_double_eq_tol(value(sheet, "force.antiskating_found"), 3 * 9.80665 * 20 / 239.3, 1e-9);
    double wanted = value(sheet, "force.antiskating_wanted"), skating = value(sheet, "skating.force");
    char start[80];
    snprintf(start, sizeof start, "Start the anti-skating at %.2f mN", wanted); // one figure, by one measure
    ck_assert(remarks(sheet, start));
    // Beside it the other measure, by its name: the skating force of the wanted 1.8 g, here of the 1.2 g read.
    snprintf(start, sizeof start, "towards the spindle with %.2f mN", skating * 1.8 / 1.2);
    ck_assert(remarks(sheet, start));
    dw_sheet_free(sheet);
    // What it came with changes nothing: the bias belongs to the target.
    sheet = COMPUTE("force", "force.reading=2.4", "force.target=1.8", ARM, "force.antiskating_dial=1.8",
                    "force.antiskating_step=0.5");
    ck_assert_double_eq_tol(value(sheet, "force.antiskating_wanted"), wanted, 1e-12);
    // Pull and walls are those of the force that was read.
    ck_assert_double_eq_tol(value(sheet, "skating.force"), 2 * skating, 1e-9);
    ck_assert_str_eq(dw_sheet_reading(sheet, "skating.force")->label, "Skating force");
    ck_assert_double_eq_tol(value(sheet, "force.antiskating_found"), 0.9, 1e-12);
    ck_assert(remarks(sheet, "too weak: raise it by"));
    dw_sheet_free(sheet);
    // Without the arm's measures it is read all the same, and not judged.
    sheet = COMPUTE("force", "force.target=1.8", "force.antiskating_found=6mN");
    ck_assert_double_eq_tol(value(sheet, "force.antiskating_found"), 6, 1e-12);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "force.antiskating_found")->limit);
    ck_assert(remarks(sheet, "cannot be judged here"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.target=1.8", ARM, "force.antiskating_found=6mN");
    ck_assert(remarks(sheet, "too strong: lower it by"));
    ck_assert_int_eq(dw_sheet_reading(sheet, "force.antiskating_found")->verdict, DW_VERDICT_ATTENTION);
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.target=1.8", ARM, "force.antiskating_dial=1.8");
    ck_assert(says_not_measured(sheet, "force.antiskating_found"));
    ck_assert_str_eq(dw_sheet_reading(sheet, "skating.inner_wall")->label,
                     "Inner wall carries, without bias, at the wanted force");
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        ck_assert_ptr_null(strstr(sheet->not_measured[i].reason.text, "thread"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(repeats_within_the_scale_are_told_from_a_sticking_arm)
{
    DwSheet *sheet = COMPUTE("force", "force.reading=1.54", "force.reading=1.51", "force.reading=1.50");
    ck_assert(remarks(sheet, "within what the scale can tell"));
    dw_sheet_free(sheet);
    sheet =
        COMPUTE("force", "force.reading=1.54", "force.reading=1.51", "force.reading=1.50", "force.scale_accuracy=0.01");
    ck_assert(remarks(sheet, "it is the arm or the way"));
    dw_sheet_free(sheet);
}
END_TEST

// 2 g more at a head 60 mm aside ask a side weight of 12 g to go 10 mm farther out.
START_TEST(a_heavier_head_aside_wants_the_side_weight_out)
{
#define ASIDE                                                                                                          \
    "force.target=1.8", "force.fitted_mass=6", "cartridge.hardware_mass=1", "arm.side_weight=12", "arm.head_aside=60"
    DwSheet *sheet = COMPUTE("force", ASIDE, "cartridge.mass=7");
    ck_assert_double_eq_tol(value(sheet, "counterweight.side_shift"), 10, 1e-9);
    ck_assert(remarks(sheet, "10.0 mm away from the arm's line"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", ASIDE, "cartridge.mass=4");
    ck_assert(remarks(sheet, "5.0 mm towards the arm's line"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("force", "force.target=1.8", "arm.side_weight=12");
    ck_assert(says_not_measured(sheet, "counterweight.side_shift"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("force", a_heavier_head_aside_wants_the_side_weight_out, readings_against_the_makers_range,
         what_cannot_be_told_is_said_once, a_check_weight_corrects_and_narrows,
         the_pans_height_is_taken_off_where_it_can_be, the_counterweights_move, a_weight_that_is_named_reaches,
         a_force_on_its_target_is_told, a_zero_that_drifts_is_taken_off_and_counted, a_spring_leaves_the_weight_alone,
         skating_with_its_spread, underhung_and_impossible_arms, bad_calls_say_what_to_give,
         antiskating_is_held_against_the_wanted_force, repeats_within_the_scale_are_told_from_a_sticking_arm)
