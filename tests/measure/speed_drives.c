// SPDX-License-Identifier: MIT
// Drives as they are built, from a tone computed here sample by sample: what part is named, how
// surely, and what is left over. No simulator of the program's is used.
#include "measure/speed/speed.h"
#include "support/sheet_checks.h"
#include "support/strayed_tone.h"
#include "support/suite.h"

#include <string.h>

enum { SECONDS = 60 };
static const double TURN_HZ = 100.0 / 180;

// What the class of the deck calls good, % weighted; NAN: a hi-fi deck's.
static double good_percent = NAN;
static size_t length_s = SECONDS;
static double tone_hz = 3150;

// The sheet of a tone whose speed strays by PERCENT(second), with a little hiss.
static DwSheet *measure(double (*percent)(double), const DwDrive *drive)
{
    DwSpeedSettings settings = dw_speed_settings(STRAYED_RATE, 1);
    settings.tone_hz = tone_hz;
    settings.drive_given = true;
    settings.drive = *drive;
    settings.good_flutter = good_percent;
    return strayed_sheet((StrayedTone){tone_hz, 0.0005, 77, length_s, percent, NULL}, settings);
}

// The verdict on SUSPECT; "" where it is not in the table.
static const char *verdict(const DwSheet *sheet, const char *suspect)
{
    const DwTable *table = dw_sheet_table(sheet, "flutter.suspects");
    for (size_t i = 0; i < table->row_count; i++)
        if (strcmp(dw_table_cell(table, i, 0)->word, suspect) == 0)
            return dw_table_cell(table, i, 1)->word;
    return "";
}

static double sine(double hz, double t)
{
    return sin(2 * M_PI * hz * t + hz);
}

static DwDrive direct_drive(void)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_DIRECT);
    drive.mains_hz = 50;
    drive.direct_poles = 12;
    drive.slots = 9;
    return drive;
}

// 12 poles and 9 slots cog 36 times a turn: 20 times a second at 33⅓.
static double cogging(double t)
{
    return 0.3 * sine(36 * TURN_HZ, t) + 0.02 * sine(TURN_HZ, t);
}

START_TEST(cogging_is_named_with_its_harmonic)
{
    DwDrive drive = direct_drive();
    DwSheet *sheet = measure(cogging, &drive);
    ck_assert_str_eq(word(sheet, "flutter.lines", 0, 4), "pole");
    ck_assert_double_eq(number(sheet, "flutter.lines", 0, 5), 3);
    ck_assert_str_eq(word(sheet, "flutter.lines", 0, 8), "cogging");
    ck_assert_str_eq(verdict(sheet, "pole"), "suspected");
    ck_assert(!remarks(sheet, "elt off"));
    ck_assert(!remarks(sheet, "idler"));
    dw_sheet_free(sheet);
    drive.slots = NAN; // three phases cog three times a pole most often
    sheet = measure(cogging, &drive);
    ck_assert_str_eq(verdict(sheet, "pole"), "suspected");
    dw_sheet_free(sheet);
}
END_TEST

static double unknown_line(double t)
{
    return 0.3 * sine(3.1, t);
}

START_TEST(a_direct_drive_gets_no_advice_for_belts)
{
    DwDrive drive = direct_drive();
    DwSheet *sheet = measure(unknown_line, &drive);
    ck_assert_str_eq(verdict(sheet, "unknown"), "no described part");
    ck_assert(remarks(sheet, "a speed control that hunts"));
    ck_assert(!remarks(sheet, "belt"));
    dw_sheet_free(sheet);
}
END_TEST

static DwDrive idler_drive(void)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_IDLER);
    drive.mains_hz = 50;
    drive.motor_poles = 4;
    drive.motor = DW_MOTOR_INDUCTION;
    drive.rim_mm = 280;
    drive.idler_mm = 45;
    drive.pulley_mm = 6.4815;
    return drive;
}

// A dent that drops the speed by 0.4 % for a tenth of the idler's turn (280/45 to one of the platter's).
static double dent(double t)
{
    double turn = fmod(t * TURN_HZ * 280 / 45, 1), away = (turn - 0.5) / 0.0425;
    return -0.4 * exp(-away * away / 2);
}

