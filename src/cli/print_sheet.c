// SPDX-License-Identifier: MIT
// A sheet on a terminal: readings aligned on the decimal mark, then tables,
// remarks in plain words, cautions, and what was not measured.
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "cli/command.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_WIDTH = 96 };

static void add_aligned(DwText *line, const char *text, size_t columns, bool right)
{
    size_t width = dw_text_columns(text), gap = width < columns ? columns - width : 0;
    dw_text_add(line, "%*s%s%*s", right ? (int)gap : 0, "", text, right ? 0 : (int)gap, "");
}

// Prints LINE without the blanks at its end, and empties it.
static void print_line(FILE *stream, DwText *line)
{
    while (line->length && line->chars[line->length - 1] == ' ')
        line->chars[--line->length] = 0;
    fprintf(stream, "%s\n", line->length ? line->chars : "");
    dw_text_clear(line);
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

// VALUE as the reader's language writes it. The caller frees it with free().
static char *number_text(double value, int digits)
{
    char plain[64];
    return dw_tell_number(dw_memory_text(dw_text_decimal(plain, sizeof plain, value, digits)));
}

// The part of a number before its decimal mark, so that columns align on it.
static size_t whole_columns(const char *number)
{
    size_t length = strcspn(number, ".,");
    char *whole = dw_text_format("%.*s", (int)length, number);
    size_t columns = dw_text_columns(whole);
    free(whole);
    return columns;
}

static char *reading_text(const DwReading *reading)
{
    if (reading->word)
        return dw_text_format("%s", dw_said_label(reading->word));
    return number_text(reading->value, reading->digits);
}

static void add_limit(DwText *line, const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    const char *unit = dw_said_unit(reading->unit);
    bool good = !isfinite(limit->low) && !isfinite(limit->high);
    char *low = number_text(good ? limit->good_low : limit->low, 2);
    char *high = number_text(good ? limit->good_high : limit->high, 2);
    if (good)
        dw_text_add_taken(line, "", dw_say("good %s to %s %s", low, high, unit));
    else if (isfinite(limit->low) && isfinite(limit->high))
        dw_text_add_taken(line, "", dw_say("allowed %s to %s %s", low, high, unit));
    else if (isfinite(limit->high))
        dw_text_add_taken(line, "", dw_say("allowed up to %s %s", high, unit));
    else
        dw_text_add_taken(line, "", dw_say("allowed from %s %s", low, unit));
    free(low);
    free(high);
}

// The widths that the readings of a sheet share.
typedef struct {
    size_t label, whole, fraction, unit, spread;
} Widths;

static char *spread_text(const DwReading *reading)
{
    if (!(reading->uncertainty > 0))
        return dw_text_format("%s", "");
    char *number = number_text(reading->uncertainty, dw_text_doubt_decimals(reading->uncertainty, reading->digits));
    char *spread = dw_text_format("± %s", number);
    free(number);
    return spread;
}

static void print_reading(FILE *stream, const DwReading *reading, const Widths *widths)
{
    DwText line = {0};
    char *number = reading_text(reading), *spread = spread_text(reading);
    size_t whole = whole_columns(number), columns = widths->whole + widths->fraction;
    dw_text_add(&line, "  ");
    add_aligned(&line, dw_said_label(reading->label), widths->label + 2, false);
    if (!reading->word && whole < widths->whole) {
        dw_text_add(&line, "%*s", (int)(widths->whole - whole), "");
        columns -= widths->whole - whole;
    }
    add_aligned(&line, number, columns + 1, false);
    add_aligned(&line, dw_said_unit(reading->unit), widths->unit + 1, false);
    add_aligned(&line, spread, widths->spread + 2, false);
    add_aligned(&line, dw_said(dw_verdict_word(reading->verdict)), reading->limit ? 16 : 0, false);
    if (reading->limit)
        add_limit(&line, reading);
    for (int i = 0; i < DW_FLAG_COUNT; i++)
        if (reading->flags & (1u << i))
            dw_text_add(&line, " [%s]", dw_said(dw_flag_word((DwFlag)(1u << i))));
    print_line(stream, &line);
    free(number);
    free(spread);
}

static void widen(size_t *width, size_t columns)
{
    *width = columns > *width ? columns : *width;
}

static void print_readings(FILE *stream, const DwSheet *sheet)
{
    Widths widths = {0};
    for (size_t i = 0; i < sheet->reading_count; i++) {
        const DwReading *reading = &sheet->readings[i];
        char *number = reading_text(reading), *spread = spread_text(reading);
        widen(&widths.label, dw_text_columns(dw_said_label(reading->label)));
        widen(&widths.unit, dw_text_columns(dw_said_unit(reading->unit)));
        widen(&widths.spread, dw_text_columns(spread));
        if (!reading->word) {
            size_t whole = whole_columns(number);
            widen(&widths.whole, whole);
            widen(&widths.fraction, dw_text_columns(number) - whole);
        }
        free(number);
        free(spread);
    }
    for (size_t i = 0; i < sheet->reading_count; i++)
        print_reading(stream, &sheet->readings[i], &widths);
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
            char *text = dw_say("Limit of %s: %s.", dw_said_label(sheet->readings[i].label), dw_said(limit->source));
            print_wrapped(stream, "  ", text, 4);
            free(text);
        }
    }
}

static char *cell_text(const DwTable *table, size_t row, size_t column)
{
    const DwCell *cell = dw_table_cell(table, row, column);
    if (cell->word)
        return dw_text_format("%s", dw_said_label(cell->word));
    return number_text(cell->number, table->columns[column].digits);
}

