// SPDX-License-Identifier: MIT
#include "chart/sheet/side_overview.h"

#include "base/plan/side_measured.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/mark.h"
#include "chart/draw/number.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINES = 5 };                                                                  // readings of a tile at most
static const double column_gap = 2.0, tile_gap = 1.2, title_line = 1.6, line = 1.45; // em
static const double narrow = 44;                                                     // em: below it one column
static const double figure_most = 0.55;                                              // of a tile's width
static const DwLetters title_letters = {.size = 1.05, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters bold = {.size = 0.85, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters plain = {.size = 0.85, .ink = DW_INK_TEXT}, quiet = {.size = 0.85, .ink = DW_INK_QUIET};

// One thing measured.
typedef struct {
    const char *word;
    const DwReading *shown[LINES];
    size_t count;
    DwVerdict worst;
} Tile;

static const DwTable *bands_of(const DwSheet *sheet, size_t *column)
{
    const DwTable *table = dw_sheet_table(sheet, "side.bands");
    if (!table || table->column_count == 0)
        return NULL;
    *column = table->column_count - 1;
    return strcmp(table->columns[*column].key, "measured") == 0 ? table : NULL;
}

static bool is_of(const DwReading *reading, const char *word)
{
    const char *own = dw_side_measured_word(reading->key);
    return own && strcmp(own, word) == 0;
}

// The worse of two, by the order of the words; what could not be told is no better than what is right.
static DwVerdict worse(DwVerdict one, DwVerdict other)
{
    if (other == DW_VERDICT_NOT_TESTED)
        return one;
    return other > one ? other : one;
}

static DwVerdict worst_of(const DwSheet *sheet, const char *word)
{
    DwVerdict worst = DW_VERDICT_NONE;
    for (size_t i = 0; i < sheet->reading_count; i++)
        if (is_of(&sheet->readings[i], word))
            worst = worse(worst, sheet->readings[i].verdict);
    return worst;
}

// The readings that are judged, then others, in the sheet's order, as far as there is room.
static Tile tile_of(const DwSheet *sheet, const char *word)
{
    Tile tile = {.word = word, .worst = worst_of(sheet, word)};
    for (int judged = 1; judged >= 0; judged--)
        for (size_t i = 0; i < sheet->reading_count && tile.count < LINES; i++)
            if (is_of(&sheet->readings[i], word) && (sheet->readings[i].verdict != DW_VERDICT_NONE) == judged)
                tile.shown[tile.count++] = &sheet->readings[i];
    return tile;
}

// The tiles of SHEET in the order of the words; as many as are returned stand in TILES.
static size_t tiles_of(const DwSheet *sheet, Tile tiles[16])
{
    size_t count = 0;
    const char *word;
    for (size_t i = 0; (word = dw_side_measured_at(i)) && count < 16; i++) {
        tiles[count] = tile_of(sheet, word);
        count += tiles[count].count > 0;
    }
    return count;
}

bool dw_side_overview_fits(const DwSheet *sheet)
{
    size_t column;
    const DwTable *table = bands_of(sheet, &column);
    for (size_t row = 0; table && row < table->row_count; row++)
        if (dw_table_cell(table, row, column)->word)
            return true;
    return false;
}

DwVerdict dw_side_overview_verdict(const DwSheet *sheet, const DwTable *table, size_t row)
{
    DwVerdict worst = DW_VERDICT_NONE;
    const char *word, *list = dw_table_cell(table, row, table->column_count - 1)->word;
    for (size_t i = 0; list && (word = dw_side_measured_at(i)); i++)
        if (dw_side_measured_lists(list, word))
            worst = worse(worst, worst_of(sheet, word));
    return worst;
}

// Appends the band of FIRST to LAST, which follow one another: "3", "3, 4" or "3–5".
static void add_places(DwText *numbers, double first, double last)
{
    dw_text_add(numbers, "%s%.0f", numbers->length ? ", " : "", first);
    if (last > first)
        dw_text_add(numbers, "%s%.0f", last > first + 1 ? "–" : ", ", last);
}

// "band 3", "bands 1, 2, 4–7". The caller frees it with free().
static char *places_of(const DwSheet *sheet, const char *word)
{
    size_t column, count = 0;
    const DwTable *table = bands_of(sheet, &column);
    DwText numbers = {0};
    double first = NAN, last = NAN;
    for (size_t row = 0; table && row < table->row_count; row++) {
        double number = dw_table_cell(table, row, 0)->number;
        if (!dw_side_measured_lists(dw_table_cell(table, row, column)->word, word))
            continue;
        if (count++ && number != last + 1)
            add_places(&numbers, first, last);
        if (count == 1 || number != last + 1)
            first = number;
        last = number;
    }
    if (count)
        add_places(&numbers, first, last);
    char *text = count == 1 ? dw_say("band %s", numbers.chars) : dw_say("bands %s", count ? numbers.chars : "–");
    dw_text_clear(&numbers);
    return text;
}

static size_t columns_in(const DwCanvas *canvas, double width)
{
    return width < narrow * canvas->em ? 1 : 2;
}

static double tile_width(const DwCanvas *canvas, double width, size_t columns)
{
    return (width - column_gap * canvas->em * (double)(columns - 1)) / (double)columns;
}

// "−12.3 dB ± 0.4", or the word. The caller frees it with free().
static char *figure_of(const DwReading *reading)
{
    if (reading->word)
        return dw_text_format("%s", dw_said_label(reading->word));
    DwNumber number = dw_number_print(reading->value, reading->digits, dw_number_signed(reading));
    DwText text = {0};
    dw_text_add(&text, "%s", number.text);
    if (isfinite(reading->value))
        dw_text_add(&text, "%s%s", dw_number_space(reading->unit), dw_number_unit(reading->unit));
    if (isfinite(reading->value) && reading->uncertainty > 0)
        dw_text_add(
            &text, " ± %s",
            dw_number_print(reading->uncertainty, dw_text_doubt_decimals(reading->uncertainty, reading->digits), false)
                .text);
    return dw_text_take(&text);
}

// Room for the label left of FIGURE in a tile that is WIDTH wide.
static double label_room(const DwCanvas *canvas, const char *figure, double width)
{
    return width - 2.2 * canvas->em - fmin(figure_most * width, dw_canvas_width(canvas, plain, figure));
}

// A label that is longer than its room goes on below.
static double reading_height(const DwCanvas *canvas, const DwReading *reading, double width)
{
    char *figure = figure_of(reading);
    double room = label_room(canvas, figure, width);
    free(figure);
    return line * canvas->em + dw_canvas_paragraph_height(canvas, quiet, room, dw_said_label(reading->label)) -
           dw_canvas_paragraph_height(canvas, quiet, room, "x");
}

static double tile_height(const DwCanvas *canvas, const Tile *tile, double width)
{
    double height = (title_line + tile_gap) * canvas->em;
    for (size_t i = 0; i < tile->count; i++)
        height += reading_height(canvas, tile->shown[i], width);
    return height;
}

// The height of the row of tiles, each WIDTH wide, that begins at FIRST.
static double row_height(const DwCanvas *canvas, const Tile *tiles, size_t count, size_t first, size_t columns,
                         double width)
{
    double height = 0;
    for (size_t i = first; i < count && i < first + columns; i++)
        height = fmax(height, tile_height(canvas, &tiles[i], width));
    return height;
}

double dw_side_overview_height(const DwCanvas *canvas, const DwSheet *sheet, double width)
{
    Tile tiles[16];
    size_t count = tiles_of(sheet, tiles), columns = columns_in(canvas, width);
    double height = 0, own = tile_width(canvas, width, columns);
    for (size_t i = 0; i < count; i += columns)
        height += row_height(canvas, tiles, count, i, columns, own);
    return height;
}

static void draw_reading(const DwCanvas *canvas, const DwReading *reading, double x, double y, double width)
{
    double em = canvas->em, right = x + width - 1.2 * em;
    dw_mark_draw(canvas, reading->verdict, x + width - 0.45 * em, y - 0.3 * em, 0.75 * em);
    char *figure = figure_of(reading);
    double most = figure_most * width, taken = fmin(most, dw_canvas_width(canvas, plain, figure));
    if (taken < most)
        dw_canvas_write(canvas, plain, right, y, 1, figure);
    else
        dw_canvas_write_within(canvas, plain, right - most, y, most, figure);
    dw_canvas_paragraph(canvas, quiet, x, y - dw_canvas_baseline(canvas, quiet), label_room(canvas, figure, width),
                        dw_said_label(reading->label));
    free(figure);
}

static char *capital(const char *word)
{
    char *text = dw_text_format("%s", dw_said_label(word));
    dw_text_begin_sentence(text);
    return text;
}

static void draw_tile(const DwCanvas *canvas, const DwSheet *sheet, const Tile *tile, double x, double y, double width)
{
    double em = canvas->em, base = y + 1.1 * em;
    char *title = capital(tile->word), *places = places_of(sheet, tile->word);
    double word = dw_mark_draw_with_word(canvas, tile->worst, x + width, base, bold);
    dw_canvas_write(canvas, title_letters, x, base, 0, title);
    double behind = x + dw_canvas_width(canvas, title_letters, title) + 0.7 * em;
    dw_canvas_write_within(canvas, quiet, behind, base, fmax(em, word - em - behind), places);
    free(title);
    free(places);
    dw_canvas_use(canvas, DW_INK_LINE);
    cairo_set_line_width(canvas->cairo, 0.06 * em);
    cairo_move_to(canvas->cairo, x, base + 0.4 * em);
    cairo_line_to(canvas->cairo, x + width, base + 0.4 * em);
    cairo_stroke(canvas->cairo);
    double at = y + title_line * em;
    for (size_t i = 0; i < tile->count; i++) {
        draw_reading(canvas, tile->shown[i], x, at + 0.85 * line * em, width);
        at += reading_height(canvas, tile->shown[i], width);
    }
}

void dw_side_overview_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box)
{
    Tile tiles[16];
    size_t count = tiles_of(sheet, tiles), columns = columns_in(canvas, box.width);
    double gap = column_gap * canvas->em, width = tile_width(canvas, box.width, columns), y = box.y;
    for (size_t i = 0; i < count; i += columns) {
        for (size_t k = i; k < count && k < i + columns; k++)
            draw_tile(canvas, sheet, &tiles[k], box.x + (width + gap) * (double)(k - i), y, width);
        y += row_height(canvas, tiles, count, i, columns, width);
    }
}

char *dw_side_overview_words(const DwSheet *sheet)
{
    Tile tiles[16];
    size_t count = tiles_of(sheet, tiles);
    DwText words = {0};
    for (size_t i = 0; i < count; i++) {
        char *title = capital(tiles[i].word), *places = places_of(sheet, tiles[i].word);
        const char *verdict =
            dw_said(tiles[i].worst == DW_VERDICT_NONE ? "not judged" : dw_verdict_word(tiles[i].worst));
        dw_text_add_taken(&words, i ? " " : "", dw_say("%s, on %s: %s.", title, places, verdict));
        free(title);
        free(places);
    }
    return dw_text_take(&words);
}
