// SPDX-License-Identifier: MIT
#include "support/computation.h"
#include "support/suite.h"

#include <math.h>

START_TEST(from_the_makers_sheets)
{
    // 10 g arm + 6 g cartridge + 1 g hardware on 18: 9.098 Hz. Source (recomputed): see tests/physics.
    DwSheet *sheet = COMPUTE("resonance", "arm.effective_mass=10", "cartridge.mass=6", "cartridge.hardware_mass=1",
                             "cartridge.compliance=18", "cartridge.compliance_frequency=10", "resonance.q=3");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "resonance.lateral"), 9.098, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "resonance.vertical"), 9.098, 6e-4);
    ck_assert_int_eq(dw_sheet_reading(sheet, "resonance.lateral")->verdict, DW_VERDICT_GOOD);
    // 15 % of compliance and 1 g of 17 g: half of √(0.15² + 0.0588²).
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "resonance.lateral")->uncertainty, 9.098 * expm1(0.5 * 0.1611),
                            2e-3);
    ck_assert_double_eq_tol(value(sheet, "resonance.peak"), 9.665, 6e-4); // Source (recomputed): Q 3
    // Source (recomputed): M·C = 253.3 at 10 Hz.
    ck_assert_double_eq_tol(value(sheet, "resonance.added"), 253.3 / 18 - 17, 0.004);
    ck_assert(!dw_sheet_is_flagged(sheet));
    // Source (recomputed): warp force at M 17, C 18, Q 3.
    const DwTable *warps = dw_sheet_table(sheet, "resonance.warps");
    ck_assert_double_eq_tol(dw_table_cell(warps, 2, 3)->number, 1.324, 7e-4);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_compliance_without_frequency_is_flagged_and_wide)
{
    DwSheet *sheet = COMPUTE("resonance", "arm.effective_mass=10", "cartridge.mass=6", "cartridge.compliance=10");
    ck_assert(dw_sheet_is_flagged(sheet));
    ck_assert_double_gt(dw_sheet_reading(sheet, "resonance.lateral")->uncertainty, 4);
    dw_sheet_free(sheet);
    // Stated at 100 Hz: −18 to −29 % of the plain sum (derived).
    double plain = 1e3 / (2 * M_PI * sqrt(17 * 10.0));
    sheet = COMPUTE("resonance", "arm.effective_mass=10", "cartridge.mass=6", "cartridge.compliance=10",
                    "cartridge.compliance_frequency=100", "cartridge.compliance_tolerance=0", "arm.mass_tolerance=0");
    const DwTable *band = dw_sheet_table(sheet, "resonance.band");
    ck_assert_double_eq_tol(dw_table_cell(band, 0, 3)->number / plain - 1, -0.29, 0.005);
    ck_assert_double_eq_tol(dw_table_cell(band, 0, 5)->number / plain - 1, -0.18, 0.005);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(sideways_mass_of_its_own)
{
    DwSheet *sheet = COMPUTE("resonance", "arm.effective_mass=10", "arm.lateral_mass=25", "cartridge.mass=9",
                             "cartridge.compliance=10", "cartridge.compliance_frequency=10");
    ck_assert_double_eq_tol(value(sheet, "resonance.vertical"), 11.254,
                            6e-4); // 20 g on 10: the table of tests/physics/resonance.c
    ck_assert_double_eq_tol(value(sheet, "resonance.lateral"), 8.507, 6e-4); // 35 g on 10
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(two_sweeps_find_mass_and_compliance)
{
    // 17 g and 21 g on 18 µm/mN, from the formula by hand: 9.0985 and 8.1862 Hz.
    DwSheet *sheet =
        COMPUTE("resonance", "resonance.found=9.09848", "resonance.found_loaded=8.18622", "resonance.added_mass=4",
                "cartridge.mass=6", "cartridge.hardware_mass=1", "resonance.found_error=0.05");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "resonance.mass"), 17, 0.01);
    ck_assert_double_eq_tol(value(sheet, "resonance.compliance"), 18, 0.01);
    ck_assert_double_eq_tol(value(sheet, "resonance.arm_mass"), 10, 0.01);
    ck_assert(remarks(sheet, "Rebalancing"));
    ck_assert_double_eq_tol(value(sheet, "resonance.vertical"), 9.09848, 1e-9);
    dw_sheet_free(sheet);
    // The counterweight's share counts: 2 g at the stylus is 2.72 g felt
    // and the mass found is 2.72/2 of the plain sum. Source (recomputed): moments.
    sheet = COMPUTE("resonance", "resonance.found=10", "resonance.found_loaded=9", "resonance.added_mass=2",
                    "arm.effective_length=230", "arm.counterweight_mass=100", "arm.counterweight_position=39.16");
    ck_assert_double_eq_tol(value(sheet, "resonance.mass"), 2.72 / (100.0 / 81 - 1), 0.02);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(one_sweep_finds_the_compliance)
{
    DwSheet *sheet = COMPUTE("resonance", "resonance.found=9.098", "arm.effective_mass=10", "cartridge.mass=6",
                             "cartridge.hardware_mass=1");
    ck_assert_double_eq_tol(value(sheet, "resonance.compliance"), 18, 0.01);
    dw_sheet_free(sheet);
}
END_TEST

// What was found counts, and not what a sheet says of the cartridge: 17 g at 5 Hz are 59.6 µm/mN, and 10 Hz want
// 4.25 g; 35 g sideways lie at 5·√(17/35) Hz (by hand).
START_TEST(what_was_found_is_judged)
{
    DwSheet *sheet = COMPUTE("resonance", "arm.effective_mass=10", "cartridge.mass=6", "cartridge.compliance=18",
                             "cartridge.compliance_frequency=10", "resonance.found=5", "arm.lateral_mass=28");
    ck_assert_double_eq_tol(value(sheet, "resonance.vertical"), 5, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "resonance.lateral"), 3.4847, 1e-4);
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "resonance.vertical")->uncertainty, 0.49, 1e-3);
    ck_assert_double_eq_tol(value(sheet, "resonance.added"), 4.25 - 17, 1e-3);
    // 2·4.25·0.49/5 g of the reading, 0.75 of the arm's 1 g.
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "resonance.added")->uncertainty, hypot(0.833, 0.75), 1e-3);
    ck_assert_int_eq(dw_sheet_reading(sheet, "resonance.vertical")->verdict, DW_VERDICT_ATTENTION);
    ck_assert(remarks(sheet, "The resonance is low"));
    ck_assert(!remarks(sheet, "lies between warps"));
    ck_assert(remarks(sheet, "one of them is not what"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("resonance", "arm.effective_mass=10", "cartridge.mass=6", "cartridge.compliance=18",
                    "resonance.found=9.3");
    ck_assert(!remarks(sheet, "a sweep of a test record says more"));
    ck_assert(!remarks(sheet, "one of them is not what"));
    ck_assert(!dw_sheet_is_flagged(sheet));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(bad_calls_say_what_to_give)
{
    REFUSE("resonance", "cartridge.compliance", "arm.effective_mass=10");
    REFUSE("resonance", "Two sweeps", "resonance.found=9", "resonance.added_mass=2");
    REFUSE("resonance", "exchanged", "resonance.found=9", "resonance.found_loaded=9.5", "resonance.added_mass=2");
}
END_TEST

DW_SUITE("resonance", from_the_makers_sheets, a_compliance_without_frequency_is_flagged_and_wide,
         sideways_mass_of_its_own, two_sweeps_find_mass_and_compliance, one_sweep_finds_the_compliance,
         what_was_found_is_judged, bad_calls_say_what_to_give)