START_TEST(a_dent_is_judged_by_its_whole_waveform)
{
    DwDrive drive = idler_drive();
    DwSheet *sheet = measure(dent, &drive);
    ck_assert_str_eq(verdict(sheet, "idler"), "suspected");
    ck_assert_str_eq(word(sheet, "flutter.suspects", 0, 0), "idler");
    ck_assert_double_gt(number(sheet, "flutter.suspects", 0, 2), 95);
    ck_assert(remarks(sheet, "a short pulse each turn"));
    // A Gaussian of standard deviation 0.0425 of a turn has the mean 0.4 × 0.0425 × √(2π) = 0.0426: its trough
    // stands 0.357 off the mean.
    const DwCurve *curve = dw_sheet_curve(sheet, "turn.idler");
    ck_assert_ptr_nonnull(curve);
    double lowest = 0;
    for (size_t i = 0; i < curve->count; i++)
        lowest = fmin(lowest, curve->y_values[i]);
    ck_assert_double_eq_tol(lowest, -0.357, 0.02);
    ck_assert_double_lt(dw_sheet_reading(sheet, "flutter.no_line")->value, 5);
    const DwTable *lines = dw_sheet_table(sheet, "flutter.lines");
    for (size_t i = 0; i < lines->row_count; i++)
        ck_assert_str_eq(word(sheet, "flutter.lines", i, 4), "idler");
    dw_sheet_free(sheet);
}
END_TEST

static double three_waves(double t)
{
    return 0.25 * sine(3 * TURN_HZ, t);
}

START_TEST(a_record_warped_in_three_waves_is_named)
{
    DwDrive drive = idler_drive();
    DwSheet *sheet = measure(three_waves, &drive);
    ck_assert_str_eq(verdict(sheet, "platter or record"), "suspected");
    ck_assert(remarks(sheet, "three times a turn"));
    dw_sheet_free(sheet);
}
END_TEST

// Every twelve seconds somebody walks by: 6 Hz that dies away in a fifth of a second.
static double footfall(double t)
{
    double since = fmod(t, 12) - 4;
    return 0.01 * sine(TURN_HZ, t) + (since > 0 ? 0.3 * exp(-since / 0.2) * sin(2 * M_PI * 6 * since) : 0);
}

START_TEST(footfall_is_counted)
{
    DwDrive drive = idler_drive();
    DwSheet *sheet = measure(footfall, &drive);
    ck_assert_double_eq(dw_sheet_reading(sheet, "flutter.jolts")->value, 5); // at 4, 16, 28, 40 and 52 s
    ck_assert(remarks(sheet, "footfall"));
    ck_assert(!remarks(sheet, "Suspected"));
    dw_sheet_free(sheet);
}
END_TEST

// Rim 250, pulley 12, belt 0.8 mm: with the centres 158.09 mm apart the belt turns 1.5/60 s slower than the
// platter (by the exact length of an open belt, solved apart).
static DwDrive near_drive(void)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_BELT);
    drive.mains_hz = 50;
    drive.rim_mm = 250;
    drive.pulley_mm = 12;
    drive.belt_thickness_mm = 0.8;
    drive.centre_mm = 158.092;
    return drive;
}

static double belt_alone(double t)
{
    return 0.6 * sine(TURN_HZ - 1.5 / SECONDS, t);
}

static double belt_and_platter(double t)
{
    return 0.6 * sine(TURN_HZ - 1.5 / SECONDS, t) + 0.5 * sine(TURN_HZ, t + 0.7);
}

START_TEST(belt_and_platter_are_parted_or_said_to_be_close)
{
    DwDrive drive = near_drive();
    DwSheet *sheet = measure(belt_and_platter, &drive);
    bool parted = strcmp(verdict(sheet, "belt"), "suspected") == 0 &&
                  strcmp(verdict(sheet, "platter or record"), "suspected") == 0;
    ck_assert(parted || remarks(sheet, "Cannot tell"));
    dw_sheet_free(sheet);
    sheet = measure(belt_alone, &drive);
    ck_assert(strcmp(verdict(sheet, "platter or record"), "suspected") != 0);
    ck_assert(strcmp(verdict(sheet, "belt"), "suspected") == 0 || remarks(sheet, "Cannot tell"));
    dw_sheet_free(sheet);
}
END_TEST

// Belt and platter 0.44 of a cycle apart in 20 s: both slow and strong, and nothing jolts.
static double beating(double t)
{
    double belt = 0.96 * TURN_HZ;
    return 0.12 * sine(belt, t) + 0.05 * sine(2 * belt, t) + 0.03 * sine(3 * belt, t) + 0.1 * sine(TURN_HZ, t + 0.7);
}

