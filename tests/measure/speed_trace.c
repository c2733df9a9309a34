// SPDX-License-Identifier: MIT
// Lines traced on the sheet of a described deck; how well it does on drawn
// decks is scripts/trace-trial's business.
#include "support/play.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

#include <stdio.h>

// Source (recomputed): rim 160, pulley 12, centres 130, belt 0.8 mm; the belt turns at 0.4872 Hz, the
// motor at 6.979 Hz when the platter turns at 33⅓.
static const double BELT_HZ = 0.4872, MOTOR_HZ = 6.979;

static DwDrive example_drive(void)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_BELT);
    drive.mains_hz = 50;
    drive.rim_mm = 160;
    drive.pulley_mm = 12;
    drive.centre_mm = 130;
    drive.belt_thickness_mm = 0.8;
    return drive;
}

static DwSheet *trace(const char *length, const char *line, const char *more, bool described)
{
    DwSynth *synth = play_open((const char *const[]){"synth.rate=8kHz", "synth.channels=1", "fault.flutter_noise=0.01%",
                                                     length, line, more, NULL});
    DwSpeedSettings settings = dw_speed_settings(dw_synth_rate(synth), 1);
    settings.tone_hz = 3150;
    settings.drive_given = described;
    settings.drive = example_drive();
    DwSpeed *speed = dw_speed_new(settings);
    float samples[4096];
    for (size_t got; (got = dw_synth_read(synth, samples, 4096)) > 0;)
        dw_speed_push(speed, samples, got);
    dw_speed_finish(speed);
    DwSheet *sheet = play_sheet(speed);
    dw_speed_free(speed);
    dw_synth_free(synth);
    return sheet;
}

START_TEST(lines_name_part_harmonic_share_and_confidence)
{
    char line[64];
    snprintf(line, sizeof line, "fault.line=%gHz:0.2%%", MOTOR_HZ);
    DwSheet *sheet = trace("synth.length=60s", line, "fault.wow=0.1%", true);
    const DwTable *table = dw_sheet_table(sheet, "flutter.lines");
    ck_assert_uint_eq(table->column_count, 9);
    ck_assert_str_eq(table->columns[4].key, "part");
    ck_assert_str_eq(dw_table_cell(table, 0, 4)->word, "motor");
    ck_assert_double_eq(dw_table_cell(table, 0, 5)->number, 1);
    ck_assert_str_eq(dw_table_cell(table, 1, 4)->word, "platter or record");
    // Powers go as 0.2² to 0.1², beside the random flutter's 0.01² of effective value.
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 6)->number, 100 * 0.02 / (0.02 + 0.005 + 0.0001), 1);
    ck_assert_double_gt(dw_table_cell(table, 0, 7)->number, 0.9);
    const DwTable *suspects = dw_sheet_table(sheet, "flutter.suspects");
    ck_assert_str_eq(dw_table_cell(suspects, 0, 0)->word, "motor");
    ck_assert_str_eq(dw_table_cell(suspects, 0, 1)->word, "suspected");
    ck_assert(remarks(sheet, "Suspected: motor (79 %") || remarks(sheet, "Suspected: motor (80 %"));
    ck_assert(remarks(sheet, "with the record turned by half a turn (reseat)"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(too_short_a_recording_is_said_with_the_seconds)
{
    // Belt and platter are 0.0684 Hz apart: 14.6 s part them, 10 s do not.
    char hump[64], rate[64];
    snprintf(rate, sizeof rate, "synth.belt_rate=%gHz", BELT_HZ);
    snprintf(hump, sizeof hump, "fault.line=%gHz:0.6%%", BELT_HZ);
    DwSheet *sheet = trace("synth.length=10s", hump, rate, true);
    ck_assert(remarks(sheet, "platter and belt are too close in rate for 10 s: record 5 s more, 15 s in all"));
    ck_assert(remarks(sheet, "Cannot tell: "));
    ck_assert(!remarks(sheet, "Suspected: "));
    dw_sheet_free(sheet);
    sheet = trace("synth.length=60s", hump, rate, true);
    ck_assert(!remarks(sheet, "too close in rate"));
    ck_assert(remarks(sheet, "Suspected: belt"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(without_a_description_orders_only)
{
    DwSheet *sheet = trace("synth.length=20s", "fault.line=6.979Hz:0.2%", "fault.wow=0.1%", false);
    const DwTable *table = dw_sheet_table(sheet, "flutter.lines");
    ck_assert_uint_eq(table->column_count, 3);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 2)->number, 6.979 / (100.0 / 180), 0.01);
    ck_assert_ptr_null(dw_sheet_table(sheet, "flutter.suspects"));
    ck_assert(!remarks(sheet, "uspect"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_still_deck_accuses_nobody)
{
    DwSheet *sheet = trace("synth.length=60s", "fault.line=6.979Hz:0.004%", "fault.wow=0.004%", true);
    ck_assert(remarks(sheet, "No line is strong enough to suspect a part"));
    ck_assert(!remarks(sheet, "Suspected: "));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("speed_trace", lines_name_part_harmonic_share_and_confidence, too_short_a_recording_is_said_with_the_seconds,
         without_a_description_orders_only, a_still_deck_accuses_nobody)
