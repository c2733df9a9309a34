// SPDX-License-Identifier: MIT
#include "chart/draw/sketch.h"

#include "chart/draw/output.h"

#include <cairo.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

// Everything is drawn in a field of 4 by 3 units; a signature fills the middle of it.
enum { PIXELS = 300 };

typedef struct {
    cairo_t *cairo;
    bool worn;
    uint32_t state;
} Sketch;

// 0 to 1, the same for the same seed (Numerical Recipes' quick generator, from memory).
static double draw_number(Sketch *sketch)
{
    sketch->state = 1664525u * sketch->state + 1013904223u;
    return sketch->state / 4294967296.0;
}

static void use(Sketch *sketch, double grey, double warm)
{
    cairo_set_source_rgb(sketch->cairo, grey + warm, grey, grey - warm);
}

static void disc(Sketch *sketch, double x, double y, double radius, double grey)
{
    cairo_arc(sketch->cairo, x, y, radius, 0, 2 * M_PI);
    use(sketch, grey, 0.01);
    cairo_fill(sketch->cairo);
}

static void stroke(Sketch *sketch, double width, double grey)
{
    use(sketch, grey, 0);
    cairo_set_line_width(sketch->cairo, width);
    cairo_stroke(sketch->cairo);
}

// Dust and scratches, thicker on what is worn.
static void dirty(Sketch *sketch)
{
    for (int i = 0; sketch->worn && i < 260; i++) {
        double x = 4 * draw_number(sketch), y = 3 * draw_number(sketch), size = 0.004 + 0.02 * draw_number(sketch);
        cairo_arc(sketch->cairo, x, y, size, 0, 2 * M_PI);
        cairo_set_source_rgba(sketch->cairo, 0.62, 0.56, 0.45, 0.5);
        cairo_fill(sketch->cairo);
    }
    for (int i = 0; sketch->worn && i < 5; i++) {
        double x = 4 * draw_number(sketch), y = 3 * draw_number(sketch);
        cairo_move_to(sketch->cairo, x, y);
        cairo_rel_line_to(sketch->cairo, 0.6 * draw_number(sketch) - 0.3, 0.5 * draw_number(sketch) - 0.25);
        stroke(sketch, 0.012, 0.85);
    }
}

static void draw_arm_tube(Sketch *sketch, double x, double y)
{
    cairo_move_to(sketch->cairo, x, y);
    cairo_line_to(sketch->cairo, x - 0.1, y + 1.5);
    cairo_line_to(sketch->cairo, x - 0.28, y + 1.85);
    stroke(sketch, 0.07, 0.78);
    disc(sketch, x, y, 0.19, 0.35);
    disc(sketch, x + 0.02, y - 0.28, 0.14, 0.2);
}

static void draw_deck(Sketch *sketch)
{
    cairo_rectangle(sketch->cairo, 0.25, 0.2, 3.5, 2.6);
    use(sketch, 0.42, 0.12);
    cairo_fill(sketch->cairo);
    disc(sketch, 1.6, 1.5, 1.15, 0.7);
    disc(sketch, 1.6, 1.5, 1.08, sketch->worn ? 0.3 : 0.2);
    disc(sketch, 1.6, 1.5, 0.04, 0.9);
    draw_arm_tube(sketch, 3.25, 0.7);
}

static void draw_arm(Sketch *sketch)
{
    cairo_scale(sketch->cairo, 1.2, 1.2);
    cairo_translate(sketch->cairo, -1.3, 0.08);
    draw_arm_tube(sketch, 3.1, 0.4);
    cairo_identity_matrix(sketch->cairo);
    cairo_scale(sketch->cairo, PIXELS, PIXELS);
}

// A tip from the side: worn, its end is flat.
static void draw_stylus(Sketch *sketch)
{
    cairo_move_to(sketch->cairo, 0.2, 0.9);
    cairo_line_to(sketch->cairo, 3.1, 1.15);
    stroke(sketch, 0.26, 0.6);
    double flat = sketch->worn ? 0.16 : 0.03;
    cairo_move_to(sketch->cairo, 2.5, 1.2);
    cairo_line_to(sketch->cairo, 2.85 - flat, 2.3 - 2 * flat);
    cairo_line_to(sketch->cairo, 2.85 + flat, 2.3 - 2 * flat);
    cairo_line_to(sketch->cairo, 3.2, 1.25);
    cairo_close_path(sketch->cairo);
    use(sketch, 0.82, 0.05);
    cairo_fill(sketch->cairo);
}

static void draw_bearing(Sketch *sketch)
{
    disc(sketch, 2, 1.5, 1.2, 0.45);
    disc(sketch, 2, 1.5, 0.62, 0.72);
    disc(sketch, 2, 1.5, 0.42, sketch->worn ? 0.16 : 0.55);
    for (int i = 0; i < 3; i++)
        disc(sketch, 2 + 0.9 * cos(2 * M_PI * i / 3), 1.5 + 0.9 * sin(2 * M_PI * i / 3), 0.1, 0.25);
}

