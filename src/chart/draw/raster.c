// SPDX-License-Identifier: MIT
#include "chart/draw/raster.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"
#include "chart/draw/scale.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

// The picture has about this many pixels each way whatever the raster has:
// small ones are repeated, so that no viewer blurs them, large ones averaged.
enum { PICTURE_COLUMNS = 1440, PICTURE_ROWS = 720 };

static const DwLetters small = {.size = 0.8, .ink = DW_INK_QUIET};

static int compare(const void *a, const void *b)
{
    float first = *(const float *)a, second = *(const float *)b;
    return (first > second) - (first < second);
}

double dw_raster_scale_end(const DwRaster *raster)
{
    size_t count = raster->rows * raster->columns, used = 0;
    float *sizes = dw_memory_new(count + 1, sizeof *sizes);
    for (size_t i = 0; i < count; i++)
        if (isfinite(raster->values[i]))
            sizes[used++] = fabsf(raster->values[i]);
    qsort(sizes, used, sizeof *sizes, compare);
    double end = used > 0 ? sizes[(size_t)(0.99 * (double)(used - 1))] : 0;
    free(sizes);
    return end > 1e-30 ? dw_scale_round_up(end) : 1;
}

double dw_raster_height(const DwCanvas *canvas, const DwRaster *raster)
{
    return canvas->em * (3 + fmax(10.5, fmin(16, 0.4 * (double)raster->rows)));
}

// Left of the field the rows' numbers, above it the angle, right of it legend and key.
DwBox dw_raster_field(const DwCanvas *canvas, const DwRaster *raster, DwBox box)
{
    double em = canvas->em, left = 3.2 * em, right = 12.5 * em, top = 2.6 * em;
    (void)raster;
    return (DwBox){box.x + left, box.y + top, fmax(em, box.width - left - right), fmax(em, box.height - top)};
}

static void draw_hatch(const DwCanvas *canvas, DwBox field)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_rectangle(cairo, field.x, field.y, field.width, field.height);
    cairo_clip(cairo);
    dw_canvas_use(canvas, DW_INK_LINE);
    cairo_set_line_width(cairo, 0.06 * canvas->em);
    for (double at = -field.height; at < field.width; at += 0.5 * canvas->em) {
        cairo_move_to(cairo, field.x + at, field.y + field.height);
        cairo_line_to(cairo, field.x + at + field.height, field.y);
    }
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

// The mean of the measured cells under a pixel of the picture; NAN where there are none.
static double cell_mean(const DwRaster *raster, size_t rows, size_t columns, size_t row, size_t column)
{
    size_t top = row * raster->rows / rows, bottom = (row + 1) * raster->rows / rows;
    size_t left = column * raster->columns / columns, right = (column + 1) * raster->columns / columns;
    bottom = bottom > top ? bottom : top + 1;
    right = right > left ? right : left + 1;
    double sum = 0;
    size_t used = 0;
    for (size_t r = top; r < bottom; r++)
        for (size_t c = left; c < right; c++) {
            float value = raster->values[r * raster->columns + c];
            if (!isfinite(value))
                continue;
            sum += value;
            used++;
        }
    return used > 0 ? sum / (double)used : NAN;
}

static uint32_t pixel_of(DwColour colour)
{
    uint32_t red = (uint32_t)lround(255 * fmin(1, fmax(0, colour.red)));
    uint32_t green = (uint32_t)lround(255 * fmin(1, fmax(0, colour.green)));
    uint32_t blue = (uint32_t)lround(255 * fmin(1, fmax(0, colour.blue)));
    return 0xFF000000u | red << 16 | green << 8 | blue;
}

static size_t picture_size(size_t cells, size_t wanted)
{
    return cells >= wanted ? wanted : cells * ((wanted + cells - 1) / cells);
}

enum { PALETTE_STEPS = 255 };

static void fill_palette(DwTheme theme, uint32_t *palette)
{
    for (int i = 0; i <= 2 * PALETTE_STEPS; i++)
        palette[i] = pixel_of(dw_theme_deviation_colour(theme, (double)(i - PALETTE_STEPS) / PALETTE_STEPS));
}

