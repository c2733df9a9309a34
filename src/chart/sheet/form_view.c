// SPDX-License-Identifier: MIT
#include "chart/sheet/form_view.h"

#include "base/text.h"
#include "chart/draw/dimension.h"
#include "chart/draw/number.h"
#include "chart/draw/output.h"
#include "chart/draw/svg_words.h"

#include <cairo-svg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double degree = M_PI / 180;

typedef struct {
    const DwCanvas *canvas;
    const DwInputs *inputs;
    DwBox box;
} View;

// KEY in UNIT as it was given (of what repeats the last), NAN when it was not.
static double given(const View *view, const char *key, const char *unit)
{
    size_t count = dw_inputs_count(view->inputs, key);
    return count ? dw_inputs_in_at(view->inputs, key, count - 1, unit) : NAN;
}

// "rim 150 mm", or "rim ?" while nobody has said it. The caller frees it.
static char *with_value(const char *name, double value, const char *unit)
{
    if (!isfinite(value))
        return dw_text_format("%s ?", name);
    return dw_text_format("%s %s%s%s", name, dw_number_print(value, dw_number_digits(value), false).text,
                          dw_number_space(unit), dw_number_unit(unit));
}

static void label(const View *view, double x, double y, double align, DwInk ink, char *text)
{
    dw_dimension_label(view->canvas, (DwSpot){x, y}, 0, align, ink, text);
    free(text);
}

static void measure(const View *view, DwSpot from, DwSpot to, double aside, char *text)
{
    dw_dimension_draw(view->canvas, from, to, aside, text);
    free(text);
}

static void circle(const View *view, DwSpot centre, double radius, DwInk ink)
{
    cairo_new_path(view->canvas->cairo);
    cairo_arc(view->canvas->cairo, centre.x, centre.y, radius, 0, 2 * M_PI);
    dw_canvas_use(view->canvas, ink);
    cairo_set_line_width(view->canvas->cairo, 0.12 * view->canvas->em);
    cairo_stroke(view->canvas->cairo);
}

static void rectangle(const View *view, DwBox box, DwInk ink)
{
    cairo_rectangle(view->canvas->cairo, box.x, box.y, box.width, box.height);
    dw_canvas_use(view->canvas, ink);
    cairo_set_line_width(view->canvas->cairo, 0.12 * view->canvas->em);
    cairo_stroke(view->canvas->cairo);
}

static void line(const View *view, DwSpot from, DwSpot to, bool dashed, DwInk ink)
{
    dw_dimension_stroke(view->canvas, from, to, 0.12 * view->canvas->em, dashed, ink);
}

// --- force: the stylus on a scale's pan, the reading between the least and the greatest -----

static void draw_rule(const View *view, double y)
{
    const double low = given(view, "force.low", "g"), high = given(view, "force.high", "g"),
                 target = given(view, "force.target", "g"), reading = given(view, "force.reading", "g");
    double most = fmax(fmax(isfinite(high) ? high : 0, isfinite(reading) ? reading : 0), isfinite(target) ? target : 0);
    most = most > 0 ? 1.3 * most : 4;
    double em = view->canvas->em, left = view->box.x + 2 * em, wide = view->box.width - 4 * em, scale = wide / most;
    line(view, (DwSpot){left, y}, (DwSpot){left + wide, y}, false, DW_INK_LINE);
    if (isfinite(low) && isfinite(high) && high > low)
        dw_dimension_stroke(view->canvas, (DwSpot){left + low * scale, y}, (DwSpot){left + high * scale, y}, 0.5 * em,
                            false, DW_INK_LINE);
    if (isfinite(low))
        label(view, left + low * scale, y + 1.5 * em, 1, DW_INK_QUIET, with_value("least", low, "g"));
    if (isfinite(high))
        label(view, left + high * scale, y + 1.5 * em, 0, DW_INK_QUIET, with_value("most", high, "g"));
    if (isfinite(target)) {
        circle(view, (DwSpot){left + target * scale, y}, 0.45 * em, DW_INK_ACCENT);
        label(view, left + target * scale, y + 2.8 * em, 0.5, DW_INK_ACCENT, with_value("wanted", target, "g"));
    }
    if (isfinite(reading)) {
        dw_dimension_arrow(view->canvas, (DwSpot){left + reading * scale, y - 2 * em},
                           (DwSpot){left + reading * scale, y - 0.3 * em}, DW_INK_TEXT);
        label(view, left + reading * scale, y - 2.6 * em, 0.5, DW_INK_TEXT, with_value("reads", reading, "g"));
    }
}

