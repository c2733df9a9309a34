// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_layout.h"

#include <math.h>

// Body text is 20 pixels on a screen 1200 wide, and 10.5 points on A4.
double dw_sheet_layout_em(double width, DwTheme theme)
{
    return theme == DW_THEME_PAPER ? width * 10.5 / 595.276 : width / 60;
}

// 20 mm on A4.
double dw_sheet_layout_margin(double width, DwTheme theme)
{
    return theme == DW_THEME_PAPER ? width * 20 / 210 : width / 25;
}

double dw_sheet_layout_wish(const DwSheetPage *page, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += page->blocks[i].wish;
    return sum;
}

double dw_sheet_layout_need(const DwSheetPage *page, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += page->blocks[i].least;
    return sum;
}

size_t dw_sheet_layout_page_end(const DwSheetPage *page, size_t from, double room)
{
    size_t to = from;
    double used = 0;
    while (to < page->block_count && used + page->blocks[to].least <= room) {
        used += page->blocks[to++].least;
        if (page->blocks[to - 1].ends_page)
            return to;
    }
    if (to == page->block_count)
        return to;
    while (to > from + 1 && dw_sheet_page_is_heading(page, to - 1))
        to--;
    return to > from ? to : from + 1; // what fits no page still gets one
}

void dw_sheet_layout_draw(const DwSheetPage *page, size_t from, size_t to, const DwCanvas *canvas, DwBox box)
{
    double wish = dw_sheet_layout_wish(page, from, to), need = dw_sheet_layout_need(page, from, to);
    double ease = wish <= box.height ? 1 : wish > need ? fmax(0, (box.height - need) / (wish - need)) : 0;
    double y = box.y;
    for (size_t i = from; i < to; i++) {
        const DwBlock *block = &page->blocks[i];
        double height = block->least + ease * (block->wish - block->least);
        dw_sheet_page_draw_block(page, i, canvas, (DwBox){box.x, y, box.width, height});
        y += height;
    }
}
