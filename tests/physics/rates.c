// SPDX-License-Identifier: MIT
#include "physics/example_drives.h"
#include "support/suite.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static double rate(const DwDrive *drive, double rpm, DwPart part)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(drive, rpm, rates);
    for (size_t i = 0; i < count; i++)
        if (rates[i].part == part)
            return rates[i].rate_hz;
    return NAN;
}

START_TEST(belt_and_pulley_rates_meet_the_example)
{
    // Source (recomputed): rim 160, pulley 12, centres 130, belt 0.8 mm.
    DwDrive drive = example_belt_drive(12);
    ck_assert_double_eq_tol(dw_drive_fitted_belt_mm(&drive), 576.08, 0.006);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_BELT), 0.4872, 6e-5);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_MOTOR), 6.979, 6e-4);
    ck_assert_double_eq_tol(rate(&drive, 45, DW_PART_BELT), 0.6577, 6e-5);
    ck_assert_double_eq_tol(rate(&drive, 45, DW_PART_MOTOR), 9.422, 6e-4);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_PLATTER), 0.5556, 6e-5);
    ck_assert_double_eq_tol(rate(&drive, 45, DW_PART_RECORD), 0.75, 1e-12);
}
END_TEST

START_TEST(synchronous_motors_follow_the_mains_not_the_platter)
{
    // Table of mains motors: 24 poles turn 250 rpm at 50 Hz, 300 at 60 (120 f / poles).
    DwDrive drive = example_belt_drive(12);
    drive.motor_poles = 24;
    drive.mains_hz = 50;
    ck_assert_double_eq_tol(rate(&drive, 33, DW_PART_MOTOR), 250.0 / 60, 1e-12);
    ck_assert_double_eq_tol(rate(&drive, 33, DW_PART_POLE), 100, 1e-9);
    drive.mains_hz = 60;
    ck_assert_double_eq_tol(rate(&drive, 33, DW_PART_MOTOR), 5, 1e-12);
    ck_assert_double_eq_tol(rate(&drive, 33, DW_PART_MAINS), 60, 1e-12);
}
END_TEST

START_TEST(an_induction_motor_lags_the_mains)
{
    // Source (trade): four poles at 50 Hz, 1500 rpm less a slip of 2 to 7 % (common practice); 5 % leave 1425.
    DwDrive drive = example_idler_drive();
    drive.motor = DW_MOTOR_INDUCTION;
    ck_assert_double_ge(dw_drive_motor_rpm(&drive), 1500 * 0.93);
    ck_assert_double_le(dw_drive_motor_rpm(&drive), 1500 * 0.98);
    drive.slip = 0.05;
    ck_assert_double_eq_tol(dw_drive_motor_rpm(&drive), 1425, 1e-9);
}
END_TEST

START_TEST(idler_rate_meets_the_example)
{
    // Source (recomputed): 45 mm on a rim of 280 turns at 3.457 Hz, a 4-pole motor 25 Hz.
    DwDrive drive = example_idler_drive();
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_IDLER), 3.457, 6e-4);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_MOTOR), 25, 1e-9);
    ck_assert_double_eq_tol(dw_drive_platter_rpm(&drive), 33.3333, 2e-4);
    ck_assert(isnan(rate(&drive, 100.0 / 3, DW_PART_BELT)));
}
END_TEST

START_TEST(direct_drive_has_poles_and_no_motor_of_its_own)
{
    // Source (trade): 12 poles pass 6.7 times a second at 33⅓, 20 poles 11 times.
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_DIRECT);
    drive.direct_poles = 12;
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_POLE), 6.667, 6e-4);
    drive.direct_poles = 20;
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_POLE), 11.11, 6e-3);
    ck_assert(isnan(rate(&drive, 100.0 / 3, DW_PART_MOTOR)));
    ck_assert(isnan(dw_drive_platter_rpm(&drive)));
}
END_TEST

START_TEST(a_free_belt_gives_its_rate_with_more_doubt)
{
    DwDrive drive = example_belt_drive(12);
    DwRate known[DW_RATES_MOST], loose[DW_RATES_MOST];
    dw_drive_rates(&drive, 100.0 / 3, known);
    drive.belt_length_mm = 573.568 / 1.035;
    drive.centre_mm = NAN;
    dw_drive_rates(&drive, 100.0 / 3, loose);
    ck_assert_int_eq(loose[2].part, DW_PART_BELT);
    ck_assert_double_eq_tol(loose[2].rate_hz, known[2].rate_hz, 2e-4);
    ck_assert_double_gt(loose[2].uncertainty_hz, 2 * known[2].uncertainty_hz);
}
END_TEST

