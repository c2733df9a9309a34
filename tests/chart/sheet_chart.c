// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_chart.h"

#include "base/text.h"
#include "chart/draw/canvas.h"
#include "chart/example_sheets.h"
#include "chart/draw/mark.h"
#include "chart/sheet/reading_cell.h"
#include "chart/sheet/sheet_layout.h"
#include "chart/sheet/sheet_words.h"
#include "chart/sheet/side_overview.h"
#include "support/suite.h"

#include <dirent.h>
#include <glib.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[300];

static void make_folder(void)
{
    snprintf(folder, sizeof folder, "%s/deckwright-chart-XXXXXX", g_get_tmp_dir());
    ck_assert_ptr_nonnull(mkdtemp(folder));
}

// The files left in the folder, which are then removed with it.
static size_t empty_folder(void)
{
    size_t count = 0;
    DIR *listing = opendir(folder);
    ck_assert_ptr_nonnull(listing);
    for (struct dirent *entry = readdir(listing); entry; entry = readdir(listing)) {
        if (entry->d_name[0] == '.')
            continue;
        char *path = dw_text_format("%s/%s", folder, entry->d_name);
        if (unlink(path) != 0)
            rmdir(path);
        free(path);
        count++;
    }
    closedir(listing);
    rmdir(folder);
    return count;
}

static char *read_file(const char *path, size_t *length)
{
    char *bytes = NULL;
    ck_assert(g_file_get_contents(path, &bytes, length, NULL));
    return bytes;
}

START_TEST(each_ending_gives_its_format)
{
    static const char *const starts[][2] = {{"a.svg", "<?xml"}, {"b.PNG", "\x89PNG"}, {"c.pdf", "%PDF"}};
    DwSheet *sheet = example_speed_sheet(0.2, 0.2);
    make_folder();
    for (size_t i = 0; i < 3; i++) {
        char *path = dw_text_format("%s/%s", folder, starts[i][0]);
        DwMessage message;
        ck_assert_int_eq(dw_sheet_chart_write(sheet, path, &message), DW_OK);
        size_t length = 0;
        char *bytes = read_file(path, &length);
        ck_assert_uint_gt(length, 10000);
        ck_assert(memcmp(bytes, starts[i][1], strlen(starts[i][1])) == 0);
        g_free(bytes);
        free(path);
    }
    ck_assert_uint_eq(empty_folder(), 3);
    dw_sheet_free(sheet);
}
END_TEST

static uint32_t pixel(cairo_surface_t *picture, double x, double y)
{
    uint32_t value;
    memcpy(&value,
           cairo_image_surface_get_data(picture) + (int)y * cairo_image_surface_get_stride(picture) + 4 * (int)x,
           sizeof value);
    return value & 0xFFFFFF;
}

