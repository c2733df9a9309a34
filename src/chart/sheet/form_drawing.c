// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

double dw_form_given(const DwFormDrawing *view, const char *key, const char *unit)
{
    size_t count = dw_inputs_count(view->inputs, key);
    return count ? dw_inputs_in_at(view->inputs, key, count - 1, unit) : NAN;
}

char *dw_form_value(const char *name, double value, const char *unit)
{
    if (!isfinite(value))
        return dw_text_format("%s ?", dw_said_label(name));
    return dw_text_format("%s %s%s%s", dw_said_label(name), dw_number_print(value, dw_number_digits(value), false).text,
                          dw_number_space(unit), dw_number_unit(unit));
}

void dw_form_tell(const DwFormDrawing *view, const char *text)
{
    if (text[strspn(text, " ")])
        dw_text_add(view->told, "%s%s", view->told->length ? "; " : "", text);
}

void dw_form_name(const DwFormDrawing *view, DwLetters letters, double x, double y, double most, const char *text)
{
    dw_canvas_write_within(view->canvas, letters, x, y, most, text);
    dw_form_tell(view, text);
}

void dw_form_label(const DwFormDrawing *view, double x, double y, double align, DwInk ink, char *text)
{
    dw_dimension_label(view->canvas, (DwSpot){x, y}, 0, align, ink, text);
    dw_form_tell(view, text);
    free(text);
}

double dw_form_words(const DwFormDrawing *view, double x, double y, double width, DwInk ink, char *text)
{
    double height = dw_canvas_paragraph(view->canvas, (DwLetters){.size = 0.85, .ink = ink}, x, y, width, text);
    dw_form_tell(view, text);
    free(text);
    return height;
}

void dw_form_dot(const DwFormDrawing *view, DwSpot centre, double radius, DwInk ink)
{
    cairo_new_path(view->canvas->cairo);
    cairo_arc(view->canvas->cairo, centre.x, centre.y, radius, 0, 2 * M_PI);
    dw_canvas_use(view->canvas, ink);
    cairo_fill(view->canvas->cairo);
}

bool dw_form_is_narrow(const DwFormDrawing *view)
{
    return view->box.width < 40 * view->canvas->em;
}

void dw_form_measure(const DwFormDrawing *view, DwSpot from, DwSpot to, double aside, char *text)
{
    dw_dimension_draw(view->canvas, from, to, aside, text);
    dw_form_tell(view, text);
    free(text);
}

void dw_form_circle(const DwFormDrawing *view, DwSpot centre, double radius, DwInk ink)
{
    cairo_new_path(view->canvas->cairo);
    cairo_arc(view->canvas->cairo, centre.x, centre.y, radius, 0, 2 * M_PI);
    dw_canvas_use(view->canvas, ink);
    cairo_set_line_width(view->canvas->cairo, 0.12 * view->canvas->em);
    cairo_stroke(view->canvas->cairo);
}

void dw_form_rectangle(const DwFormDrawing *view, DwBox box, DwInk ink)
{
    cairo_rectangle(view->canvas->cairo, box.x, box.y, box.width, box.height);
    dw_canvas_use(view->canvas, ink);
    cairo_set_line_width(view->canvas->cairo, 0.12 * view->canvas->em);
    cairo_stroke(view->canvas->cairo);
}

void dw_form_line(const DwFormDrawing *view, DwSpot from, DwSpot to, bool dashed, DwInk ink)
{
    dw_dimension_stroke(view->canvas, from, to, 0.12 * view->canvas->em, dashed, ink);
}
