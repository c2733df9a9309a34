// SPDX-License-Identifier: MIT
#include "chart/draw/canvas.h"

#include "chart/draw/fonts.h"

#include <glib.h>
#include <pango/pangocairo.h>
#include <string.h>

void dw_canvas_use_thin(const DwCanvas *canvas, DwInk ink, double opacity)
{
    DwColour colour = dw_theme_colour(canvas->theme, ink);
    cairo_set_source_rgba(canvas->cairo, colour.red, colour.green, colour.blue, opacity);
}

void dw_canvas_use(const DwCanvas *canvas, DwInk ink)
{
    dw_canvas_use_thin(canvas, ink, 1);
}

// Unhinted metrics, so that a line breaks at the same word on screen and on paper.
static void set_metrics(PangoLayout *layout)
{
    PangoContext *context = pango_layout_get_context(layout);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(context, options);
    pango_context_set_round_glyph_positions(context, FALSE);
    cairo_font_options_destroy(options);
    pango_layout_context_changed(layout);
}

static PangoLayout *lay_out(const DwCanvas *canvas, DwLetters letters, const char *text)
{
    dw_fonts_ready();
    PangoLayout *layout = pango_cairo_create_layout(canvas->cairo);
    set_metrics(layout);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "Sans");
    pango_font_description_set_weight(font, letters.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, letters.size * canvas->em * PANGO_SCALE);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    PangoAttrList *attributes = pango_attr_list_new();
    // Figures of one width; and "fl" stays two letters, so that "flutter" is found in a PDF.
    pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum=1, liga=0"));
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
    // A file's name may hold any bytes.
    char *valid = g_utf8_make_valid(text, -1);
    pango_layout_set_text(layout, valid, -1);
    g_free(valid);
    return layout;
}

static double width_of(PangoLayout *layout)
{
    int width, height;
    pango_layout_get_size(layout, &width, &height);
    return (double)width / PANGO_SCALE;
}

static void show_line(const DwCanvas *canvas, DwLetters letters, PangoLayout *layout, double x, double y)
{
    dw_canvas_use(canvas, letters.ink);
    cairo_move_to(canvas->cairo, x, y - (double)pango_layout_get_baseline(layout) / PANGO_SCALE);
    pango_cairo_show_layout(canvas->cairo, layout);
    cairo_new_path(canvas->cairo);
}

void dw_canvas_write(const DwCanvas *canvas, DwLetters letters, double x, double y, double align, const char *text)
{
    PangoLayout *layout = lay_out(canvas, letters, text);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    show_line(canvas, letters, layout, x - align * width_of(layout), y);
    g_object_unref(layout);
}

void dw_canvas_write_within(const DwCanvas *canvas, DwLetters letters, double x, double y, double most,
                            const char *text)
{
    PangoLayout *layout = lay_out(canvas, letters, text);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_MIDDLE); // which channel it is stands at the end
    pango_layout_set_width(layout, (int)(most * PANGO_SCALE));
    show_line(canvas, letters, layout, x, y);
    g_object_unref(layout);
}

double dw_canvas_width(const DwCanvas *canvas, DwLetters letters, const char *text)
{
    PangoLayout *layout = lay_out(canvas, letters, text);
    double width = width_of(layout);
    g_object_unref(layout);
    return width;
}

static PangoLayout *lay_out_paragraph(const DwCanvas *canvas, DwLetters letters, double width, const char *text)
{
    PangoLayout *layout = lay_out(canvas, letters, text);
    pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_line_spacing(layout, 1.15f);
    return layout;
}

static double height_of(PangoLayout *layout)
{
    int width, height;
    pango_layout_get_size(layout, &width, &height);
    return (double)height / PANGO_SCALE;
}

double dw_canvas_paragraph(const DwCanvas *canvas, DwLetters letters, double x, double y, double width,
                           const char *text)
{
    PangoLayout *layout = lay_out_paragraph(canvas, letters, width, text);
    dw_canvas_use(canvas, letters.ink);
    cairo_move_to(canvas->cairo, x, y);
    pango_cairo_show_layout(canvas->cairo, layout);
    cairo_new_path(canvas->cairo);
    double height = height_of(layout);
    g_object_unref(layout);
    return height;
}

double dw_canvas_paragraph_height(const DwCanvas *canvas, DwLetters letters, double width, const char *text)
{
    PangoLayout *layout = lay_out_paragraph(canvas, letters, width, text);
    double height = height_of(layout);
    g_object_unref(layout);
    return height;
}

size_t dw_canvas_paragraph_break(const DwCanvas *canvas, DwLetters letters, double width, const char *text, int lines)
{
    PangoLayout *layout = lay_out_paragraph(canvas, letters, width, text);
    size_t length = strlen(text);
    if (pango_layout_get_line_count(layout) > lines)
        length = (size_t)pango_layout_line_get_start_index(pango_layout_get_line_readonly(layout, lines));
    g_object_unref(layout);
    return length;
}

double dw_canvas_baseline(const DwCanvas *canvas, DwLetters letters)
{
    PangoLayout *layout = lay_out_paragraph(canvas, letters, 1000 * canvas->em, "x");
    double baseline = (double)pango_layout_get_baseline(layout) / PANGO_SCALE;
    g_object_unref(layout);
    return baseline;
}
