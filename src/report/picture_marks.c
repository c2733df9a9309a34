// SPDX-License-Identifier: MIT
// A picture as a paper shows it: cut, made lighter and with its arrows, circles and words, as was marked on its page.
#include "base/text.h"
#include "book/job/photo.h"
#include "chart/draw/canvas.h"
#include "report/picture.h"

#include <math.h>
#include <stdint.h>

enum { LEVELS = 256 };
static const double line_share = 1 / 240.0, head_share = 1 / 32.0; // of the cut picture's longer side
static const double letters_share[2] = {1 / 50.0, 1 / 10.0};       // the least and the most
static const double plate_share = 0.03;                            // of its width that words leave free
static const double wanted_light = 0.45;                           // of full brightness, for the place to be made out

typedef struct {
    double x, y;
} Place;

typedef struct {
    const DwRecords *marks;
    int turn;
    double width, height; // of the upright picture, before TURN
    DwBox cut;            // of the turned picture, all in its whole pixels
} Marking;

static const DwPhotoMeasure *mark_at(const DwRecords *marks, size_t index)
{
    return (const DwPhotoMeasure *)dw_records_at(marks, index);
}

bool dw_picture_is_marked(const DwRecords *marks)
{
    for (size_t i = 0; i < marks->count; i++)
        if (dw_photo_is_mark(mark_at(marks, i)->kind))
            return true;
    return false;
}

// The last mark of KIND, or NULL.
static const DwPhotoMeasure *last_of(const DwRecords *marks, DwPhotoKind kind)
{
    for (size_t i = marks->count; i > 0; i--)
        if (mark_at(marks, i - 1)->kind == (int)kind)
            return mark_at(marks, i - 1);
    return NULL;
}

// A point of the upright picture where it stands after the turn.
static Place turned(const Marking *m, double x, double y)
{
    switch (m->turn & 3) {
    case 1:
        return (Place){m->height - y, x};
    case 2:
        return (Place){m->width - x, m->height - y};
    case 3:
        return (Place){y, m->width - x};
    default:
        return (Place){x, y};
    }
}

// What lies between the corners of MARK, as far as it is on the picture; without a mark all of it.
static DwBox area_of(const Marking *m, const DwPhotoMeasure *mark)
{
    bool aside = m->turn & 1;
    double wide = aside ? m->height : m->width, high = aside ? m->width : m->height;
    if (!mark)
        return (DwBox){0, 0, wide, high};
    Place one = turned(m, mark->x1, mark->y1), other = turned(m, mark->x2, mark->y2);
    double left = fmax(0, fmin(one.x, other.x)), top = fmax(0, fmin(one.y, other.y));
    double right = fmin(wide, fmax(one.x, other.x)), foot = fmin(high, fmax(one.y, other.y));
    return right - left >= 1 && foot - top >= 1 ? (DwBox){left, top, right - left, foot - top}
                                                : (DwBox){0, 0, wide, high};
}

// --- lighter ---------------------------------------------------------------------------------------------------------

// The mean brightness of the part of SURFACE in AREA, 0 to 1; NAN where there is none.
static double brightness(cairo_surface_t *surface, DwBox area)
{
    int width = cairo_image_surface_get_width(surface), height = cairo_image_surface_get_height(surface);
    int stride = cairo_image_surface_get_stride(surface), count = 0;
    const unsigned char *rows = cairo_image_surface_get_data(surface);
    double sum = 0;
    for (int y = (int)fmax(0, area.y); y < fmin(height, area.y + area.height); y++)
        for (int x = (int)fmax(0, area.x); x < fmin(width, area.x + area.width); x++, count++) {
            const unsigned char *pixel = rows + (ptrdiff_t)y * stride + 4 * x;
            sum += (pixel[0] + pixel[1] + pixel[2]) / 3.0;
        }
    return count ? sum / count / (LEVELS - 1) : NAN;
}

// A power of each level, which brings the mean of AREA to the wanted one and leaves black and white as they are.
static void lighten(cairo_surface_t *surface, DwBox area)
{
    double mean = brightness(surface, area);
    if (!(mean > 0 && mean < wanted_light))
        return;
    double power = log(wanted_light) / log(fmax(mean, 1.0 / (LEVELS - 1)));
    uint8_t table[LEVELS];
    for (int i = 0; i < LEVELS; i++)
        table[i] = (uint8_t)((LEVELS - 1) * pow(i / (LEVELS - 1.0), power) + 0.5);
    int width = cairo_image_surface_get_width(surface), height = cairo_image_surface_get_height(surface);
    for (int y = 0; y < height; y++) {
        unsigned char *row =
            cairo_image_surface_get_data(surface) + (ptrdiff_t)y * cairo_image_surface_get_stride(surface);
        for (int i = 0; i < 4 * width; i++)
            row[i] = i % 4 == 3 ? row[i] : table[row[i]];
    }
    cairo_surface_mark_dirty(surface);
}

// --- drawn on it -----------------------------------------------------------------------------------------------------

// The path white with dark edges, to be seen on light and dark.
static void stroke(cairo_t *cairo, double width)
{
    cairo_set_line_width(cairo, 2 * width);
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_stroke_preserve(cairo);
    cairo_set_line_width(cairo, width);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_stroke(cairo);
}

