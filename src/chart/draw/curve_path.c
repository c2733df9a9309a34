// SPDX-License-Identifier: MIT
#include "chart/draw/curve_path.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

// A page has this many places an em: about one a pixel on screen.
static const double places_per_em = 16;

// What falls on one place along x.
typedef struct {
    double least, largest; // INFINITY and -INFINITY when nothing does
    bool has_gap;
} Place;

size_t dw_curve_path_points_most(const DwCanvas *canvas, const DwScale *x)
{
    return (size_t)fmax(2, fabs(x->to - x->from) / canvas->em * places_per_em);
}

static bool can_be_drawn(const DwCurve *curve, const DwScale *x, size_t i)
{
    return isfinite(curve->y_values[i]) && isfinite(curve->x_values[i]) && !(x->logarithmic && curve->x_values[i] <= 0);
}

static void draw_points(const DwCanvas *canvas, const DwCurve *curve, const DwScale *x, const DwScale *y)
{
    cairo_t *cairo = canvas->cairo;
    bool open = false;
    cairo_new_path(cairo);
    for (size_t i = 0; i < curve->count; i++) {
        if (!can_be_drawn(curve, x, i)) {
            open = false;
            continue;
        }
        double across = dw_scale_place(x, curve->x_values[i]), up = dw_scale_place(y, curve->y_values[i]);
        if (!open)
            cairo_move_to(cairo, across, up);
        // With round caps, a line of no length is the dot of a point alone.
        cairo_line_to(cairo, across, up);
        open = true;
    }
    cairo_stroke(cairo);
}

static Place *gather(const DwCurve *curve, const DwScale *x, const DwScale *y, size_t count)
{
    Place *places = dw_memory_new(count, sizeof *places);
    for (size_t i = 0; i < count; i++)
        places[i] = (Place){INFINITY, -INFINITY, false};
    for (size_t i = 0; i < curve->count; i++) {
        if (!isfinite(curve->x_values[i]) || (x->logarithmic && curve->x_values[i] <= 0))
            continue;
        double share = (dw_scale_place(x, curve->x_values[i]) - x->from) / (x->to - x->from);
        Place *place = &places[(size_t)fmax(0, fmin((double)count - 1, share * (double)count))];
        if (!isfinite(curve->y_values[i])) {
            place->has_gap = true;
            continue;
        }
        double up = dw_scale_place(y, curve->y_values[i]);
        place->least = fmin(place->least, up);
        place->largest = fmax(place->largest, up);
    }
    return places;
}

// Fills and outlines the places FROM to TO (past the last), which have no gap between them.
static void draw_run(cairo_t *cairo, const Place *places, size_t from, size_t to, const DwScale *x, size_t count)
{
    double step = (x->to - x->from) / (double)count;
    cairo_new_path(cairo);
    for (size_t i = from; i < to; i++)
        if (places[i].least <= places[i].largest)
            cairo_line_to(cairo, x->from + ((double)i + 0.5) * step, places[i].least);
    for (size_t i = to; i-- > from;)
        if (places[i].least <= places[i].largest)
            cairo_line_to(cairo, x->from + ((double)i + 0.5) * step, places[i].largest);
    cairo_close_path(cairo);
    cairo_fill_preserve(cairo);
    cairo_stroke(cairo);
}

static void draw_envelope(const DwCanvas *canvas, const DwCurve *curve, const DwScale *x, const DwScale *y,
                          size_t count)
{
    Place *places = gather(curve, x, y, count);
    size_t from = 0;
    for (size_t i = 0; i < count; i++) {
        if (!places[i].has_gap && i + 1 < count)
            continue;
        draw_run(canvas->cairo, places, from, i + (places[i].has_gap ? 0 : 1), x, count);
        from = i + 1;
    }
    free(places);
}

void dw_curve_path_draw(const DwCanvas *canvas, const DwCurve *curve, const DwScale *x, const DwScale *y, DwInk ink,
                        bool as_received)
{
    cairo_t *cairo = canvas->cairo;
    size_t most = dw_curve_path_points_most(canvas, x);
    double em = canvas->em;
    cairo_save(cairo);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
    const double dashes[] = {0.5 * em, 0.45 * em};
    if (as_received)
        cairo_set_dash(cairo, dashes, 2, 0);
    if (curve->count > most) {
        dw_canvas_use_thin(canvas, ink, as_received ? 0.35 : 1);
        cairo_set_line_width(cairo, 0.06 * em);
        draw_envelope(canvas, curve, x, y, most);
    } else {
        dw_canvas_use_thin(canvas, ink, as_received ? 0.75 : 1);
        cairo_set_line_width(cairo, 0.11 * em);
        draw_points(canvas, curve, x, y);
    }
    cairo_restore(cairo);
}
