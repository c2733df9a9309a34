// SPDX-License-Identifier: MIT
// What was drawn stands where arithmetic says: pixels probed at computed places.
#include "chart/draw/curve_path.h"
#include "chart/draw/mark.h"
#include "chart/draw/plot.h"
#include "chart/draw/raster.h"
#include "chart/sheet/sheet_plots.h"
#include "chart/example_sheets.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

static cairo_surface_t *surface;
static DwCanvas canvas;

static void begin(int width, int height)
{
    surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    canvas = (DwCanvas){.cairo = cairo_create(surface), .theme = DW_THEME_LIGHT, .em = 20};
    dw_canvas_use(&canvas, DW_INK_GROUND);
    cairo_paint(canvas.cairo);
}

static void end(void)
{
    ck_assert_int_eq(cairo_status(canvas.cairo), CAIRO_STATUS_SUCCESS);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(surface);
}

static uint32_t pixel(double x, double y)
{
    cairo_surface_flush(surface);
    const unsigned char *row = cairo_image_surface_get_data(surface) + (int)y * cairo_image_surface_get_stride(surface);
    uint32_t value;
    memcpy(&value, row + 4 * (int)x, sizeof value);
    return value & 0xFFFFFF;
}

static bool shows(double x, double y, DwColour colour)
{
    uint32_t value = pixel(x, y);
    double off = fmax(fabs((value >> 16) / 255.0 - colour.red), fmax(fabs((value >> 8 & 0xFF) / 255.0 - colour.green),
                                                                     fabs((value & 0xFF) / 255.0 - colour.blue)));
    return off < 0.02;
}

static bool has_ink(double x, double y, DwInk ink)
{
    return shows(x, y, dw_theme_colour(canvas.theme, ink));
}

START_TEST(range_mark_stands_at_its_value)
{
    begin(1400, 100);
    DwSheet *sheet = dw_sheet_new("x", "x");
    DwReading *reading = dw_sheet_add_reading(sheet, "a", "a", 0.5, "%", 2);
    reading->uncertainty = 0.1;
    dw_reading_set_limit(reading, (DwRange){0, 1}, (DwRange){NAN, NAN}, "s");
    // 0 to 1 with 0.14 free at both ends on 1280 pixels: 1000 pixels a unit from x = 240.
    dw_mark_draw_range(&canvas, reading, 0.8, 100, 50, 1280);
    ck_assert(has_ink(740, 50, DW_INK_TEXT));    // the value, filled
    ck_assert(!has_ink(640, 45, DW_INK_GROUND)); // the whisker's caps
    ck_assert(!has_ink(840, 45, DW_INK_GROUND));
    ck_assert(has_ink(1040, 50, DW_INK_GROUND)); // as received, hollow
    ck_assert(has_ink(1047, 50, DW_INK_TEXT));   // and its ring
    ck_assert(has_ink(400, 51, DW_INK_ACCENT));  // allowed, thick
    ck_assert(!has_ink(400, 46, DW_INK_ACCENT));
    ck_assert(has_ink(1300, 52, DW_INK_GROUND)); // beyond it, only the rule
    ck_assert(!has_ink(1300, 50, DW_INK_GROUND));
    dw_sheet_free(sheet);
    end();
}
END_TEST

START_TEST(verdicts_differ_in_shape)
{
    // Places around the centre of a mark 40 across, and whether the shape covers them.
    static const struct {
        DwVerdict verdict;
        bool centre, side, corner, top;
    } marks[] = {
        {DW_VERDICT_CANNOT_TELL, false, true, true, false}, {DW_VERDICT_NONE, false, false, false, false},
        {DW_VERDICT_GOOD, true, true, false, true},         {DW_VERDICT_SERVICEABLE, false, true, false, true},
        {DW_VERDICT_ATTENTION, true, false, false, true},   {DW_VERDICT_REPLACE, true, true, true, true},
        {DW_VERDICT_UNSAFE, true, true, false, true},       {DW_VERDICT_NOT_TESTED, true, true, false, false},
    };
    begin(100, 100);
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
        dw_canvas_use(&canvas, DW_INK_GROUND);
        cairo_paint(canvas.cairo);
        dw_mark_draw(&canvas, marks[i].verdict, 50, 50, 40);
        ck_assert_int_eq(!has_ink(50, 50, DW_INK_GROUND), marks[i].centre);
        ck_assert_int_eq(!has_ink(34, 50, DW_INK_GROUND), marks[i].side);
        ck_assert_int_eq(!has_ink(34, 34, DW_INK_GROUND), marks[i].corner);
        ck_assert_int_eq(!has_ink(50, 34, DW_INK_GROUND), marks[i].top);
        ck_assert_int_eq(has_ink(50, 50, DW_INK_UNSAFE), marks[i].verdict == DW_VERDICT_UNSAFE);
    }
    end();
}
END_TEST