static void draw_force(const View *view)
{
    double em = view->canvas->em, floor_y = view->box.y + 0.46 * view->box.height,
           left = view->box.x + 0.12 * view->box.width, pan = left + 0.16 * view->box.width,
           pivot = view->box.x + 0.85 * view->box.width;
    double lift = given(view, "force.pan_height", "mm"),
           step = isfinite(lift) ? fmax(fmin(lift, 12), -12) * 0.16 * em : 0;
    double pan_y = floor_y - 1.4 * em - step;
    rectangle(view, (DwBox){left, pan_y, 0.3 * view->box.width, floor_y - pan_y}, DW_INK_QUIET);
    line(view, (DwSpot){pan + 0.18 * view->box.width, floor_y - 1.4 * em}, (DwSpot){pivot - 2 * em, floor_y - 1.4 * em},
         true, DW_INK_LINE);
    label(view, pivot - 6 * em, floor_y - 0.6 * em, 0.5, DW_INK_QUIET, dw_text_format("a record's top"));
    line(view, (DwSpot){pan, pan_y}, (DwSpot){pan, pan_y - 1 * em}, false, DW_INK_TEXT);
    rectangle(view, (DwBox){pan - 0.8 * em, pan_y - 2.4 * em, 2.6 * em, 1.4 * em}, DW_INK_TEXT);
    dw_dimension_stroke(view->canvas, (DwSpot){pan, pan_y - 2.6 * em}, (DwSpot){pivot, floor_y - 4.4 * em}, 0.3 * em,
                        false, DW_INK_LINE);
    circle(view, (DwSpot){pivot, floor_y - 4.4 * em}, 0.6 * em, DW_INK_TEXT);
    line(view, (DwSpot){pivot, floor_y - 3.8 * em}, (DwSpot){pivot, floor_y}, false, DW_INK_TEXT);
    label(view, left + 0.15 * view->box.width, floor_y + 0.9 * em, 0.5, DW_INK_TEXT,
          isfinite(lift) ? with_value("pan, higher by", lift, "mm") : dw_text_format("pan"));
    draw_rule(view, view->box.y + view->box.height - 4 * em);
}

// --- azimuth: the cartridge from the front, leaning as it was set ---------------------------

