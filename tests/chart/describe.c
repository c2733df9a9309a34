// SPDX-License-Identifier: MIT
// Sentences about constructed data: the truth is what the data were made from.
#include "chart/draw/band_strip.h"
#include "chart/sheet/describe.h"
#include "chart/draw/rhythm.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

static DwSheet *sheet;

static DwCurve *curve_of(const char *x_unit, const char *y_unit, size_t count)
{
    sheet = dw_sheet_new("x", "x");
    return dw_sheet_add_curve(sheet, "a.b", "Speed deviation", (DwAxis){"X", (char *)x_unit},
                              (DwAxis){"Y", (char *)y_unit}, count);
}

static void expect(char *sentence, const char *expected)
{
    ck_assert_str_eq(sentence, expected);
    free(sentence);
    dw_sheet_free(sheet);
}

START_TEST(a_curve_over_time_says_its_ends_and_its_rhythm)
{
    DwCurve *curve = curve_of("s", "%", 2911);
    for (size_t i = 0; i < curve->count; i++) {
        curve->x_values[i] = 0.02 * (double)i;
        if (i < 900 || i > 1000) // a gap changes neither
            curve->y_values[i] = 0.015 + 0.225 * sin(2 * M_PI * curve->x_values[i] / 1.8);
    }
    expect(dw_describe_curve(curve),
           "Speed deviation over 58.2\u202fs stays between −0.21\u202f% and +0.24\u202f%; its strongest rhythm comes "
           "once per 1.80\u202fs.");
}
END_TEST

START_TEST(a_curve_without_rhythm_names_none)
{
    DwCurve *curve = curve_of("s", "%", 500);
    for (size_t i = 0; i < curve->count; i++) {
        curve->x_values[i] = (double)i;
        curve->y_values[i] = 0.001 * (double)i;
    }
    expect(dw_describe_curve(curve), "Speed deviation over 499\u202fs stays between 0.00\u202f% and 0.50\u202f%.");
    curve = curve_of("s", "%", 50);
    for (size_t i = 0; i < curve->count; i++) {
        curve->x_values[i] = (double)i;
        curve->y_values[i] = 3;
    }
    expect(dw_describe_curve(curve), "Speed deviation over 49.0\u202fs stays at 3.00\u202f%.");
    curve = curve_of("s", "%", 50);
    expect(dw_describe_curve(curve), "Speed deviation holds no measured point.");
}
END_TEST

START_TEST(a_spectrum_names_its_peaks)
{
    DwCurve *curve = curve_of("Hz", "%", 200);
    for (size_t i = 0; i < curve->count; i++) {
        curve->x_values[i] = 0.5 * (double)(i + 1);
        curve->y_values[i] = 0.001;
    }
    curve->y_values[1] = 0.2;   // 1 Hz
    curve->y_values[9] = 0.05;  // 5 Hz
    curve->y_values[99] = 0.11; // 50 Hz
    expect(dw_describe_curve(curve), "Speed deviation from 0.50\u202fHz to 100\u202fHz is largest at 1.00\u202fHz with "
                                     "0.20\u202f%, then 50.0\u202fHz with 0.11\u202f%, then 5.00\u202fHz with "
                                     "0.050\u202f%.");
}
END_TEST

START_TEST(another_curve_says_where_it_is_zero)
{
    DwCurve *curve = curve_of("mm", "deg", 91);
    for (size_t i = 0; i < curve->count; i++) {
        double radius = 60 + (double)i;
        curve->x_values[i] = radius;
        curve->y_values[i] = (radius - 66.04) * (radius - 120.9) / 1000; // zeros at 66.0 and 120.9 mm
    }
    expect(dw_describe_curve(curve), "Speed deviation stays between −0.75° and +2.44° (lowest at 93.0\u202fmm, highest "
                                     "at 150\u202fmm); zero at 66.0\u202fmm, 121\u202fmm.");
}
END_TEST

START_TEST(a_reading_says_value_limit_and_doubt)
{
    sheet = dw_sheet_new("x", "x");
    DwReading *reading = dw_sheet_add_reading(sheet, "a", "wow", 0.12, "%", 2);
    reading->uncertainty = 0.01;
    reading->flags = DW_FLAG_CLIPPED;
    dw_reading_set_limit(reading, (DwRange){NAN, 0.2}, (DwRange){NAN, NAN}, "common practice");
    expect(dw_describe_reading(reading),
           "Wow is 0.12\u202f% ± 0.01\u202f%, allowed up to 0.20\u202f% (common practice): "
           "good; doubtful because clipped.");
    sheet = dw_sheet_new("x", "x");
    expect(dw_describe_reading(dw_sheet_add_reading(sheet, "a", "Drift", NAN, "%", 2)),
           "Drift could not be determined.");
    sheet = dw_sheet_new("x", "x");
    expect(dw_describe_reading(dw_sheet_add_word(sheet, "a", "Channels", "swapped")), "Channels: swapped.");
}
END_TEST

// A sine of PERIOD [rows] in rows of a revolution each.
static DwRaster *raster_of(double period, size_t rows)
{
    sheet = dw_sheet_new("x", "x");
    DwRaster *raster =
        dw_sheet_add_raster(sheet, "a", "Speed", (DwAxis){"Angle", "deg"}, (DwAxis){"Turn", ""}, "%", rows, 144);
    raster->across_span = 360;
    for (size_t i = 0; i < rows * 144; i++)
        raster->values[i] = (float)(0.2 * sin(2 * M_PI * (double)i / 144 / period));
    return raster;
}