static void draw_arrow(cairo_t *cairo, Place from, Place to, double side)
{
    double angle = atan2(to.y - from.y, to.x - from.x),
           length = fmin(head_share * side, hypot(to.x - from.x, to.y - from.y));
    cairo_move_to(cairo, from.x, from.y);
    cairo_line_to(cairo, to.x, to.y);
    for (int wing = -1; wing <= 1; wing += 2) {
        cairo_move_to(cairo, to.x - length * cos(angle + wing * 0.45), to.y - length * sin(angle + wing * 0.45));
        cairo_line_to(cairo, to.x, to.y);
    }
    stroke(cairo, line_share * side);
}

static bool is_in(const DwBox *box, Place place)
{
    return place.x >= box->x && place.x <= box->x + box->width && place.y >= box->y && place.y <= box->y + box->height;
}

// On a plate, as large as from FROM to TO, upright; to the left where they run to the left. What begins or ends in CUT
// is moved and broken into lines so that all of it stands there.
static void draw_words(cairo_t *cairo, Place from, Place to, const DwBox *cut, const char *words)
{
    const DwLetters letters = {.size = 1, .bold = true, .ink = DW_INK_TEXT};
    double side = fmax(cut->width, cut->height);
    DwCanvas canvas = {.cairo = cairo, .theme = DW_THEME_PAPER, .em = letters_share[0] * side, .untagged = true};
    double wanted = fmin(fabs(to.x - from.x), (1 - plate_share) * cut->width);
    double wide = dw_canvas_width(&canvas, letters, words);
    canvas.em = fmin(fmax(canvas.em * wanted / fmax(wide, 1), canvas.em), letters_share[1] * side);
    double edge = 0.3 * canvas.em, width = 1.02 * dw_canvas_width(&canvas, letters, words); // for what is rounded
    width = fmin(width, fmax(cut->width - 2 * edge, canvas.em));
    double height = dw_canvas_paragraph_height(&canvas, letters, width, words);
    double left = fmin(from.x, to.x), top = from.y - dw_canvas_baseline(&canvas, letters);
    if (is_in(cut, from) || is_in(cut, to)) {
        left = fmax(fmin(left, cut->x + cut->width - width - edge), cut->x + edge);
        top = fmax(fmin(top, cut->y + cut->height - height - edge), cut->y + edge);
    }
    dw_canvas_use(&canvas, DW_INK_GROUND);
    cairo_rectangle(cairo, left - edge, top - edge, width + 2 * edge, height + 2 * edge);
    cairo_fill(cairo);
    dw_canvas_paragraph(&canvas, letters, left, top, width, words);
}

static void draw_mark(cairo_t *cairo, const Marking *m, const DwPhotoMeasure *mark)
{
    Place one = turned(m, mark->x1, mark->y1), other = turned(m, mark->x2, mark->y2);
    double side = fmax(m->cut.width, m->cut.height);
    if (mark->kind == DW_PHOTO_ARROW)
        draw_arrow(cairo, one, other, side);
    else if (mark->kind == DW_PHOTO_WORDS && mark->name && !dw_text_is_blank(mark->name))
        draw_words(cairo, one, other, &m->cut, mark->name);
    else if (mark->kind == DW_PHOTO_CIRCLE) {
        cairo_new_sub_path(cairo);
        cairo_arc(cairo, one.x, one.y, hypot(other.x - one.x, other.y - one.y), 0, 2 * M_PI);
        stroke(cairo, line_share * side);
    }
}

void dw_picture_mark(DwPicture *picture, const DwRecords *marks, int turn, int most)
{
    Marking m = {.marks = marks, .turn = turn, .width = picture->whole_width, .height = picture->whole_height};
    m.cut = area_of(&m, last_of(marks, DW_PHOTO_CROP));
    double had = picture->width / area_of(&m, NULL).width; // of a whole pixel
    double scale = fmin(had, most / fmax(m.cut.width, m.cut.height));
    cairo_surface_t *made = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)fmax(1, m.cut.width * scale),
                                                       (int)fmax(1, m.cut.height * scale));
    cairo_t *cairo = cairo_create(made);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    cairo_scale(cairo, scale, scale);
    cairo_translate(cairo, -m.cut.x, -m.cut.y);
    cairo_save(cairo);
    cairo_scale(cairo, 1 / had, 1 / had);
    cairo_set_source_surface(cairo, picture->surface, 0, 0);
    cairo_paint(cairo);
    cairo_restore(cairo);
    cairo_surface_flush(made);
    const DwPhotoMeasure *dark = last_of(marks, DW_PHOTO_LIGHTEN);
    if (dark && cairo_surface_status(made) == CAIRO_STATUS_SUCCESS) {
        DwBox area = area_of(&m, dark);
        lighten(made, (DwBox){(area.x - m.cut.x) * scale, (area.y - m.cut.y) * scale, area.width * scale,
                              area.height * scale});
    }
    for (size_t i = 0; i < marks->count; i++)
        draw_mark(cairo, &m, mark_at(marks, i));
    bool drawn = cairo_status(cairo) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(cairo);
    if (drawn)
        dw_picture_replace(picture, made);
    else
        cairo_surface_destroy(made);
}