// The first reading's value and allowed range in a PNG as written, at the
// places that head, cell and scale compute to.
START_TEST(a_written_png_holds_the_marks)
{
    DwSheet *sheet = example_speed_sheet(0.2, 0.2);
    make_folder();
    char *path = dw_text_format("%s/speed.png", folder);
    ck_assert_int_eq(dw_sheet_chart_write(sheet, path, NULL), DW_OK);
    cairo_surface_t *picture = cairo_image_surface_create_from_png(path);
    ck_assert_int_eq(cairo_surface_status(picture), CAIRO_STATUS_SUCCESS);
    ck_assert_int_eq(cairo_image_surface_get_width(picture), 1200);
    ck_assert_uint_eq(pixel(picture, 5, 5), 0xFAF8F3);
    DwCanvas canvas = {.cairo = cairo_create(picture), .theme = DW_THEME_LIGHT, .em = 20};
    double margin = 48, width = (1200 - 2 * margin - 2.6 * 20) / 2;
    double y = margin + dw_sheet_words_head_height(&canvas, sheet, NULL, 1200 - 2 * margin);
    y = dw_reading_cell_rule(&canvas, &sheet->readings[0], y, width);
    DwScale scale = dw_mark_range_scale(&sheet->readings[0], NAN, margin, margin + width);
    ck_assert_uint_eq(pixel(picture, dw_scale_place(&scale, 0.2), y), 0x1F2426);  // the value
    ck_assert_uint_eq(pixel(picture, dw_scale_place(&scale, -0.2), y), 0x0F5C63); // good
    ck_assert_uint_eq(pixel(picture, dw_scale_place(&scale, -0.6), y), 0x5B6466); // allowed
    ck_assert_uint_eq(pixel(picture, dw_scale_place(&scale, 0.9), y + 6), 0xFAF8F3);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(picture);
    free(path);
    ck_assert_uint_eq(empty_folder(), 1);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_bad_place_gives_one_line_and_leaves_nothing)
{
    DwSheet *sheet = dw_sheet_new("x", "Nothing");
    DwMessage message;
    make_folder();
    static const char *const endings[] = {"chart.jpg", "chart", "svg", ".png", "chart.svg.txt"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char *path = dw_text_format("%s/%s", i == 3 ? "" : folder, endings[i]);
        ck_assert_int_eq(dw_sheet_chart_write(sheet, i == 3 ? ".png" : path, &message), DW_BAD_INPUT);
        ck_assert_ptr_nonnull(strstr(message.text, ".svg, .png or .pdf"));
        ck_assert_ptr_null(strchr(message.text, '\n'));
        free(path);
    }
    char *path = dw_text_format("%s/missing/chart.png", folder);
    ck_assert_int_eq(dw_sheet_chart_write(sheet, path, &message), DW_FAILED);
    ck_assert_ptr_nonnull(strstr(message.text, path));
    ck_assert_ptr_null(strchr(message.text, '\n'));
    free(path);
    // A folder of that name: the picture is made beside it and cannot take its place.
    path = dw_text_format("%s/taken.png", folder);
    ck_assert_int_eq(mkdir(path, 0777), 0);
    ck_assert_int_eq(dw_sheet_chart_write(sheet, path, &message), DW_FAILED);
    free(path);
    ck_assert_uint_eq(empty_folder(), 1); // only that folder
    dw_sheet_free(sheet);
}
END_TEST

// Text of the elements of an SVG document, gathered by a real XML parser.
static void gather(GMarkupParseContext *context, const char *text, gsize length, gpointer into, GError **error)
{
    (void)error;
    const char *element = g_markup_parse_context_get_element(context);
    if (strcmp(element, "title") == 0 || strcmp(element, "desc") == 0)
        dw_text_add(into, "[%s:%.*s]", element, (int)length, text);
}

START_TEST(an_svg_says_itself_whatever_the_title)
{
    DwSheet *sheet = dw_sheet_new("x", "5 < 6 & \"so\" on\x01\xff");
    dw_sheet_set_subject(sheet, "<take>.wav");
    char *bytes = NULL;
    size_t length = 0;
    ck_assert_int_eq(dw_sheet_chart_render(NULL, sheet, DW_SHEET_CHART_SVG, DW_THEME_LIGHT, &bytes, &length, NULL),
                     DW_OK);
    ck_assert_ptr_nonnull(strstr(bytes, "<svg role=\"img\""));
    DwText found = {0};
    const GMarkupParser parser = {.text = gather};
    GMarkupParseContext *context = g_markup_parse_context_new(&parser, 0, &found, NULL);
    ck_assert(g_markup_parse_context_parse(context, bytes, (gssize)length, NULL));
    ck_assert(g_markup_parse_context_end_parse(context, NULL));
    g_markup_parse_context_free(context);
    ck_assert_str_eq(found.chars, "[title:5 < 6 & \"so\" on \uFFFD][desc:5 < 6 & \"so\" on \uFFFD of <take>.wav.]");
    dw_text_clear(&found);
    free(bytes);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_pdf_carries_its_title)
{
    DwSheet *sheet = dw_sheet_new("x", "Wow");
    char *bytes = NULL;
    size_t length = 0;
    ck_assert_int_eq(dw_sheet_chart_render(NULL, sheet, DW_SHEET_CHART_PDF, DW_THEME_PAPER, &bytes, &length, NULL),
                     DW_OK);
    ck_assert_ptr_nonnull(memmem(bytes, length, "/Title (Wow)", 12));
    ck_assert_ptr_nonnull(memmem(bytes, length, "/Subject (Wow.)", 15));
    free(bytes);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(no_page_loses_or_repeats_a_block)
{
    DwSheet *sheet = example_speed_sheet(0.2, 0.2);
    for (int i = 0; i < 60; i++)
        dw_sheet_remark(sheet,
                        "Remark %d, which is long enough to take more than a line on a page of paper, so that "
                        "several pages are needed for all of them together.",
                        i);
    cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR, NULL);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = DW_THEME_PAPER, .em = 10.5};
    DwSheetPage *page = dw_sheet_page_new(sheet, NULL);
    dw_sheet_page_measure(page, &canvas, 480);
    size_t pages = 0;
    for (size_t from = 0, to = 0; from < page->block_count; from = to, pages++) {
        to = dw_sheet_layout_page_end(page, from, 720);
        ck_assert_uint_gt(to, from);
        ck_assert_double_le(dw_sheet_layout_need(page, from, to), 720);
        ck_assert(to == page->block_count || !dw_sheet_page_is_heading(page, to - 1));
    }
    ck_assert_uint_ge(pages, 3);
    dw_sheet_page_free(page);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(surface);
    dw_sheet_free(sheet);
}
END_TEST