static cairo_surface_t *paint_picture(const DwRaster *raster, double end, DwTheme theme)
{
    size_t rows = picture_size(raster->rows, PICTURE_ROWS), columns = picture_size(raster->columns, PICTURE_COLUMNS);
    cairo_surface_t *picture = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, (int)columns, (int)rows);
    if (cairo_surface_status(picture) != CAIRO_STATUS_SUCCESS)
        return picture;
    uint32_t palette[2 * PALETTE_STEPS + 1];
    fill_palette(theme, palette);
    unsigned char *data = cairo_image_surface_get_data(picture);
    size_t stride = (size_t)cairo_image_surface_get_stride(picture);
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            double value = cell_mean(raster, rows, columns, r, c);
            uint32_t pixel = 0; // nothing: the hatch shows through
            if (!isnan(value)) {
                double share = fmax(-1, fmin(1, value / end));
                pixel = palette[lround(share * PALETTE_STEPS) + PALETTE_STEPS];
            }
            memcpy(data + r * stride + c * sizeof pixel, &pixel, sizeof pixel);
        }
    cairo_surface_mark_dirty(picture);
    return picture;
}

static void draw_cells(const DwCanvas *canvas, const DwRaster *raster, double end, DwBox field)
{
    cairo_t *cairo = canvas->cairo;
    cairo_surface_t *picture = paint_picture(raster, end, canvas->theme);
    cairo_save(cairo);
    cairo_translate(cairo, field.x, field.y);
    cairo_scale(cairo, field.width / cairo_image_surface_get_width(picture),
                field.height / cairo_image_surface_get_height(picture));
    cairo_set_source_surface(cairo, picture, 0, 0);
    cairo_rectangle(cairo, 0, 0, cairo_image_surface_get_width(picture), cairo_image_surface_get_height(picture));
    cairo_fill(cairo);
    cairo_restore(cairo);
    cairo_surface_destroy(picture);
}

// Angles are read in quarters of a turn, other things at round numbers.
static DwTicks ticks_across(const DwRaster *raster, const DwScale *scale)
{
    if (strcmp(raster->across.unit, "deg") == 0 && raster->across_span == 360)
        return (DwTicks){.count = 5, .at = {0, 90, 180, 270, 360}};
    return dw_scale_ticks(scale, 5);
}

static void draw_across(const DwCanvas *canvas, const DwRaster *raster, DwBox field)
{
    double em = canvas->em;
    double span = raster->across_span > 0 ? raster->across_span : (double)raster->columns;
    DwScale scale = dw_scale_linear((DwRange){0, span}, 0, field.x, field.x + field.width);
    DwTicks ticks = ticks_across(raster, &scale);
    for (size_t i = 0; i < ticks.count; i++) {
        double x = dw_scale_place(&scale, ticks.at[i]);
        DwNumber number = dw_number_print(ticks.at[i], ticks.digits, false);
        char *text = dw_text_format("%s%s%s", number.text, dw_number_space(raster->across.unit),
                                    dw_number_unit(raster->across.unit));
        dw_canvas_write(canvas, small, x, field.y - 0.55 * em, 0.5, text);
        free(text);
        dw_canvas_use(canvas, DW_INK_QUIET);
        cairo_rectangle(canvas->cairo, x - 0.03 * em, field.y - 0.3 * em, 0.06 * em, 0.3 * em);
        cairo_fill(canvas->cairo);
    }
}

static void draw_down(const DwCanvas *canvas, const DwRaster *raster, DwBox field)
{
    double em = canvas->em;
    double step = raster->down_step > 0 ? raster->down_step : 1;
    // A row's number stands at the row's middle.
    double first = raster->down_start - step / 2;
    DwScale scale =
        dw_scale_linear((DwRange){first, first + step * (double)raster->rows}, 0, field.y, field.y + field.height);
    DwTicks ticks = dw_scale_ticks(&scale, 5);
    for (size_t i = 0; i < ticks.count; i++) {
        double y = dw_scale_place(&scale, ticks.at[i]);
        if (ticks.at[i] != floor(ticks.at[i]) && !raster->down.unit[0])
            continue; // there is no half a revolution to point at
        dw_canvas_write(canvas, small, field.x - 0.5 * em, y + 0.28 * em, 1,
                        dw_number_print(ticks.at[i], ticks.digits, false).text);
        dw_canvas_use(canvas, DW_INK_QUIET);
        cairo_rectangle(canvas->cairo, field.x - 0.3 * em, y - 0.03 * em, 0.3 * em, 0.06 * em);
        cairo_fill(canvas->cairo);
    }
}