static void draw_azimuth(const View *view)
{
    enum { LARGER = 3 }; // the lean is drawn so many times, so that it is seen
    double tilt = given(view, "azimuth.tilt", "deg"), width = given(view, "azimuth.width", "mm"), em = view->canvas->em;
    double floor_y = view->box.y + 0.82 * view->box.height, middle = view->box.x + 0.5 * view->box.width;
    double lean = isfinite(tilt) ? fmax(fmin(tilt, 12), -12) * LARGER * degree : 0, half = 0.13 * view->box.width,
           high = 0.42 * view->box.height, foot = 0.12 * view->box.height;
    cairo_t *cairo = view->canvas->cairo;
    line(view, (DwSpot){view->box.x + em, floor_y}, (DwSpot){view->box.x + view->box.width - em, floor_y}, false,
         DW_INK_LINE);
    line(view, (DwSpot){middle, floor_y}, (DwSpot){middle, view->box.y + 2 * em}, true, DW_INK_QUIET);
    cairo_save(cairo);
    cairo_translate(cairo, middle, floor_y);
    cairo_rotate(cairo, lean);
    rectangle(view, (DwBox){-half, -foot - high, 2 * half, high}, DW_INK_TEXT);
    line(view, (DwSpot){0, -foot}, (DwSpot){0, 0}, false, DW_INK_TEXT);
    line(view, (DwSpot){-1.35 * half, -foot - high}, (DwSpot){1.35 * half, -foot - high}, false, DW_INK_TEXT);
    measure(view, (DwSpot){-half, -foot - high}, (DwSpot){half, -foot - high}, -1.4 * em,
            with_value("seat", width, "mm"));
    cairo_restore(cairo);
    label(view, middle + 2.2 * half, floor_y - 0.5 * high, 0, DW_INK_ACCENT, with_value("tilt", tilt, "deg"));
    label(view, view->box.x + em, floor_y + em, 0, DW_INK_QUIET,
          dw_text_format("record, from the front of the headshell"));
    label(view, view->box.x + em, view->box.y + em, 0, DW_INK_QUIET, dw_text_format("left: the disc's middle"));
    label(view, view->box.x + view->box.width - em, view->box.y + em, 1, DW_INK_QUIET,
          dw_text_format("right: its rim"));
}

// --- drive: motor, pulley, belt or idler, and the rim, to scale as far as they were given ----

static void draw_straights(const View *view, DwSpot pulley, double small, DwSpot rim, double large)
{
    double away = rim.x - pulley.x, slope = acos(fmin((large - small) / away, 1));
    for (int side = -1; side <= 1; side += 2) {
        double angle = M_PI - side * slope;
        line(view, dw_spot_at(pulley, angle, small), dw_spot_at(rim, angle, large), false, DW_INK_ACCENT);
    }
}

static void draw_drive(const View *view)
{
    const char *kind = dw_inputs_word(view->inputs, "drive.kind");
    double pulley = given(view, "drive.pulley_diameter", "mm"), rim = given(view, "drive.rim_diameter", "mm"),
           apart = given(view, "drive.centre_distance", "mm"), speed = given(view, "deck.speed", "rpm"),
           em = view->canvas->em;
    bool direct = strcmp(kind, "direct") == 0, idler = strcmp(kind, "idler") == 0;
    double large = isfinite(rim) ? rim / 2 : 100, small = isfinite(pulley) ? pulley / 2 : 8,
           away = direct ? 0 : fmax(isfinite(apart) ? apart : large + 6 * small, large + small * 1.1);
    double scale = fmin((view->box.width - 4 * em) / (small + away + large), (view->box.height - 6 * em) / (2 * large));
    DwSpot centre = {view->box.x + 2 * em + (direct ? (view->box.width - 4 * em) / 2 : (small + away) * scale),
                     view->box.y + 2 * em + large * scale},
           motor = {centre.x - away * scale, centre.y};
    circle(view, centre, large * scale, DW_INK_TEXT);
    circle(view, centre, 0.2 * em, DW_INK_TEXT);
    measure(view, (DwSpot){centre.x - large * scale, centre.y}, (DwSpot){centre.x + large * scale, centre.y}, 0,
            with_value(direct ? "platter" : "driven rim", rim, "mm"));
    label(view, centre.x, centre.y + 0.55 * large * scale, 0.5, DW_INK_QUIET, with_value("turns at", speed, "rpm"));
    if (direct)
        return;
    circle(view, motor, fmax(small * scale, 0.3 * em), DW_INK_TEXT);
    if (idler)
        circle(view, (DwSpot){(motor.x + small * scale + centre.x - large * scale) / 2, centre.y},
               fmax((away - large - small) * scale / 2, 0.2 * em), DW_INK_ACCENT);
    else
        draw_straights(view, motor, small * scale, centre, large * scale);
    double below = centre.y + large * scale + 1.2 * em;
    measure(view, (DwSpot){motor.x, below}, (DwSpot){centre.x, below}, 0, with_value("centre to centre", apart, "mm"));
    label(view, view->box.x + em, view->box.y + em, 0, DW_INK_TEXT, with_value("pulley", pulley, "mm"));
}