static void render_all(const DwSheet *before, const DwSheet *sheet)
{
    for (int format = DW_SHEET_CHART_SVG; format <= DW_SHEET_CHART_PDF; format++) {
        char *bytes = NULL;
        size_t length = 0;
        DwMessage message;
        DwStatus status = dw_sheet_chart_render(before, sheet, (DwSheetChartFormat)format,
                                                format == DW_SHEET_CHART_PNG ? DW_THEME_DARK : DW_THEME_PAPER, &bytes,
                                                &length, &message);
        ck_assert_msg(status == DW_OK, "%s", message.text);
        ck_assert_uint_gt(length, 500);
        free(bytes);
    }
}

// A side of three bands, on two of which something was measured, with plots enough for many screens.
static DwSheet *example_side(void)
{
    static const char *const columns[] = {
        "band|Band||0", "kind|Kind||",       "channel|Channel||",         "start|From|s|2",
        "end|To|s|2",   "verdict|Verdict||", "measured|Measured on it||", NULL};
    static const char *const measured[] = {"speed, channels", NULL, "noise"};
    DwSheet *sheet = dw_sheet_new("side", "A whole side");
    DwTable *table = dw_sheet_add_table(sheet, "side.bands", "Bands of the side", columns);
    for (size_t i = 0; i < 3; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, (double)i + 1);
        dw_table_set_word(table, row, 1, i == 2 ? "silence" : "tone");
        dw_table_set_number(table, row, 3, 30 * (double)i);
        dw_table_set_number(table, row, 4, 30 * (double)i + 20);
        dw_table_set_word(table, row, 5, "found");
        if (measured[i])
            dw_table_set_word(table, row, 6, measured[i]);
    }
    dw_sheet_add_estimate(sheet, "flutter.wow", "Wow", 0.1, "%", 2, 0.01, "")->verdict = DW_VERDICT_GOOD;
    dw_sheet_add_estimate(sheet, "channels.balance", "Balance", 3, "dB", 1, 0.1, "")->verdict = DW_VERDICT_ATTENTION;
    dw_sheet_add_estimate(sheet, "noise.hiss", "Hiss", 50, "dB", 1, 0.1, "")->verdict = DW_VERDICT_SERVICEABLE;
    for (int i = 0; i < 12; i++)
        dw_sheet_add_curve(sheet, "noise.curve", "Curve", (DwAxis){"Place", (char *)(i % 2 ? "s" : "mm")},
                           (DwAxis){"Level", (char *)(i % 3 ? "dB" : "V")}, 9)
            ->y_values[0] = i;
    return sheet;
}