START_TEST(raster_has_its_newest_row_at_the_bottom)
{
    begin(900, 400);
    DwSheet *sheet = dw_sheet_new("x", "x");
    DwRaster *raster =
        dw_sheet_add_raster(sheet, "r", "r", (DwAxis){"Angle", "deg"}, (DwAxis){"Revolution", ""}, "%", 2, 4);
    raster->across_span = 360;
    for (size_t i = 0; i < 8; i++)
        raster->values[i] = i < 4 ? -0.3f : 0.3f;
    raster->values[7] = NAN;
    double scale_end = dw_raster_scale_end(raster);
    ck_assert_double_eq_tol(scale_end, 0.3, 1e-6);
    DwBox box = {20, 20, 860, 360};
    DwBox field = dw_raster_field(&canvas, raster, box);
    dw_raster_draw(&canvas, raster, scale_end, box);
    DwColour slow = dw_theme_deviation_colour(canvas.theme, -1), fast = dw_theme_deviation_colour(canvas.theme, 1);
    double quarter = field.width / 4;
    for (int i = 0; i < 4; i++) {
        double x = field.x + (i + 0.5) * quarter;
        ck_assert(shows(x, field.y + 0.25 * field.height, slow));
        ck_assert_int_eq(shows(x, field.y + 0.75 * field.height, fast), i < 3);
    }
    // Not measured: ground with lines of the hatch on it, nothing else.
    size_t ground = 0, hatch = 0;
    for (int i = 0; i < 40; i++) {
        double x = field.x + 3.5 * quarter + i, y = field.y + 0.75 * field.height;
        ground += has_ink(x, y, DW_INK_GROUND);
        hatch += !has_ink(x, y, DW_INK_GROUND);
    }
    ck_assert(ground > hatch && hatch > 2);
    dw_sheet_free(sheet);
    end();
}
END_TEST

// Whether the column of pixels at X holds any ink.
static bool curve_passes(double x)
{
    for (int y = 0; y < 300; y++)
        if (!has_ink(x, y, DW_INK_GROUND))
            return true;
    return false;
}

START_TEST(gaps_stay_gaps)
{
    static const size_t counts[] = {200, 50000}; // as a line, as an envelope
    for (size_t c = 0; c < 2; c++) {
        begin(1000, 300);
        DwSheet *sheet = dw_sheet_new("x", "x");
        DwCurve *curve =
            dw_sheet_add_curve(sheet, "c", "c", (DwAxis){"Time", "s"}, (DwAxis){"Deviation", "%"}, counts[c]);
        for (size_t i = 0; i < curve->count; i++) {
            double share = (double)i / (double)(curve->count - 1);
            curve->x_values[i] = share;
            curve->y_values[i] = share > 0.4 && share < 0.5 ? NAN : sin(20 * share);
        }
        DwScale x = dw_scale_linear((DwRange){0, 1}, 0, 0, 1000), y = dw_scale_linear((DwRange){-1, 1}, 0.1, 300, 0);
        ck_assert_int_eq(curve->count > dw_curve_path_points_most(&canvas, &x), c == 1);
        dw_curve_path_draw(&canvas, curve, &x, &y, DW_INK_ACCENT, false);
        ck_assert(curve_passes(200) && curve_passes(390) && curve_passes(510) && curve_passes(900));
        for (int at = 410; at < 490; at++)
            ck_assert(!curve_passes(at));
        dw_sheet_free(sheet);
        end();
    }
}
END_TEST

// One sample of a click among 50,000 must not be lost between pixels.
START_TEST(an_envelope_keeps_its_extremes)
{
    begin(1000, 300);
    DwSheet *sheet = dw_sheet_new("x", "x");
    DwCurve *curve = dw_sheet_add_curve(sheet, "c", "c", (DwAxis){"Time", "s"}, (DwAxis){"Deviation", "%"}, 50000);
    for (size_t i = 0; i < curve->count; i++) {
        curve->x_values[i] = (double)i / 49999;
        curve->y_values[i] = i == 24999 ? 1 : 0;
    }
    DwScale x = dw_scale_linear((DwRange){0, 1}, 0, 0, 1000), y = dw_scale_linear((DwRange){-1, 1}, 0, 300, 0);
    dw_curve_path_draw(&canvas, curve, &x, &y, DW_INK_ACCENT, false);
    bool found = false;
    for (int at = 495; at < 505; at++)
        found = found || !has_ink(at, 40, DW_INK_GROUND);
    ck_assert(found);
    dw_sheet_free(sheet);
    end();
}
END_TEST

