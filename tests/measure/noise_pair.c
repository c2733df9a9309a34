// SPDX-License-Identifier: MIT
// Two silent grooves that are drawn with hum, rumble and hiss of known level each: what changes between them, by how
// much, and what follows from it for each thing that may have been changed.
#include "measure/band/noise.h"
#include "support/sheet_checks.h"
#include "support/signal.h"
#include "support/suite.h"

#include <string.h>

static const double RATE_HZ = 44100, LENGTH_S = 6;

// Peaks of hum at 50 Hz and of a rumble tone at 27 Hz in each channel, and hiss.
typedef struct {
    double hum, rumble, hiss;
} Groove;

// Flat from 10 to 315 Hz: a tone there counts as it is.
static DwNoise *noise_of(Groove groove, bool curves)
{
    DwNoiseSettings settings = {.rate_hz = RATE_HZ, .channels = 2, .mains_hz = 50, .paired = true};
    static const double flat[][2] = {{5, -6}, {10, 0}, {315, 0}, {630, -12}};
    for (size_t i = 0; i < 4 && curves; i++) {
        ck_assert(dw_weighting_curve_add(&settings.unweighted.points, flat[i][0], flat[i][1]));
        ck_assert(dw_weighting_curve_add(&settings.weighted.points, flat[i][0], flat[i][1]));
    }
    if (!curves) {
        strcpy(settings.unweighted.missing, "no such file");
        strcpy(settings.weighted.missing, "no such file");
    }
    Signal signal = signal_new(RATE_HZ, LENGTH_S);
    signal_tone(&signal, 0, LENGTH_S, 50, groove.hum, groove.hum, 0);
    signal_tone(&signal, 0, LENGTH_S, 27, groove.rumble, groove.rumble, 0);
    signal_hiss(&signal, groove.hiss, 7);
    DwNoise *noise = dw_noise_new(&settings);
    dw_noise_push(noise, signal.samples, signal.frames);
    dw_noise_finish(noise);
    signal_free(&signal);
    return noise;
}

static DwSheet *compare(Groove before, Groove after, DwNoiseChange change, bool curves)
{
    DwNoise *first = noise_of(before, curves), *second = noise_of(after, curves);
    DwNoiseReference reference = {.rms = 0.25, .words = "a reference"};
    DwSheet *sheet = dw_sheet_new("noise", "Noise");
    DwMessage message = {""};
    ck_assert_msg(dw_noise_compare(first, second, &reference, change, sheet, &message) == DW_OK, "%s", message.text);
    dw_noise_free(first);
    dw_noise_free(second);
    return sheet;
}

// The row of WHAT in the table of both, -1 without one.
static int row_of(const DwSheet *sheet, const char *what)
{
    const DwTable *table = dw_sheet_table(sheet, "noise.pair");
    for (size_t i = 0; i < table->row_count; i++)
        if (strcmp(dw_table_cell(table, i, 0)->word, what) == 0)
            return (int)i;
    return -1;
}

static double cell(const DwSheet *sheet, const char *what, size_t column)
{
    ck_assert_int_ge(row_of(sheet, what), 0);
    return dw_table_cell(dw_sheet_table(sheet, "noise.pair"), (size_t)row_of(sheet, what), column)->number;
}

static const char *result(const DwSheet *sheet, const char *what)
{
    return dw_table_cell(dw_sheet_table(sheet, "noise.pair"), (size_t)row_of(sheet, what), 5)->word;
}

// The mean square of both channels, each with PEAK, against an rms of 0.25.
static double level_db(double peak)
{
    return 10 * log10(peak * peak / 2 / (0.25 * 0.25));
}

START_TEST(each_kind_changes_by_what_it_was_drawn_with)
{
    const Groove before = {0.01, 0.004, 1e-4}, after = {0.01 / 4, 0.004 * 2, 1e-4};
    DwSheet *sheet = compare(before, after, DW_NOISE_REPAIR, true);
    ck_assert_double_eq_tol(cell(sheet, "hum", 1), level_db(before.hum), 0.2);
    ck_assert_double_eq_tol(cell(sheet, "hum", 2), level_db(after.hum), 0.2);
    ck_assert_double_eq_tol(cell(sheet, "hum", 3), -20 * log10(4), 0.2);
    double whole = pow(before.hum, 2) + pow(before.rumble, 2), left = pow(after.hum, 2) + pow(after.rumble, 2);
    ck_assert_double_eq_tol(cell(sheet, "rumble, unweighted", 1), level_db(sqrt(whole)), 0.2);
    ck_assert_double_eq_tol(cell(sheet, "rumble, unweighted", 3), 10 * log10(left / whole), 0.2);
    ck_assert_double_eq_tol(cell(sheet, "rumble, lateral", 3), 10 * log10(left / whole), 0.2);
    ck_assert_double_eq_tol(cell(sheet, "hiss", 3), 0, 0.1);
    ck_assert_str_eq(result(sheet, "hum"), "quieter");
    ck_assert_str_eq(result(sheet, "hiss"), "no measurable change");
    ck_assert_double_ge(cell(sheet, "hiss", 4), 1); // two takes of one groove differ by that
    ck_assert(remarks(sheet, "Hum falls by 12 dB after the work."));
    // Most of the first's rumble is hum: what is told is what rose beside it.
    ck_assert(remarks(sheet, "Rumble, its hum left out, rises by 6 dB after the work"));
    dw_sheet_free(sheet);
}
END_TEST

