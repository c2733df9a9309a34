// SPDX-License-Identifier: MIT
#include "chart/draw/dimension.h"

#include <math.h>

static const double letter_size = 0.85;
static const double head_em = 0.6;

DwSpot dw_spot_at(DwSpot from, double angle, double length)
{
    return (DwSpot){from.x + length * cos(angle), from.y + length * sin(angle)};
}

double dw_spot_towards(DwSpot from, DwSpot to)
{
    return atan2(to.y - from.y, to.x - from.x);
}

void dw_dimension_stroke(const DwCanvas *canvas, DwSpot from, DwSpot to, double width, bool dashed, DwInk ink)
{
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, ink);
    cairo_set_line_width(cairo, width);
    if (dashed)
        cairo_set_dash(cairo, (double[]){0.45 * canvas->em, 0.3 * canvas->em}, 2, 0);
    cairo_move_to(cairo, from.x, from.y);
    cairo_line_to(cairo, to.x, to.y);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0);
}

void dw_dimension_head(const DwCanvas *canvas, DwSpot tip, double angle, DwInk ink)
{
    dw_canvas_use(canvas, ink);
    cairo_move_to(canvas->cairo, tip.x, tip.y);
    for (int side = -1; side <= 1; side += 2) {
        DwSpot barb = dw_spot_at(tip, angle + M_PI + side * 0.35, head_em * canvas->em);
        cairo_line_to(canvas->cairo, barb.x, barb.y);
    }
    cairo_close_path(canvas->cairo);
    cairo_fill(canvas->cairo);
}

void dw_dimension_arrow(const DwCanvas *canvas, DwSpot from, DwSpot to, DwInk ink)
{
    double angle = dw_spot_towards(from, to);
    DwSpot neck = dw_spot_at(to, angle, -0.5 * head_em * canvas->em);
    dw_dimension_stroke(canvas, from, neck, 0.12 * canvas->em, false, ink);
    dw_dimension_head(canvas, to, angle, ink);
}

void dw_dimension_label(const DwCanvas *canvas, DwSpot spot, double angle, double align, DwInk ink, const char *text)
{
    const DwLetters letters = {.size = letter_size, .ink = ink};
    double width = dw_canvas_width(canvas, letters, text), height = canvas->em;
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, spot.x, spot.y);
    cairo_rotate(canvas->cairo, angle);
    dw_canvas_use(canvas, DW_INK_GROUND);
    cairo_rectangle(canvas->cairo, -align * width - 0.2 * height, -0.55 * height, width + 0.4 * height, 1.1 * height);
    cairo_fill(canvas->cairo);
    dw_canvas_write(canvas, letters, 0, 0.3 * height, align, text);
    cairo_restore(canvas->cairo);
}

// The angle along a line at which letters stand upright.
static double readable(double angle)
{
    while (angle > M_PI / 2 + 1e-9)
        angle -= M_PI;
    while (angle < -M_PI / 2 - 1e-9)
        angle += M_PI;
    return angle;
}

void dw_dimension_draw(const DwCanvas *canvas, DwSpot from, DwSpot to, double aside, const char *text)
{
    double angle = dw_spot_towards(from, to), across = angle + M_PI / 2;
    DwSpot start = dw_spot_at(from, across, aside), end = dw_spot_at(to, across, aside);
    double beyond = aside + copysign(0.4 * canvas->em, aside);
    double hair = 0.05 * canvas->em, length = hypot(end.x - start.x, end.y - start.y);
    if (fabs(aside) > 0.2 * canvas->em) {
        dw_dimension_stroke(canvas, from, dw_spot_at(from, across, beyond), hair, false, DW_INK_QUIET);
        dw_dimension_stroke(canvas, to, dw_spot_at(to, across, beyond), hair, false, DW_INK_QUIET);
    }
    // Too short for its arrows, they stand outside and point inwards.
    bool outside = length < 2.4 * head_em * canvas->em;
    double out = outside ? canvas->em : 0;
    dw_dimension_stroke(canvas, dw_spot_at(start, angle, -out), dw_spot_at(end, angle, out), hair, false, DW_INK_QUIET);
    dw_dimension_head(canvas, start, outside ? angle : angle + M_PI, DW_INK_QUIET);
    dw_dimension_head(canvas, end, outside ? angle + M_PI : angle, DW_INK_QUIET);
    DwSpot middle = {(start.x + end.x) / 2, (start.y + end.y) / 2};
    const DwLetters letters = {.size = letter_size, .ink = DW_INK_TEXT};
    bool room = length > dw_canvas_width(canvas, letters, text) + 2 * canvas->em;
    if (!room)
        middle = dw_spot_at(middle, across, copysign(0.9 * canvas->em, aside));
    dw_dimension_label(canvas, middle, readable(angle), 0.5, DW_INK_TEXT, text);
}

void dw_dimension_angle(const DwCanvas *canvas, DwSpot centre, double radius, double from, double to, const char *text,
                        DwInk ink)
{
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, ink);
    cairo_set_line_width(cairo, 0.07 * canvas->em);
    cairo_new_sub_path(cairo);
    if (to >= from)
        cairo_arc(cairo, centre.x, centre.y, radius, from, to);
    else
        cairo_arc_negative(cairo, centre.x, centre.y, radius, from, to);
    cairo_stroke(cairo);
    double sense = to >= from ? 1 : -1;
    if (fabs(to - from) * radius > head_em * canvas->em)
        dw_dimension_head(canvas, dw_spot_at(centre, to, radius),
                          to + sense * (M_PI / 2 - 0.3 * head_em * canvas->em / radius), ink);
    if (text)
        dw_dimension_label(canvas, dw_spot_at(centre, (from + to) / 2, radius + 0.9 * canvas->em), 0,
                           0.5 - 0.5 * cos((from + to) / 2), ink, text);
}
