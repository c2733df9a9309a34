// SPDX-License-Identifier: MIT
#include "chart/sheet/reading_cell.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/mark.h"
#include "chart/draw/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwLetters label_letters = {.size = 1.0, .ink = DW_INK_TEXT};
static const DwLetters verdict_letters = {.size = 1.0, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters figure_letters = {.size = 2.2, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters word_letters = {.size = 1.5, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters unit_letters = {.size = 1.3, .ink = DW_INK_QUIET};
static const DwLetters quiet_letters = {.size = 0.8, .ink = DW_INK_QUIET};
static const DwLetters doubt_letters = {.size = 0.8, .ink = DW_INK_ATTENTION};

// Baselines and the rule, in em below the top of the cell.
static const double label_line = 1.0, figure_line = 3.4, rule_line = 4.75, limits_room = 1.7;

static double value_before(const DwReading *before)
{
    return before && !before->word ? before->value : NAN;
}

// A rule is drawn where there is something to compare with: limits or an earlier value.
static bool has_rule(const DwReading *reading, const DwReading *before)
{
    return !reading->word && isfinite(reading->value) && (reading->limit || isfinite(value_before(before)));
}

static double label_width(const DwCanvas *canvas, const DwReading *reading, double width)
{
    return width - dw_mark_word_width(canvas, reading->verdict, verdict_letters) - 0.6 * canvas->em;
}

// How far a label of more than one line pushes the rest of the cell down.
static double label_overhang(const DwCanvas *canvas, const DwReading *reading, double width)
{
    double room = label_width(canvas, reading, width);
    return dw_canvas_paragraph_height(canvas, label_letters, room, dw_said_label(reading->label)) -
           dw_canvas_paragraph_height(canvas, label_letters, room, "x");
}

double dw_reading_cell_rule(const DwCanvas *canvas, const DwReading *reading, double y, double width)
{
    return y + label_overhang(canvas, reading, width) + rule_line * canvas->em;
}

static char *source_line(const DwReading *reading)
{
    const char *source = reading->limit ? reading->limit->source : NULL;
    DwText text = {0};
    if (source && source[0])
        dw_text_add_taken(&text, "", dw_say("Limit: %s.", dw_said(source)));
    else if (!reading->limit && !reading->word && isfinite(reading->value))
        dw_text_add(&text, "%s", dw_said("No limit set."));
    if (reading->method && reading->method[0])
        dw_text_add_taken(&text, text.length > 0 ? " " : "", dw_say("Method: %s.", dw_said_label(reading->method)));
    return dw_text_take(&text);
}

static char *doubt_line(const DwReading *reading)
{
    DwText text = {0};
    for (int bit = 0; bit < DW_FLAG_COUNT; bit++)
        if (reading->flags & 1u << bit)
            dw_text_add(&text, "%s%s", text.length > 0 ? ", " : "", dw_said(dw_flag_word((DwFlag)(1u << bit))));
    char *line = text.length > 0 ? dw_say("Doubtful: %s", text.chars) : dw_text_format("%s", "");
    dw_text_clear(&text);
    return line;
}

static double below_figure(const DwCanvas *canvas, const DwReading *reading, const DwReading *before)
{
    if (!has_rule(reading, before))
        return 3.9 * canvas->em;
    return (rule_line + (reading->limit ? limits_room : 0.8)) * canvas->em;
}

double dw_reading_cell_height(const DwCanvas *canvas, const DwReading *reading, const DwReading *before, double width)
{
    double height = label_overhang(canvas, reading, width) + below_figure(canvas, reading, before);
    char *source = source_line(reading), *doubt = doubt_line(reading);
    if (source[0])
        height += dw_canvas_paragraph_height(canvas, quiet_letters, width, source);
    if (doubt[0])
        height += dw_canvas_paragraph_height(canvas, doubt_letters, width, doubt);
    free(source);
    free(doubt);
    return height;
}

// Number, thin space, unit in quiet ink, uncertainty. Returned: where it ends.
static double write_figure(const DwCanvas *canvas, const DwReading *reading, double x, double y)
{
    DwNumber number = dw_number_print(reading->value, reading->digits, dw_number_signed(reading));
    dw_canvas_write(canvas, figure_letters, x, y, 0, number.text);
    x += dw_canvas_width(canvas, figure_letters, number.text);
    if (!isfinite(reading->value))
        return x;
    char *unit = dw_text_format("%s%s", dw_number_space(reading->unit), dw_number_unit(reading->unit));
    dw_canvas_write(canvas, unit_letters, x, y, 0, unit);
    x += dw_canvas_width(canvas, unit_letters, unit) + 0.6 * canvas->em;
    free(unit);
    if (!(reading->uncertainty > 0))
        return x;
    DwLetters letters = {.size = 1.0, .ink = DW_INK_QUIET};
    char *uncertainty =
        dw_text_format("± %s", dw_number_print(reading->uncertainty,
                                               dw_text_doubt_decimals(reading->uncertainty, reading->digits), false)
                                   .text);
    dw_canvas_write(canvas, letters, x, y, 0, uncertainty);
    x += dw_canvas_width(canvas, letters, uncertainty);
    free(uncertainty);
    return x;
}

static void write_before(const DwCanvas *canvas, const DwReading *reading, const DwReading *before, double left,
                         double right, double y)
{
    if (!isfinite(value_before(before)))
        return;
    DwNumber number = dw_number_print(before->value, reading->digits, dw_number_signed(reading));
    char *text = dw_say("as received %s", number.text);
    double width = dw_canvas_width(canvas, quiet_letters, text);
    if (right - width > left + 0.5 * canvas->em)
        dw_canvas_write(canvas, quiet_letters, right, y, 1, text);
    free(text);
}

void dw_reading_cell_draw(const DwCanvas *canvas, const DwReading *reading, const DwReading *before, double x, double y,
                          double width)
{
    double em = canvas->em;
    dw_mark_draw_with_word(canvas, reading->verdict, x + width, y + label_line * em, verdict_letters);
    dw_canvas_paragraph(canvas, label_letters, x, y + 0.07 * em, label_width(canvas, reading, width),
                        dw_said_label(reading->label));
    y += label_overhang(canvas, reading, width);
    if (reading->word)
        dw_canvas_write_within(canvas, word_letters, x, y + figure_line * em, width, dw_said_label(reading->word));
    else {
        double end = write_figure(canvas, reading, x, y + figure_line * em);
        write_before(canvas, reading, before, end, x + width, y + figure_line * em);
    }
    if (has_rule(reading, before))
        dw_mark_draw_range(canvas, reading, value_before(before), x, y + rule_line * em, width);
    double at = y + below_figure(canvas, reading, before);
    char *source = source_line(reading), *doubt = doubt_line(reading);
    if (doubt[0])
        at += dw_canvas_paragraph(canvas, doubt_letters, x, at, width, doubt);
    if (source[0])
        dw_canvas_paragraph(canvas, quiet_letters, x, at, width, source);
    free(source);
    free(doubt);
}

// Where NUMBER begins when its decimal mark, or its end, stands at MARK.
static double at_decimal_mark(const DwCanvas *canvas, DwLetters letters, double mark, const DwNumber *number)
{
    DwNumber whole = *number;
    whole.text[strcspn(whole.text, dw_number_mark())] = 0;
    return mark - dw_canvas_width(canvas, letters, whole.text);
}

// A line of the list: the label, the figure from its middle on, what makes it doubtful, the verdict.
typedef struct {
    double label;  // room
    double figure; // from the left
    double end;    // of the figure with unit and ±, from the left
    double doubt;  // width; 0 for none
    bool below;    // whether the doubt stands on a line of its own, under the figure
} Line;

static const DwLetters line_letters = {.size = 0.9, .ink = DW_INK_TEXT};
static const DwLetters line_quiet = {.size = 0.9, .ink = DW_INK_QUIET};
static const DwLetters line_bold = {.size = 0.9, .bold = true, .ink = DW_INK_TEXT};
static const double line_step = 1.25; // em, of what stands below

// "dB  ± 0.3" behind the number. The caller frees it with free().
static char *unit_line(const DwReading *reading)
{
    DwText text = {0};
    dw_text_add(&text, "%s%s", dw_number_space(reading->unit), dw_number_unit(reading->unit));
    if (reading->uncertainty > 0)
        dw_text_add(
            &text, "  ± %s",
            dw_number_print(reading->uncertainty, dw_text_doubt_decimals(reading->uncertainty, reading->digits), false)
                .text);
    return dw_text_take(&text);
}

static Line line_of(const DwCanvas *canvas, const DwReading *reading, double width)
{
    double em = canvas->em;
    Line line = {.label = 0.52 * width - em, .figure = 0.52 * width};
    char *doubt = doubt_line(reading);
    if (reading->word) {
        line.end = line.figure + dw_canvas_width(canvas, line_letters, dw_said_label(reading->word));
    } else {
        DwNumber number = dw_number_print(reading->value, reading->digits, dw_number_signed(reading));
        line.figure = at_decimal_mark(canvas, line_letters, line.figure + 2.2 * em, &number);
        char *unit = unit_line(reading);
        line.end = line.figure + dw_canvas_width(canvas, line_letters, number.text) +
                   (isfinite(reading->value) ? dw_canvas_width(canvas, line_quiet, unit) : 0);
        free(unit);
    }
    line.doubt = doubt[0] ? dw_canvas_width(canvas, line_quiet, doubt) : 0;
    double word = width - dw_mark_word_width(canvas, reading->verdict, line_bold);
    line.below = line.doubt > 0 && line.end + line.doubt + 2 * em > word;
    free(doubt);
    return line;
}

double dw_reading_cell_line_height(const DwCanvas *canvas, const DwReading *reading, double width)
{
    Line line = line_of(canvas, reading, width);
    double label = dw_canvas_paragraph_height(canvas, line_letters, line.label, dw_said_label(reading->label)) -
                   dw_canvas_paragraph_height(canvas, line_letters, line.label, "x");
    return 1.6 * canvas->em + fmax(label, line.below ? line_step * canvas->em : 0);
}

static void draw_line_figure(const DwCanvas *canvas, const DwReading *reading, const Line *line, double x, double y)
{
    DwNumber number = dw_number_print(reading->value, reading->digits, dw_number_signed(reading));
    dw_canvas_write(canvas, line_letters, x + line->figure, y, 0, number.text);
    if (!isfinite(reading->value))
        return;
    char *unit = unit_line(reading);
    dw_canvas_write(canvas, line_quiet, x + line->end, y, 1, unit);
    free(unit);
}

void dw_reading_cell_draw_line(const DwCanvas *canvas, const DwReading *reading, double x, double y, double width)
{
    Line line = line_of(canvas, reading, width);
    double em = canvas->em, word = dw_mark_draw_with_word(canvas, reading->verdict, x + width, y, line_bold);
    dw_canvas_paragraph(canvas, line_letters, x, y - dw_canvas_baseline(canvas, line_letters), line.label,
                        dw_said_label(reading->label));
    if (reading->word)
        dw_canvas_write_within(canvas, line_letters, x + line.figure, y, word - em - x - line.figure,
                               dw_said_label(reading->word));
    else
        draw_line_figure(canvas, reading, &line, x, y);
    char *doubt = doubt_line(reading);
    double at = line.below ? x + fmax(line.label + em, fmin(line.figure, width - line.doubt)) : x + line.end + em;
    if (line.doubt > 0)
        dw_canvas_write_within(canvas, line_quiet, at, line.below ? y + line_step * em : y,
                               line.below ? x + width - at : word - em - at, doubt);
    free(doubt);
}
