// SPDX-License-Identifier: MIT
#include "support/computation.h"
#include "support/suite.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

// Why KEY was not measured; "" where it was.
static const char *not_measured(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        if (strcmp(sheet->not_measured[i].key, key) == 0)
            return sheet->not_measured[i].reason.text;
    return "";
}

START_TEST(three_points_and_the_spacer)
{
    // A stylus built at 91°: 220 px long, the record's line 700 px towards the pivot.
    char top[64];
    snprintf(top, sizeof top, "rake.point=%.6f:%.6f", 400 + 220 * cos(91 * M_PI / 180),
             300 - 220 * sin(91 * M_PI / 180));
    DwSheet *sheet = COMPUTE("rake", "rake.point=400:300", top, "rake.point=1100:300", "arm.effective_length=239.3",
                             "rake.record_before=1.5", "rake.record_after=2.2");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "rake.angle"), 91, 1e-6);
    ck_assert_double_eq_tol(value(sheet, "rake.per_mm"), 0.2394, 6e-5); // Source (recomputed): 1/L
    // Source (recomputed): 4.18 mm a degree, and 0.7 mm of record.
    ck_assert_double_eq_tol(value(sheet, "rake.spacer"), 4.18 + 0.7, 6e-3);
    ck_assert_double_gt(dw_sheet_reading(sheet, "rake.angle")->uncertainty, 1); // the camera's floor
    ck_assert_double_eq_tol(value(sheet, "rake.thickness_change"), -0.7 * 0.2394, 1e-4);
    ck_assert(says_not_measured(sheet, "rake.overhang_change"));
    ck_assert(remarks(sheet, "90° is upright"));
    // The table agrees with the spacer: at the rise, the wanted rake.
    const DwCurve *curve = dw_sheet_curve(sheet, "rake.angle");
    double at = (4.875 + 5) / 0.25;
    double rake =
        curve->y_values[(int)at] + (at - floor(at)) * (curve->y_values[(int)at + 1] - curve->y_values[(int)at]);
    ck_assert_double_eq_tol(rake, 92, 2e-3);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(height_moves_overhang_azimuth_and_force)
{
    // L 239.3, β 22.986, axis square to the arm, pivot up 5 mm: pitch 1.1022°,
    // roll 0.4675°. Source (worked apart): a turn in space, by another program.
    DwSheet *sheet = COMPUTE("rake", "rake.measured=90.8978", "rake.target=92", "arm.effective_length=239.3",
                             "arm.offset=22.986", "arm.bearing_axis=across_arm", "arm.bearing_height=0",
                             "force.target=1.8", "arm.counterweight_mass=100", "arm.counterweight_drop=10");
    ck_assert_double_eq_tol(value(sheet, "rake.spacer"), 5, 3e-3);
    ck_assert_double_eq_tol(value(sheet, "rake.azimuth_change"), 0.4675, 5e-4);
    ck_assert_double_eq_tol(value(sheet, "rake.overhang_change"), -0.052, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "rake.force_change"), -100.0 * 10 * 5 / (239.3 * 239.3), 2e-4);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_thicker_record_is_followed_by_the_arm)
{
    // The rake is right already: the arm goes up by the record's extra thickness
    // and nothing else changes.
    DwSheet *sheet = COMPUTE("rake", "rake.measured=92", "arm.effective_length=239.3", "arm.bearing_height=20",
                             "rake.record_before=1.5", "rake.record_after=2.3", "rake.mat_before=3",
                             "rake.mat_after=2.5", "rake.shim=0.1", "rake.shim=0.2", "rake.shim=0.5");
    ck_assert_double_eq_tol(value(sheet, "rake.spacer"), 0.3, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "rake.overhang_change"), 0, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "rake.stack"), 0.3, 1e-9);
    dw_sheet_free(sheet);
}
END_TEST

