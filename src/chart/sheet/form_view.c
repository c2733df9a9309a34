// SPDX-License-Identifier: MIT
#include "chart/sheet/form_view.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/sheet/form_drawing.h"
#include "chart/draw/output.h"
#include "chart/draw/svg_words.h"

#include <cairo-svg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double degree = M_PI / 180;

// --- force: the stylus on a scale's pan, the reading between the least and the greatest -----

static void draw_rule(const DwFormDrawing *view, double y)
{
    const double low = dw_form_given(view, "force.low", "g"), high = dw_form_given(view, "force.high", "g"),
                 target = dw_form_given(view, "force.target", "g"), reading = dw_form_given(view, "force.reading", "g");
    double most = fmax(fmax(isfinite(high) ? high : 0, isfinite(reading) ? reading : 0), isfinite(target) ? target : 0);
    most = most > 0 ? 1.3 * most : 4;
    double em = view->canvas->em, left = view->box.x + 2 * em, wide = view->box.width - 4 * em, scale = wide / most;
    dw_form_line(view, (DwSpot){left, y}, (DwSpot){left + wide, y}, false, DW_INK_LINE);
    if (isfinite(low) && isfinite(high) && high > low)
        dw_dimension_stroke(view->canvas, (DwSpot){left + low * scale, y}, (DwSpot){left + high * scale, y}, 0.5 * em,
                            false, DW_INK_LINE);
    if (isfinite(low))
        dw_form_label(view, left + low * scale, y + 1.5 * em, 1, DW_INK_QUIET, dw_form_value("least", low, "g"));
    if (isfinite(high))
        dw_form_label(view, left + high * scale, y + 1.5 * em, 0, DW_INK_QUIET, dw_form_value("most", high, "g"));
    if (isfinite(target)) {
        dw_form_circle(view, (DwSpot){left + target * scale, y}, 0.45 * em, DW_INK_ACCENT);
        dw_form_label(view, left + target * scale, y + 2.8 * em, 0.5, DW_INK_ACCENT,
                      dw_form_value("wanted", target, "g"));
    }
    if (isfinite(reading)) {
        dw_dimension_arrow(view->canvas, (DwSpot){left + reading * scale, y - 2 * em},
                           (DwSpot){left + reading * scale, y - 0.3 * em}, DW_INK_TEXT);
        dw_form_label(view, left + reading * scale, y - 2.6 * em, 0.5, DW_INK_TEXT,
                      dw_form_value("reads", reading, "g"));
    }
}

static void draw_force(const DwFormDrawing *view)
{
    double em = view->canvas->em, floor_y = view->box.y + 0.46 * view->box.height,
           left = view->box.x + 0.12 * view->box.width, pan = left + 0.16 * view->box.width,
           pivot = view->box.x + 0.85 * view->box.width;
    double lift = dw_form_given(view, "force.pan_height", "mm"),
           step = isfinite(lift) ? fmax(fmin(lift, 12), -12) * 0.16 * em : 0;
    double pan_y = floor_y - 1.4 * em - step;
    dw_form_rectangle(view, (DwBox){left, pan_y, 0.3 * view->box.width, floor_y - pan_y}, DW_INK_QUIET);
    dw_form_line(view, (DwSpot){pan + 0.18 * view->box.width, floor_y - 1.4 * em},
                 (DwSpot){pivot - 2 * em, floor_y - 1.4 * em}, true, DW_INK_LINE);
    dw_form_label(view, pivot - 6 * em, floor_y - 0.6 * em, 0.5, DW_INK_QUIET, dw_say("a record's top"));
    dw_form_line(view, (DwSpot){pan, pan_y}, (DwSpot){pan, pan_y - 1 * em}, false, DW_INK_TEXT);
    dw_form_rectangle(view, (DwBox){pan - 0.8 * em, pan_y - 2.4 * em, 2.6 * em, 1.4 * em}, DW_INK_TEXT);
    dw_dimension_stroke(view->canvas, (DwSpot){pan, pan_y - 2.6 * em}, (DwSpot){pivot, floor_y - 4.4 * em}, 0.3 * em,
                        false, DW_INK_LINE);
    dw_form_circle(view, (DwSpot){pivot, floor_y - 4.4 * em}, 0.6 * em, DW_INK_TEXT);
    dw_form_line(view, (DwSpot){pivot, floor_y - 3.8 * em}, (DwSpot){pivot, floor_y}, false, DW_INK_TEXT);
    dw_form_label(view, left + 0.15 * view->box.width, floor_y + 0.9 * em, 0.5, DW_INK_TEXT,
                  isfinite(lift) ? dw_form_value("pan, higher by", lift, "mm") : dw_say("pan"));
    draw_rule(view, view->box.y + view->box.height - 4 * em);
}

