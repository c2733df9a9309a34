// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/paper_marks.h"
#include "base/text.h"
#include "base/tongue.h"

#include <math.h>
#include <string.h>

static void fill(const DwFormDrawing *view, DwBox box, DwInk ink)
{
    dw_canvas_use(view->canvas, ink);
    cairo_rectangle(view->canvas->cairo, box.x, box.y, box.width, box.height);
    cairo_fill(view->canvas->cairo);
}

// A mark as it is seen from far: black, with a white cell that says which way up it is.
static void draw_mark(const DwFormDrawing *view, DwSpot origin, double scale, DwPaperMark mark)
{
    cairo_t *cairo = view->canvas->cairo;
    double size = mark.size_mm * scale;
    cairo_save(cairo);
    cairo_translate(cairo, origin.x + mark.x_mm * scale, origin.y + mark.y_mm * scale);
    cairo_rotate(cairo, mark.turn);
    fill(view, (DwBox){-size / 2, -size / 2, size, size}, DW_INK_TEXT);
    fill(view, (DwBox){-size / 4, -size / 4, size / 4, size / 4}, DW_INK_GROUND);
    fill(view, (DwBox){0, 0, size / 4, size / 4}, DW_INK_GROUND);
    cairo_restore(cairo);
}

static void draw_marks(const DwFormDrawing *view, DwSpot origin, double scale, DwMarkedPaper paper)
{
    for (size_t i = 0; i < dw_paper_marks_count(paper); i++)
        draw_mark(view, origin, scale, dw_paper_mark(paper, i));
}

void dw_form_telephone(const DwFormDrawing *view, DwSpot spot, double angle)
{
    double em = view->canvas->em;
    cairo_t *cairo = view->canvas->cairo;
    cairo_save(cairo);
    cairo_translate(cairo, spot.x, spot.y);
    cairo_rotate(cairo, angle - M_PI / 2);
    fill(view, (DwBox){-1.7 * em, -0.35 * em, 3.4 * em, 0.7 * em}, DW_INK_GROUND);
    dw_form_rectangle(view, (DwBox){-1.7 * em, -0.35 * em, 3.4 * em, 0.7 * em}, DW_INK_TEXT);
    fill(view, (DwBox){-0.35 * em, 0.35 * em, 0.7 * em, 0.25 * em}, DW_INK_TEXT);
    cairo_restore(cairo);
}

// --- belt: on the card from above, and from the side --------------------------------------------

// The room between the marks of PAPER [mm]: across, and along over across.
static double room_mm(DwMarkedPaper paper, double *along)
{
    enum { CORNER = 0 };
    const double clear = 6; // from a mark to the belt
    DwPaperMark corner = dw_paper_mark(paper, CORNER);
    double across = 2 * (fabs(corner.x_mm) - corner.size_mm / 2 - clear);
    *along = 2 * (fabs(corner.y_mm) - corner.size_mm / 2 - clear) / across;
    return across;
}

// How wide a belt of LENGTH lies when it is laid in the shape of that room [mm].
static double width_mm(double length, double along)
{
    return length / (M_PI + 2 * (along - 1));
}

static void draw_round(const DwFormDrawing *view, DwSpot centre, double across, double high, double width, DwInk ink)
{
    cairo_t *cairo = view->canvas->cairo;
    double radius = across / 2, straight = high / 2 - radius;
    cairo_new_path(cairo);
    cairo_arc(cairo, centre.x, centre.y - straight, radius, M_PI, 2 * M_PI);
    cairo_arc(cairo, centre.x, centre.y + straight, radius, 0, M_PI);
    cairo_close_path(cairo);
    dw_canvas_use(view->canvas, ink);
    cairo_set_line_width(cairo, width);
    cairo_stroke(cairo);
}

