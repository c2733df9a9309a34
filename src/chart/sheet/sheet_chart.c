// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_chart.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/sheet/describe.h"
#include "chart/draw/output.h"
#include "chart/sheet/sheet_layout.h"
#include "chart/draw/svg_words.h"
#include "chart/draw/whole_file.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

static const double screen_width = 1200;
static const double screen_height_most = 30000; // an image may have 32767 rows
static const double a4_width = 595.276, a4_height = 841.890;

static void paint_ground(const DwCanvas *canvas, double width, double height)
{
    dw_canvas_use(canvas, DW_INK_GROUND);
    cairo_rectangle(canvas->cairo, 0, 0, width, height);
    cairo_fill(canvas->cairo);
}

void dw_sheet_chart_draw_pair(const DwSheet *before, const DwSheet *after, cairo_t *cairo, double width, double height,
                              DwTheme theme)
{
    DwCanvas canvas = {.cairo = cairo, .theme = theme, .em = dw_sheet_layout_em(width, theme)};
    double margin = dw_sheet_layout_margin(width, theme);
    DwBox box = {margin, margin, width - 2 * margin, height - 2 * margin};
    DwSheetPage *page = dw_sheet_page_new_at_once(after, before);
    cairo_save(cairo);
    paint_ground(&canvas, width, height);
    dw_sheet_page_measure(page, &canvas, box.width);
    // A tenth of the size is past reading; smaller would help no one.
    double smallest = canvas.em / 10;
    while (dw_sheet_layout_need(page, 0, page->block_count) > box.height && canvas.em > smallest) {
        canvas.em *= 0.95;
        dw_sheet_page_measure(page, &canvas, box.width);
    }
    dw_sheet_layout_draw(page, 0, page->block_count, &canvas, box);
    cairo_restore(cairo);
    dw_sheet_page_free(page);
}

void dw_sheet_chart_draw(const DwSheet *sheet, cairo_t *cairo, double width, double height, DwTheme theme)
{
    dw_sheet_chart_draw_pair(NULL, sheet, cairo, width, height, theme);
}

double dw_sheet_chart_height(const DwSheet *before, const DwSheet *sheet, double width, DwTheme theme)
{
    cairo_surface_t *nowhere = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    DwCanvas canvas = {.cairo = cairo_create(nowhere), .theme = theme, .em = dw_sheet_layout_em(width, theme)};
    double margin = dw_sheet_layout_margin(width, theme);
    DwSheetPage *page = dw_sheet_page_new_at_once(sheet, before);
    dw_sheet_page_measure(page, &canvas, width - 2 * margin);
    double height = dw_sheet_layout_wish(page, 0, page->block_count) + 2 * margin;
    dw_sheet_page_free(page);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(nowhere);
    return ceil(height);
}

static void draw_onto(cairo_surface_t *surface, const DwSheet *before, const DwSheet *sheet, double height,
                      DwTheme theme)
{
    cairo_t *cairo = cairo_create(surface);
    dw_sheet_chart_draw_pair(before, sheet, cairo, screen_width, height, theme);
    cairo_destroy(cairo);
}

static cairo_status_t render_svg(const DwSheet *before, const DwSheet *sheet, DwTheme theme, DwOutput *output)
{
    double height = fmin(screen_height_most, dw_sheet_chart_height(before, sheet, screen_width, theme));
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(dw_output_keep, output, screen_width, height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
    draw_onto(surface, before, sheet, height, theme);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (status != CAIRO_STATUS_SUCCESS)
        return status;
    char *description = dw_describe_sheet(sheet);
    char *whole = dw_svg_words_insert(output->bytes, dw_said_label(sheet->title), description);
    free(description);
    free(output->bytes);
    *output = (DwOutput){.bytes = whole, .length = strlen(whole)};
    return status;
}

static cairo_status_t render_png(const DwSheet *before, const DwSheet *sheet, DwTheme theme, DwOutput *output)
{
    double height = fmin(screen_height_most, dw_sheet_chart_height(before, sheet, screen_width, theme));
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)screen_width, (int)height);
    draw_onto(surface, before, sheet, height, theme);
    cairo_status_t status = cairo_surface_status(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, dw_output_keep, output);
    cairo_surface_destroy(surface);
    return status;
}

static size_t count_pages(const DwSheetPage *page, double room)
{
    size_t count = 0;
    for (size_t from = 0; from < page->block_count; count++)
        from = dw_sheet_layout_page_end(page, from, room);
    return count;
}

// "drawn 2026-11-28". The caller frees it with free().
static char *today(void)
{
    char day[32] = "";
    time_t now = time(NULL);
    struct tm local;
    if (localtime_r(&now, &local))
        strftime(day, sizeof day, "%Y-%m-%d", &local);
    return dw_say("drawn %s", day);
}

// A page that gets loose still says what it is of, and of which day.
static char *foot_words(const DwSheet *sheet)
{
    char *day = today();
    char *words = dw_text_format("%s%s%s  ·  %s", dw_said_label(sheet->title), sheet->subject[0] ? "  ·  " : "",
                                 sheet->subject, day);
    free(day);
    return words;
}

static void draw_foot(const DwCanvas *canvas, const DwSheet *sheet, size_t number, size_t count, double margin)
{
    DwLetters letters = {.size = 0.8, .ink = DW_INK_QUIET};
    double y = a4_height - 0.55 * margin;
    char *pages = dw_say("page %zu of %zu", number, count), *what = foot_words(sheet);
    dw_canvas_write_within(canvas, letters, margin, y, 0.75 * (a4_width - 2 * margin), what);
    free(what);
    dw_canvas_write(canvas, letters, a4_width - margin, y, 1, pages);
    free(pages);
}

