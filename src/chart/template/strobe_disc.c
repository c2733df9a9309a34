// SPDX-License-Identifier: MIT
#include "chart/template/strobe_disc.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/canvas.h"
#include "chart/draw/pdf_page.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double disc_radius_mm = 90, first_ring_mm = 88, last_ring_mm = 15;
static const double band_share = 0.72; // of a ring's room; the rest is its label's
static const double hole_mm = 7.24;    // IEC 60098, least diameter of the centre hole (from memory)
static const double ruler_mm = 100;
static const DwLetters plain = {.size = 1, .ink = DW_INK_TEXT}, bold = {.size = 1.15, .bold = true, .ink = DW_INK_TEXT},
                       small = {.size = 0.72, .ink = DW_INK_TEXT};

DwStrobePage dw_strobe_page(const DwStrobeDisc *disc)
{
    double width = disc->letter ? 215.9 : 210, height = disc->letter ? 279.4 : 297;
    double top = disc->letter ? 10 : 14;
    return (DwStrobePage){
        width, height, width / 2, top + disc_radius_mm, (width - ruler_mm) / 2, top + 2 * disc_radius_mm + 10};
}

void dw_strobe_ring_radii(const DwStrobeDisc *disc, size_t index, double *inner_mm, double *outer_mm)
{
    double room = (first_ring_mm - last_ring_mm) / (double)disc->ring_count;
    *outer_mm = first_ring_mm - room * (double)index;
    *inner_mm = *outer_mm - band_share * room;
}

static int compare(const void *a, const void *b)
{
    return ((const DwStrobeRing *)b)->bars - ((const DwStrobeRing *)a)->bars;
}

static void draw_bars(cairo_t *cairo, int bars, double inner, double outer)
{
    double pitch = 2 * M_PI / bars;
    for (int bar = 0; bar < bars; bar++) {
        double middle = -M_PI_2 + pitch * bar;
        cairo_new_sub_path(cairo);
        cairo_arc(cairo, 0, 0, outer, middle - pitch / 4, middle + pitch / 4);
        cairo_arc_negative(cairo, 0, 0, inner, middle + pitch / 4, middle - pitch / 4);
        cairo_close_path(cairo);
    }
    cairo_fill(cairo);
}

// The bytes of the UTF-8 character at TEXT.
static size_t character_length(const char *text)
{
    size_t length = 1;
    while (((unsigned char)text[length] & 0xC0) == 0x80)
        length++;
    return length;
}

// Writes TEXT along a circle, its middle at twelve o'clock, character by character.
static void write_round(const DwCanvas *canvas, DwLetters letters, double radius, const char *text)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    double spread = 1.06; // a straight text is a little too tight on a curve
    cairo_rotate(cairo, -spread * dw_canvas_width(canvas, letters, text) / radius / 2);
    while (*text) {
        char character[8] = "";
        size_t length = character_length(text);
        memcpy(character, text, length);
        // A space alone has no ink but its width; measured between letters it keeps it.
        double turn = spread * dw_canvas_width(canvas, letters, character) / radius;
        cairo_rotate(cairo, turn / 2);
        dw_canvas_write(canvas, letters, 0, -radius, 0.5, character);
        cairo_rotate(cairo, turn / 2);
        text += length;
    }
    cairo_restore(cairo);
}

void dw_strobe_ring_draw(const DwCanvas *canvas, const DwStrobeRing *ring, double inner, double outer)
{
    // Pure black: a printer would screen any other ink, and fray the bars' edges.
    cairo_set_source_rgb(canvas->cairo, 0, 0, 0);
    draw_bars(canvas->cairo, ring->bars, inner, outer);
    char *label = dw_say("%s – %d bars stand at %s", ring->label, ring->bars, ring->standing);
    double gap = (outer - inner) * (1 / band_share - 1);
    write_round(canvas, small, inner - 0.5 * gap - 0.3 * small.size * canvas->em, label);
    free(label);
}

static void line(cairo_t *cairo, double x1, double y1, double x2, double y2)
{
    cairo_move_to(cairo, x1, y1);
    cairo_line_to(cairo, x2, y2);
    cairo_stroke(cairo);
}