START_TEST(a_raster_tells_upright_from_slanted)
{
    expect(dw_describe_raster(raster_of(1, 20)),
           "Speed, 20 rows, lies between −0.20\u202f% and +0.20\u202f%; 100\u202f% of its variance stands upright from "
           "row to row.");
    // A period of 1.125 turns: what was at 0° comes 45° later in the next row.
    expect(dw_describe_raster(raster_of(1.125, 36)), "Speed, 36 rows, lies between −0.20\u202f% and +0.20\u202f%; its "
                                                     "pattern slants by about 45° to the right a row.");
    expect(dw_describe_raster(raster_of(0.875, 35)), "Speed, 35 rows, lies between −0.20\u202f% and +0.20\u202f%; its "
                                                     "pattern slants by about 45° to the left a row.");
    DwRaster *raster = raster_of(1, 8);
    for (size_t i = 0; i < 72; i++)
        raster->values[i] = NAN;
    char *sentence = dw_describe_raster(raster);
    ck_assert_ptr_nonnull(strstr(sentence, "; 6\u202f% of it was not measured."));
    free(sentence);
    dw_sheet_free(sheet);
    expect(dw_describe_raster(raster_of(1, 0)), "Speed, 0 rows, holds no measured place.");
}
END_TEST

// Two sines of known sizes: the platter's carries 1/(1 + 0.6²) = 74 % of the variance.
START_TEST(a_raster_tells_the_rest_from_what_stands)
{
    DwRaster *raster = raster_of(1, 72);
    for (size_t i = 0; i < 72 * 144; i++)
        raster->values[i] += (float)(0.12 * sin(2 * M_PI * (double)i / 144 / 1.125));
    DwRowPattern pattern = dw_rhythm_rows(raster);
    ck_assert_double_eq_tol(pattern.upright, 1 / 1.36, 0.02);
    ck_assert_double_eq_tol(pattern.shift, 18, 2.01); // 45° of 144 columns, to one of 72
    ck_assert_double_gt(pattern.likeness, 0.9);
    dw_sheet_free(sheet);
}
END_TEST

// Noise with nothing in it (Knuth's 64-bit linear congruential multiplier).
START_TEST(a_raster_of_noise_has_no_pattern)
{
    DwRaster *raster = raster_of(1, 40);
    uint64_t state = 3;
    for (size_t i = 0; i < 40 * 144; i++) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        raster->values[i] = (float)((double)(state >> 11) / 9007199254740992.0 - 0.5);
    }
    char *sentence = dw_describe_raster(raster);
    ck_assert_ptr_nonnull(strstr(sentence, "no pattern repeats from row to row."));
    free(sentence);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(periods_are_found_where_they_were_put)
{
    static const double periods[] = {0.55, 1.333, 1.8, 7.1};
    double x[2000], y[2000], share;
    for (size_t p = 0; p < 4; p++) {
        for (size_t i = 0; i < 2000; i++) {
            x[i] = 0.03 * (double)i;
            y[i] = 5 + 0.1 * x[i] + sin(2 * M_PI * x[i] / periods[p]);
        }
        double period = dw_rhythm_period(x, y, 2000, &share);
        ck_assert_double_eq_tol(period, periods[p], periods[p] * periods[p] / 60 / 20);
        ck_assert_double_gt(share, 0.8);
    }
    ck_assert(isnan(dw_rhythm_period(x, y, 10, &share)));
    ck_assert_double_eq(share, 0);
}
END_TEST

START_TEST(a_strip_of_bands_says_what_is_amiss)
{
    static const char *const columns[] = {
        "band|Band||0", "kind|Kind||", "channel|Channel||", "start|From|s|2", "end|To|s|2", "verdict|Verdict||", NULL};
    static const char *const verdicts[] = {"found", "missing", "cut short", "missing"};
    sheet = dw_sheet_new("x", "x");
    DwTable *table = dw_sheet_add_table(sheet, "side.bands", "Bands", columns);
    ck_assert(!dw_band_strip_fits(table)); // nothing in it
    for (size_t i = 0; i < 4; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, (double)i + 1);
        dw_table_set_word(table, row, 1, "tone");
        dw_table_set_word(table, row, 5, verdicts[i]);
        if (i % 2 == 0) {
            dw_table_set_number(table, row, 3, 30 * (double)i);
            dw_table_set_number(table, row, 4, 30 * (double)i + 30);
        }
    }
    ck_assert(dw_band_strip_fits(table));
    expect(
        dw_band_strip_words(table),
        "2 of 4 bands were found in 1.5 minutes; missing: 2, 4; cut short: 3. Filled boxes are tones, wedges sweeps, "
        "stairs steps, two bars two tones, open boxes silent groove; L+R is lateral, L−R vertical.");
}
END_TEST

DW_SUITE("describe", a_strip_of_bands_says_what_is_amiss, a_curve_over_time_says_its_ends_and_its_rhythm,
         a_curve_without_rhythm_names_none, a_spectrum_names_its_peaks, another_curve_says_where_it_is_zero,
         a_reading_says_value_limit_and_doubt, a_raster_tells_upright_from_slanted,
         a_raster_tells_the_rest_from_what_stands, a_raster_of_noise_has_no_pattern,
         periods_are_found_where_they_were_put)
