// SPDX-License-Identifier: MIT
// A sheet on a terminal: readings aligned on the decimal mark, then tables,
// remarks in plain words, cautions, and what was not measured.
#include "base/text.h"
#include "cli/command.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_WIDTH = 96 };

static void pad(FILE *stream, const char *text, size_t columns, bool right)
{
    size_t width = dw_text_columns(text), gap = width < columns ? columns - width : 0;
    fprintf(stream, right ? "%*s%s" : "%*.0s%s", right ? (int)gap : 0, "", text);
    if (!right)
        fprintf(stream, "%*s", (int)gap, "");
}

// Prints TEXT wrapped to the line's width, INDENT columns in from the second line on.
static void print_wrapped(FILE *stream, const char *lead, const char *text, size_t indent)
{
    fputs(lead, stream);
    size_t column = dw_text_columns(lead);
    while (*text) {
        size_t length = strcspn(text, " ");
        char *word = dw_text_format("%.*s", (int)length, text);
        size_t width = dw_text_columns(word);
        if (column > indent && column + 1 + width > LINE_WIDTH) {
            fprintf(stream, "\n%*s", (int)indent, "");
            column = indent;
        } else if (column > indent) {
            fputc(' ', stream);
            column++;
        }
        fputs(word, stream);
        column += width;
        free(word);
        text += length;
        text += strspn(text, " ");
    }
    fputc('\n', stream);
}

// The part of a number before its decimal mark, so that columns align on it.
static size_t whole_columns(const char *number)
{
    size_t length = strcspn(number, ".");
    char *whole = dw_text_format("%.*s", (int)length, number);
    size_t columns = dw_text_columns(whole);
    free(whole);
    return columns;
}

static char *reading_text(const DwReading *reading)
{
    char number[64];
    if (reading->word)
        return dw_text_format("%s", reading->word);
    return dw_text_format("%s", dw_text_decimal(number, sizeof number, reading->value, reading->digits));
}

static void print_limit(FILE *stream, const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    char low[32], high[32];
    if (isfinite(limit->low) && isfinite(limit->high))
        fprintf(stream, "allowed %s to %s %s", dw_text_decimal(low, sizeof low, limit->low, 2),
                dw_text_decimal(high, sizeof high, limit->high, 2), reading->unit);
    else if (isfinite(limit->high))
        fprintf(stream, "allowed up to %s %s", dw_text_decimal(high, sizeof high, limit->high, 2), reading->unit);
    else if (isfinite(limit->low))
        fprintf(stream, "allowed from %s %s", dw_text_decimal(low, sizeof low, limit->low, 2), reading->unit);
    else
        fprintf(stream, "good %s to %s %s", dw_text_decimal(low, sizeof low, limit->good_low, 2),
                dw_text_decimal(high, sizeof high, limit->good_high, 2), reading->unit);
}

static void print_reading(FILE *stream, const DwReading *reading, size_t labels, size_t wholes, size_t fractions)
{
    char *number = reading_text(reading);
    size_t whole = whole_columns(number), fraction = dw_text_columns(number) - whole;
    fputs("  ", stream);
    pad(stream, reading->label, labels, false);
    fprintf(stream, "  %*s%s", reading->word || whole > wholes ? 0 : (int)(wholes - whole), "", number);
    fprintf(stream, "%*s ", fraction < fractions ? (int)(fractions - fraction) : 0, "");
    pad(stream, reading->unit, 6, false);
    char spread[32] = "";
    if (isfinite(reading->uncertainty)) {
        char digits[24];
        snprintf(spread, sizeof spread, "± %s",
                 dw_text_decimal(digits, sizeof digits, reading->uncertainty, reading->digits));
    }
    bool more = reading->verdict != DW_VERDICT_NONE || reading->limit || reading->flags;
    if (*spread || more)
        pad(stream, spread, more ? 9 : 0, false);
    if (more)
        pad(stream, dw_verdict_word(reading->verdict), reading->limit ? 15 : 0, false);
    if (reading->limit)
        print_limit(stream, reading);
    for (int i = 0; i < DW_FLAG_COUNT; i++)
        if (reading->flags & (1u << i))
            fprintf(stream, " [%s]", dw_flag_word((DwFlag)(1u << i)));
    fputc('\n', stream);
    free(number);
}

