// SPDX-License-Identifier: MIT
#include "chart/template/marks_paper.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/pdf_page.h"
#include "chart/template/strobe_disc.h"
#include "chart/template/template_plan.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double margin_mm = 7; // what common printers leave white
static const double ruler_mm = 100;

typedef struct {
    const DwMarksPaper *paper;
    double width, height; // of the drawing's page, which the printer's corrections stretch on the PDF
    double stretch_x, stretch_y;
    DwTemplatePoint origin;
} Job;

static bool is_disc(DwMarkedPaper paper)
{
    return dw_marked_paper_has_spindle(paper);
}

static Job job_of(const DwMarksPaper *paper)
{
    static const double sizes[][2] = {
        [DW_TEMPLATE_A4] = {210, 297}, [DW_TEMPLATE_LETTER] = {215.9, 279.4}, [DW_TEMPLATE_A3] = {297, 420}};
    assert(paper->printer_x_mm > 0 && paper->printer_y_mm > 0);
    Job job = {.paper = paper, .stretch_x = 100 / paper->printer_x_mm, .stretch_y = 100 / paper->printer_y_mm};
    job.width = sizes[paper->sheet][0] / job.stretch_x;
    job.height = sizes[paper->sheet][1] / job.stretch_y;
    double half_width, reach;
    if (is_disc(paper->paper))
        reach = dw_paper_disc_radius(paper->paper);
    else
        dw_paper_card_reach(paper->paper, &half_width, &reach);
    job.origin = (DwTemplatePoint){job.width / 2, margin_mm + reach + 0.5};
    return job;
}

// A ruler of 100 mm from START, to the right or down, with its ticks on the side towards the page's middle.
static void draw_ruler(const DwCanvas *canvas, DwTemplatePoint start, bool along)
{
    cairo_t *cairo = canvas->cairo;
    cairo_save(cairo);
    cairo_translate(cairo, start.x, start.y);
    if (along)
        cairo_rotate(cairo, M_PI / 2);
    double side = along ? 1 : -1;
    for (int i = 0; i <= 20; i++) {
        double length = i % 20 == 0 ? 5 : i % 2 == 0 ? 2.6 : 1.5;
        dw_template_line(canvas, (DwTemplatePoint){i * 5, 0}, (DwTemplatePoint){i * 5, side * length}, 0.12,
                         DW_INK_TEXT);
    }
    dw_template_line(canvas, (DwTemplatePoint){0, 0}, (DwTemplatePoint){ruler_mm, 0}, 0.12, DW_INK_TEXT);
    dw_template_label(canvas, (DwTemplatePoint){ruler_mm / 2, along ? -1.2 : 3.4}, 0, 0.5,
                      dw_said("must measure 100.0 mm, tick to tick"));
    cairo_restore(cairo);
}

// A point of the disc that no paper says more of: the hole to cut, its cross, the line to cut along.
static void draw_hole_and_edge(const DwCanvas *canvas, double radius)
{
    dw_template_spindle(canvas, (DwTemplatePoint){0, 0});
    cairo_new_path(canvas->cairo);
    cairo_set_line_width(canvas->cairo, 0.15);
    cairo_arc(canvas->cairo, 0, 0, radius, 0, 2 * M_PI);
    cairo_stroke(canvas->cairo);
}

// The strobe rings within the marks, for both speeds under both mains.
static void draw_rings(const DwCanvas *canvas, double outermost)
{
    static const DwStrobeRing rings[] = {{216, "33⅓ · 60 Hz", "33.33 rpm"},
                                         {180, "33⅓ · 50 Hz", "33.33 rpm"},
                                         {160, "45 · 60 Hz", "45.00 rpm"},
                                         {133, "45 · 50 Hz", "45.11 rpm (+0.25 %)"}};
    const double room = 9.5, share = 0.72;
    for (size_t i = 0; i < sizeof rings / sizeof *rings; i++) {
        double outer = outermost - room * (double)i;
        dw_strobe_ring_draw(canvas, &rings[i], outer - share * room, outer);
    }
}

static const char *const disc_words[] = {
    N_("Print at 100 %, not fitted to the page: both rulers must measure 100.0 mm; if not, draw it again with "
       "printer.x= "
       "and printer.y= set to what they measured. Cut along the outer circle, make the hole so that it sits on the "
       "spindle without play, and lay the disc flat on the platter."),
    N_("To film the platter: telephone on a stand, all marks in the picture, its light even, no zoom, focus and "
       "exposure "
       "held. Do not touch the stand or the deck while it films. 30 seconds or more; for the start begin before the "
       "motor. "
       "Then: deckwright film FILE."),
    DW_STROBE_CAUTION,
    NULL,
};