// --- speed: where on the record the tone stands ----------------------------------------------

static void draw_speed(const View *view)
{
    // Millimetres: the outermost and the innermost modulated groove, IEC 60098 as commonly derived.
    const double most = 146.3, least = 60.3;
    double radius = given(view, "record.radius", "mm"), tone = given(view, "record.tone", "Hz"),
           speed = given(view, "deck.speed", "rpm"), em = view->canvas->em;
    double scale = (view->box.height - 3 * em) / (2 * most);
    DwSpot centre = {view->box.x + 1.5 * em + most * scale, view->box.y + 0.5 * view->box.height};
    circle(view, centre, most * scale, DW_INK_TEXT);
    circle(view, centre, least * scale, DW_INK_LINE);
    circle(view, centre, 0.2 * em, DW_INK_TEXT);
    double beside = centre.x + most * scale + 2 * em;
    if (isfinite(radius) && radius > 0) {
        circle(view, centre, fmin(radius, most) * scale, DW_INK_ACCENT);
        measure(view, centre, dw_spot_at(centre, -0.25 * M_PI, fmin(radius, most) * scale), 0,
                with_value("band", radius, "mm"));
    }
    label(view, beside, centre.y - 2 * em, 0, DW_INK_TEXT, with_value("tone", tone, "Hz"));
    label(view, beside, centre.y, 0, DW_INK_TEXT, with_value("turns at", speed, "rpm"));
    label(view, beside, centre.y + 2 * em, 0, DW_INK_QUIET,
          isfinite(radius) ? dw_text_format("the band that is played") : with_value("band's radius", radius, "mm"));
}

static const struct {
    const char *procedure, *title, *words;
    double height; // of a width of 1
    void (*draw)(const View *view);
} views[] = {
    {"force", "The stylus on the scale",
     "The stylus on the pan of a scale, and its reading beside what is allowed and wanted.", 0.5, draw_force},
    {"azimuth", "The cartridge from the front",
     "The cartridge from the front on its record, its lean drawn three times as large.", 0.5, draw_azimuth},
    {"drive", "The drive from above",
     "Pulley, belt or idler, and driven rim from above, to scale as far as they are given.", 0.55, draw_drive},
    {"speed", "The band on the record", "The record with the band that is played, its tone and the speed.", 0.4,
     draw_speed},
};

static int find(const char *procedure)
{
    for (size_t i = 0; i < sizeof views / sizeof *views; i++)
        if (strcmp(views[i].procedure, procedure) == 0)
            return (int)i;
    return -1;
}

bool dw_form_view_fits(const char *procedure)
{
    return find(procedure) >= 0;
}

DwStatus dw_form_view_render(const char *procedure, const DwInputs *inputs, double width, DwTheme theme, char **bytes,
                             size_t *length, DwMessage *message)
{
    const double em = 16; // as the page's own text
    int index = find(procedure);
    double height = ceil(fmax(views[index].height * width, 18 * em));
    DwOutput output = {0};
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(dw_output_keep, &output, width, height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = theme, .em = em};
    dw_canvas_use(&canvas, DW_INK_GROUND);
    cairo_paint(canvas.cairo);
    views[index].draw(&(View){&canvas, inputs, {0, 0, width, height}});
    cairo_destroy(canvas.cairo);
    cairo_surface_finish(surface);
    cairo_status_t drawn = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (drawn == CAIRO_STATUS_SUCCESS) {
        *bytes = dw_svg_words_insert(output.bytes, views[index].title, views[index].words);
        *length = strlen(*bytes);
    }
    free(output.bytes);
    return drawn == CAIRO_STATUS_SUCCESS
               ? DW_OK
               : dw_fail(message, DW_FAILED, "The picture could not be drawn: %s.", cairo_status_to_string(drawn));
}