START_TEST(slow_lines_that_beat_are_no_jolts)
{
    DwDrive drive = near_drive();
    drive.centre_mm = 162.5; // where the belt turns so, within what a rule tells
    for (length_s = 20; length_s <= 60; length_s += 10) {
        DwSheet *sheet = measure(beating, &drive);
        ck_assert_double_eq(dw_sheet_reading(sheet, "flutter.jolts")->value, 0);
        double sum = 0;
        const DwTable *lines = dw_sheet_table(sheet, "flutter.lines");
        for (size_t i = 0; i < lines->row_count; i++)
            sum += number(sheet, "flutter.lines", i, 6);
        ck_assert_double_le(sum,
                            100.001); // they beat: in so short a take their powers add up to more than the flutter's
        dw_sheet_free(sheet);
    }
    length_s = SECONDS;
}
END_TEST

// A hump of a belt that turns at 0.952 of the platter's rate: as a platter would, were 3000 Hz engraved.
static double platters_phase;

static double hump_beside_the_platter(double t)
{
    static const double sizes[] = {0.036, 0.040, 0.048, 0.060, 0.051, 0.037, 0.023, 0.018};
    double sum = 0.022 * sin(2 * M_PI * TURN_HZ * t + platters_phase);
    for (unsigned h = 1; h <= 8; h++)
        sum += sizes[h - 1] * cos(2 * M_PI * h * (0.95184 * TURN_HZ * t + 0.3));
    return sum;
}

START_TEST(a_belts_lines_are_not_taken_for_the_platters)
{
    DwDrive drive = near_drive();
    drive.centre_mm = 160.05; // where the belt turns so, solved apart
    length_s = 45;            // 1.2 widths of resolution apart: the stronger belt may draw the platter's line to itself
    for (platters_phase = 0; platters_phase < 6.2; platters_phase += 0.5) {
        DwSheet *sheet = measure(hump_beside_the_platter, &drive);
        ck_assert_double_eq_tol(dw_sheet_reading(sheet, "speed.mean")->value, 100.0 / 3, 0.01);
        ck_assert(strcmp(verdict(sheet, "platter or record"), "suspected") != 0);
        ck_assert_str_ne(verdict(sheet, "belt"), "");
        dw_sheet_free(sheet);
    }
    length_s = SECONDS;
}
END_TEST

static double hump_alone(double t)
{
    return hump_beside_the_platter(t) - 0.022 * sin(2 * M_PI * TURN_HZ * t + platters_phase);
}

START_TEST(a_described_belt_is_no_slow_platter)
{
    DwDrive drive = near_drive();
    drive.centre_mm = 160.05;
    length_s = 90;  // 2.4 widths apart: nothing comes at the platter's rate
    tone_hz = 3000; // and 3150 Hz would fit what is heard
    DwSheet *sheet = measure(hump_alone, &drive);
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "speed.mean")->value, 100.0 / 3, 0.01);
    ck_assert_str_eq(verdict(sheet, "belt"), "suspected");
    dw_sheet_free(sheet);
    drive.centre_mm = 190; // where the belt turns at 0.87 of the platter's rate: then what is heard is the platter
    sheet = measure(hump_alone, &drive);
    length_s = SECONDS;
    tone_hz = 3150;
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "speed.mean")->value, 0.95184 * 100 / 3, 0.05);
    ck_assert(remarks(sheet, "A tone engraved at"));
    dw_sheet_free(sheet);
}
END_TEST

// A belt where it is described, and a line of no part where the platter would be if the tone were 3000 or 3307 Hz.
static double stray_hz, belt_hz;
static double belt_and_stray(double t)
{
    return 0.12 * sine(belt_hz, t) + 0.06 * sine(2 * belt_hz, t) + 0.11 * sine(stray_hz, t);
}

START_TEST(a_stray_line_is_no_other_tone)
{
    static const double tones[] = {3000, 3307.5};
    DwDrive drive = near_drive();
    DwRate rates[DW_RATES_MOST];
    drive.rim_mm = 158;
    drive.pulley_mm = 20.65;
    drive.centre_mm = 113.3;
    dw_drive_rates(&drive, 100.0 / 3, rates);
    belt_hz = rates[2].rate_hz;
    ck_assert_int_eq(rates[2].part, DW_PART_BELT);
    for (size_t i = 0; i < sizeof tones / sizeof *tones; i++) {
        stray_hz = 3150 / tones[i] * TURN_HZ;
        DwSheet *sheet = measure(belt_and_stray, &drive);
        ck_assert_double_eq_tol(dw_sheet_reading(sheet, "speed.mean")->value, 100.0 / 3, 0.05);
        ck_assert_str_eq(verdict(sheet, "belt"), "largest share");
        ck_assert_str_eq(verdict(sheet, "platter or record"), "");
        dw_sheet_free(sheet);
    }
}
END_TEST

