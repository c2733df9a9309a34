// SPDX-License-Identifier: MIT
#include "chart/template/template.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/pdf_page.h"
#include "chart/sheet/arm_view.h"
#include "chart/template/marks_clear.h"
#include "chart/template/template_plan.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

static const double margin_mm = 7;        // what common printers leave white
static const double ruler_across_mm = 14; // the frame's strip below the drawing
static const double ruler_along_mm = 12;  // and to its right
static const double overlap_mm = 14;      // of neighbouring pages
static const double tick_mm = 2.6;
// Of the arm from above: its letters, the room for its head, how far it stays from the drawing, its width.
static const double above_em_mm = 2.9, above_head_mm = 6, above_clear_mm = 6, above_widest_mm = 190;

static const struct {
    const char *name;
    double width, height;
} papers[] = {
    [DW_TEMPLATE_A4] = {"A4", 210, 297},
    [DW_TEMPLATE_LETTER] = {"Letter", 215.9, 279.4},
    [DW_TEMPLATE_A3] = {"A3", 297, 420},
};

static const DwTemplateDrawing *const drawings[] = {
    [DW_TEMPLATE_ARC] = &dw_template_arc,
    [DW_TEMPLATE_GRID] = &dw_template_grid,
    [DW_TEMPLATE_OVERHANG] = &dw_template_overhang,
    [DW_TEMPLATE_STRIP] = &dw_template_strip,
};

// How the drawing is cut into pages; in the drawing's millimetres, which the
// printer's corrections stretch on the PDF.
typedef struct {
    DwTemplatePlan plan;
    double stretch_x, stretch_y;
    double page_width, page_height;
    double window_width, window_height; // of the drawing on one page
    double left, top;                   // of the window on the page
    unsigned columns, rows;
    double em; // of the words
    // Where the arm from above stands, on the page of that number.
    DwBox above;
    unsigned above_page;
    bool has_above;
} Cut;

static unsigned pages_along(double length, double window)
{
    return length <= window ? 1 : (unsigned)ceil((length - overlap_mm) / (window - overlap_mm));
}

// Where the window of the row ROW begins in the drawing. Of several the last is
// full, so that what lies at the drawing's lower end stays whole; the first
// begins above the drawing.
static double row_top(const Cut *cut, unsigned row)
{
    if (cut->rows == 1)
        return 0;
    return cut->plan.height - cut->window_height - (cut->rows - 1 - row) * (cut->window_height - overlap_mm);
}

// Where the pages above and below ROW are laid on each other.
static double seam_y(const Cut *cut, unsigned row)
{
    return row_top(cut, row) + overlap_mm / 2;
}

// Crosses in the middle of each overlap, at a fifth and four fifths of it.
static void plan_joins(Cut *cut)
{
    unsigned joins = 0;
    const double share[] = {0.2, 0.8};
    double last_mark = DW_TEMPLATE_JOIN_7 - DW_TEMPLATE_JOIN_0;
    for (unsigned row = 1; row < cut->rows; row++)
        for (int i = 0; i < 2 && joins <= last_mark; i++)
            cut->plan.points[DW_TEMPLATE_JOIN_0 + joins++] =
                (DwTemplatePoint){share[i] * fmin(cut->plan.width, cut->window_width), seam_y(cut, row)};
    for (unsigned column = 1; column < cut->columns; column++)
        for (int i = 0; i < 2 && joins <= last_mark; i++)
            cut->plan.points[DW_TEMPLATE_JOIN_0 + joins++] =
                (DwTemplatePoint){column * (cut->window_width - overlap_mm) + overlap_mm / 2,
                                  share[i] * fmin(cut->plan.height, cut->window_height)};
}