static void draw_legend(const DwCanvas *canvas, const DwRaster *raster, double end, DwBox box)
{
    double em = canvas->em, bar = 0.9 * em;
    enum { STEPS = 20 };
    double step = box.height / (2 * STEPS + 1);
    for (int i = -STEPS; i <= STEPS; i++) {
        DwColour colour = dw_theme_deviation_colour(canvas->theme, (double)-i / STEPS);
        cairo_set_source_rgb(canvas->cairo, colour.red, colour.green, colour.blue);
        cairo_rectangle(canvas->cairo, box.x, box.y + (i + STEPS) * step, bar, step * (i < STEPS ? 1.06 : 1));
        cairo_fill(canvas->cairo);
    }
    static const double shares[] = {1, 0, -1, 0.5, -0.5};
    // The halves only where five labels have room.
    for (size_t i = 0; i < (box.height > 5.4 * em ? 5 : 3); i++) {
        DwNumber number = dw_number_print(shares[i] * end, -1, true);
        char *text = dw_text_format("%s%s%s", number.text, dw_number_space(raster->unit), dw_number_unit(raster->unit));
        double y = box.y + box.height * (0.5 - 0.5 * shares[i]);
        dw_canvas_write(canvas, small, box.x + bar + 0.45 * em,
                        fmax(box.y + 0.62 * em, fmin(y + 0.28 * em, box.y + box.height)), 0, text);
        free(text);
    }
}

// A small square with three stripes: upright, or leaning to the right.
static void draw_stripes(const DwCanvas *canvas, double x, double y, double size, double lean)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_rectangle(cairo, x, y, size, size);
    cairo_clip(cairo);
    DwColour colour = dw_theme_deviation_colour(canvas->theme, -0.9);
    cairo_set_source_rgb(cairo, colour.red, colour.green, colour.blue);
    cairo_set_line_width(cairo, 0.17 * size);
    for (int i = -3; i < 4; i++) {
        double at = x + size * (0.2 + 0.35 * i);
        cairo_move_to(cairo, at - 0.1 * lean, y - 0.1 * size);
        cairo_line_to(cairo, at + 1.1 * lean, y + 1.1 * size);
    }
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

static void draw_key(const DwCanvas *canvas, double x, double y, double width)
{
    double em = canvas->em, size = 2.2 * em;
    draw_stripes(canvas, x, y, size, 0);
    dw_canvas_paragraph(canvas, small, x + size + 0.5 * em, y - 0.1 * em, width - size - 0.5 * em,
                        dw_chart_words_say(canvas->words, "raster.key_upright"));
    y += size + 0.8 * em;
    draw_stripes(canvas, x, y, size, 0.6 * size);
    dw_canvas_paragraph(canvas, small, x + size + 0.5 * em, y - 0.1 * em, width - size - 0.5 * em,
                        dw_chart_words_say(canvas->words, "raster.key_slanted"));
}

void dw_raster_draw(const DwCanvas *canvas, const DwRaster *raster, double end, DwBox box)
{
    DwBox field = dw_raster_field(canvas, raster, box);
    double em = canvas->em;
    if (raster->rows == 0 || raster->columns == 0)
        return;
    draw_hatch(canvas, field);
    draw_cells(canvas, raster, end, field);
    draw_across(canvas, raster, field);
    draw_down(canvas, raster, field);
    double side = field.x + field.width + 1.2 * em;
    char *axes = dw_text_format("%s ↓   %s →", dw_said_label(raster->down.label), dw_said_label(raster->across.label));
    dw_canvas_write(canvas, small, box.x, field.y - 1.75 * em, 0, axes);
    free(axes);
    double key = 5.6 * em;
    draw_legend(canvas, raster, end, (DwBox){side, field.y, 0, fmax(4 * em, field.height - key - em)});
    draw_key(canvas, side, field.y + field.height - key + 0.3 * em, box.x + box.width - side);
}
