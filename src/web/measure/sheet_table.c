// SPDX-License-Identifier: MIT
#include "web/measure/sheet_view.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/job/comparison.h"
#include "chart/draw/number.h"
#include "web/measure/measure_field.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// A longer table is folded; of a very long one a page shows the beginning.
enum { ROWS_OPEN = 24, ROWS_SHOWN = 200 };

// WORDS of TABLE as a page says them.
static const char *said(const DwTable *table, const char *words)
{
    return strcmp(table->key, "take") == 0 ? dw_take_words(words) : dw_words(words);
}

// A table that may be wider than a phone: it is scrolled by itself, also by keys.
static void begin_table(DwPage *page, const char *label)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "class", "scroll", "role", "region", "tabindex", "0", "aria-label", label, NULL);
    dw_html_open(html, "table", NULL);
}

static void end_table(DwPage *page)
{
    dw_html_close(page->html, "table");
    dw_html_close(page->html, "div");
}

static void write_head(DwPage *page, const DwTable *table)
{
    DwHtml *html = page->html;
    dw_html_open(html, "thead", NULL);
    dw_html_open(html, "tr", NULL);
    for (size_t i = 0; i < table->column_count; i++) {
        const DwColumn *column = &table->columns[i];
        bool number = table->row_count && !dw_table_cell(table, 0, i)->word;
        dw_html_open(html, "th", "scope", "col", "class", number ? "number" : DW_HTML_NONE, NULL);
        dw_html_text(html, said(table, column->label));
        if (*column->unit) {
            dw_html_text(html, " ");
            dw_html_element(html, "span", dw_number_unit(column->unit), "class", "unit", NULL);
        }
        dw_html_close(html, "th");
    }
    dw_html_close(html, "tr");
    dw_html_close(html, "thead");
}

static void write_row(DwPage *page, const DwTable *table, size_t row)
{
    DwHtml *html = page->html;
    dw_html_open(html, "tr", NULL);
    for (size_t i = 0; i < table->column_count; i++) {
        const DwCell *cell = dw_table_cell(table, row, i);
        if (cell->word)
            dw_sheet_say_words(html, "td", said(table, cell->word), NULL);
        else
            dw_html_element(html, "td", dw_number_print(cell->number, table->columns[i].digits, false).text, "class",
                            "number", NULL);
    }
    dw_html_close(html, "tr");
}

void dw_sheet_table_write(DwPage *page, const DwTable *table)
{
    DwHtml *html = page->html;
    bool folded = table->row_count > ROWS_OPEN;
    if (!table->row_count)
        return;
    if (folded) {
        dw_html_open(html, "details", NULL);
        dw_html_open(html, "summary", NULL);
        dw_html_format(html, _("%s: %zu rows"), dw_words(table->label), table->row_count);
        dw_html_close(html, "summary");
    } else
        dw_html_element(html, "h2", said(table, table->label), "data-fold", DW_HTML_BARE, NULL);
    begin_table(page, said(table, table->label));
    write_head(page, table);
    dw_html_open(html, "tbody", NULL);
    for (size_t row = 0; row < table->row_count && row < ROWS_SHOWN; row++)
        write_row(page, table, row);
    dw_html_close(html, "tbody");
    end_table(page);
    if (table->row_count > ROWS_SHOWN) {
        dw_html_open(html, "p", "class", "quiet", NULL);
        dw_html_format(html, _("The first %d rows; the file of numbers has all of them."), ROWS_SHOWN);
        dw_html_close(html, "p");
    }
    if (folded)
        dw_html_close(html, "details");
}

// What it was as received, or why the two are not held against each other.
static void write_before(DwPage *page, const DwSheetView *view, const DwReading *reading)
{
    DwPair pair;
    dw_comparison_of(view->before_from, view->before, view->from, view->sheet, reading->key, &pair);
    DwHtml *html = page->html;
    dw_html_open(html, "td", NULL);
    if (pair.before)
        dw_sheet_reading_write_value(page, pair.before);
    if (!pair.comparable)
        dw_html_element(html, "small", pair.reason, NULL);
    dw_html_close(html, "td");
    free(pair.reason);
}