// Whether RATES hold a row of PART at HZ within a ten-thousandth, called WHAT.
static bool has(const DwRate *rates, size_t count, DwPart part, double hz, const char *what)
{
    for (size_t i = 0; i < count; i++)
        if (rates[i].part == part && fabs(rates[i].rate_hz - hz) < 1e-4 * hz && rates[i].what &&
            strcmp(rates[i].what, what) == 0)
            return true;
    return false;
}

START_TEST(a_direct_drive_cogs_at_the_least_common_multiple)
{
    // By hand, at 33⅓ (0.55556 turns a second): poles, slots, cogs a turn. 12 and 9 have 36 as their least common
    // multiple, 16 and 12 have 48, 20 and 15 have 60, 10 and 12 have 60.
    static const double decks[][3] = {{12, 9, 36}, {16, 12, 48}, {20, 15, 60}, {10, 12, 60}, {8, 6, 24}};
    for (size_t i = 0; i < sizeof decks / sizeof *decks; i++) {
        DwDrive drive;
        DwRate rates[DW_RATES_MOST];
        dw_drive_init(&drive, DW_DRIVE_DIRECT);
        drive.direct_poles = decks[i][0];
        drive.slots = decks[i][1];
        drive.tacho_lines = 100;
        size_t count = dw_drive_rates(&drive, 100.0 / 3, rates);
        ck_assert(has(rates, count, DW_PART_POLE, decks[i][2] * 100 / 180, "cogging"));
        ck_assert(has(rates, count, DW_PART_POLE, decks[i][1] * 100 / 180, "slots"));
        ck_assert(has(rates, count, DW_PART_POLE, decks[i][0] * 100 / 180, "poles"));
        ck_assert(has(rates, count, DW_PART_POLE, decks[i][0] / 2 * 100 / 180, "electrical rate"));
        ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_TACHO), 55.5556, 1e-4);
    }
}
END_TEST

START_TEST(motors_on_direct_current_ripple_at_their_bars)
{
    // A motor of 1800 rpm turns 30 times a second: five bars under two brushes leave them one at a time, 10 a turn.
    DwDrive drive = example_belt_drive(12);
    DwRate rates[DW_RATES_MOST];
    drive.motor = DW_MOTOR_DC;
    drive.motor_rpm = 1800;
    drive.pulley_mm = NAN;
    drive.slots = 5;
    size_t count = dw_drive_rates(&drive, 100.0 / 3, rates);
    ck_assert(has(rates, count, DW_PART_MOTOR, 300, "commutation"));
    drive.slots = 4; // an even number leaves both brushes at once
    count = dw_drive_rates(&drive, 100.0 / 3, rates);
    ck_assert(has(rates, count, DW_PART_MOTOR, 120, "commutation"));
}
END_TEST

START_TEST(a_stated_motor_speed_joins_what_the_platter_tells)
{
    // By hand: the platter tells 6.97917 Hz within 0.03933 (0.4 % of creep, 0.02 mm of 12.8, 0.05 mm of belt on both
    // circles, 0.1 mm of 160.8), the plate 7.02 Hz within 0.03528 (0.5 and 0.05 %): 7.0018 within 0.0263.
    DwDrive drive = example_belt_drive(12);
    DwRate rates[DW_RATES_MOST];
    drive.motor = DW_MOTOR_DC;
    drive.motor_rpm = 60 * 7.02;
    size_t count = dw_drive_rates(&drive, 100.0 / 3, rates), motor = 0;
    while (motor < count && rates[motor].part != DW_PART_MOTOR)
        motor++;
    ck_assert_uint_lt(motor, count);
    ck_assert_double_eq_tol(rates[motor].rate_hz, 7.0018, 1e-4);
    ck_assert_double_eq_tol(rates[motor].uncertainty_hz, 0.0263, 1e-4);
    drive.motor_rpm = 2400; // a plate that tells the motor without its load
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_MOTOR), 6.979, 6e-4);
}
END_TEST