// The largest letters whose words fit their box; written into nothing to see.
static double em_that_fits(const DwTemplate *template, const DwTemplatePlan *plan)
{
    static const double sizes[] = {3.4, 3.2, 3.0, 2.8};
    size_t count = sizeof sizes / sizeof *sizes;
    cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    cairo_t *cairo = cairo_create(surface);
    size_t i = 0;
    for (; i + 1 < count; i++) {
        const DwCanvas canvas = {.cairo = cairo, .theme = DW_THEME_PAPER, .em = sizes[i]};
        if (dw_template_words(template, drawings[template->kind], plan, &canvas) <= plan->words.y + plan->words.height)
            break;
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return sizes[i];
}

// The arm from above where the drawing leaves room: below it, else above the pivot of the first of several pages; else
// on a page of its own.
static void place_above(const DwTemplate *template, Cut *cut)
{
    cut->has_above = template->plan && dw_arm_view_fits(template->plan);
    if (!cut->has_above)
        return;
    double width = fmin(cut->window_width, above_widest_mm), clear = above_clear_mm;
    double height = dw_arm_view_height(template->plan, width, above_em_mm) + above_head_mm;
    double below = cut->window_height - cut->plan.height - clear;
    double over = cut->rows > 1 ? -row_top(cut, 0) - clear : 0;
    bool fits = cut->columns == 1 && (cut->rows == 1 ? below >= height : over >= height);
    cut->above_page = fits ? 0 : cut->columns * cut->rows;
    double top = fits && cut->rows == 1 ? cut->plan.height + clear : 0;
    cut->above = (DwBox){margin_mm, margin_mm + top, width, height};
}

static Cut cut_of(const DwTemplate *template)
{
    assert(template->printer_x_mm > 0 && template->printer_y_mm > 0);
    Cut cut = {.stretch_x = 100 / template->printer_x_mm, .stretch_y = 100 / template->printer_y_mm};
    for (int i = 0; i < DW_TEMPLATE_MARK_COUNT; i++)
        cut.plan.points[i] = (DwTemplatePoint){NAN, NAN};
    cut.page_width = papers[template->paper].width / cut.stretch_x;
    cut.page_height = papers[template->paper].height / cut.stretch_y;
    cut.window_width = cut.page_width - 2 * margin_mm - ruler_along_mm;
    cut.window_height = cut.page_height - 2 * margin_mm - ruler_across_mm;
    cut.plan.room_width = cut.window_width;
    cut.plan.room_height = cut.window_height;
    cut.plan.overlap = overlap_mm;
    drawings[template->kind]->plan(template, &cut.plan);
    cut.columns = pages_along(cut.plan.width, cut.window_width);
    cut.rows = pages_along(cut.plan.height, cut.window_height);
    cut.left = margin_mm + (cut.columns == 1 ? (cut.window_width - cut.plan.width) / 2 : 0);
    cut.top = margin_mm;
    plan_joins(&cut);
    cut.em = em_that_fits(template, &cut.plan);
    place_above(template, &cut);
    return cut;
}

static unsigned pages_of(const Cut *cut)
{
    unsigned joined = cut->columns * cut->rows;
    return joined + (cut->has_above && cut->above_page == joined);
}

unsigned dw_template_pages(const DwTemplate *template)
{
    Cut cut = cut_of(template);
    return pages_of(&cut);
}

unsigned dw_template_joined(const DwTemplate *template)
{
    Cut cut = cut_of(template);
    return cut.columns * cut.rows;
}

// What is to be added to a point of the drawing to have it on page PAGE.
static DwTemplatePoint shift_of(const Cut *cut, unsigned page)
{
    return (DwTemplatePoint){cut->left - page % cut->columns * (cut->window_width - overlap_mm),
                             cut->top - row_top(cut, page / cut->columns)};
}

static DwTemplatePoint ruler_across_start(const Cut *cut)
{
    return (DwTemplatePoint){margin_mm + 1, cut->page_height - margin_mm - 4};
}

static DwTemplatePoint ruler_along_start(const Cut *cut)
{
    return (DwTemplatePoint){cut->page_width - margin_mm - 4, margin_mm + 14};
}

bool dw_template_locate(const DwTemplate *template, DwTemplateMark mark, unsigned page, double *x_mm, double *y_mm)
{
    Cut cut = cut_of(template);
    bool is_ruler = mark == DW_TEMPLATE_RULER_ACROSS || mark == DW_TEMPLATE_RULER_ALONG;
    if (page >= (is_ruler ? pages_of(&cut) : cut.columns * cut.rows))
        return false;
    DwTemplatePoint point = cut.plan.points[mark], shift = shift_of(&cut, page);
    double x = point.x + shift.x, y = point.y + shift.y;
    if (is_ruler) {
        point = mark == DW_TEMPLATE_RULER_ACROSS ? ruler_across_start(&cut) : ruler_along_start(&cut);
        x = point.x;
        y = point.y;
    } else if (!(x >= margin_mm && x <= margin_mm + cut.window_width && y >= margin_mm &&
                 y <= margin_mm + cut.window_height))
        return false;
    *x_mm = x * cut.stretch_x;
    *y_mm = y * cut.stretch_y;
    return true;
}

// A ruler of 100 mm: a line, a tick each 10 mm, longer at the ends.
static void draw_ruler(const DwCanvas *canvas, DwTemplatePoint start, bool along)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_translate(cairo, start.x, start.y);
    if (along)
        cairo_rotate(cairo, M_PI / 2);
    double side = along ? 1 : -1;
    for (int i = 0; i <= 10; i++) {
        double length = i % 10 == 0 ? tick_mm * 2 : i % 5 == 0 ? tick_mm : tick_mm * 0.6;
        dw_template_line(canvas, (DwTemplatePoint){i * 10, 0}, (DwTemplatePoint){i * 10, side * length}, 0.1,
                         DW_INK_TEXT);
    }
    dw_template_line(canvas, (DwTemplatePoint){0, 0}, (DwTemplatePoint){100, 0}, 0.1, DW_INK_TEXT);
    dw_template_label(canvas, (DwTemplatePoint){50, along ? -1.4 : 3.4}, 0, 0.5,
                      dw_said("must measure 100.0 mm, tick to tick"));
    cairo_restore(cairo);
}

