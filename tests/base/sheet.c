// SPDX-License-Identifier: MIT
#include "base/sheet_json.h"
#include "support/suite.h"

#include <math.h>
#include <string.h>

static DwSheet *example(void)
{
    DwInputs *inputs = dw_inputs_new();
    dw_inputs_set(inputs, "deck.speed", "45", NULL);
    DwSheet *sheet = dw_sheet_new("speed", "Speed, wow and flutter");
    dw_sheet_set_subject(sheet, "take.wav");
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("deck.speed"));
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("deck.class"));
    dw_inputs_free(inputs);
    DwReading *reading = dw_sheet_add_reading(sheet, "speed.error", "Speed error", 0.31, "%", 2);
    reading->uncertainty = 0.01;
    reading->flags = DW_FLAG_CLIPPED | DW_FLAG_SHORT;
    dw_reading_set_limit(reading, (DwRange){-1, 1.5}, (DwRange){-0.3, 0.3}, "a source");
    dw_sheet_add_reading(sheet, "speed.drift", "Drift", NAN, "%/min", 2);
    dw_sheet_add_word(sheet, "channels.fault", "Fault", "swapped");
    const char *const columns[] = {"frequency|Frequency|Hz|3", "part|Part||0", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "flutter.lines", "Lines", columns);
    size_t row = dw_table_add_row(table);
    dw_table_set_number(table, row, 0, 0.75);
    dw_table_set_word(table, row, 1, "platter");
    DwCurve *curve = dw_sheet_add_curve(sheet, "c", "Curve", (DwAxis){"Time", "s"}, (DwAxis){"Deviation", "%"}, 2);
    curve->x_values[1] = 1;
    curve->y_values[1] = 2;
    DwRaster *raster =
        dw_sheet_add_raster(sheet, "r", "Raster", (DwAxis){"Angle", "deg"}, (DwAxis){"Turn", ""}, "%", 2, 3);
    raster->across_span = 360;
    raster->values[4] = 0.5f;
    dw_sheet_remark(sheet, "%s", "Fast \"by\" ear.");
    dw_sheet_caution(sheet, "Strobe light.");
    dw_sheet_not_measured(sheet, "revolution.eccentricity", "record.radius was not given");
    return sheet;
}

START_TEST(verdict_follows_the_limit)
{
    DwSheet *sheet = dw_sheet_new("x", "x");
    static const struct {
        double value;
        DwVerdict verdict;
    } cases[] = {{0.2, DW_VERDICT_GOOD},
                 {0.9, DW_VERDICT_SERVICEABLE},
                 {1.51, DW_VERDICT_ATTENTION},
                 {-1.01, DW_VERDICT_ATTENTION},
                 {NAN, DW_VERDICT_NONE}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwReading *reading = dw_sheet_add_reading(sheet, "k", "l", cases[i].value, "%", 1);
        dw_reading_set_limit(reading, (DwRange){-1, 1.5}, (DwRange){-0.3, 0.3}, "s");
        ck_assert_int_eq(reading->verdict, cases[i].verdict);
    }
    // Value and uncertainty: the whole interval decides (JCGM 106:2012, 8.3.2).
    static const struct {
        double value, off;
        DwVerdict verdict;
    } doubtful[] = {{0, 0.122, DW_VERDICT_GOOD},          {0.2, 0.11, DW_VERDICT_SERVICEABLE},
                    {0.31, 0.05, DW_VERDICT_SERVICEABLE}, {0, 2, DW_VERDICT_CANNOT_TELL},
                    {1.45, 0.1, DW_VERDICT_CANNOT_TELL},  {1.55, 0.1, DW_VERDICT_CANNOT_TELL},
                    {1.65, 0.1, DW_VERDICT_ATTENTION},    {-1.2, 0.3, DW_VERDICT_CANNOT_TELL},
                    {-1.2, 0.1, DW_VERDICT_ATTENTION},    {0, NAN, DW_VERDICT_GOOD}};
    for (size_t i = 0; i < sizeof doubtful / sizeof *doubtful; i++) {
        DwReading *reading = dw_sheet_add_reading(sheet, "k", "l", doubtful[i].value, "%", 1);
        reading->uncertainty = doubtful[i].off;
        dw_reading_set_limit(reading, (DwRange){-1, 1.5}, (DwRange){-0.3, 0.3}, "s");
        ck_assert_int_eq(reading->verdict, doubtful[i].verdict);
    }
    DwReading *open = dw_sheet_add_reading(sheet, "k", "l", -50, "%", 1);
    dw_reading_set_limit(open, (DwRange){NAN, 0.2}, (DwRange){NAN, NAN}, "s");
    ck_assert_int_eq(open->verdict, DW_VERDICT_GOOD);
    ck_assert_int_eq(dw_sheet_worst_verdict(sheet), DW_VERDICT_ATTENTION);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(json_is_read_back_as_it_was_written)
{
    DwSheet *sheet = example();
    char *text = dw_sheet_json_write(sheet);
    ck_assert_ptr_null(strstr(text, "NaN"));
    DwSheet *again = NULL;
    ck_assert_int_eq(dw_sheet_json_read(text, &again, NULL), DW_OK);
    char *second = dw_sheet_json_write(again);
    ck_assert_str_eq(text, second);
    ck_assert_uint_eq(again->readings[0].flags, DW_FLAG_CLIPPED | DW_FLAG_SHORT);
    ck_assert_int_eq(again->readings[0].verdict, DW_VERDICT_SERVICEABLE);
    ck_assert(isnan(again->readings[1].value));
    ck_assert_str_eq(again->readings[2].word, "swapped");
    ck_assert_double_eq_tol(again->rasters[0].values[4], 0.5, 1e-6);
    free(text);
    free(second);
    dw_sheet_free(sheet);
    dw_sheet_free(again);
}
END_TEST

START_TEST(what_is_no_sheet_is_refused)
{
    static const char *const bad[] = {"", "{", "[]", "{}", "{\"deckwright\":99}", "{\"deckwright\":\"x\"}"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwSheet *sheet = NULL;
        DwMessage message;
        ck_assert_int_eq(dw_sheet_json_read(bad[i], &sheet, &message), DW_BAD_INPUT);
    }
}
END_TEST

START_TEST(one_sheet_takes_another)
{
    DwSheet *whole = example(), *part = example();
    size_t readings = whole->reading_count, rasters = whole->raster_count;
    dw_sheet_remark(part, "The last word.");
    dw_sheet_take(whole, part);
    ck_assert_uint_eq(whole->reading_count, 2 * readings);
    ck_assert_uint_eq(whole->raster_count, 2 * rasters);
    ck_assert_str_eq(whole->readings[readings].key, whole->readings[0].key);
    ck_assert_str_eq(whole->remarks[whole->remark_count - 1].text, "The last word.");
    dw_sheet_take(whole, dw_sheet_new("empty", ""));
    ck_assert_uint_eq(whole->reading_count, 2 * readings);
    dw_sheet_free(whole);
}
END_TEST

DW_SUITE("sheet", verdict_follows_the_limit, json_is_read_back_as_it_was_written, what_is_no_sheet_is_refused,
         one_sheet_takes_another)