START_TEST(an_induction_motor_is_known_by_its_pulley)
{
    // 280 mm at 33⅓ by a shaft of 6.4815 mm: 24.0 turns a second, 4 % behind the 25 of four poles. Slip beats at
    // 4 × 1.0 Hz. The same dimensions tell it where the kind of motor is not stated.
    static const DwMotorKind kinds[] = {DW_MOTOR_INDUCTION, DW_MOTOR_UNSTATED};
    for (size_t i = 0; i < 2; i++) {
        DwDrive drive = example_idler_drive();
        DwRate rates[DW_RATES_MOST];
        drive.pulley_mm = 6.4815;
        drive.motor = kinds[i];
        ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_MOTOR), 24.0, 0.001);
        size_t count = dw_drive_rates(&drive, 100.0 / 3, rates);
        ck_assert(has(rates, count, DW_PART_MOTOR, 4.0004, "slip beat") || i);
    }
}
END_TEST

START_TEST(a_stepped_idler_gears_the_rim)
{
    // Shaft 6 mm at 1500 rpm on a wheel of 60 mm: 150 rpm; its step of 40 mm on a rim of 180 mm: 33.333 rpm.
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_IDLER);
    drive.motor_rpm = 1500;
    drive.pulley_mm = 6;
    drive.idler_driven_mm = 60;
    drive.idler_mm = 40;
    drive.rim_mm = 180;
    ck_assert_double_eq_tol(dw_drive_platter_rpm(&drive), 100.0 / 3, 1e-9);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_IDLER), 2.5, 1e-9);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_MOTOR), 25, 1e-9);
}
END_TEST

START_TEST(two_motors_share_a_belt)
{
    // Round both and the rim 646.99 mm (tests/physics/drive.c): π × 160.8 × 0.55556 / 646.99 = 0.43377 Hz.
    DwDrive drive = example_belt_drive(12);
    DwRate rates[DW_RATES_MOST];
    drive.motors = 2;
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_BELT), 0.43377, 1e-5);
    // 700 mm free, 0.8 mm thick, at the middle of 2 to 5 %: (700 + 0.8 π) × 1.035 = 727.1 mm under π × 160.8 × 0.5556.
    drive.belt_length_mm = 700;
    drive.centre_mm = NAN;
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_BELT), 0.38598, 1e-4);
    // Where no field holds them the second turns as its own pulley makes it: within 0.02 mm of 12 besides.
    size_t count = dw_drive_rates(&drive, 100.0 / 3, rates), others = 0;
    for (size_t i = 0; i < count; i++)
        if (rates[i].turn) {
            ck_assert_int_eq(rates[i].part, DW_PART_MOTOR);
            ck_assert_double_eq_tol(rates[i].rate_hz, rate(&drive, 100.0 / 3, DW_PART_MOTOR), 1e-12);
            ck_assert_double_gt(rates[i].uncertainty_hz, rates[i].rate_hz * 0.02 / 12);
            others++;
        }
    ck_assert_uint_eq(others, 1);
    drive.motor = DW_MOTOR_SYNCHRONOUS;
    drive.motor_poles = 24;
    drive.mains_hz = 50;
    count = dw_drive_rates(&drive, 100.0 / 3, rates);
    for (size_t i = 0; i < count; i++)
        ck_assert_ptr_null(rates[i].turn);
}
END_TEST

// The rate of what is called TURN, or NAN.
static double other_turn(const DwDrive *drive, double rpm, const char *turn)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(drive, rpm, rates);
    for (size_t i = 0; i < count; i++)
        if (rates[i].turn && strcmp(rates[i].turn, turn) == 0)
            return rates[i].rate_hz;
    return NAN;
}

START_TEST(two_belts_drive_one_after_the_other)
{
    // By hand: 1500 rpm of 20.6 over 80.6 mm is 383.3747 rpm of the wheel between, that of 30.8 over 160.8 is 73.4325
    // rpm. At 33⅓ the wheel turns 2.90043 times a second; the second belt of 584 mm (a hull of circles) 0.47231 times;
    // the first of (380 + 0.6 π) × 1.035 under π × 20.6 at the mains' 25 turns 4.09340 times.
    DwDrive drive = example_belt_drive(20);
    drive.motor = DW_MOTOR_SYNCHRONOUS;
    drive.motor_poles = 4;
    drive.mains_hz = 50;
    drive.idler_driven_mm = 80;
    drive.idler_mm = 30;
    drive.first_thickness_mm = 0.6;
    drive.first_length_mm = 380;
    ck_assert_double_eq_tol(dw_drive_platter_rpm(&drive), 73.43247, 1e-5);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_IDLER), 2.900433, 1e-6);
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_BELT), 0.472315, 1e-6);
    ck_assert_double_eq_tol(other_turn(&drive, 100.0 / 3, "first belt"), 4.093400, 1e-6);
    drive.motor = DW_MOTOR_INDUCTION; // then the shaft is worked back from the platter
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_MOTOR), 11.348296, 1e-6);
    drive.first_thickness_mm = NAN; // several percent of speed
    ck_assert(isnan(dw_drive_platter_rpm(&drive)));
    drive.first_length_mm = NAN; // no belt there: the shaft rolls on the wheel, 1500 × 20/80 × 30.8/160.8
    drive.motor = DW_MOTOR_SYNCHRONOUS;
    ck_assert_double_eq_tol(dw_drive_platter_rpm(&drive), 71.828358, 1e-6);
    ck_assert(isnan(other_turn(&drive, 100.0 / 3, "first belt")));
}
END_TEST