static void draw_foot(const DwTemplate *template, const Cut *cut, unsigned page, const DwCanvas *canvas)
{
    unsigned pages = pages_of(cut);
    double right = cut->page_width - margin_mm, base = cut->page_height - margin_mm;
    char *text = pages == 1 ? dw_say("%s · page 1 of 1", papers[template->paper].name)
                            : dw_say("%s · page %u of %u", papers[template->paper].name, page + 1, pages);
    dw_canvas_write(canvas, (DwLetters){1, true, DW_INK_TEXT}, right, base - 5, 1, text);
    free(text);
    bool corrected = fabs(template->printer_x_mm - 100) > 0.005 || fabs(template->printer_y_mm - 100) > 0.005;
    text = corrected
               ? dw_say("corrected for a printer of %.2f and %.2f mm", template->printer_x_mm, template->printer_y_mm)
               : dw_say("print at 100 %%, no fitting to the page");
    dw_template_label(canvas, (DwTemplatePoint){right, base - 0.6}, 0, 1, text);
    free(text);
}

// The crosses that two pages share, with a letter each and the line to lay the
// neighbour's edge to.
static void draw_joins(const Cut *cut, const DwCanvas *canvas)
{
    cairo_set_dash(canvas->cairo, (double[]){0.8, 2.4}, 2, 0);
    for (unsigned row = 1; row < cut->rows; row++) {
        double y = seam_y(cut, row);
        dw_template_line(canvas, (DwTemplatePoint){0, y}, (DwTemplatePoint){cut->plan.width, y}, 0.2, DW_INK_QUIET);
        dw_template_label(canvas, (DwTemplatePoint){fmin(cut->plan.width, cut->window_width) / 2, y - 1.5}, 0, 0.5,
                          dw_said("cut one page along the dots, lay cross on cross"));
    }
    for (unsigned column = 1; column < cut->columns; column++) {
        double x = column * (cut->window_width - overlap_mm) + overlap_mm / 2;
        dw_template_line(canvas, (DwTemplatePoint){x, 0}, (DwTemplatePoint){x, cut->plan.height}, 0.2, DW_INK_QUIET);
    }
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
    for (int mark = DW_TEMPLATE_JOIN_0; mark <= DW_TEMPLATE_JOIN_7; mark++) {
        DwTemplatePoint point = cut->plan.points[mark];
        if (isnan(point.x))
            continue;
        const char letter[] = {(char)('A' + mark - DW_TEMPLATE_JOIN_0), 0};
        dw_template_cross(canvas, point, 5);
        dw_template_label(canvas, (DwTemplatePoint){point.x + 2, point.y - 2}, 0, 0, letter);
    }
}

// This very arm from above, so that what the words call its measures can be seen.
static void draw_above(const DwTemplate *template, const Cut *cut, const DwCanvas *canvas)
{
    const DwBox *box = &cut->above;
    const DwCanvas small = {.cairo = canvas->cairo, .theme = canvas->theme, .em = above_em_mm};
    char *words = dw_say("%s, drawn smaller: to look at, not to set by", dw_arm_view_title(template->plan));
    dw_canvas_write(canvas, (DwLetters){1, true, DW_INK_TEXT}, box->x, box->y + canvas->em, 0, words);
    free(words);
    dw_arm_view_draw(&small, template->plan,
                     (DwBox){box->x, box->y + above_head_mm, box->width, box->height - above_head_mm});
}