static void draw_card(const DwFormDrawing *view, DwBox box, double length)
{
    const double usual_mm = 400;
    double em = view->canvas->em, along, half_width, half_height;
    DwMarkedPaper paper = DW_MARKED_CARD;
    double room = room_mm(paper, &along), stated = isfinite(length) && length > 0 ? length : usual_mm;
    bool large = width_mm(stated, along) > room;
    if (large) {
        paper = DW_MARKED_CARD_LARGE;
        room = room_mm(paper, &along);
    }
    dw_paper_card_reach(paper, &half_width, &half_height);
    double scale = fmin(box.width / (2 * half_width), box.height / (2 * half_height)),
           across = fmax(fmin(width_mm(stated, along), room), 20) * scale, wall = 0.5 * em;
    DwSpot middle = {box.x + box.width / 2, box.y + box.height / 2};
    dw_form_rectangle(view,
                      (DwBox){middle.x - half_width * scale, middle.y - half_height * scale, 2 * half_width * scale,
                              2 * half_height * scale},
                      DW_INK_LINE);
    draw_marks(view, middle, scale, paper);
    double high = across * along;
    draw_round(view, middle, across + wall, high + wall, wall, DW_INK_LINE);
    draw_round(view, middle, across, high, 0.14 * em, DW_INK_ACCENT);
    DwSpot inside = {middle.x + across / 2, middle.y + 0.22 * high};
    dw_dimension_arrow(view->canvas, (DwSpot){inside.x - 1.3 * em, inside.y}, inside, DW_INK_QUIET);
    dw_dimension_arrow(view->canvas, (DwSpot){inside.x + wall + 1.3 * em, inside.y},
                       (DwSpot){inside.x + wall, inside.y}, DW_INK_QUIET);
    dw_form_label(view, middle.x, middle.y - 1.2 * em, 0.5, DW_INK_ACCENT, dw_say("inner length"));
    dw_form_label(view, middle.x, middle.y + 0.2 * em, 0.5, DW_INK_TEXT, dw_form_value("when new", length, "mm"));
    dw_form_label(view, inside.x - 1.5 * em, inside.y, 1, DW_INK_QUIET, dw_say("width"));
}

// The card from its edge with both sides of the belt standing on it. Returned: the height that it took.
static double draw_edge(const DwFormDrawing *view, DwBox box, double height_mm)
{
    double em = view->canvas->em, floor_y = box.y + 8.2 * em, left = box.x + 0.5 * em, right = box.x + box.width - em,
           eye = (left + right) / 2;
    double high = isfinite(height_mm) ? fmin(fmax(0.45 * em * height_mm, 0.25 * em), 3.6 * em) : 1.2 * em;
    dw_form_telephone(view, (DwSpot){eye, box.y + 0.6 * em}, M_PI / 2);
    for (int side = 0; side < 2; side++)
        dw_form_line(view, (DwSpot){eye, box.y + 1.3 * em}, (DwSpot){side ? right : left, floor_y}, true, DW_INK_LINE);
    dw_dimension_stroke(view->canvas, (DwSpot){left, floor_y}, (DwSpot){right, floor_y}, 0.2 * em, false, DW_INK_TEXT);
    double at[] = {left + 0.07 * (right - left), right - 0.07 * (right - left)};
    for (int side = 0; side < 2; side++)
        fill(view, (DwBox){at[side] - 0.3 * em, floor_y - high, 0.6 * em, high}, DW_INK_ACCENT);
    dw_form_measure(view, (DwSpot){at[0] + 0.3 * em, floor_y - high}, (DwSpot){at[0] + 0.3 * em, floor_y}, -0.9 * em,
                    dw_text_format(" "));
    dw_form_label(view, at[0] + 2.2 * em, floor_y - 1 * em, 0, DW_INK_TEXT, dw_form_value("stands", height_mm, "mm"));
    return 8.9 * em;
}

void dw_form_draw_belt(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, length = dw_form_given(view, "drive.belt_length", "mm"),
           print = dw_form_given(view, "print.scale", "%"), along;
    bool narrow = dw_form_is_narrow(view);
    double share = narrow ? 0.5 : 0.46;
    draw_card(view, (DwBox){box->x + em, box->y + em, share * box->width - em, box->height - 2 * em}, length);
    DwBox beside = {box->x + share * box->width + (narrow ? 0.8 : 2) * em, box->y + em,
                    (1 - share) * box->width - (narrow ? 1.4 : 3) * em, box->height - 2 * em};
    double y = beside.y + draw_edge(view, beside, dw_form_given(view, "belt.thickness", "mm"));
    y += dw_form_words(view, beside.x, y, beside.width, DW_INK_QUIET,
                       dw_say("From above, the camera over the card's middle, the belt without crossing itself.")) +
         0.9 * em;
    double wide = beside.width - em;
    dw_form_line(view, (DwSpot){beside.x, y}, (DwSpot){beside.x + wide, y}, false, DW_INK_QUIET);
    for (int i = 0; i <= 10; i++)
        dw_form_line(view, (DwSpot){beside.x + wide * i / 10, y},
                     (DwSpot){beside.x + wide * i / 10, y + (i % 5 ? 0.35 : 0.65) * em}, false, DW_INK_QUIET);
    y += em + dw_form_words(view, beside.x, y + em, beside.width, DW_INK_TEXT,
                            dw_form_value("its ruler's 100 mm measure", print, "mm"));
    double least = room_mm(DW_MARKED_CARD, &along), least_along = along, most = room_mm(DW_MARKED_CARD_LARGE, &along);
    if (!isfinite(length) || width_mm(length, least_along) <= least)
        return;
    dw_form_words(view, beside.x, y + 0.5 * em, beside.width, DW_INK_ATTENTION,
                  width_mm(length, along) <= most
                      ? dw_say("Laid out round it wants the large card (A3).")
                      : dw_say("Longer than the large card is round: let a side bend inwards."));
}