START_TEST(curves_with_the_same_axes_share_a_plot)
{
    DwSheet *alignment = example_alignment_sheet(), *speed = example_speed_sheet(0.1, 0.2);
    size_t count = 0;
    DwPlot *plots = dw_sheet_plots_new(alignment, NULL, &count);
    ck_assert_uint_eq(count, 1);
    ck_assert_uint_eq(plots[0].line_count, 3);
    ck_assert(!plots[0].logarithmic && isnan(plots[0].allowed_low));
    ck_assert_str_eq(plots[0].lines[1].label, "advised");
    dw_sheet_plots_free(plots, count);
    plots = dw_sheet_plots_new(speed, speed, &count);
    ck_assert_uint_eq(count, 2);
    ck_assert_uint_eq(plots[0].line_count, 2);
    ck_assert(plots[0].lines[0].as_received && !plots[0].lines[1].as_received);
    ck_assert_double_eq(plots[0].allowed_high, 0.8);
    ck_assert(plots[1].logarithmic && isnan(plots[1].allowed_low));
    ck_assert_uint_eq(plots[1].stem_count, 6);
    ck_assert_str_eq(plots[1].stems[0].label, "0.56\u202fHz platter");
    dw_sheet_plots_free(plots, count);
    dw_sheet_free(alignment);
    dw_sheet_free(speed);
}
END_TEST

static void add_turn(DwSheet *sheet, const char *key, const char *label)
{
    DwCurve *curve =
        dw_sheet_add_curve(sheet, key, label, (DwAxis){"Turn of the part", ""}, (DwAxis){"Deviation", "%"}, 2);
    for (size_t i = 0; i < 2; i++) {
        curve->x_values[i] = (double)i;
        curve->y_values[i] = 1 - 2 * (double)i;
    }
}

START_TEST(long_labels_say_what_tells_them_apart)
{
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    size_t count = 0;
    add_turn(sheet, "turn.belt", "What the belt does once round");
    DwPlot *plots = dw_sheet_plots_new(sheet, NULL, &count);
    ck_assert_str_eq(plots[0].title, "What the belt does once round");
    ck_assert_str_eq(plots[0].lines[0].label, ""); // its title names it
    dw_sheet_plots_free(plots, count);
    add_turn(sheet, "turn.other_belt", "What the first belt does once round");
    add_turn(sheet, "turn.platter", "What the platter or record does once round");
    plots = dw_sheet_plots_new(sheet, NULL, &count);
    static const char *const labels[] = {"belt", "first belt", "platter or record"};
    for (size_t i = 0; i < 3; i++)
        ck_assert_str_eq(plots[0].lines[i].label, labels[i]);
    dw_sheet_plots_free(plots, count);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_line_is_called_by_what_comes)
{
    static const char *const columns[] = {"frequency|Frequency|Hz|3", "amplitude|Amplitude|% peak|4", "part|Part||0",
                                          "what|What comes||0", NULL};
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    DwCurve *curve = dw_sheet_add_curve(sheet, "flutter.spectrum", "Spectrum", (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Amplitude", "% peak"}, 2);
    for (size_t i = 0; i < 2; i++) {
        curve->x_values[i] = i ? 200 : 0.2;
        curve->y_values[i] = 0.01;
    }
    DwTable *table = dw_sheet_add_table(sheet, "flutter.lines", "Lines", columns);
    static const char *const words[][2] = {{"belt", "first belt"}, {"belt", ""}};
    for (size_t i = 0; i < 2; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, 4.0 + (double)i);
        dw_table_set_number(table, row, 1, 0.1 - 0.01 * (double)i);
        dw_table_set_word(table, row, 2, words[i][0]);
        dw_table_set_word(table, row, 3, words[i][1]);
    }
    size_t count = 0;
    DwPlot *plots = dw_sheet_plots_new(sheet, NULL, &count);
    ck_assert_str_eq(plots[0].stems[0].label, "4.00\u202fHz first belt");
    ck_assert_str_eq(plots[0].stems[1].label, "5.00\u202fHz belt");
    dw_sheet_plots_free(plots, count);
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("drawing", range_mark_stands_at_its_value, verdicts_differ_in_shape, raster_has_its_newest_row_at_the_bottom,
         gaps_stay_gaps, an_envelope_keeps_its_extremes, curves_with_the_same_axes_share_a_plot,
         long_labels_say_what_tells_them_apart, a_line_is_called_by_what_comes)