static void draw_hole(cairo_t *cairo)
{
    double arm = 10;
    cairo_set_line_width(cairo, 0.15);
    cairo_new_path(cairo);
    cairo_arc(cairo, 0, 0, hole_mm / 2, 0, 2 * M_PI);
    cairo_stroke(cairo);
    line(cairo, -arm, 0, arm, 0);
    line(cairo, 0, -arm, 0, arm);
    cairo_new_path(cairo);
    cairo_arc(cairo, 0, 0, disc_radius_mm, 0, 2 * M_PI);
    cairo_stroke(cairo);
}

static void draw_ruler(const DwCanvas *canvas, const DwStrobePage *page)
{
    cairo_t *cairo = canvas->cairo;
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(cairo, 0.15);
    double x = page->ruler_x_mm, y = page->ruler_y_mm;
    line(cairo, x, y, x + ruler_mm, y);
    for (int mark = 0; mark <= 100; mark += 5) {
        double at = x + mark;
        bool end = mark % 100 == 0;
        line(cairo, at, y, at, y - (end ? 5 : mark % 10 == 0 ? 3 : 1.8));
    }
    for (int mark = 10; mark < 100; mark += 10) {
        char number[8];
        snprintf(number, sizeof number, "%d", mark);
        dw_canvas_write(canvas, small, x + mark, y - 3.6, 0.5, number);
    }
    dw_canvas_write(canvas, small, x - 1.5, y, 1, "0");
    dw_canvas_write(canvas, small, x + ruler_mm + 1.5, y, 0, "100 mm");
}

static const char *const paragraphs[] = {
    N_("Print at 100 %, not fitted to the page: the ruler above must measure 100 mm. Cut along the outer circle and "
       "make "
       "the hole (7.24 mm) on the cross so that it sits on the spindle without play."),
    N_("Under a mains lamp that flickers, use the rings of your mains (50 or 60 Hz). Bars that stand still mean the "
       "speed "
       "written on their ring. Bars drifting with the platter mean too fast, against it too slow: 6 bars a minute are "
       "0.1 % at 50 Hz, 7.2 bars at 60 Hz. Many LED lamps do not flash with the mains."),
    DW_STROBE_CAUTION,
};

static void draw_words(const DwCanvas *canvas, const DwStrobePage *page)
{
    double margin = 12, y = page->ruler_y_mm + 7;
    dw_canvas_write(canvas, bold, margin, y, 0, dw_said("Stroboscope disc"));
    y += 2.5;
    for (size_t i = 0; i < sizeof paragraphs / sizeof *paragraphs; i++)
        y += 1.8 + dw_canvas_paragraph(canvas, plain, margin, y, page->width_mm - 2 * margin, dw_said(paragraphs[i]));
}

static void draw(cairo_t *cairo, unsigned number, const void *context)
{
    (void)number; // there is one page
    const DwStrobeDisc *disc = context;
    DwStrobePage page = dw_strobe_page(disc);
    DwCanvas canvas = {.cairo = cairo, .theme = DW_THEME_PAPER, .em = 3.2};
    cairo_save(cairo);
    cairo_translate(cairo, page.centre_x_mm, page.centre_y_mm);
    for (size_t i = 0; i < disc->ring_count; i++) {
        double inner, outer;
        dw_strobe_ring_radii(disc, i, &inner, &outer);
        dw_strobe_ring_draw(&canvas, &disc->rings[i], inner, outer);
    }
    dw_canvas_use(&canvas, DW_INK_TEXT);
    draw_hole(cairo);
    cairo_restore(cairo);
    draw_ruler(&canvas, &page);
    draw_words(&canvas, &page);
}

DwStatus dw_strobe_disc_write(const DwStrobeDisc *disc, const char *path, DwMessage *message)
{
    assert(disc->ring_count >= 1 && disc->ring_count <= DW_STROBE_RINGS_MOST);
    DwStrobeDisc sorted = *disc;
    qsort(sorted.rings, sorted.ring_count, sizeof *sorted.rings, compare);
    DwStrobePage page = dw_strobe_page(&sorted);
    return dw_pdf_page_write(path, dw_said("Stroboscope disc"), page.width_mm, page.height_mm, 1, draw, &sorted,
                             message);
}