static char *column_head(const DwColumn *column)
{
    const char *label = dw_said_label(column->label);
    return *column->unit ? dw_text_format("%s (%s)", label, dw_said_unit(column->unit)) : dw_text_format("%s", label);
}

static bool column_is_words(const DwTable *table, size_t column)
{
    for (size_t r = 0; r < table->row_count; r++)
        if (dw_table_cell(table, r, column)->word)
            return true;
    return false;
}

// The length of the next line of HEAD when it is broken into lines of WIDTH.
static size_t head_line(const char *head, size_t width)
{
    size_t taken = 0;
    for (size_t at = 0; head[at];) {
        size_t word = at + strcspn(head + at, " ");
        char *line = dw_text_format("%.*s", (int)word, head);
        bool fits = dw_text_columns(line) <= width;
        free(line);
        if (taken && !fits)
            break;
        taken = word;
        at = word + strspn(head + word, " ");
    }
    return taken;
}

static size_t head_lines(const char *head, size_t width)
{
    size_t lines = 0;
    for (; *head; lines++) {
        head += head_line(head, width);
        head += strspn(head, " ");
    }
    return lines;
}

// Adds the line NUMBER, of LINES in all, of a head that stands at the foot of them.
static void add_head_line(DwText *line, const char *head, size_t width, size_t number, size_t lines, bool right)
{
    size_t own = head_lines(head, width);
    for (size_t skip = lines - own; skip < number; skip++) {
        head += head_line(head, width);
        head += strspn(head, " ");
    }
    char *text = dw_text_format("%.*s", number < lines - own ? 0 : (int)head_line(head, width), head);
    add_aligned(line, text, width, right);
    free(text);
}

// As wide as its cells, and as its head broken into lines.
static size_t column_width(const DwTable *table, size_t column)
{
    enum { HEAD_WIDTH = 14 };
    char *head = column_head(&table->columns[column]);
    size_t width = dw_text_columns(head);
    width = width < HEAD_WIDTH ? width : HEAD_WIDTH;
    for (const char *at = head; *at;) { // no word is broken
        size_t word = strcspn(at, " ");
        char *part = dw_text_format("%.*s", (int)word, at);
        widen(&width, dw_text_columns(part));
        free(part);
        at += word + strspn(at + word, " ");
    }
    free(head);
    for (size_t r = 0; r < table->row_count; r++) {
        char *text = cell_text(table, r, column);
        widen(&width, dw_text_columns(text));
        free(text);
    }
    return width;
}

static void print_head(FILE *stream, const DwTable *table, const size_t *widths)
{
    size_t lines = 0;
    for (size_t c = 0; c < table->column_count; c++) {
        char *head = column_head(&table->columns[c]);
        widen(&lines, head_lines(head, widths[c]));
        free(head);
    }
    for (size_t line = 0; line < lines; line++) {
        DwText text = {0};
        for (size_t c = 0; c < table->column_count; c++) {
            char *head = column_head(&table->columns[c]);
            bool words = column_is_words(table, c), last = c + 1 == table->column_count;
            dw_text_add(&text, "  ");
            add_head_line(&text, head, words && last ? dw_text_columns(head) : widths[c], line, lines, !words);
            free(head);
        }
        print_line(stream, &text);
    }
}

static void print_table(FILE *stream, const DwTable *table)
{
    fprintf(stream, "\n%s\n", dw_said_label(table->label));
    size_t *widths = dw_memory_new(table->column_count, sizeof *widths);
    for (size_t c = 0; c < table->column_count; c++)
        widths[c] = column_width(table, c);
    print_head(stream, table, widths);
    for (size_t r = 0; r < table->row_count; r++) {
        DwText line = {0};
        for (size_t c = 0; c < table->column_count; c++) {
            char *text = cell_text(table, r, c);
            dw_text_add(&line, "  ");
            add_aligned(&line, text, widths[c], !column_is_words(table, c));
            free(text);
        }
        print_line(stream, &line);
    }
    free(widths);
}

static void print_saying(FILE *stream, const char *lead, const DwSaying *saying)
{
    char *text = dw_say_saying(saying);
    print_wrapped(stream, lead, text, 2);
    free(text);
}

void dw_print_sheet(const DwSheet *sheet, FILE *stream)
{
    fprintf(stream, "%s%s%s\n\n", dw_said_label(sheet->title), *sheet->subject ? ": " : "", sheet->subject);
    print_readings(stream, sheet);
    print_limit_sources(stream, sheet);
    for (size_t i = 0; i < sheet->table_count; i++)
        print_table(stream, &sheet->tables[i]);
    if (sheet->remark_count)
        fputc('\n', stream);
    for (size_t i = 0; i < sheet->remark_count; i++)
        print_saying(stream, "- ", &sheet->remarks[i]);
    if (sheet->caution_count)
        dw_tell(stream, "\nCaution\n");
    for (size_t i = 0; i < sheet->caution_count; i++)
        print_saying(stream, "! ", &sheet->cautions[i]);
    if (sheet->not_measured_count)
        dw_tell(stream, "\nNot measured\n");
    for (size_t i = 0; i < sheet->not_measured_count; i++) {
        char *name = dw_sheet_missing_name(sheet->not_measured[i].key);
        char *reason = dw_say_saying(&sheet->not_measured[i].reason);
        char *text = dw_text_format("%s: %s", dw_said_label(name), reason);
        free(reason);
        print_wrapped(stream, "- ", text, 2);
        free(name);
        free(text);
    }
}