static double eccentric_idler(double t)
{
    return 0.2 * sine(280 / 45.0 * TURN_HZ, t);
}

START_TEST(a_part_of_unknown_rate_is_not_passed_over)
{
    DwDrive drive = idler_drive();
    drive.idler_mm = NAN;
    DwSheet *sheet = measure(eccentric_idler, &drive);
    ck_assert(remarks(sheet, "Unexplained"));
    ck_assert(says(sheet, "The rate of the idler is not described"));
    ck_assert(!says(sheet, "The rate of the motor is not described"));
    dw_sheet_free(sheet);
    drive = idler_drive();
    sheet = measure(eccentric_idler, &drive);
    ck_assert(!says(sheet, "is not described"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_verdict_follows_the_class)
{
    // 3.46 Hz is where the ear hears best: 0.2 % peak reads 0.2 % weighted. Good is 0.1 % of a hi-fi deck and 0.25 % of
    // a portable one (data/limits).
    DwDrive drive = idler_drive();
    DwSheet *sheet = measure(eccentric_idler, &drive);
    ck_assert_str_eq(verdict(sheet, "idler"), "suspected");
    dw_sheet_free(sheet);
    good_percent = 0.25;
    sheet = measure(eccentric_idler, &drive);
    ck_assert_str_eq(verdict(sheet, "idler"), "largest share");
    ck_assert(remarks(sheet, "good for this class of deck is 0.25 % weighted"));
    dw_sheet_free(sheet);
    good_percent = NAN;
}
END_TEST

static double edge_hz;

static double at_the_edge(double t)
{
    return 0.15 * sine(edge_hz, t);
}

START_TEST(no_line_is_lost_where_the_two_fits_meet)
{
    DwDrive drive = idler_drive();
    for (edge_hz = 7.97; edge_hz < 8.035; edge_hz += 0.0025) {
        DwSheet *sheet = measure(at_the_edge, &drive);
        const DwTable *table = dw_sheet_table(sheet, "flutter.lines");
        ck_assert_msg(table->row_count >= 1, "nothing at %.4f Hz", edge_hz);
        ck_assert_double_eq_tol(number(sheet, "flutter.lines", 0, 0), edge_hz, 0.003);
        ck_assert_double_eq_tol(number(sheet, "flutter.lines", 0, 1), 0.15, 0.005);
        for (size_t i = 1; i < table->row_count; i++)
            ck_assert_double_gt(fabs(number(sheet, "flutter.lines", i, 0) - edge_hz), 0.05);
        dw_sheet_free(sheet);
    }
}
END_TEST

// What every deck has: a record 0.1 mm off at 100 mm, a little motor, a little belt.
static double faultless(double t)
{
    return 0.1 * sine(TURN_HZ, t) + 0.04 * sine(280 / 45.0 * TURN_HZ, t) + 0.03 * sine(24, t);
}

START_TEST(what_is_good_is_not_suspected)
{
    DwDrive drive = idler_drive();
    DwSheet *sheet = measure(faultless, &drive);
    ck_assert(!remarks(sheet, "Suspected"));
    ck_assert(remarks(sheet, "Largest share"));
    const DwTable *table = dw_sheet_table(sheet, "flutter.suspects");
    for (size_t i = 0; i < table->row_count; i++)
        ck_assert_str_ne(dw_table_cell(table, i, 1)->word, "suspected");
    dw_sheet_free(sheet);
}
END_TEST

// A take too short: what is slow and near the platter's rate reads as a platter 1.3 % slow. Pulley 12.6 mm, rim
// 271.7 mm, belt 0.8 mm: the motor turns 20.34 times a turn (272.5/13.4), its three bars pass six times that (by hand).
static double blended(double second)
{
    double slow = 0.014 * sin(2 * M_PI * 0.987 * TURN_HZ * second);
    double motor = 272.5 / 13.4 * 1.01 * TURN_HZ; // creep, and what a caliper misses
    return slow + 0.02 * sin(2 * M_PI * motor * second) + 0.053 * sin(2 * M_PI * 6 * motor * second);
}

START_TEST(a_blended_platter_line_does_not_hide_the_motor)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_BELT);
    drive.motor = DW_MOTOR_DC;
    drive.mains_hz = 50;
    drive.pulley_mm = 12.6;
    drive.rim_mm = 271.7;
    drive.belt_thickness_mm = 0.8;
    drive.belt_length_mm = 920;
    length_s = 20;
    DwSheet *sheet = measure(blended, &drive);
    length_s = SECONDS;
    ck_assert_str_eq(word(sheet, "flutter.suspects", 0, 0), "motor");
    dw_sheet_free(sheet);
}
END_TEST