// --- azimuth: the cartridge from the front, leaning as it was set ---------------------------

static void draw_azimuth(const DwFormDrawing *view)
{
    enum { LARGER = 3 }; // the lean is drawn so many times, so that it is seen
    double tilt = dw_form_given(view, "azimuth.tilt", "deg"), width = dw_form_given(view, "azimuth.width", "mm"),
           em = view->canvas->em;
    double floor_y = view->box.y + 0.82 * view->box.height, middle = view->box.x + 0.5 * view->box.width;
    double lean = isfinite(tilt) ? fmax(fmin(tilt, 12), -12) * LARGER * degree : 0, half = 0.13 * view->box.width,
           high = 0.42 * view->box.height, foot = 0.12 * view->box.height;
    cairo_t *cairo = view->canvas->cairo;
    dw_form_line(view, (DwSpot){view->box.x + em, floor_y}, (DwSpot){view->box.x + view->box.width - em, floor_y},
                 false, DW_INK_LINE);
    dw_form_line(view, (DwSpot){middle, floor_y}, (DwSpot){middle, view->box.y + 2 * em}, true, DW_INK_QUIET);
    cairo_save(cairo);
    cairo_translate(cairo, middle, floor_y);
    cairo_rotate(cairo, lean);
    dw_form_rectangle(view, (DwBox){-half, -foot - high, 2 * half, high}, DW_INK_TEXT);
    dw_form_line(view, (DwSpot){0, -foot}, (DwSpot){0, 0}, false, DW_INK_TEXT);
    dw_form_line(view, (DwSpot){-1.35 * half, -foot - high}, (DwSpot){1.35 * half, -foot - high}, false, DW_INK_TEXT);
    dw_form_measure(view, (DwSpot){-half, -foot - high}, (DwSpot){half, -foot - high}, -1.4 * em,
                    dw_form_value("seat", width, "mm"));
    cairo_restore(cairo);
    dw_form_label(view, middle + 2.2 * half, floor_y - 0.5 * high, 0, DW_INK_ACCENT,
                  dw_form_value("tilt", tilt, "deg"));
    dw_form_label(view, view->box.x + em, floor_y + em, 0, DW_INK_QUIET,
                  dw_say("record, from the front of the headshell"));
    dw_form_label(view, view->box.x + em, view->box.y + em, 0, DW_INK_QUIET, dw_say("left: the disc's middle"));
    dw_form_label(view, view->box.x + view->box.width - em, view->box.y + em, 1, DW_INK_QUIET,
                  dw_say("right: its rim"));
}

// --- drive: motor, pulley, belt or idler, and the rim, to scale as far as they were given ----

static void draw_straights(const DwFormDrawing *view, DwSpot pulley, double small, DwSpot rim, double large)
{
    double away = rim.x - pulley.x, slope = acos(fmin((large - small) / away, 1));
    for (int side = -1; side <= 1; side += 2) {
        double angle = M_PI - side * slope;
        dw_form_line(view, dw_spot_at(pulley, angle, small), dw_spot_at(rim, angle, large), false, DW_INK_ACCENT);
    }
}

