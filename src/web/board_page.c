// SPDX-License-Identifier: MIT
// The board: every deck in the shop by what it waits for and since when.
#include "book/board.h"
#include "web/page.h"
#include "web/private.h"
#include "web/words.h"

static void write_row(DwVisit *visit, const DwBoardRow *row)
{
    DwHtml *html = visit->html;
    char path[48];
    snprintf(path, sizeof path, "/job/%04lld", (long long)row->number);
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "href", path, "class", "card", NULL);
    dw_html_open(html, "strong", NULL);
    dw_html_format(html, "%04lld %s", (long long)row->number, row->deck);
    dw_html_close(html, "strong");
    dw_html_element(html, "span", row->customer, NULL);
    dw_html_element(html, "span", row->waiting_for, "class", "quiet", NULL);
    dw_html_close(html, "a");
    dw_html_close(html, "li");
}

static void show_board(DwVisit *visit)
{
    DwBoard board;
    DwMessage message;
    DwStatus status = dw_board_read(visit->book, &board, &message);
    if (status != DW_OK) {
        dw_visit_trouble(visit, status, &message);
        return;
    }
    DwHtml *html = dw_page_begin(visit, &(DwPage){.title = _("Board"), .room = DW_ROOM_BOARD});
    dw_html_element(html, "h1", _("In the shop"), NULL);
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < board.count; i++)
        write_row(visit, &board.rows[i]);
    dw_html_close(html, "ul");
    dw_board_clear(&board);
    dw_page_end(visit);
}

const DwWebRoute dw_routes_board[] = {
    {"GET", "/", show_board, false},
    {0},
};