static double four_a_turn(double second)
{
    return 0.15 * sin(2 * M_PI * 4 * TURN_HZ * second);
}

// Eight poles' electrical rate and four lines of a tacho: nothing in a recording tells which it is.
START_TEST(poles_and_tacho_at_one_rate_are_not_told_apart)
{
    static const struct {
        double poles, lines;
        const char *words, *verdict;
    } cases[] = {{8, 4, "tacho or pole", "cannot tell"},
                 {4, 4, "pole or tacho", "cannot tell"},
                 {8, NAN, "pole", "suspected"},
                 {6, 4, "tacho", "suspected"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwDrive drive;
        dw_drive_init(&drive, DW_DRIVE_DIRECT);
        drive.direct_poles = cases[i].poles;
        drive.tacho_lines = cases[i].lines;
        DwSheet *sheet = measure(four_a_turn, &drive);
        const char *found = word(sheet, "flutter.suspects", 0, 0);
        bool either = strstr(cases[i].words, " or ") && strstr(found, "pole") && strstr(found, "tacho");
        ck_assert_msg(either || strcmp(found, cases[i].words) == 0, "case %zu: %s", i, found);
        ck_assert_str_eq(word(sheet, "flutter.suspects", 0, 1), cases[i].verdict);
        ck_assert_int_eq(says(sheet, "uneven pulses are the tacho's, even ones leave"),
                         strstr(cases[i].words, " or ") != NULL);
        dw_sheet_free(sheet);
    }
}
END_TEST

// 24 poles at 50 Hz turn 250 a minute, and 21.44 over 160.8 mm of effective diameters make 33⅓ of them.
// Source (published): synchronous speed 120·f/p, any textbook of electrical machines; half the belt's thickness on
// each side.
static DwDrive sound_drive(void)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_BELT);
    drive.motor = DW_MOTOR_SYNCHRONOUS;
    drive.mains_hz = 50;
    drive.motor_poles = 24;
    drive.rim_mm = 160;
    drive.pulley_mm = 20.64;
    drive.belt_thickness_mm = 0.8;
    drive.centre_mm = 150;
    return drive;
}

START_TEST(a_drive_that_cannot_turn_so_is_said_to_be_stated_wrongly)
{
    static const char WRONG[] = "is not this deck's", MAINS[] = "It would fit mains of 50 Hz",
                      POLES[] = "It would fit a motor of 24 poles";
    DwDrive right = sound_drive(), poles = right, mains = right, pulley = right, induction = right;
    poles.motor_poles = 16;
    mains.mains_hz = 60;
    pulley.pulley_mm = 28.14;             // for 45
    induction.motor = DW_MOTOR_INDUCTION; // 6 % behind the mains, a pulley that makes up for half of it
    induction.pulley_mm = 22.1;
    const struct {
        const DwDrive *drive;
        bool wrong, mains, poles;
    } cases[] = {{&right, false, false, false},
                 {&poles, true, false, true},
                 {&mains, true, true, false},
                 {&pulley, true, false, false},
                 {&induction, false, false, false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = measure(faultless, cases[i].drive);
        ck_assert_msg(remarks(sheet, WRONG) == cases[i].wrong, "case %zu", i);
        ck_assert_msg(remarks(sheet, MAINS) == cases[i].mains, "case %zu", i);
        ck_assert_msg(remarks(sheet, POLES) == cases[i].poles, "case %zu", i);
        dw_sheet_free(sheet);
    }
}
END_TEST

DW_SUITE("speed_drives", a_drive_that_cannot_turn_so_is_said_to_be_stated_wrongly,
         poles_and_tacho_at_one_rate_are_not_told_apart, a_described_belt_is_no_slow_platter,
         no_line_is_lost_where_the_two_fits_meet, cogging_is_named_with_its_harmonic,
         a_dent_is_judged_by_its_whole_waveform, footfall_is_counted, DW_FIGURES,
         a_blended_platter_line_does_not_hide_the_motor, a_belts_lines_are_not_taken_for_the_platters,
         a_stray_line_is_no_other_tone, a_part_of_unknown_rate_is_not_passed_over, the_verdict_follows_the_class,
         a_direct_drive_gets_no_advice_for_belts, a_record_warped_in_three_waves_is_named,
         belt_and_platter_are_parted_or_said_to_be_close, slow_lines_that_beat_are_no_jolts,
         what_is_good_is_not_suspected)