// What every page is drawn from.
typedef struct {
    const DwTemplate *template;
    Cut cut;
} Job;

// The drawing with its words, over all its pages.
static void draw_whole(const DwCanvas *canvas, const void *user)
{
    const Job *job = user;
    const DwCanvas words = {.cairo = canvas->cairo, .theme = DW_THEME_PAPER, .em = job->cut.em};
    dw_template_words(job->template, drawings[job->template->kind], &job->cut.plan, &words);
    drawings[job->template->kind]->draw(job->template, &job->cut.plan, canvas);
    draw_joins(&job->cut, canvas);
}

// The same, and what two pages share as one field: a mark there would be cut.
static void draw_taken(const DwCanvas *canvas, const void *user)
{
    const Job *job = user;
    const Cut *cut = &job->cut;
    draw_whole(canvas, user);
    dw_canvas_use(canvas, DW_INK_TEXT);
    for (unsigned row = 1; row < cut->rows; row++) {
        cairo_rectangle(canvas->cairo, 0, row_top(cut, row), cut->plan.width, overlap_mm);
        cairo_fill(canvas->cairo);
    }
    for (unsigned column = 1; column < cut->columns; column++) {
        cairo_rectangle(canvas->cairo, column * (cut->window_width - overlap_mm), 0, overlap_mm, cut->plan.height);
        cairo_fill(canvas->cairo);
    }
}

static void draw_marks(const Job *job, const DwCanvas *canvas)
{
    const DwTemplatePlan *plan = &job->cut.plan;
    DwTemplatePoint spindle = plan->points[DW_TEMPLATE_SPINDLE], inner = plan->points[DW_TEMPLATE_NULL_INNER];
    DwTemplatePoint outer = plan->points[DW_TEMPLATE_NULL_OUTER];
    if (isnan(inner.x))
        inner = plan->points[DW_TEMPLATE_STYLUS];
    if (isnan(outer.x))
        outer = inner;
    if (plan->marks.width > 0)
        dw_marks_draw_clear(
            canvas, DW_MARKED_ARM,
            &(DwMarksAmong){
                draw_taken, job, plan->marks, spindle.x, spindle.y, {{inner.x, inner.y}, {outer.x, outer.y}}});
}

static void draw_page(cairo_t *cairo, unsigned page, const void *context)
{
    const Job *job = context;
    const DwTemplate *template = job->template;
    const Cut *cut = &job->cut;
    const DwCanvas canvas = {.cairo = cairo, .theme = DW_THEME_PAPER, .em = 3.4};
    cairo_scale(cairo, cut->stretch_x, cut->stretch_y);
    if (cut->has_above && page == cut->above_page)
        draw_above(template, cut, &canvas);
    draw_ruler(&canvas, ruler_across_start(cut), false);
    draw_ruler(&canvas, ruler_along_start(cut), true);
    draw_foot(template, cut, page, &canvas);
    if (page >= cut->columns * cut->rows)
        return;
    cairo_rectangle(cairo, margin_mm, margin_mm, cut->window_width, cut->window_height);
    cairo_clip(cairo);
    DwTemplatePoint shift = shift_of(cut, page);
    cairo_translate(cairo, shift.x, shift.y);
    draw_whole(&canvas, job);
    draw_marks(job, &canvas);
}

DwStatus dw_template_write(const DwTemplate *template, const char *path, DwMessage *message)
{
    const Job job = {template, cut_of(template)};
    return dw_pdf_page_write(path, drawings[template->kind]->title, papers[template->paper].width,
                             papers[template->paper].height, pages_of(&job.cut), draw_page, &job, message);
}

DwStatus dw_template_picture(const DwTemplate *template, double per_mm, DwPagePicture *picture, DwMessage *message)
{
    const Job job = {template, cut_of(template)};
    DwStatus status = dw_page_picture_draw(papers[template->paper].width, papers[template->paper].height, per_mm,
                                           draw_page, &job, picture, message);
    double x_mm = 0, y_mm = 0;
    dw_template_locate(template, DW_TEMPLATE_SPINDLE, 0, &x_mm, &y_mm);
    picture->origin_x = x_mm * per_mm;
    picture->origin_y = y_mm * per_mm;
    return status;
}
