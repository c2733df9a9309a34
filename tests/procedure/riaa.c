// SPDX-License-Identifier: MIT
#include "support/computation.h"
#include "support/suite.h"

START_TEST(chosen_frequencies_make_the_table)
{
    // Source (published): levels from the time constants of IEC 60098, by another program.
    DwSheet *sheet = COMPUTE("riaa", "riaa.frequency=20", "riaa.frequency=10kHz");
    check_sound(sheet);
    const DwTable *table = dw_sheet_table(sheet, "riaa.table");
    ck_assert_uint_eq(table->row_count, 2);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 1)->number, 19.274, 5e-4);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 2)->number, 16.261, 5e-4);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 3)->number, -19.274, 5e-4);
    ck_assert_double_eq_tol(dw_table_cell(table, 1, 1)->number, -13.734, 5e-4);
    ck_assert_ptr_nonnull(dw_sheet_curve(sheet, "riaa.replay"));
    ck_assert_ptr_nonnull(dw_sheet_curve(sheet, "riaa.replay_subsonic"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_standard_frequencies_stand_in)
{
    DwSheet *sheet = computed("riaa", (const char *const[]){NULL});
    const DwTable *table = dw_sheet_table(sheet, "riaa.table");
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 0)->number, 10, 1e-9);
    ck_assert_double_eq_tol(dw_table_cell(table, table->row_count - 1, 1)->number, -19.620, 5e-4);
    ck_assert_ptr_null(dw_sheet_table(sheet, "riaa.measured"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_preamplifier_is_held_against_both_curves)
{
    // 20 Hz 0.2 dB and 10 kHz 0.3 dB off the curve with the 7950 µs term.
    DwSheet *sheet = COMPUTE("riaa", "riaa.measured=20:16.461", "riaa.measured=10kHz:-14.033");
    ck_assert_double_eq_tol(value(sheet, "riaa.deviation_subsonic"), 0.3, 1e-3);
    ck_assert_double_eq_tol(value(sheet, "riaa.deviation"), 19.274 - 16.461, 1e-3);
    ck_assert(remarks(sheet, "curve with the 7950"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("riaa", chosen_frequencies_make_the_table, the_standard_frequencies_stand_in,
         a_preamplifier_is_held_against_both_curves)