START_TEST(a_side_is_seen_at_once)
{
    DwSheet *sheet = example_side();
    const DwTable *table = dw_sheet_table(sheet, "side.bands");
    ck_assert(dw_side_overview_fits(sheet));
    ck_assert_int_eq(dw_side_overview_verdict(sheet, table, 0), DW_VERDICT_ATTENTION); // the worse of two
    ck_assert_int_eq(dw_side_overview_verdict(sheet, table, 1), DW_VERDICT_NONE);
    ck_assert_int_eq(dw_side_overview_verdict(sheet, table, 2), DW_VERDICT_SERVICEABLE);
    char *words = dw_side_overview_words(sheet);
    ck_assert_str_eq(words,
                     "Speed, on band 1: good. Channels, on band 1: attention soon. Noise, on band 3: serviceable.");
    free(words);
    ck_assert_double_lt(dw_sheet_chart_height(NULL, sheet, 1200, DW_THEME_LIGHT), 1000);
    render_all(NULL, sheet);
    // Paper has all of it, and its first page is the overview.
    DwSheetPage *page = dw_sheet_page_new(sheet, NULL), *at_once = dw_sheet_page_new_at_once(sheet, NULL);
    ck_assert_uint_gt(page->block_count, at_once->block_count + 4);
    ck_assert_uint_eq(dw_sheet_layout_page_end(page, 0, 1e6), at_once->block_count);
    dw_sheet_page_free(page);
    dw_sheet_page_free(at_once);
    dw_sheet_free(sheet);
}
END_TEST

// A line of paper for a reading with all that may stand on it: its figure and its ± are whole, and what does not fit
// beside them goes on below.
START_TEST(a_line_has_room_for_all_of_it)
{
    cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR, NULL);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = DW_THEME_PAPER, .em = 10.5};
    DwSheet *sheet = dw_sheet_new("x", "Lines");
    dw_sheet_add_estimate(sheet, "x.a", "Rumble", 61.3, "dB", 1, 0.2, "");
    dw_sheet_add_estimate(sheet, "x.b", "Rumble", 61.3, "dB", 1, 0.2, "")->flags = DW_FLAG_APPROXIMATE | DW_FLAG_FAULT;
    sheet->readings[1].verdict = DW_VERDICT_CANNOT_TELL;
    dw_sheet_add_estimate(sheet, "x.c", "Turn that undoes the tilt, clockwise seen from the front", 1, "deg", 2, 0.2,
                          "");
    const double width = 482, one = dw_reading_cell_line_height(&canvas, &sheet->readings[0], width);
    ck_assert_double_gt(dw_reading_cell_line_height(&canvas, &sheet->readings[1], width), one + canvas.em);
    ck_assert_double_eq(dw_reading_cell_line_height(&canvas, &sheet->readings[1], 2 * width), one);
    ck_assert_double_gt(dw_reading_cell_line_height(&canvas, &sheet->readings[2], width), one + 0.8 * canvas.em);
    ck_assert_double_eq(dw_reading_cell_line_height(&canvas, &sheet->readings[2], 2 * width), one);
    dw_sheet_free(sheet);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(surface);
}
END_TEST

START_TEST(a_side_has_room_for_long_labels)
{
    cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR, NULL);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = DW_THEME_PAPER, .em = 10.5};
    DwSheet *brief = example_side(), *wordy = example_side();
    dw_sheet_add_estimate(brief, "azimuth.rotation", "Turn", 1, "deg", 2, 0.2, "");
    dw_sheet_add_estimate(wordy, "azimuth.rotation", "Turn that undoes the tilt, clockwise seen from the front", 1,
                          "deg", 2, 0.2, "");
    ck_assert_double_gt(dw_side_overview_height(&canvas, wordy, 482),
                        dw_side_overview_height(&canvas, brief, 482) + 0.8 * canvas.em);
    // Bands that follow one another are named by the first and the last.
    DwTable *table = &brief->tables[0];
    for (size_t row = 0; row < 3; row++)
        dw_table_set_word(table, row, 6, "azimuth");
    char *words = dw_side_overview_words(brief);
    ck_assert_ptr_nonnull(strstr(words, "Azimuth, on bands 1–3: "));
    free(words);
    dw_sheet_free(brief);
    dw_sheet_free(wordy);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(surface);
}
END_TEST

