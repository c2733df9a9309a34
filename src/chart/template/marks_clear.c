// SPDX-License-Identifier: MIT
#include "chart/template/marks_clear.h"

#include "base/memory.h"
#include "chart/template/marks_paper.h"

#include <math.h>
#include <stdlib.h>

static const double per_mm = 5, around_mm = 1.5; // more than a cell, which a mark needs white about it

// What AMONG draws, as a picture of its ink.
static cairo_surface_t *ink_of(const DwCanvas *canvas, const DwMarksAmong *among)
{
    int width = (int)ceil((among->room.x + among->room.width) * per_mm) + 1;
    int height = (int)ceil((among->room.y + among->room.height) * per_mm) + 1;
    cairo_surface_t *ink = cairo_image_surface_create(CAIRO_FORMAT_A8, width, height);
    cairo_t *cairo = cairo_create(ink);
    const DwCanvas on_ink = {.cairo = cairo, .theme = canvas->theme, .em = canvas->em};
    cairo_scale(cairo, per_mm, per_mm);
    among->draw(&on_ink, among->user);
    cairo_destroy(cairo);
    cairo_surface_flush(ink);
    return ink;
}

// Whether MARK may stand there and finds nothing drawn.
static bool is_clear(cairo_surface_t *ink, const DwMarksAmong *among, const DwPaperMark *mark)
{
    double half = mark->size_mm / 2 + around_mm, x = among->origin_x + mark->x_mm, y = among->origin_y + mark->y_mm;
    const DwBox *room = &among->room;
    if (x - half < room->x || x + half > room->x + room->width || y - half < room->y ||
        y + half > room->y + room->height)
        return false;
    const unsigned char *pixels = cairo_image_surface_get_data(ink);
    ptrdiff_t stride = cairo_image_surface_get_stride(ink);
    size_t wide = (size_t)(2 * half * per_mm), left = (size_t)((x - half) * per_mm);
    for (size_t row = (size_t)((y - half) * per_mm); row <= (size_t)((y + half) * per_mm); row++)
        for (size_t column = left; column <= left + wide; column++)
            if (pixels[(ptrdiff_t)row * stride + (ptrdiff_t)column])
                return false;
    return true;
}

// The clear mark of PAPER nearest to where marks are wanted; the count of them where none is left.
static size_t nearest(DwMarkedPaper paper, const DwMarksAmong *among, const bool *clear, const bool *chosen)
{
    size_t count = dw_paper_marks_count(paper), best = count;
    double least = INFINITY;
    for (size_t i = 0; i < count; i++) {
        DwPaperMark mark = dw_paper_mark(paper, i);
        double x = among->origin_x + mark.x_mm, y = among->origin_y + mark.y_mm;
        double away = fmin(hypot(x - among->near[0][0], y - among->near[0][1]),
                           hypot(x - among->near[1][0], y - among->near[1][1]));
        if (clear[i] && !chosen[i] && away < least) {
            least = away;
            best = i;
        }
    }
    return best;
}

void dw_marks_draw_clear(const DwCanvas *canvas, DwMarkedPaper paper, const DwMarksAmong *among)
{
    size_t count = dw_paper_marks_count(paper);
    bool *clear = dw_memory_new(count, sizeof *clear), *chosen = dw_memory_new(count, sizeof *chosen);
    cairo_surface_t *ink = ink_of(canvas, among);
    for (size_t i = 0; i < count && cairo_surface_status(ink) == CAIRO_STATUS_SUCCESS; i++) {
        DwPaperMark mark = dw_paper_mark(paper, i);
        clear[i] = is_clear(ink, among, &mark);
    }
    cairo_surface_destroy(ink);
    for (size_t drawn = 0, at; drawn < DW_PAPER_MARKS_MOST; drawn++) {
        at = nearest(paper, among, clear, chosen);
        if (at == count)
            break;
        chosen[at] = true;
    }
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, among->origin_x, among->origin_y);
    dw_marks_draw(canvas, paper, chosen);
    cairo_restore(canvas->cairo);
    free(clear);
    free(chosen);
}