static void draw_drive(const DwFormDrawing *view)
{
    const char *kind = dw_inputs_word(view->inputs, "drive.kind");
    double pulley = dw_form_given(view, "drive.pulley_diameter", "mm"),
           rim = dw_form_given(view, "drive.rim_diameter", "mm"),
           apart = dw_form_given(view, "drive.centre_distance", "mm"), speed = dw_form_given(view, "deck.speed", "rpm"),
           em = view->canvas->em;
    bool direct = strcmp(kind, "direct") == 0, idler = strcmp(kind, "idler") == 0;
    double large = isfinite(rim) ? rim / 2 : 100, small = isfinite(pulley) ? pulley / 2 : 8,
           away = direct ? 0 : fmax(isfinite(apart) ? apart : large + 6 * small, large + small * 1.1);
    double scale = fmin((view->box.width - 4 * em) / (small + away + large), (view->box.height - 6 * em) / (2 * large));
    DwSpot centre = {view->box.x + 2 * em + (direct ? (view->box.width - 4 * em) / 2 : (small + away) * scale),
                     view->box.y + 2 * em + large * scale},
           motor = {centre.x - away * scale, centre.y};
    dw_form_circle(view, centre, large * scale, DW_INK_TEXT);
    dw_form_circle(view, centre, 0.2 * em, DW_INK_TEXT);
    dw_form_measure(view, (DwSpot){centre.x - large * scale, centre.y}, (DwSpot){centre.x + large * scale, centre.y}, 0,
                    dw_form_value(direct ? "platter" : "driven rim", rim, "mm"));
    dw_form_label(view, centre.x, centre.y + 0.55 * large * scale, 0.5, DW_INK_QUIET,
                  dw_form_value("turns at", speed, "rpm"));
    if (direct)
        return;
    dw_form_circle(view, motor, fmax(small * scale, 0.3 * em), DW_INK_TEXT);
    if (idler)
        dw_form_circle(view, (DwSpot){(motor.x + small * scale + centre.x - large * scale) / 2, centre.y},
                       fmax((away - large - small) * scale / 2, 0.2 * em), DW_INK_ACCENT);
    else
        draw_straights(view, motor, small * scale, centre, large * scale);
    double below = centre.y + large * scale + 1.2 * em;
    dw_form_measure(view, (DwSpot){motor.x, below}, (DwSpot){centre.x, below}, 0,
                    dw_form_value("centre to centre", apart, "mm"));
    dw_form_label(view, view->box.x + em, view->box.y + em, 0, DW_INK_TEXT, dw_form_value("pulley", pulley, "mm"));
}

// --- speed: where on the record the tone stands ----------------------------------------------

static void draw_speed(const DwFormDrawing *view)
{
    // Millimetres: the outermost and the innermost modulated groove, IEC 60098 as commonly derived.
    const double most = 146.3, least = 60.3;
    double radius = dw_form_given(view, "record.radius", "mm"), tone = dw_form_given(view, "record.tone", "Hz"),
           speed = dw_form_given(view, "deck.speed", "rpm"), em = view->canvas->em;
    double scale = (view->box.height - 3 * em) / (2 * most);
    DwSpot centre = {view->box.x + 1.5 * em + most * scale, view->box.y + 0.5 * view->box.height};
    dw_form_circle(view, centre, most * scale, DW_INK_TEXT);
    dw_form_circle(view, centre, least * scale, DW_INK_LINE);
    dw_form_circle(view, centre, 0.2 * em, DW_INK_TEXT);
    double beside = centre.x + most * scale + 2 * em;
    if (isfinite(radius) && radius > 0) {
        dw_form_circle(view, centre, fmin(radius, most) * scale, DW_INK_ACCENT);
        dw_form_measure(view, centre, dw_spot_at(centre, -0.25 * M_PI, fmin(radius, most) * scale), 0,
                        dw_form_value("band", radius, "mm"));
    }
    dw_form_label(view, beside, centre.y - 2 * em, 0, DW_INK_TEXT, dw_form_value("tone", tone, "Hz"));
    dw_form_label(view, beside, centre.y, 0, DW_INK_TEXT, dw_form_value("turns at", speed, "rpm"));
    dw_form_label(view, beside, centre.y + 2 * em, 0, DW_INK_QUIET,
                  isfinite(radius) ? dw_say("the band that is played") : dw_form_value("band's radius", radius, "mm"));
}

#define TAKE_WORDS "The recording as a strip of its seconds, with the bands that were named."