START_TEST(a_title_alone_is_drawn)
{
    DwSheet *sheet = dw_sheet_new("", "Nothing but a title");
    render_all(NULL, sheet);
    render_all(sheet, sheet);
    ck_assert_double_lt(dw_sheet_chart_height(NULL, sheet, 1200, DW_THEME_LIGHT), 300);
    dw_sheet_free(sheet);
}
END_TEST

static void add_extreme_curve(DwSheet *sheet, const char *x_unit, double value, size_t count)
{
    DwCurve *curve = dw_sheet_add_curve(sheet, "x.c", "", (DwAxis){"", (char *)x_unit}, (DwAxis){"", "%"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = (double)i;
        curve->y_values[i] = i % 3 == 2 ? -value : value;
    }
}

START_TEST(extreme_values_are_drawn)
{
    static const double values[] = {NAN, INFINITY, 1e300, 1.7e308, 1e-310, 0, -1};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        DwSheet *sheet = dw_sheet_new("x", "");
        DwReading *reading = dw_sheet_add_reading(sheet, "x.a", "", values[i], "%", 3);
        reading->uncertainty = fabs(values[i]);
        dw_reading_set_limit(reading, (DwRange){-1e300, 1e300}, (DwRange){NAN, values[i]}, "");
        add_extreme_curve(sheet, "s", values[i], 9);
        add_extreme_curve(sheet, "Hz", values[i], 9000);
        add_extreme_curve(sheet, "mm", values[i], 1);
        add_extreme_curve(sheet, "mm", values[i], 0);
        const char *const columns[] = {"frequency|F|Hz|3", "amplitude|A|%|3", NULL};
        DwTable *table = dw_sheet_add_table(sheet, "x.lines", "", columns);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, fabs(values[i]));
        dw_table_set_number(table, row, 1, values[i]);
        render_all(sheet, sheet);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(rasters_of_any_size_are_drawn)
{
    static const size_t sizes[][2] = {{0, 0}, {0, 90}, {1, 90}, {1, 1}, {700, 180}, {3, 5000}, {40000, 2}};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
        for (int kind = 0; kind < 3; kind++) {
            DwSheet *sheet = dw_sheet_new("x", "Raster");
            DwRaster *raster = dw_sheet_add_raster(sheet, "r", "Raster", (DwAxis){"Angle", "deg"}, (DwAxis){"Turn", ""},
                                                   "%", sizes[i][0], sizes[i][1]);
            for (size_t j = 0; j < sizes[i][0] * sizes[i][1] && kind > 0; j++)
                raster->values[j] = kind == 1 ? 0 : j % 2 ? 3e38f : -3e38f;
            char *bytes = NULL;
            size_t length = 0;
            ck_assert_int_eq(
                dw_sheet_chart_render(NULL, sheet, DW_SHEET_CHART_PNG, DW_THEME_LIGHT, &bytes, &length, NULL), DW_OK);
            free(bytes);
            dw_sheet_free(sheet);
        }
}
END_TEST

// Drawn into a place far too small, all is made smaller instead of cut.
START_TEST(a_small_place_still_holds_the_sheet)
{
    DwSheet *sheet = example_speed_sheet(0.2, 0.2);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 600, 500);
    cairo_t *cairo = cairo_create(surface);
    dw_sheet_chart_draw(sheet, cairo, 600, 500, DW_THEME_LIGHT);
    cairo_surface_flush(surface);
    for (int x = 0; x < 600; x++) // the bottom margin stays free
        ck_assert_uint_eq(pixel(surface, x, 490), 0xFAF8F3);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("sheet_chart", a_side_is_seen_at_once, a_line_has_room_for_all_of_it, a_side_has_room_for_long_labels,
         each_ending_gives_its_format, a_written_png_holds_the_marks, a_bad_place_gives_one_line_and_leaves_nothing,
         an_svg_says_itself_whatever_the_title, a_pdf_carries_its_title, no_page_loses_or_repeats_a_block,
         a_title_alone_is_drawn, extreme_values_are_drawn, rasters_of_any_size_are_drawn,
         a_small_place_still_holds_the_sheet)
