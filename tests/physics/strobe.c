// SPDX-License-Identifier: MIT
#include "physics/strobe.h"
#include "support/suite.h"

START_TEST(rings_meet_the_table)
{
    // Source (recomputed): F = 120 · mains flashes a minute by whole bars; 45.1128 rpm
    // for 133 bars is also found in a mailing list's working.
    static const struct {
        double mains, nominal;
        int bars;
        double standing;
    } rows[] = {
        {50, 50.0 / 3, 360, 16.66667},  {50, 100.0 / 3, 180, 33.33333}, {50, 45, 133, 45.11278},
        {50, 78, 77, 77.92208},         {50, 80, 75, 80.00000},         {60, 50.0 / 3, 432, 16.66667},
        {60, 100.0 / 3, 216, 33.33333}, {60, 45, 160, 45.00000},        {60, 78, 92, 78.26087},
        {60, 80, 90, 80.00000},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double flash = dw_strobe_mains_flash_hz(rows[i].mains);
        ck_assert_int_eq(dw_strobe_bars(flash, rows[i].nominal), rows[i].bars);
        ck_assert_double_eq_tol(dw_strobe_standing_rpm(flash, rows[i].bars, 1), rows[i].standing, 6e-6);
    }
}
END_TEST

START_TEST(drifting_bars_meet_the_example)
{
    // Source (worked apart): true 45 rpm on the 133-bar ring at 50 Hz drifts back 15 bars a minute;
    // a bar a minute is 0.016667 % at 50 Hz, 0.013889 % at 60 Hz, whatever the ring.
    ck_assert_double_eq_tol(dw_strobe_drifting_rpm(100, 133, 1, -15), 45, 1e-12);
    ck_assert_double_eq_tol(dw_strobe_drift_percent(100, 1, 1), 0.016667, 6e-7);
    ck_assert_double_eq_tol(dw_strobe_drift_percent(120, 1, 1), 0.013889, 6e-7);
    // Source (trade): 6 bars a minute at 50 Hz are 0.1 %.
    ck_assert_double_eq_tol(dw_strobe_drift_percent(100, 1, 6), 0.1, 1e-12);
    ck_assert_double_eq_tol(dw_strobe_drifting_rpm(100, 180, 1, 6) / dw_strobe_standing_rpm(100, 180, 1), 1.001, 1e-12);
}
END_TEST

START_TEST(denser_rings_stand_by_several_bars)
{
    // Source (published): a mailing list's working, 400 bars make exactly 45 rpm at 50 Hz, three bars a flash.
    ck_assert_int_eq(dw_strobe_step(100, 400, 45), 3);
    ck_assert_double_eq_tol(dw_strobe_standing_rpm(100, 400, 3), 45, 1e-12);
    ck_assert_int_eq(dw_strobe_step(100, 133, 45), 1);
    ck_assert_int_eq(dw_strobe_step(100, 90, 100.0 / 3), 1);
}
END_TEST

DW_SUITE("strobe", rings_meet_the_table, drifting_bars_meet_the_example, denser_rings_stand_by_several_bars)
