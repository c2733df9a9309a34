// SPDX-License-Identifier: MIT
#include "chart/draw/plot.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/curve_path.h"
#include "chart/draw/number.h"
#include "chart/draw/pennant.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwLetters small = {.size = 0.8, .ink = DW_INK_QUIET};
static const DwInk line_inks[] = {DW_INK_ACCENT, DW_INK_ATTENTION, DW_INK_TEXT, DW_INK_QUIET};

static const char allowed_word[] = "allowed";

enum { LANES = 4 };
static const double lane_height = 1.15;    // em
static const double end_label_most = 16.0; // em

void dw_plot_clear(DwPlot *plot)
{
    for (size_t i = 0; i < plot->line_count; i++)
        free(plot->lines[i].label);
    for (size_t i = 0; i < plot->stem_count; i++)
        free(plot->stems[i].label);
    free(plot->lines);
    free(plot->stems);
    free(plot->title);
    free(plot->caption);
    *plot = (DwPlot){0};
}

static DwInk line_ink(const DwPlotLine *line)
{
    return line_inks[line->colour % (sizeof line_inks / sizeof *line_inks)];
}

static bool has_allowed(const DwPlot *plot)
{
    return isfinite(plot->allowed_low) || isfinite(plot->allowed_high);
}

static double end_label_width(const DwCanvas *canvas, const DwPlot *plot)
{
    double widest = has_allowed(plot) ? dw_canvas_width(canvas, small, dw_said(allowed_word)) : 0;
    for (size_t i = 0; i < plot->line_count; i++)
        if (plot->lines[i].label[0])
            widest = fmax(widest, dw_canvas_width(canvas, small, plot->lines[i].label));
    return widest > 0 ? fmin(widest, end_label_most * canvas->em) + canvas->em : 0;
}

static double field_width(const DwCanvas *canvas, const DwPlot *plot, double width)
{
    double em = canvas->em;
    return fmax(em, width - 5.4 * em - end_label_width(canvas, plot));
}

// Where the labels of the stems fly over a field WIDTH wide, from LEFT on. The caller frees them with free().
static DwPennant *place_stems(const DwCanvas *canvas, const DwPlot *plot, double left, double width)
{
    DwPennant *pennants = dw_memory_new(plot->stem_count + 1, sizeof *pennants);
    DwLetters letters = {.size = 0.8};
    DwScale x = dw_plot_scale_x(plot, (DwBox){.x = left, .width = width});
    for (size_t i = 0; i < plot->stem_count; i++) {
        // A line beyond the axis cannot stand on it: its width makes it unplaceable.
        bool on_axis = plot->stems[i].x >= x.low && plot->stems[i].x <= x.high;
        pennants[i].x = dw_scale_place(&x, plot->stems[i].x);
        pennants[i].width =
            on_axis ? dw_canvas_width(canvas, letters, plot->stems[i].label) + 0.3 * canvas->em : INFINITY;
    }
    dw_pennant_place(pennants, plot->stem_count, left, left + width + canvas->em, LANES, 0.5 * canvas->em);
    return pennants;
}

double dw_plot_stems_height(const DwCanvas *canvas, const DwPlot *plot, double width)
{
    DwPennant *pennants = place_stems(canvas, plot, 0, field_width(canvas, plot, width));
    size_t lanes = 0;
    for (size_t i = 0; i < plot->stem_count; i++)
        if (pennants[i].placed && pennants[i].lane + 1 > lanes)
            lanes = pennants[i].lane + 1;
    free(pennants);
    return lanes > 0 ? (lane_height * (double)lanes + 0.3) * canvas->em : 0;
}

DwBox dw_plot_field(const DwCanvas *canvas, const DwPlot *plot, DwBox box)
{
    double em = canvas->em;
    double bottom = 2.8 * em;
    double top = 1.5 * em + dw_plot_stems_height(canvas, plot, box.width);
    return (DwBox){box.x + 4.2 * em, box.y + top, field_width(canvas, plot, box.width),
                   fmax(em, box.height - top - bottom)};
}

DwScale dw_plot_scale_x(const DwPlot *plot, DwBox field)
{
    DwRange range = dw_scale_nothing();
    for (size_t i = 0; i < plot->line_count; i++) {
        const DwCurve *curve = plot->lines[i].curve;
        for (size_t j = 0; j < curve->count; j++)
            if (isfinite(curve->x_values[j]) && (!plot->logarithmic || curve->x_values[j] > 0))
                range = dw_scale_widen(range, curve->x_values[j]);
    }
    double right = field.x + field.width;
    return plot->logarithmic ? dw_scale_logarithmic(range, field.x, right) : dw_scale_linear(range, 0, field.x, right);
}