static void print_readings(FILE *stream, const DwSheet *sheet)
{
    size_t labels = 0, wholes = 0, fractions = 0;
    for (size_t i = 0; i < sheet->reading_count; i++) {
        const DwReading *reading = &sheet->readings[i];
        size_t columns = dw_text_columns(reading->label);
        labels = columns > labels ? columns : labels;
        if (reading->word)
            continue;
        char *number = reading_text(reading);
        size_t whole = whole_columns(number), fraction = dw_text_columns(number) - whole;
        wholes = whole > wholes ? whole : wholes;
        fractions = fraction > fractions ? fraction : fractions;
        free(number);
    }
    for (size_t i = 0; i < sheet->reading_count; i++)
        print_reading(stream, &sheet->readings[i], labels, wholes, fractions);
}

// The sources of the limits shown, each once.
static void print_limit_sources(FILE *stream, const DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->reading_count; i++) {
        const DwLimit *limit = sheet->readings[i].limit;
        bool seen = !limit;
        for (size_t j = 0; !seen && j < i; j++)
            seen = sheet->readings[j].limit && strcmp(sheet->readings[j].limit->source, limit->source) == 0;
        if (!seen) {
            char *text = dw_text_format("%s: %s.", sheet->readings[i].label, limit->source);
            print_wrapped(stream, "  Limit of ", text, 4);
            free(text);
        }
    }
}

static char *cell_text(const DwTable *table, size_t row, size_t column)
{
    char number[64];
    const DwCell *cell = dw_table_cell(table, row, column);
    if (cell->word)
        return dw_text_format("%s", cell->word);
    return dw_text_format("%s", dw_text_decimal(number, sizeof number, cell->number, table->columns[column].digits));
}

static char *column_head(const DwColumn *column)
{
    return *column->unit ? dw_text_format("%s (%s)", column->label, column->unit) : dw_text_format("%s", column->label);
}

static bool column_is_words(const DwTable *table, size_t column)
{
    for (size_t r = 0; r < table->row_count; r++)
        if (dw_table_cell(table, r, column)->word)
            return true;
    return false;
}

static void print_table(FILE *stream, const DwTable *table)
{
    fprintf(stream, "\n%s\n", table->label);
    size_t *widths = calloc(table->column_count + 1, sizeof *widths);
    if (!widths)
        return;
    for (size_t c = 0; c < table->column_count; c++) {
        char *head = column_head(&table->columns[c]);
        widths[c] = dw_text_columns(head);
        free(head);
        for (size_t r = 0; r < table->row_count; r++) {
            char *text = cell_text(table, r, c);
            size_t columns = dw_text_columns(text);
            widths[c] = columns > widths[c] ? columns : widths[c];
            free(text);
        }
    }
    for (size_t c = 0; c < table->column_count; c++) {
        char *head = column_head(&table->columns[c]);
        fputs("  ", stream);
        pad(stream, head, widths[c], !column_is_words(table, c));
        free(head);
    }
    fputc('\n', stream);
    for (size_t r = 0; r < table->row_count; r++) {
        for (size_t c = 0; c < table->column_count; c++) {
            char *text = cell_text(table, r, c);
            fputs("  ", stream);
            bool last = c + 1 == table->column_count;
            bool words = column_is_words(table, c);
            pad(stream, text, words && last ? 0 : widths[c], !words);
            free(text);
        }
        fputc('\n', stream);
    }
    free(widths);
}

void dw_print_sheet(const DwSheet *sheet, FILE *stream)
{
    fprintf(stream, "%s%s%s\n\n", sheet->title, *sheet->subject ? ": " : "", sheet->subject);
    print_readings(stream, sheet);
    print_limit_sources(stream, sheet);
    for (size_t i = 0; i < sheet->table_count; i++)
        print_table(stream, &sheet->tables[i]);
    if (sheet->remark_count)
        fputc('\n', stream);
    for (size_t i = 0; i < sheet->remark_count; i++)
        print_wrapped(stream, "- ", sheet->remarks[i], 2);
    if (sheet->caution_count)
        fputs("\nCaution\n", stream);
    for (size_t i = 0; i < sheet->caution_count; i++)
        print_wrapped(stream, "! ", sheet->cautions[i], 2);
    if (sheet->not_measured_count)
        fputs("\nNot measured\n", stream);
    for (size_t i = 0; i < sheet->not_measured_count; i++) {
        char *text = dw_text_format("%s: %s", sheet->not_measured[i].key, sheet->not_measured[i].reason);
        print_wrapped(stream, "- ", text, 2);
        free(text);
    }
}