// What is said of hum that falls, stays and rises, for each thing that was changed.
START_TEST(what_a_change_says_goes_by_its_size_and_sign)
{
    static const struct {
        DwNoiseChange change;
        double times; // the hum's amplitude after the change
        const char *says;
    } rows[] = {
        {DW_NOISE_ARM, 0.1, "Hum falls by 20 dB with the arm on its rest: it comes up through the stylus"},
        {DW_NOISE_ARM, 1, "Hum hardly changes with the arm on its rest: it is electrical"},
        {DW_NOISE_ARM, 2, "Hum rises by 6 dB with the arm on its rest: the rest lies nearer to the field"},
        {DW_NOISE_MOTOR, 0.1, "Hum falls by 20 dB with the motor off: its field, or its supply, makes it."},
        {DW_NOISE_MOTOR, 1, "Hum hardly changes with the motor off: the motor is not its cause"},
        {DW_NOISE_MOTOR, 0.7, "Hum falls by 3.1 dB: a part of it, not most."},
        {DW_NOISE_EARTH, 0.1, "Hum falls by 20 dB without the earth lead: the signal has a second earth path"},
        {DW_NOISE_EARTH, 10, "Hum rises by 20 dB without the earth lead: the lead is doing its work."},
        {DW_NOISE_POSITION, 0.1, "Hum is 20 dB weaker over the label than over the lead-in: a magnetic field"},
        {DW_NOISE_POSITION, 10, "Hum is 20 dB stronger over the label than over the lead-in: a magnetic field"},
        {DW_NOISE_POSITION, 1, "Hum is the same wherever the arm stands: no field"},
        {DW_NOISE_POSITION, 0.8, "Hum changes by 1.9 dB with the arm's place: a field has a part in it"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwSheet *sheet =
            compare((Groove){0.004, 0.001, 1e-4}, (Groove){0.004 * rows[i].times, 0.001, 1e-4}, rows[i].change, true);
        ck_assert_msg(remarks(sheet, rows[i].says), "not said: %s", rows[i].says);
        bool is_earth = rows[i].change == DW_NOISE_EARTH;
        bool is_no_field = rows[i].change == DW_NOISE_POSITION && rows[i].times > 0.75 && rows[i].times < 1.3;
        ck_assert_int_eq(sheet->caution_count > 0, is_earth || is_no_field);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(no_hum_is_said_and_nothing_follows_from_it)
{
    DwSheet *sheet = compare((Groove){0, 0.01, 1e-4}, (Groove){0, 0.001, 1e-4}, DW_NOISE_MOTOR, true);
    ck_assert(remarks(sheet, "Neither recording holds hum that stands out."));
    ck_assert(!remarks(sheet, "Hum falls") && !remarks(sheet, "Hum hardly"));
    ck_assert(remarks(sheet, "Rumble falls by 20 dB with the motor off: motor and what it drives make it."));
    ck_assert_uint_eq(sheet->caution_count, 0);
    dw_sheet_free(sheet);
    sheet = compare((Groove){0, 0.01, 1e-4}, (Groove){0, 0.001, 1e-4}, DW_NOISE_POSITION, true);
    ck_assert(!remarks(sheet, "Hum is") && !remarks(sheet, "Hum changes"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(without_its_curves_no_rumble_is_told)
{
    DwSheet *sheet = compare((Groove){0.01, 0.01, 1e-4}, (Groove){0.001, 0.001, 1e-4}, DW_NOISE_MOTOR, false);
    ck_assert_int_lt(row_of(sheet, "rumble, unweighted"), 0);
    ck_assert_int_lt(row_of(sheet, "rumble, weighted"), 0);
    ck_assert_double_eq_tol(cell(sheet, "hum", 3), -20, 0.2);
    ck_assert(!remarks(sheet, "Rumble"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_short_groove_is_refused)
{
    DwNoise *whole = noise_of((Groove){0.01, 0.01, 1e-4}, true);
    DwNoiseSettings settings = {.rate_hz = RATE_HZ, .channels = 2, .mains_hz = 50, .paired = true};
    DwNoise *none = dw_noise_new(&settings);
    dw_noise_finish(none);
    DwNoiseReference reference = {.rms = 0.25, .words = "a reference"};
    DwSheet *sheet = dw_sheet_new("noise", "Noise");
    DwMessage message = {""};
    ck_assert_int_eq(dw_noise_compare(whole, none, &reference, DW_NOISE_ARM, sheet, &message), DW_BAD_INPUT);
    ck_assert(message.text[0]);
    ck_assert_uint_eq(sheet->table_count, 0);
    dw_noise_free(whole);
    dw_noise_free(none);
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("noise pair", each_kind_changes_by_what_it_was_drawn_with, what_a_change_says_goes_by_its_size_and_sign,
         no_hum_is_said_and_nothing_follows_from_it, without_its_curves_no_rumble_is_told, a_short_groove_is_refused)