DwScale dw_plot_scale_y(const DwPlot *plot, DwBox field)
{
    DwRange range = dw_scale_nothing();
    for (size_t i = 0; i < plot->line_count; i++) {
        const DwCurve *curve = plot->lines[i].curve;
        for (size_t j = 0; j < curve->count; j++)
            if (isfinite(curve->y_values[j]))
                range = dw_scale_widen(range, curve->y_values[j]);
    }
    for (size_t i = 0; i < plot->stem_count; i++)
        range = dw_scale_widen(range, plot->stems[i].y);
    // What is a size is read from zero; its foot then stands on the axis.
    bool is_size = plot->logarithmic && range.low >= 0 && plot->y.unit[0] == '%';
    if (is_size)
        range.low = 0;
    range = dw_scale_widen(dw_scale_widen(range, plot->allowed_low), plot->allowed_high);
    DwScale scale = dw_scale_linear(range, 0.06, field.y + field.height, field.y);
    if (is_size)
        scale.low = 0;
    return scale;
}

static void draw_allowed(const DwCanvas *canvas, const DwPlot *plot, const DwScale *y, DwBox field)
{
    if (!has_allowed(plot))
        return;
    double top = isnan(plot->allowed_high) ? field.y : dw_scale_place(y, plot->allowed_high);
    double bottom = isnan(plot->allowed_low) ? field.y + field.height : dw_scale_place(y, plot->allowed_low);
    top = fmax(top, field.y);
    bottom = fmin(bottom, field.y + field.height);
    dw_canvas_use_thin(canvas, DW_INK_ACCENT, 0.10);
    cairo_rectangle(canvas->cairo, field.x, top, field.width, bottom - top);
    cairo_fill(canvas->cairo);
}

static void draw_ticks_x(const DwCanvas *canvas, const DwPlot *plot, const DwScale *scale, DwBox field)
{
    double em = canvas->em, bottom = field.y + field.height;
    DwTicks ticks = dw_scale_ticks(scale, 8);
    char *title = dw_text_format("%s%s%s", dw_said_label(plot->x.label), plot->x.unit[0] ? ", " : "",
                                 dw_number_unit(plot->x.unit));
    double free_from = -INFINITY;
    for (size_t i = 0; i < ticks.count; i++) {
        double x = dw_scale_place(scale, ticks.at[i]);
        dw_canvas_use(canvas, DW_INK_LINE);
        cairo_rectangle(canvas->cairo, x - 0.03 * em, field.y, 0.06 * em, field.height);
        cairo_fill(canvas->cairo);
        DwNumber number = dw_number_print(ticks.at[i], ticks.digits, false);
        double half = dw_canvas_width(canvas, small, number.text) / 2;
        if (x - half < free_from)
            continue;
        dw_canvas_write(canvas, small, x, bottom + 1.15 * em, 0.5, number.text);
        free_from = x + half + 0.4 * em;
    }
    dw_canvas_write(canvas, small, field.x + field.width, bottom + 2.2 * em, 1, title);
    free(title);
}

static void draw_ticks_y(const DwCanvas *canvas, const DwPlot *plot, const DwScale *scale, DwBox field)
{
    double em = canvas->em;
    DwTicks ticks = dw_scale_ticks(scale, (size_t)fmax(2, field.height / (1.8 * em)));
    bool is_signed = scale->low < 0 && strcmp(plot->y.unit, "dB") != 0;
    for (size_t i = 0; i < ticks.count; i++) {
        double y = dw_scale_place(scale, ticks.at[i]);
        bool is_zero = ticks.at[i] == 0;
        dw_canvas_use(canvas, is_zero ? DW_INK_QUIET : DW_INK_LINE);
        cairo_rectangle(canvas->cairo, field.x, y - 0.03 * em, field.width, 0.06 * em);
        cairo_fill(canvas->cairo);
        dw_canvas_write(canvas, small, field.x - 0.5 * em, y + 0.28 * em, 1,
                        dw_number_print(ticks.at[i], ticks.digits, is_signed).text);
    }
}

// What runs up the axis stands above it, where it needs no turned head.
static void write_axis_y(const DwCanvas *canvas, const DwPlot *plot, DwBox box)
{
    char *title = dw_text_format("%s%s%s", dw_said_label(plot->y.label), plot->y.unit[0] ? ", " : "",
                                 dw_number_unit(plot->y.unit));
    dw_canvas_write_within(canvas, small, box.x, box.y + 0.9 * canvas->em, box.width, title);
    free(title);
}

