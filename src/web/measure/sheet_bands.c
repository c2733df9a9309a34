// SPDX-License-Identifier: MIT
#include "web/measure/sheet_view.h"

#include "base/memory.h"
#include "base/plan/side_measured.h"
#include "base/text.h"
#include "chart/sheet/side_overview.h"
#include "web/page/page.h"

#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static const char *title_kind(const DwTable *table, size_t row)
{
    const char *kind = dw_table_cell(table, row, 1)->word;
    return kind ? kind : "";
}

// "3 · tone lateral 1 kHz · found"; the caller frees it with free().
static char *title_of(const DwTable *table, size_t row)
{
    DwText text = {0};
    dw_text_add(&text, "%.0f", dw_table_cell(table, row, 0)->number);
    for (size_t c = 1; c + 1 < table->column_count; c++) {
        const char *word = dw_table_cell(table, row, c)->word;
        bool parts = c == 1 || strcmp(table->columns[c].key, "verdict") == 0;
        bool twice = strcmp(table->columns[c].key, "content") == 0 && strcmp(title_kind(table, row), "silence") == 0;
        if (word && !twice)
            dw_text_add(&text, "%s%s", parts ? " · " : " ", dw_words(word));
    }
    return dw_text_take(&text);
}

// Marks in LEFT_OUT every reading that was not measured on what LIST names, and in WRITTEN those that were.
// Returned: how many were.
static size_t choose(const DwSheet *sheet, const char *list, bool *left_out, bool *written)
{
    size_t count = 0;
    for (size_t i = 0; i < sheet->reading_count; i++) {
        const char *word = dw_side_measured_word(sheet->readings[i].key);
        left_out[i] = !word || !dw_side_measured_lists(list, word);
        written[i] |= !left_out[i];
        count += !left_out[i];
    }
    return count;
}

static void write_band(DwPage *page, const DwSheetView *view, const DwTable *table, size_t row, bool *written)
{
    DwHtml *html = page->html;
    char *title = title_of(table, row), *id = dw_text_format("band-%.0f", dw_table_cell(table, row, 0)->number);
    bool *left_out = dw_memory_new(view->sheet->reading_count + 1, sizeof *left_out);
    const char *list = dw_table_cell(table, row, table->column_count - 1)->word;
    if (choose(view->sheet, list, left_out, written)) {
        dw_html_open(html, "details", "id", id, NULL);
        dw_html_open(html, "summary", NULL);
        dw_html_element(html, "span", title, NULL);
        dw_html_text(html, " ");
        dw_page_verdict(page, dw_side_overview_verdict(view->sheet, table, row));
        dw_html_close(html, "summary");
        dw_sheet_table_write_some(page, view, left_out, title);
        dw_html_close(html, "details");
    } else
        dw_html_element(html, "p", title, "id", id, "class", "quiet", NULL);
    free(left_out);
    free(title);
    free(id);
}

void dw_sheet_bands_write(DwPage *page, const DwSheetView *view, bool *written)
{
    const DwTable *table = dw_sheet_table(view->sheet, "side.bands");
    if (!dw_side_overview_fits(view->sheet))
        return;
    dw_html_element(page->html, "h2", dw_words(table->label), NULL);
    for (size_t row = 0; row < table->row_count; row++)
        write_band(page, view, table, row, written);
}