// --- film: the disc on the platter, the telephone over it -----------------------------------------

static void draw_disc(const DwFormDrawing *view, DwSpot centre, double radius)
{
    const double platter_mm = 150; // what carries a 12-inch record
    double em = view->canvas->em, scale = radius / platter_mm;
    dw_form_circle(view, centre, radius, DW_INK_TEXT);
    dw_form_circle(view, centre, dw_paper_disc_radius(DW_MARKED_DISC) * scale, DW_INK_LINE);
    draw_marks(view, centre, scale, DW_MARKED_DISC);
    dw_form_circle(view, centre, 0.2 * em, DW_INK_TEXT);
    dw_dimension_angle(view->canvas, centre, 0.8 * radius, -0.85 * M_PI, -0.55 * M_PI, NULL, DW_INK_ACCENT);
    dw_form_label(view, centre.x, centre.y + radius + 1.1 * em, 0.5, DW_INK_TEXT,
                  dw_form_value("turns at", dw_form_given(view, "deck.speed", "rpm"), "rpm"));
}

// The platter from its edge, the telephone over it as high as it takes to see all of the disc.
static void draw_stand(const DwFormDrawing *view, DwBox box)
{
    double em = view->canvas->em, floor_y = box.y + box.height - 1.4 * em, post = box.x + box.width - 0.6 * em,
           left = box.x + 0.5 * em, right = post - 2.5 * em, eye = (left + right) / 2, top = box.y + 0.9 * em;
    double disc = 0.3 * (right - left);
    dw_form_line(view, (DwSpot){left, floor_y + 0.9 * em}, (DwSpot){post + 0.6 * em, floor_y + 0.9 * em}, false,
                 DW_INK_LINE);
    fill(view, (DwBox){left, floor_y, right - left, 0.4 * em}, DW_INK_TEXT);
    dw_dimension_stroke(view->canvas, (DwSpot){eye - disc, floor_y - 0.2 * em},
                        (DwSpot){eye + disc, floor_y - 0.2 * em}, 0.25 * em, false, DW_INK_ACCENT);
    dw_dimension_stroke(view->canvas, (DwSpot){post, floor_y + 0.9 * em}, (DwSpot){post, top}, 0.3 * em, false,
                        DW_INK_LINE);
    dw_dimension_stroke(view->canvas, (DwSpot){post, top}, (DwSpot){eye, top}, 0.3 * em, false, DW_INK_LINE);
    dw_form_telephone(view, (DwSpot){eye, top}, M_PI / 2);
    for (int side = -1; side <= 1; side += 2)
        dw_form_line(view, (DwSpot){eye, top + 0.7 * em}, (DwSpot){eye + 1.15 * side * disc, floor_y - 0.3 * em}, true,
                     DW_INK_QUIET);
    dw_form_label(view, eye, floor_y - 1.3 * em, 0.5, DW_INK_TEXT, dw_say("the whole disc is seen"));
}

void dw_form_draw_film(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, strip_high = 6.4 * em, y = box->y + box->height - strip_high,
           room = y - box->y - 1.5 * em;
    bool narrow = dw_form_is_narrow(view),
         global = strcmp(dw_inputs_word(view->inputs, "camera.shutter"), "global") == 0;
    double radius = fmin((room - 2.4 * em) / 2, 0.2 * box->width);
    draw_disc(view, (DwSpot){box->x + 1.2 * em + radius, box->y + em + radius}, radius);
    DwBox stand = {box->x + 2 * radius + (narrow ? 2 : 3.5) * em, box->y + 0.6 * em,
                   fmin(box->width - 2 * radius - (narrow ? 3 : 5) * em, 20 * em), narrow ? 0.62 * room : room};
    draw_stand(view, stand);
    double x = narrow ? box->x + em : stand.x + stand.width + 1.5 * em,
           top = narrow ? box->y + fmax(2 * radius + 3.2 * em, 0.62 * room + 2 * em) : box->y + 1.5 * em,
           wide = box->x + box->width - x - 0.5 * em;
    top += dw_form_words(view, x, top, wide, DW_INK_QUIET, dw_say("Telephone on a stand, still; 30 s or more.")) +
           0.4 * em;
    dw_form_words(view, x, top, wide, DW_INK_TEXT,
                  global ? dw_say("Shutter: the whole picture at once") : dw_say("Shutter: one row after the other"));
    DwFormStrip strip = dw_form_strip(view, y + 1.7 * em, dw_form_last_second(view));
    dw_form_label(view, strip.left + 0.4 * em, strip.y, 0, DW_INK_TEXT,
                  dw_form_value("reached within ±", dw_form_given(view, "startup.band", "%"), "%"));
}