static void draw_lines(const DwCanvas *canvas, const DwPlot *plot, const DwScale *x, const DwScale *y, DwBox field)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_rectangle(cairo, field.x, field.y - 0.1 * canvas->em, field.width, field.height + 0.2 * canvas->em);
    cairo_clip(cairo);
    for (size_t i = 0; i < plot->line_count; i++) {
        const DwPlotLine *line = &plot->lines[i];
        dw_curve_path_draw(canvas, line->curve, x, y, line_ink(line), line->as_received);
    }
    cairo_restore(cairo);
}

// The height of the last point of CURVE that can be drawn; NAN without one.
static double end_height(const DwCurve *curve, const DwScale *y)
{
    for (size_t i = curve->count; i-- > 0;)
        if (isfinite(curve->y_values[i]) && isfinite(curve->x_values[i]))
            return dw_scale_place(y, curve->y_values[i]);
    return NAN;
}

static void write_end_labels(const DwCanvas *canvas, const DwPlot *plot, const DwScale *y, DwBox field)
{
    double em = canvas->em;
    double *heights = dw_memory_new(plot->line_count + 2, sizeof *heights);
    const DwPlotLine **lines = dw_memory_new(plot->line_count + 2, sizeof *lines);
    size_t count = 0;
    for (size_t i = 0; i < plot->line_count; i++) {
        double height = plot->lines[i].label[0] ? end_height(plot->lines[i].curve, y) : NAN;
        if (isnan(height))
            continue;
        lines[count] = &plot->lines[i];
        heights[count++] = height + 0.28 * em;
    }
    // The allowed region is named at its upper edge; it has no line.
    if (has_allowed(plot))
        heights[count++] = dw_scale_place(y, isnan(plot->allowed_high) ? y->high : plot->allowed_high) + 0.6 * em;
    dw_pennant_spread(heights, count, em, field.y + 0.6 * em, field.y + field.height);
    for (size_t i = 0; i < count; i++) {
        DwLetters letters = {.size = 0.8, .ink = lines[i] ? line_ink(lines[i]) : DW_INK_QUIET};
        dw_canvas_write_within(canvas, letters, field.x + field.width + 0.6 * em, heights[i], end_label_most * em,
                               lines[i] ? lines[i]->label : dw_said(allowed_word));
    }
    free(heights);
    free(lines);
}

static void draw_stem(const DwCanvas *canvas, const DwPlotStem *stem, const DwPennant *pennant, const DwScale *y,
                      DwBox field)
{
    double em = canvas->em;
    cairo_t *cairo = canvas->cairo;
    double head = isnan(stem->y) ? field.y + field.height : dw_scale_place(y, stem->y);
    double label = field.y - (0.35 + lane_height * (double)pennant->lane) * em;
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_rectangle(cairo, pennant->x - 0.03 * em, label - 0.7 * em, 0.06 * em, head - label + 0.7 * em);
    cairo_fill(cairo);
    if (isfinite(stem->y)) {
        dw_canvas_use(canvas, DW_INK_TEXT);
        cairo_arc(cairo, pennant->x, head, 0.24 * em, 0, 2 * M_PI);
        cairo_fill(cairo);
    }
    DwLetters letters = {.size = 0.8, .ink = DW_INK_TEXT};
    double gap = 0.3 * em;
    dw_canvas_write(canvas, letters, pennant->x + (pennant->to_left ? -gap : gap), label, pennant->to_left ? 1 : 0,
                    stem->label);
}

static void draw_stems(const DwCanvas *canvas, const DwPlot *plot, const DwScale *y, DwBox field)
{
    DwPennant *pennants = place_stems(canvas, plot, field.x, field.width);
    for (size_t i = 0; i < plot->stem_count; i++)
        if (pennants[i].placed)
            draw_stem(canvas, &plot->stems[i], &pennants[i], y, field);
    free(pennants);
}

void dw_plot_draw(const DwCanvas *canvas, const DwPlot *plot, DwBox box)
{
    DwBox field = dw_plot_field(canvas, plot, box);
    DwScale x = dw_plot_scale_x(plot, field);
    DwScale y = dw_plot_scale_y(plot, field);
    draw_allowed(canvas, plot, &y, field);
    draw_ticks_x(canvas, plot, &x, field);
    draw_ticks_y(canvas, plot, &y, field);
    write_axis_y(canvas, plot, box);
    draw_lines(canvas, plot, &x, &y, field);
    draw_stems(canvas, plot, &y, field);
    write_end_labels(canvas, plot, &y, field);
}