START_TEST(a_belt_turns_an_idler)
{
    // By hand: 1440 rpm of 10.5 over 60.5 mm is 249.917 rpm, its step of 40 mm on a rim of 240: 41.6529 rpm. At 33⅓ the
    // belt of (300 + 0.5 π) × 1.035 passes 2.02981 times a second.
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_IDLER);
    drive.motor_rpm = 1440;
    drive.pulley_mm = 10;
    drive.first_thickness_mm = 0.5;
    drive.first_length_mm = 300;
    drive.idler_driven_mm = 60;
    drive.idler_mm = 40;
    drive.rim_mm = 240;
    ck_assert_double_eq_tol(dw_drive_platter_rpm(&drive), 41.652893, 1e-6);
    drive.motor_rpm = NAN;
    ck_assert_double_eq_tol(rate(&drive, 100.0 / 3, DW_PART_BELT), 2.029805, 1e-6);
    ck_assert(isnan(other_turn(&drive, 100.0 / 3, "first belt"))); // the only one
}
END_TEST

START_TEST(a_pulley_before_two_stages_is_doubted_by_both)
{
    // By numbers: each diameter moved by its doubt (0.1 mm on rim and wheel, 0.05 mm on each belt), and the pulley that
    // is then right at 33⅓ against 8.750996 mm.
    DwDrive drive = example_belt_drive(20);
    drive.motor = DW_MOTOR_SYNCHRONOUS;
    drive.motor_poles = 4;
    drive.mains_hz = 50;
    drive.idler_driven_mm = 80;
    drive.idler_mm = 30;
    drive.first_thickness_mm = 0.6;
    double ratio = 100.0 / 3 / 1500, right = (ratio / (30.8 / 160.8)) * 80.6 - 0.6;
    double moved[] = {
        (ratio / (30.8 / 160.9)) * 80.6 - 0.6,   (ratio / (30.9 / 160.8)) * 80.6 - 0.6,
        (ratio / (30.85 / 160.85)) * 80.6 - 0.6, (ratio / (30.8 / 160.8)) * 80.7 - 0.6,
        (ratio / (30.8 / 160.8)) * 80.65 - 0.65,
    };
    double squares = 0;
    for (size_t i = 0; i < sizeof moved / sizeof *moved; i++)
        squares += pow(moved[i] - right, 2);
    ck_assert_double_eq_tol(right, 8.750996, 1e-6);
    ck_assert_double_eq_tol(dw_drive_pulley_error_mm(&drive, ratio), sqrt(squares), 0.01 * sqrt(squares));
}
END_TEST

START_TEST(what_was_not_stated_is_left_out)
{
    DwDrive drive;
    DwRate rates[DW_RATES_MOST];
    dw_drive_init(&drive, DW_DRIVE_BELT);
    ck_assert_uint_eq(dw_drive_rates(&drive, 45, rates), 2);
    for (size_t i = 0; i < DW_PART_COUNT; i++)
        ck_assert_uint_gt(strlen(dw_part_word((DwPart)i)), 3);
}
END_TEST

DW_SUITE("rates", a_stated_motor_speed_joins_what_the_platter_tells, an_induction_motor_lags_the_mains,
         belt_and_pulley_rates_meet_the_example, synchronous_motors_follow_the_mains_not_the_platter,
         idler_rate_meets_the_example, direct_drive_has_poles_and_no_motor_of_its_own,
         a_free_belt_gives_its_rate_with_more_doubt, what_was_not_stated_is_left_out,
         a_direct_drive_cogs_at_the_least_common_multiple, motors_on_direct_current_ripple_at_their_bars,
         an_induction_motor_is_known_by_its_pulley, a_stepped_idler_gears_the_rim, two_motors_share_a_belt,
         two_belts_drive_one_after_the_other, a_belt_turns_an_idler, a_pulley_before_two_stages_is_doubted_by_both)