static const char *const card_words[] = {
    N_("Print at 100 %, not fitted to the page: both rulers must measure 100.0 mm; if not, draw it again with "
       "printer.x= "
       "and printer.y=. Lay it flat. Photograph it with what lies on it or stands beside it, four marks or more in "
       "each "
       "picture. A belt lies between the marks and covers none: deckwright belt PHOTO. Two or more photographs from "
       "different sides: deckwright pose PHOTO PHOTO."),
    NULL,
};

static double write_words(const DwCanvas *canvas, const char *title, const char *const *words, DwBox box)
{
    double y = box.y + canvas->em * 1.4;
    dw_canvas_write(canvas, (DwLetters){1.4, true, DW_INK_TEXT}, box.x, y, 0, dw_said(title));
    y += 1.2;
    for (size_t i = 0; words[i]; i++)
        y += 0.9 +
             dw_canvas_paragraph(canvas, (DwLetters){1, false, DW_INK_TEXT}, box.x, y, box.width, dw_said(words[i]));
    return y;
}

static void draw_disc(const Job *job, const DwCanvas *canvas)
{
    DwMarkedPaper paper = job->paper->paper;
    double radius = dw_paper_disc_radius(paper);
    DwPaperMark first = dw_paper_mark(paper, 0);
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, job->origin.x, job->origin.y);
    draw_rings(canvas, hypot(first.x_mm, first.y_mm) - first.size_mm / 2 - 5.5);
    dw_marks_draw(canvas, paper, NULL);
    draw_hole_and_edge(canvas, radius);
    cairo_restore(canvas->cairo);
    double top = job->origin.y + radius + 9;
    draw_ruler(canvas, (DwTemplatePoint){(job->width - ruler_mm) / 2, top}, false);
    draw_ruler(canvas, (DwTemplatePoint){job->width - margin_mm - 2, job->height - margin_mm - ruler_mm - 1}, true);
    write_words(canvas, N_("Disc for the platter"), disc_words,
                (DwBox){margin_mm + 3, top + 5.5, job->width - 2 * margin_mm - 14, 0});
}

static void draw_card(const Job *job, const DwCanvas *canvas)
{
    DwMarkedPaper paper = job->paper->paper;
    double half_width, half_height;
    dw_paper_card_reach(paper, &half_width, &half_height);
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, job->origin.x, job->origin.y);
    dw_marks_draw(canvas, paper, NULL);
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, 0.15);
    cairo_rectangle(canvas->cairo, -half_width, -half_height, 2 * half_width, 2 * half_height);
    cairo_stroke(canvas->cairo);
    cairo_restore(canvas->cairo);
    double top = job->origin.y + half_height, left = job->origin.x - half_width;
    draw_ruler(canvas, (DwTemplatePoint){left + 1, top + 6.2}, false);
    draw_ruler(canvas, (DwTemplatePoint){job->origin.x + half_width + 4.5, job->origin.y - half_height + 1}, true);
    write_words(canvas, N_("Card"), card_words, (DwBox){left + 1, top + 10.2, 2 * half_width - 2, 0});
}

static void draw(cairo_t *cairo, unsigned number, const void *context)
{
    (void)number; // there is one page
    const Job *job = context;
    const DwCanvas canvas = {.cairo = cairo, .theme = DW_THEME_PAPER, .em = is_disc(job->paper->paper) ? 3.1 : 2.5};
    cairo_scale(cairo, job->stretch_x, job->stretch_y);
    if (is_disc(job->paper->paper))
        draw_disc(job, &canvas);
    else
        draw_card(job, &canvas);
}

DwStatus dw_marks_paper_write(const DwMarksPaper *paper, const char *path, DwMessage *message)
{
    const Job job = job_of(paper);
    return dw_pdf_page_write(path, is_disc(paper->paper) ? dw_said("Disc for the platter") : dw_said("Card with marks"),
                             job.width * job.stretch_x, job.height * job.stretch_y, 1, draw, &job, message);
}

DwStatus dw_marks_paper_picture(const DwMarksPaper *paper, double per_mm, DwPagePicture *picture, DwMessage *message)
{
    const Job job = job_of(paper);
    DwStatus status = dw_page_picture_draw(job.width * job.stretch_x, job.height * job.stretch_y, per_mm, draw, &job,
                                           picture, message);
    picture->origin_x = job.origin.x * job.stretch_x * per_mm;
    picture->origin_y = job.origin.y * job.stretch_y * per_mm;
    return status;
}
