// SPDX-License-Identifier: MIT
#include "chart/template/marks_paper.h"

#include <apriltag/tag36h11.h>
#include <stdlib.h>

// The white cells of a code, row by row, as one path: pieces filled one after another would show their seams.
static void add_white_cells(cairo_t *cairo, const image_u8_t *code, double cell)
{
    double middle = code->width / 2.0;
    for (int y = 1; y + 1 < code->height; y++)
        for (int x = 1, end; x + 1 < code->width; x = end) {
            for (end = x + 1;
                 end + 1 < code->width && !code->buf[y * code->stride + x] == !code->buf[y * code->stride + end]; end++)
                continue;
            if (code->buf[y * code->stride + x])
                cairo_rectangle(cairo, (x - middle) * cell, (y - middle) * cell, (end - x) * cell, cell);
        }
}

static void draw_mark(cairo_t *cairo, apriltag_family_t *family, const DwPaperMark *mark)
{
    image_u8_t *code = apriltag_to_image(family, (uint32_t)mark->number);
    cairo_save(cairo);
    cairo_translate(cairo, mark->x_mm, mark->y_mm);
    cairo_rotate(cairo, mark->turn);
    // Pure black: a printer would screen any other ink, and fray the edges.
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_rectangle(cairo, -mark->size_mm / 2, -mark->size_mm / 2, mark->size_mm, mark->size_mm);
    cairo_fill(cairo);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    add_white_cells(cairo, code, mark->size_mm / family->width_at_border);
    cairo_fill(cairo);
    cairo_restore(cairo);
    free(code->buf);
    free(code);
}

void dw_marks_draw(const DwCanvas *canvas, DwMarkedPaper paper, const bool *which)
{
    apriltag_family_t *family = tag36h11_create();
    for (size_t i = 0; i < dw_paper_marks_count(paper); i++) {
        DwPaperMark mark = dw_paper_mark(paper, i);
        if (!which || which[i])
            draw_mark(canvas->cairo, family, &mark);
    }
    tag36h11_destroy(family);
}