static const struct {
    const char *procedure, *title, *words;
    double height, narrow; // of a width of 1, and where that is too narrow for what stands side by side; 0: the same
    void (*draw)(const DwFormDrawing *view);
} views[] = {
    {"force", "The stylus on the scale",
     "The stylus on the pan of a scale, and its reading beside what is allowed and wanted.", 0.5, 0, draw_force},
    {"azimuth", "The cartridge from the front",
     "The cartridge from the front on its record, its lean drawn three times as large.", 0.5, 0, draw_azimuth},
    {"drive", "The drive from above",
     "Pulley, belt or idler, and driven rim from above, to scale as far as they are given.", 0.55, 0, draw_drive},
    {"bearing", "The bearing cut open",
     "Platter, spindle and sleeve of the bearing cut open, with what is measured of them.", 0.55, 0,
     dw_form_draw_bearing},
    {"resonance", "The arm on its spring", "The moving mass of arm and cartridge on the spring of the cantilever.",
     0.45, 0, dw_form_draw_resonance},
    {"load", "What loads the cartridge", "The cartridge, its wires and lead, and the input that it works into.", 0.4, 0,
     dw_form_draw_load},
    {"strobe", "The disc under its lamp", "The ring of bars, and how often the lamp flashes.", 0.45, 0,
     dw_form_draw_strobe},
    {"reseat", "The record, turned on the platter",
     "The record as it lay first, and turned by an angle under the same platter.", 0.4, 0, dw_form_draw_reseat},
    {"startup", "From rest to speed", "The speed as it rises, and within what it counts as reached.", 0.4, 0,
     dw_form_draw_startup},
    {"ratio", "The two speeds", "The two speeds beside each other.", 0.35, 0, dw_form_draw_ratio},
    {"channels", "The bands in the recording", TAKE_WORDS, 0.35, 0, dw_form_draw_take},
    {"noise", "The silence and its reference in the recording", TAKE_WORDS, 0.35, 0, dw_form_draw_take},
    {"response", "The sweep in the recording", TAKE_WORDS, 0.35, 0, dw_form_draw_take},
    {"lowsweep", "The low sweep in the recording", TAKE_WORDS, 0.35, 0, dw_form_draw_take},
    {"tracking", "The steps in the recording", "The steps of the record by their level, each where it begins.", 0.4, 0,
     dw_form_draw_steps},
    {"intermod", "The pair of tones in the recording", TAKE_WORDS, 0.35, 0, dw_form_draw_take},
    {"speed", "The band on the record", "The record with the band that is played, its tone and the speed.", 0.4, 0,
     draw_speed},
    {"belt", "The belt on the card",
     "The belt on the card with marks from above, to scale, and from the side under the telephone.", 0.52, 0.72,
     dw_form_draw_belt},
    {"film", "The disc under the telephone",
     "The disc with marks on the platter from above, and from the side under a telephone on its stand.", 0.5, 0.8,
     dw_form_draw_film},
    {"pose", "The arm over its paper",
     "The arm over the paper with marks and the telephone's two places; the points to touch, those that are touched "
     "filled.",
     0.62, 1.28, dw_form_draw_pose},
    {"pressing", "Who plays whom",
     "Each recording as a line from the copy of the record that it is of to the deck that played it.", 0.45, 0.7,
     dw_form_draw_pressing},
    {"side", "The bands of the side", "The bands of the record's plan along the side's time.", 0.3, 0.62,
     dw_form_draw_side},
    {"held", "Held notes, turn after turn",
     "Held notes along the time, all bent alike by what comes once a turn, with the turns below.", 0.45, 0.68,
     dw_form_draw_held},
    {"twin", "One groove, two recordings",
     "Two recordings of one groove, the same moments of the music joined, with the turns of each.", 0.42, 0.66,
     dw_form_draw_twin},
    {"riaa", "The curve and what was measured",
     "The replay curve with its three time constants, the chosen frequencies and the measured levels on it.", 0.5, 0.72,
     dw_form_draw_riaa},
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

bool dw_form_view_wants_sheet(const char *procedure)
{
    return strcmp(procedure, "riaa") == 0;
}

bool dw_form_view_wants_plan(const char *procedure)
{
    return strcmp(procedure, "side") == 0;
}

DwStatus dw_form_view_render(const char *procedure, const DwFormSaid *said, double width, DwTheme theme, char **bytes,
                             size_t *length, DwMessage *message)
{
    const double em = 16, narrow = 40; // as the page's own text; in em
    int index = find(procedure);
    double share = width < narrow * em && views[index].narrow > 0 ? views[index].narrow : views[index].height,
           height = ceil(fmax(share * width, 18 * em));
    DwOutput output = {0};
    DwText told = {0};
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(dw_output_keep, &output, width, height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = theme, .em = em};
    dw_canvas_use(&canvas, DW_INK_GROUND);
    cairo_paint(canvas.cairo);
    views[index].draw(&(DwFormDrawing){&canvas, said->inputs, said, {0, 0, width, height}, &told});
    cairo_destroy(canvas.cairo);
    cairo_surface_finish(surface);
    cairo_status_t drawn = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (drawn == CAIRO_STATUS_SUCCESS) {
        char *words = dw_text_format("%s %s.", dw_said(views[index].words), told.length ? told.chars : "");
        *bytes = dw_svg_words_insert(output.bytes, dw_said(views[index].title), words);
        *length = strlen(*bytes);
        free(words);
    }
    free(output.bytes);
    dw_text_clear(&told);
    return drawn == CAIRO_STATUS_SUCCESS
               ? DW_OK
               : dw_fail(message, DW_FAILED, "The picture could not be drawn: %s.", cairo_status_to_string(drawn));
}
