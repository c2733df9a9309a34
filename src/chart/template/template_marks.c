// SPDX-License-Identifier: MIT
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double hair_mm = 0.1;
static const double spindle_diameter_mm = 7.24;
static const double free_of_ink_mm = 0.7;

void dw_template_line(const DwCanvas *canvas, DwTemplatePoint from, DwTemplatePoint to, double width, DwInk ink)
{
    dw_canvas_use(canvas, ink);
    cairo_set_line_width(canvas->cairo, width);
    cairo_move_to(canvas->cairo, from.x, from.y);
    cairo_line_to(canvas->cairo, to.x, to.y);
    cairo_stroke(canvas->cairo);
}

void dw_template_cross(const DwCanvas *canvas, DwTemplatePoint centre, double reach)
{
    dw_template_line(canvas, (DwTemplatePoint){centre.x - reach, centre.y},
                     (DwTemplatePoint){centre.x + reach, centre.y}, hair_mm, DW_INK_TEXT);
    dw_template_line(canvas, (DwTemplatePoint){centre.x, centre.y - reach},
                     (DwTemplatePoint){centre.x, centre.y + reach}, hair_mm, DW_INK_TEXT);
}

void dw_template_spindle(const DwCanvas *canvas, DwTemplatePoint centre)
{
    dw_template_cross(canvas, centre, 7);
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, hair_mm);
    cairo_arc(canvas->cairo, centre.x, centre.y, spindle_diameter_mm / 2, 0, 2 * M_PI);
    cairo_stroke(canvas->cairo);
}

void dw_template_stylus_point(const DwCanvas *canvas, DwTemplatePoint centre, double angle)
{
    for (int quarter = 0; quarter < 4; quarter++) {
        double x = cos(angle + quarter * M_PI / 2), y = sin(angle + quarter * M_PI / 2);
        dw_template_line(canvas, (DwTemplatePoint){centre.x + free_of_ink_mm * x, centre.y + free_of_ink_mm * y},
                         (DwTemplatePoint){centre.x + 4 * x, centre.y + 4 * y}, hair_mm, DW_INK_TEXT);
    }
}

static void draw_sides(const DwCanvas *canvas, double half_width, double half_length)
{
    for (int i = -(int)half_width; i <= (int)half_width; i++) {
        if (i == 0)
            continue;
        DwInk ink = i % 5 == 0 ? DW_INK_TEXT : DW_INK_QUIET;
        double length = i % 5 == 0 ? half_length : half_length - 2;
        dw_template_line(canvas, (DwTemplatePoint){i, -length}, (DwTemplatePoint){i, length}, hair_mm, ink);
    }
    // Across, only short ends at every second millimetre, to judge the squareness of the cartridge's face.
    for (int i = -(int)half_length + 2; i <= (int)half_length - 2; i += 2) {
        if (i == 0)
            continue;
        dw_template_line(canvas, (DwTemplatePoint){-half_width, i}, (DwTemplatePoint){-2, i}, hair_mm / 2,
                         DW_INK_QUIET);
        dw_template_line(canvas, (DwTemplatePoint){2, i}, (DwTemplatePoint){half_width, i}, hair_mm / 2, DW_INK_QUIET);
    }
}

void dw_template_cartridge_grid(const DwCanvas *canvas, DwTemplatePoint centre, double angle, double skew,
                                double half_width, double half_length)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_translate(cairo, centre.x, centre.y);
    cairo_rotate(cairo, angle);
    cairo_save(cairo);
    cairo_rotate(cairo, -skew);
    draw_sides(canvas, half_width, half_length);
    cairo_restore(cairo);
    dw_template_line(canvas, (DwTemplatePoint){0, -half_length - 2}, (DwTemplatePoint){0, -free_of_ink_mm}, hair_mm,
                     DW_INK_TEXT);
    dw_template_line(canvas, (DwTemplatePoint){0, free_of_ink_mm}, (DwTemplatePoint){0, half_length + 2}, hair_mm,
                     DW_INK_TEXT);
    dw_template_line(canvas, (DwTemplatePoint){-half_width, 0}, (DwTemplatePoint){-free_of_ink_mm, 0}, hair_mm,
                     DW_INK_TEXT);
    dw_template_line(canvas, (DwTemplatePoint){free_of_ink_mm, 0}, (DwTemplatePoint){half_width, 0}, hair_mm,
                     DW_INK_TEXT);
    if (skew != 0) {
        dw_template_label(canvas, (DwTemplatePoint){1, -half_length - 1}, 0, 0, "cantilever");
        cairo_rotate(cairo, -skew);
        dw_template_label(canvas, (DwTemplatePoint){half_width + 1, half_length - 2}, 0, 0, "body");
    }
    cairo_restore(cairo);
}

void dw_template_scale(const DwCanvas *canvas, DwTemplatePoint origin, double angle, double low, double high,
                       double side)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_translate(cairo, origin.x, origin.y);
    cairo_rotate(cairo, angle);
    dw_template_line(canvas, (DwTemplatePoint){low, 0}, (DwTemplatePoint){high, 0}, hair_mm, DW_INK_TEXT);
    for (int i = (int)ceil(low - 1e-9); i <= (int)floor(high + 1e-9); i++) {
        double length = i % 10 == 0 ? 4.5 : i % 5 == 0 ? 3.2 : 2;
        dw_template_line(canvas, (DwTemplatePoint){i, 0}, (DwTemplatePoint){i, side * length}, hair_mm, DW_INK_TEXT);
        if (i % 10 == 0) {
            char number[16];
            snprintf(number, sizeof number, "%s%d", i < 0 ? "−" : "", abs(i));
            // The numbers stand upright whichever way the scale runs.
            cairo_save(cairo);
            cairo_translate(cairo, i, side * 7.2);
            cairo_rotate(cairo, -angle);
            dw_template_label(canvas, (DwTemplatePoint){0, 1.05}, 0, 0.5, number);
            cairo_restore(cairo);
        }
    }
    cairo_restore(cairo);
}

void dw_template_arrow_head(const DwCanvas *canvas, DwTemplatePoint tip, double angle)
{
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, DW_INK_ACCENT);
    cairo_move_to(cairo, tip.x, tip.y);
    for (int side = -1; side <= 1; side += 2)
        cairo_line_to(cairo, tip.x - 3 * cos(angle + side * 0.35), tip.y - 3 * sin(angle + side * 0.35));
    cairo_close_path(cairo);
    cairo_fill(cairo);
}

void dw_template_turning(const DwCanvas *canvas, DwTemplatePoint spindle, double radius, double from, double to)
{
    dw_canvas_use(canvas, DW_INK_ACCENT);
    cairo_set_line_width(canvas->cairo, 0.4);
    cairo_arc(canvas->cairo, spindle.x, spindle.y, radius, from, to - 2 / radius);
    cairo_stroke(canvas->cairo);
    // The head lies on a chord of the circle, a little ahead of the tangent.
    dw_template_arrow_head(canvas, (DwTemplatePoint){spindle.x + radius * cos(to), spindle.y + radius * sin(to)},
                           to + M_PI / 2 - 1.5 / radius);
}

void dw_template_label(const DwCanvas *canvas, DwTemplatePoint point, double angle, double align, const char *text)
{
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, point.x, point.y);
    cairo_rotate(canvas->cairo, angle);
    dw_canvas_write(canvas, (DwLetters){0.85, false, DW_INK_QUIET}, 0, 0, align, text);
    cairo_restore(canvas->cairo);
}