// What a page that is not the first is of: title and file, and the day.
static void draw_running_head(const DwCanvas *canvas, const DwSheet *sheet, double margin)
{
    DwLetters bold = {.size = 0.8, .bold = true, .ink = DW_INK_TEXT}, quiet = {.size = 0.8, .ink = DW_INK_QUIET};
    double y = 0.62 * margin, right = a4_width - margin, rule = 0.75 * margin;
    char *day = today();
    dw_canvas_write(canvas, quiet, right, y, 1, day);
    double end = right - dw_canvas_width(canvas, quiet, day) - canvas->em;
    dw_canvas_write_within(canvas, bold, margin, y, end - margin, dw_said_label(sheet->title));
    double at = margin + dw_canvas_width(canvas, bold, dw_said_label(sheet->title)) + 0.8 * canvas->em;
    if (at < end)
        dw_canvas_write_within(canvas, quiet, at, y, end - at, sheet->subject);
    dw_canvas_use(canvas, DW_INK_LINE);
    cairo_set_line_width(canvas->cairo, 0.5);
    cairo_move_to(canvas->cairo, margin, rule);
    cairo_line_to(canvas->cairo, right, rule);
    cairo_stroke(canvas->cairo);
    free(day);
}

static void draw_pages(const DwSheet *before, const DwSheet *sheet, cairo_t *cairo)
{
    DwTheme theme = DW_THEME_PAPER;
    DwCanvas canvas = {.cairo = cairo, .theme = theme, .em = dw_sheet_layout_em(a4_width, theme)};
    double margin = dw_sheet_layout_margin(a4_width, theme);
    DwBox box = {margin, margin, a4_width - 2 * margin, a4_height - 2 * margin};
    DwSheetPage *page = dw_sheet_page_new(sheet, before);
    dw_sheet_page_measure(page, &canvas, box.width);
    size_t count = count_pages(page, box.height), number = 0;
    for (size_t from = 0; from < page->block_count;) {
        size_t to = dw_sheet_layout_page_end(page, from, box.height);
        dw_sheet_layout_draw(page, from, to, &canvas, box);
        draw_foot(&canvas, sheet, ++number, count, margin);
        if (number > 1)
            draw_running_head(&canvas, sheet, margin);
        cairo_show_page(cairo);
        from = to;
    }
    dw_sheet_page_free(page);
}

static void set_metadata(cairo_surface_t *surface, const DwSheet *sheet)
{
    char *title = g_utf8_make_valid(dw_said_label(sheet->title), -1);
    char *description = dw_describe_sheet(sheet);
    char *subject = g_utf8_make_valid(description, -1);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, subject);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Deckwright " DW_VERSION);
    g_free(title);
    g_free(subject);
    free(description);
}

static cairo_status_t render_pdf(const DwSheet *before, const DwSheet *sheet, DwOutput *output)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(dw_output_keep, output, a4_width, a4_height);
    set_metadata(surface, sheet);
    cairo_t *cairo = cairo_create(surface);
    draw_pages(before, sheet, cairo);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

DwStatus dw_sheet_chart_render(const DwSheet *before, const DwSheet *sheet, DwSheetChartFormat format, DwTheme theme,
                               char **bytes, size_t *length, DwMessage *message)
{
    DwOutput output = {0};
    cairo_status_t status = CAIRO_STATUS_SUCCESS;
    switch (format) {
    case DW_SHEET_CHART_SVG:
        status = render_svg(before, sheet, theme, &output);
        break;
    case DW_SHEET_CHART_PNG:
        status = render_png(before, sheet, theme, &output);
        break;
    case DW_SHEET_CHART_PDF:
        status = render_pdf(before, sheet, &output);
        break;
    }
    if (status != CAIRO_STATUS_SUCCESS) {
        free(output.bytes);
        return dw_fail(message, DW_FAILED, "The chart of “%s” cannot be drawn: %s.", sheet->title,
                       cairo_status_to_string(status));
    }
    *bytes = output.bytes;
    *length = output.length;
    return DW_OK;
}

typedef struct {
    const char *ending;
    DwSheetChartFormat format;
    DwTheme theme;
} Ending;

static const Ending endings[] = {
    {".svg", DW_SHEET_CHART_SVG, DW_THEME_LIGHT},
    {".png", DW_SHEET_CHART_PNG, DW_THEME_LIGHT},
    {".pdf", DW_SHEET_CHART_PDF, DW_THEME_PAPER},
};

// The row of PATH's ending; NULL with a line for any other.
static const Ending *ending_of(const char *path, DwMessage *message)
{
    size_t length = strlen(path);
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++)
        if (length >= 5 && strcasecmp(path + length - 4, endings[i].ending) == 0)
            return &endings[i];
    dw_fail(message, DW_BAD_INPUT, "A chart is written as .svg, .png or .pdf; “%s” ends in none of them.", path);
    return NULL;
}

DwStatus dw_sheet_chart_check(const char *path, DwMessage *message)
{
    return ending_of(path, message) ? dw_whole_file_check(path, message) : DW_BAD_INPUT;
}

DwStatus dw_sheet_chart_write_pair(const DwSheet *before, const DwSheet *after, const char *path, DwMessage *message)
{
    const Ending *ending = ending_of(path, message);
    if (!ending)
        return DW_BAD_INPUT;
    char *bytes = NULL;
    size_t size = 0;
    DwStatus status = dw_sheet_chart_render(before, after, ending->format, ending->theme, &bytes, &size, message);
    if (status == DW_OK)
        status = dw_whole_file_write(path, bytes, size, message);
    free(bytes);
    return status;
}

DwStatus dw_sheet_chart_write(const DwSheet *sheet, const char *path, DwMessage *message)
{
    return dw_sheet_chart_write_pair(NULL, sheet, path, message);
}