static void write_reading(DwPage *page, const DwSheetView *view, const DwReading *reading, bool judged)
{
    DwHtml *html = page->html;
    char *doubts = dw_sheet_reading_doubts(reading);
    dw_html_open(html, "tr", NULL);
    char *label = dw_words_joined(reading->label);
    dw_html_element(html, "th", label, "scope", "row", NULL);
    free(label);
    if (view->before)
        write_before(page, view, reading);
    dw_html_open(html, "td", NULL);
    dw_sheet_reading_write_value(page, reading);
    if (*doubts) {
        dw_html_open(html, "small", NULL);
        dw_html_format(html, _("Doubtful: %s"), doubts);
        dw_html_close(html, "small");
    }
    dw_html_close(html, "td");
    if (judged) {
        dw_html_open(html, "td", NULL);
        dw_page_verdict(page, reading->verdict);
        dw_html_close(html, "td");
    }
    dw_html_close(html, "tr");
    free(doubts);
}

void dw_sheet_table_write_some(DwPage *page, const DwSheetView *view, const bool *left_out, const char *label)
{
    DwHtml *html = page->html;
    bool judged = false;
    for (size_t i = 0; i < view->sheet->reading_count; i++)
        judged |= !left_out[i] && view->sheet->readings[i].verdict != DW_VERDICT_NONE;
    begin_table(page, label);
    dw_html_open(html, "thead", NULL);
    dw_html_open(html, "tr", NULL);
    dw_html_element(html, "th", _("Reading"), "scope", "col", NULL);
    if (view->before)
        dw_html_element(html, "th", _("As received"), "scope", "col", NULL);
    dw_html_element(html, "th", view->before ? _("As left") : _("Value"), "scope", "col", NULL);
    if (judged)
        dw_html_element(html, "th", _("Verdict"), "scope", "col", NULL);
    dw_html_close(html, "tr");
    dw_html_close(html, "thead");
    dw_html_open(html, "tbody", NULL);
    for (size_t i = 0; i < view->sheet->reading_count; i++)
        if (!left_out[i])
            write_reading(page, view, &view->sheet->readings[i], judged);
    dw_html_close(html, "tbody");
    end_table(page);
}

void dw_sheet_table_write_readings(DwPage *page, const DwSheetView *view, const bool *large)
{
    dw_html_element(page->html, "h2", _("Further readings"), "data-fold", DW_HTML_BARE, NULL);
    dw_sheet_table_write_some(page, view, large, _("Further readings"));
}

// What INPUT says: the words of a choice in the reader's language, whatever else as it is. The caller frees it with
// free().
static char *choice_words(const DwSheetInput *input)
{
    const DwQuantity *quantity = dw_quantity_find(input->key);
    if (!quantity || quantity->kind != DW_QUANTITY_CHOICE)
        return dw_memory_text(input->text);
    char *plain = dw_measure_field_word(input->text, strlen(input->text)), *said = dw_memory_text(dw_words(plain));
    free(plain);
    return said;
}

void dw_sheet_table_write_inputs(DwPage *page, const DwSheet *sheet)
{
    DwHtml *html = page->html;
    if (!sheet->input_count)
        return;
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("What it was measured with"), NULL);
    dw_html_open(html, "dl", "class", "facts", NULL);
    for (size_t i = 0; i < sheet->input_count; i++) {
        const DwSheetInput *input = &sheet->inputs[i];
        dw_html_element(html, "dt", dw_words(input->label), NULL);
        dw_html_open(html, "dd", NULL);
        char *text = choice_words(input);
        dw_html_format(html, "%s%s%s", text, dw_number_space(input->unit), dw_number_unit(input->unit));
        free(text);
        if (!input->given)
            dw_html_element(html, "span", _(" usual value, not stated"), "class", "quiet", NULL);
        dw_html_close(html, "dd");
    }
    dw_html_close(html, "dl");
    dw_html_close(html, "details");
}