// A rise h over 277.52 mm tilts by asin(h/277.52): 4 mm are 0.826 deg, 1 mm 0.206 deg (rigid body).
START_TEST(what_a_stack_leaves_is_told_with_its_sign)
{
    DwSheet *sheet = COMPUTE("rake", "rake.measured=91.272deg", "rake.target=92deg", "arm.effective_length=277.52mm",
                             "rake.shim=1.5mm", "rake.shim=1mm", "rake.shim=1.5mm");
    ck_assert(remarks(sheet, "it leaves the rake +0.10° off")); // 92.098
    dw_sheet_free(sheet);
    sheet = COMPUTE("rake", "rake.measured=91.272deg", "rake.target=92deg", "arm.effective_length=277.52mm",
                    "rake.shim=1mm");
    ck_assert(remarks(sheet, "it leaves the rake -0.52° off")); // 91.478
    dw_sheet_free(sheet);
    // The other way: 92.728 less 0.826 is 91.902, less 0.206 is 92.522.
    sheet = COMPUTE("rake", "rake.measured=92.728deg", "rake.target=92deg", "arm.effective_length=277.52mm",
                    "rake.shim=1.5mm", "rake.shim=1mm", "rake.shim=1.5mm");
    ck_assert(remarks(sheet, "it leaves the rake -0.10° off"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("rake", "rake.measured=92.728deg", "rake.target=92deg", "arm.effective_length=277.52mm",
                    "rake.shim=1mm");
    ck_assert(remarks(sheet, "it leaves the rake +0.52° off"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(lowering_can_be_a_spacer_under_the_shell)
{
    DwSheet *sheet = COMPUTE("rake", "rake.measured=93", "arm.effective_length=239.3", "rake.wedge_base=20");
    ck_assert_double_eq_tol(value(sheet, "rake.spacer"), -4.18, 6e-3);
    ck_assert_double_eq_tol(value(sheet, "rake.wedge"), 0.3491, 5e-5); // 20 mm × tan 1°
    ck_assert(remarks(sheet, "thicker at the pivot's end"));
    ck_assert(remarks(sheet, "between cartridge and headshell"));
    dw_sheet_free(sheet);
    // Too upright: the nose has to go down, as by raising the pivot.
    sheet = COMPUTE("rake", "rake.measured=90.5", "arm.effective_length=239.3", "rake.wedge_base=20");
    ck_assert_double_gt(value(sheet, "rake.spacer"), 0);
    ck_assert(remarks(sheet, "thicker at the nose"));
    ck_assert(!remarks(sheet, "thicker at the pivot's end"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(bad_calls_say_what_to_give)
{
    REFUSE("rake", "Give three", "rake.point=1:2", "rake.point=3:4");
    REFUSE("rake", "fall together", "rake.point=1:2", "rake.point=1:2", "rake.point=3:4");
    REFUSE("rake", "not both", "rake.point=1:2", "rake.measured=92");
    REFUSE("rake", "rake.measured=91deg", "arm.offset=22");
}
END_TEST

// What no arm can be off by is read again; nothing is stacked or lowered for it.
START_TEST(a_rake_that_no_arm_has_is_read_again)
{
    DwSheet *sheet =
        COMPUTE("rake", "rake.measured=96deg", "arm.effective_length=240mm", "rake.shim=1mm", "rake.wedge_base=15mm");
    ck_assert(remarks(sheet, "read the rake again"));
    ck_assert(!remarks(sheet, "Negative: lower") && !remarks(sheet, "Stack") && !remarks(sheet, "a wedge"));
    ck_assert_ptr_null(dw_sheet_reading(sheet, "rake.stack"));
    dw_sheet_free(sheet);
}
END_TEST

// 1° of lean over 16 mm is 0.279 mm, 1.5° of rake over 15 mm 0.393 mm; the thinnest corner comes to nothing.
START_TEST(rake_azimuth_and_zenith_are_one_attitude)
{
#define LEANING "rake.measured=90.5deg", "rake.wedge_base=15mm", "azimuth.width=16mm", "arm.effective_length=240mm"
    DwSheet *sheet = COMPUTE("rake", LEANING, "rake.lean=1deg", "found.twist=1deg", "arm.headshell=plugin");
    const DwTable *cuts = dw_sheet_table(sheet, "rake.cuts");
    const double wanted[] = {0.393, 0.672, 0, 0.279}; // nose: inner, outer; pivot's end: inner, outer
    for (size_t row = 0; row < 4; row++)
        ck_assert_double_eq_tol(dw_table_cell(cuts, row, 1)->number, wanted[row], 1e-3);
    ck_assert(remarks(sheet, "outer edge (right, seen from the front)"));
    ck_assert(remarks(sheet, "nothing turns in this headshell (a plug-in shell in its collet)"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("rake", LEANING, "rake.lean=-1deg", "found.twist=1deg", "arm.azimuth_by=counterweight");
    ck_assert(remarks(sheet, "heavier side goes towards the spindle") &&
              remarks(sheet, "1.0° outwards about its screws"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("rake", LEANING);
    ck_assert(!dw_sheet_table(sheet, "rake.cuts") && !remarks(sheet, "The order:"));
    dw_sheet_free(sheet);
    // Nothing moves: neither a wedge nor the grid stands in the order.
    sheet = COMPUTE("rake", LEANING, "rake.lean=1deg", "found.twist=1deg", "arm.headshell=fixed");
    ck_assert(remarks(sheet, "The order: rake by the arm's height, then azimuth, then the force"));
    ck_assert(!remarks(sheet, "makes up for part of it"));
    dw_sheet_free(sheet);
}
END_TEST

static void check_cut(const DwSheet *sheet, const double both[4])
{
    const DwTable *cuts = dw_sheet_table(sheet, "rake.cuts");
    ck_assert_ptr_nonnull(cuts);
    for (size_t row = 0; row < 4; row++)
        ck_assert_double_eq_tol(dw_table_cell(cuts, row, 1)->number, both[row], 1e-3);
}

// 2° at 240 mm are 8.38 mm: more than an arm's base goes, yet 25 mm × tan 2° of wedge and 17 mm × tan 1° of shim do it.
START_TEST(what_the_height_cannot_a_wedge_can)
{
    static const char *const rakes[] = {"rake.measured=94deg", "rake.measured=90deg"};
    static const char *const stands[] = {"8.4 mm too high, more than", "8.4 mm too low, more than"};
    static const double cuts[][4] = {{0.297, 0, 1.170, 0.873}, {1.170, 0.873, 0.297, 0}};
    for (size_t i = 0; i < 2; i++) {
        DwSheet *sheet =
            COMPUTE("rake", rakes[i], "arm.effective_length=240mm", "rake.wedge_base=25mm", "rake.lean=-1deg");
        ck_assert_double_eq_tol(value(sheet, "rake.wedge"), 0.873, 1e-3);
        ck_assert(!remarks(sheet, "No arm stands") && !remarks(sheet, "read the rake again"));
        ck_assert(remarks(sheet, "a wedge") && remarks(sheet, stands[i]));
        ck_assert(!says_not_measured(sheet, "rake.cuts"));
        check_cut(sheet, cuts[i]);
        // The height is not set: nothing stands for what comes after it.
        ck_assert(isnan(dw_table_cell(dw_sheet_table(sheet, "rake.cuts"), 0, 2)->number));
        dw_sheet_free(sheet);
    }
    DwSheet *sheet = COMPUTE("rake", "rake.measured=94deg", "arm.effective_length=240mm", "rake.lean=-1deg");
    ck_assert(remarks(sheet, "rake.wedge_base"));
    dw_sheet_free(sheet);
    // What is lacking is named alone.
    sheet = COMPUTE("rake", "arm.effective_length=240mm", "rake.wedge_base=25mm", "rake.lean=-1deg");
    ck_assert_str_eq(not_measured(sheet, "rake.cuts"), "A wedge for rake and azimuth together needs the rake.");
    dw_sheet_free(sheet);
    sheet =
        COMPUTE("rake", "rake.measured=96deg", "arm.effective_length=240mm", "rake.wedge_base=25mm", "rake.lean=-1deg");
    ck_assert_ptr_nonnull(strstr(not_measured(sheet, "rake.cuts"), "read the rake again"));
    dw_sheet_free(sheet);
}
END_TEST

// Beyond azimuth.limit nothing is shimmed, turned or cut, whatever the azimuth is set by.
START_TEST(a_lean_beyond_what_may_be_set_is_read_again)
{
    static const char *const by[] = {"arm.azimuth_by=shim", "arm.azimuth_by=shell", "arm.azimuth_by=counterweight",
                                     "arm.azimuth_by=side_weight"};
    static const char *const leans[] = {"rake.lean=20deg", "rake.lean=-2.1deg"};
    for (size_t i = 0; i < 8; i++) {
        DwSheet *sheet = COMPUTE("rake", "rake.measured=91.5deg", "arm.effective_length=240mm", "rake.wedge_base=25mm",
                                 leans[i / 4], by[i % 4]);
        ck_assert(remarks(sheet, "read it again") && remarks(sheet, "azimuth.limit"));
        ck_assert(!remarks(sheet, "a shim of") && !remarks(sheet, "Azimuth: turn") && !remarks(sheet, "Azimuth: move"));
        ck_assert_ptr_null(dw_sheet_table(sheet, "rake.cuts"));
        ck_assert_ptr_nonnull(strstr(not_measured(sheet, "rake.cuts"), "azimuth.limit"));
        dw_sheet_free(sheet);
    }
    DwSheet *sheet = COMPUTE("rake", "rake.measured=91.5deg", "arm.effective_length=240mm", "rake.lean=2.1deg",
                             "azimuth.limit=3deg");
    ck_assert(remarks(sheet, "a shim of") && !remarks(sheet, "read it again"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_rake_that_cannot_be_judged_gets_one_sentence)
{
    DwSheet *sheet = COMPUTE("rake", "rake.measured=93.2deg", "rake.camera_error=2deg", "arm.effective_length=240mm");
    ck_assert_int_eq(dw_sheet_reading(sheet, "rake.angle")->verdict, DW_VERDICT_CANNOT_TELL);
    ck_assert(remarks(sheet, "within its own uncertainty") && !remarks(sheet, "Cannot tell whether Rake"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("rake", what_the_height_cannot_a_wedge_can, a_lean_beyond_what_may_be_set_is_read_again,
         a_rake_that_cannot_be_judged_gets_one_sentence, rake_azimuth_and_zenith_are_one_attitude,
         a_rake_that_no_arm_has_is_read_again, three_points_and_the_spacer, height_moves_overhang_azimuth_and_force,
         a_thicker_record_is_followed_by_the_arm, what_a_stack_leaves_is_told_with_its_sign,
         lowering_can_be_a_spacer_under_the_shell, bad_calls_say_what_to_give)