static void draw_motor(Sketch *sketch)
{
    disc(sketch, 2, 1.6, 1.1, 0.35);
    disc(sketch, 2, 1.6, 0.95, 0.45);
    cairo_rectangle(sketch->cairo, 1.85, 0.5, 0.3, 1.1);
    use(sketch, 0.75, sketch->worn ? 0.1 : 0.04);
    cairo_fill(sketch->cairo);
    disc(sketch, 2, 1.6, 0.22, sketch->worn ? 0.2 : 0.8);
}

static void draw_belt(Sketch *sketch)
{
    cairo_move_to(sketch->cairo, 0.8, 1.5);
    cairo_curve_to(sketch->cairo, 0.8, 0.2, 3.2, 0.2, 3.2, 1.5);
    cairo_curve_to(sketch->cairo, 3.2, 2.8, 0.8, sketch->worn ? 2.3 : 2.8, 0.8, 1.5);
    stroke(sketch, 0.12, 0.12);
    for (int i = 0; sketch->worn && i < 12; i++) {
        cairo_move_to(sketch->cairo, 1.2 + 0.14 * i, 0.5);
        cairo_rel_line_to(sketch->cairo, 0.02, 0.1);
        stroke(sketch, 0.015, 0.6);
    }
}

static void draw_signature(Sketch *sketch)
{
    double x = 0.4, y = 1.8;
    cairo_move_to(sketch->cairo, x, y);
    for (int i = 0; i < 9; i++) {
        double up = (i % 2 ? 0.35 : -0.75) * (0.5 + draw_number(sketch)), step = 0.22 + 0.2 * draw_number(sketch);
        cairo_curve_to(sketch->cairo, x + 0.1, y + up, x + step, y + up, x + step, y + 0.1 * draw_number(sketch));
        x += step;
    }
    cairo_set_source_rgb(sketch->cairo, 0.1, 0.14, 0.3);
    cairo_set_line_cap(sketch->cairo, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_width(sketch->cairo, 0.05);
    cairo_stroke(sketch->cairo);
}

static void draw_logo(Sketch *sketch)
{
    cairo_set_source_rgb(sketch->cairo, 0.27, 0.33, 0.45);
    for (int i = 1; i <= 4; i++) {
        cairo_arc(sketch->cairo, 2, 1.5, 0.33 * i, 0, 2 * M_PI);
        cairo_set_line_width(sketch->cairo, 0.14);
        cairo_stroke(sketch->cairo);
    }
}

static void (*const draws[])(Sketch *sketch) = {
    [DW_SKETCH_DECK] = draw_deck,           [DW_SKETCH_ARM] = draw_arm,     [DW_SKETCH_STYLUS] = draw_stylus,
    [DW_SKETCH_BEARING] = draw_bearing,     [DW_SKETCH_MOTOR] = draw_motor, [DW_SKETCH_BELT] = draw_belt,
    [DW_SKETCH_SIGNATURE] = draw_signature, [DW_SKETCH_LOGO] = draw_logo,
};

DwStatus dw_sketch_draw(DwSketchKind kind, bool worn, unsigned seed, char **bytes, size_t *length, DwMessage *message)
{
    bool on_nothing = kind == DW_SKETCH_SIGNATURE || kind == DW_SKETCH_LOGO;
    bool low = kind == DW_SKETCH_SIGNATURE;
    cairo_surface_t *surface = cairo_image_surface_create(on_nothing ? CAIRO_FORMAT_ARGB32 : CAIRO_FORMAT_RGB24,
                                                          4 * PIXELS, (low ? 2 : 3) * PIXELS);
    Sketch sketch = {cairo_create(surface), worn, seed};
    cairo_scale(sketch.cairo, PIXELS, PIXELS);
    cairo_translate(sketch.cairo, 0, low ? -0.7 : 0);
    if (!on_nothing) {
        use(&sketch, 0.88, 0.02);
        cairo_paint(sketch.cairo);
    }
    draws[kind](&sketch);
    if (!on_nothing)
        dirty(&sketch);
    cairo_destroy(sketch.cairo);
    DwOutput output = {0};
    cairo_status_t status = cairo_surface_write_to_png_stream(surface, dw_output_keep, &output);
    cairo_surface_destroy(surface);
    if (status != CAIRO_STATUS_SUCCESS) {
        free(output.bytes);
        return dw_fail(message, DW_FAILED, "A picture cannot be drawn: %s.", cairo_status_to_string(status));
    }
    *bytes = output.bytes;
    *length = output.length;
    return DW_OK;
}
