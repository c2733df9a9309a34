// SPDX-License-Identifier: MIT
#include "base/sheet.h"

#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Arrays here are grown one element at a time: a sheet has tens of each.
static void *grow(void *array, size_t *count, size_t size)
{
    array = dw_memory_resize(array, *count + 1, size);
    memset((char *)array + *count * size, 0, size);
    (*count)++;
    return array;
}

DwSheet *dw_sheet_new(const char *procedure, const char *title)
{
    DwSheet *sheet = dw_memory_new(1, sizeof *sheet);
    sheet->procedure = dw_memory_text(procedure);
    sheet->title = dw_memory_text(title);
    sheet->subject = dw_memory_text("");
    return sheet;
}

static void clear_reading(DwReading *reading)
{
    free(reading->key);
    free(reading->label);
    free(reading->word);
    free(reading->unit);
    free(reading->method);
    if (reading->limit)
        free(reading->limit->source);
    free(reading->limit);
}

static void clear_table(DwTable *table)
{
    for (size_t i = 0; i < table->column_count; i++) {
        free(table->columns[i].key);
        free(table->columns[i].label);
        free(table->columns[i].unit);
    }
    for (size_t i = 0; i < table->row_count * table->column_count; i++)
        free(table->cells[i].word);
    free(table->key);
    free(table->label);
    free(table->columns);
    free(table->cells);
}

static void clear_axis(DwAxis *axis)
{
    free(axis->label);
    free(axis->unit);
}

static void clear_sayings(DwSaying *sayings, size_t count)
{
    for (size_t i = 0; i < count; i++)
        dw_saying_clear(&sayings[i]);
    free(sayings);
}

static void clear_inputs(DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->input_count; i++) {
        free(sheet->inputs[i].key);
        free(sheet->inputs[i].label);
        free(sheet->inputs[i].text);
        free(sheet->inputs[i].unit);
    }
    free(sheet->inputs);
}

static void clear_pictures(DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->curve_count; i++) {
        DwCurve *curve = &sheet->curves[i];
        free(curve->key);
        free(curve->label);
        clear_axis(&curve->x);
        clear_axis(&curve->y);
        free(curve->x_values);
        free(curve->y_values);
    }
    free(sheet->curves);
    for (size_t i = 0; i < sheet->raster_count; i++) {
        DwRaster *raster = &sheet->rasters[i];
        free(raster->key);
        free(raster->label);
        clear_axis(&raster->across);
        clear_axis(&raster->down);
        free(raster->unit);
        free(raster->values);
    }
    free(sheet->rasters);
}

void dw_sheet_free(DwSheet *sheet)
{
    if (!sheet)
        return;
    free(sheet->procedure);
    free(sheet->title);
    free(sheet->subject);
    clear_inputs(sheet);
    for (size_t i = 0; i < sheet->reading_count; i++)
        clear_reading(&sheet->readings[i]);
    free(sheet->readings);
    for (size_t i = 0; i < sheet->table_count; i++)
        clear_table(&sheet->tables[i]);
    free(sheet->tables);
    clear_pictures(sheet);
    clear_sayings(sheet->remarks, sheet->remark_count);
    clear_sayings(sheet->cautions, sheet->caution_count);
    for (size_t i = 0; i < sheet->not_measured_count; i++) {
        free(sheet->not_measured[i].key);
        dw_saying_clear(&sheet->not_measured[i].reason);
    }
    free(sheet->not_measured);
    free(sheet);
}

void dw_sheet_set_subject(DwSheet *sheet, const char *subject)
{
    free(sheet->subject);
    sheet->subject = dw_memory_text(subject);
}

static DwSheetInput *append_input(DwSheet *sheet, const DwQuantity *quantity, const char *text, double value,
                                  bool given)
{
    sheet->inputs = grow(sheet->inputs, &sheet->input_count, sizeof *sheet->inputs);
    DwSheetInput *input = &sheet->inputs[sheet->input_count - 1];
    input->key = dw_memory_text(quantity->key);
    input->label = dw_memory_text(quantity->label);
    input->text = dw_memory_text(text);
    input->unit = dw_memory_text(quantity->unit ? quantity->unit : "");
    input->value = value;
    input->given = given;
    return input;
}

static void add_words(DwSheet *sheet, const DwQuantity *row, const char *typed)
{
    append_input(sheet, row, typed ? typed : row->preset, NAN, typed);
}

static void add_pair(DwSheet *sheet, const DwQuantity *row, double first, double second)
{
    char *text = dw_text_format("%g %s : %g %s", first, row->unit, second, row->second_unit);
    DwSheetInput *input = append_input(sheet, row, text, NAN, true);
    free(input->unit);
    input->unit = dw_memory_text("");
    free(text);
}

void dw_sheet_add_input(DwSheet *sheet, const DwInputs *inputs, const DwQuantity *row)
{
    char number[64];
    double first = NAN, second = NAN;
    bool given = dw_inputs_own(inputs, row, 0, &first, &second);
    if (!given && !row->preset)
        return;
    size_t i = 0;
    do {
        if (row->kind == DW_QUANTITY_NUMBER) {
            double value = given ? first : dw_quantity_preset(row, NULL);
            dw_text_decimal(number, sizeof number, value, row->digits);
            append_input(sheet, row, number, value, given);
        } else if (row->kind != DW_QUANTITY_PAIR)
            add_words(sheet, row, dw_inputs_own_typed(inputs, row, i));
        else if (given)
            add_pair(sheet, row, first, second);
    } while (dw_inputs_own(inputs, row, ++i, &first, &second));
}

DwReading *dw_sheet_add_reading(DwSheet *sheet, const char *key, const char *label, double value, const char *unit,
                                int digits)
{
    sheet->readings = grow(sheet->readings, &sheet->reading_count, sizeof *sheet->readings);
    DwReading *reading = &sheet->readings[sheet->reading_count - 1];
    reading->key = dw_memory_text(key);
    reading->label = dw_memory_text(label);
    reading->value = isfinite(value) ? value : NAN;
    reading->unit = dw_memory_text(unit);
    reading->digits = digits;
    reading->uncertainty = NAN;
    reading->method = dw_memory_text("");
    return reading;
}

DwReading *dw_sheet_add_word(DwSheet *sheet, const char *key, const char *label, const char *word)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, NAN, "", 0);
    reading->word = dw_memory_text(word);
    return reading;
}

DwReading *dw_sheet_add_estimate(DwSheet *sheet, const char *key, const char *label, double value, const char *unit,
                                 int digits, double uncertainty, const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    reading->uncertainty = isfinite(uncertainty) ? uncertainty : NAN;
    dw_reading_set_method(reading, method);
    return reading;
}

void dw_reading_set_method(DwReading *reading, const char *method)
{
    free(reading->method);
    reading->method = dw_memory_text(method);
}

static bool is_within(double value, double low, double high)
{
    return !(value < low) && !(value > high); // an open end is NAN and compares false
}

// Whether RANGE holds all of SPAN.
static bool holds(DwRange range, DwRange span)
{
    return is_within(span.low, range.low, range.high) && is_within(span.high, range.low, range.high);
}

void dw_reading_set_limit(DwReading *reading, DwRange allowed, DwRange good, const char *source)
{
    if (!reading->limit)
        reading->limit = dw_memory_new(1, sizeof *reading->limit);
    free(reading->limit->source);
    bool has_good = isfinite(good.low) || isfinite(good.high);
    *reading->limit = (DwLimit){
        .low = allowed.low,
        .high = allowed.high,
        .good_low = good.low,
        .good_high = good.high,
        .source = dw_memory_text(source),
    };
    double off = isfinite(reading->uncertainty) ? fabs(reading->uncertainty) : 0;
    DwRange span = {reading->value - off, reading->value + off};
    if (isnan(reading->value))
        reading->verdict = DW_VERDICT_NONE;
    else if (span.low > allowed.high || span.high < allowed.low)
        reading->verdict = DW_VERDICT_ATTENTION;
    else if (!holds(allowed, span))
        reading->verdict = DW_VERDICT_CANNOT_TELL;
    else
        reading->verdict = has_good && !holds(good, span) ? DW_VERDICT_SERVICEABLE : DW_VERDICT_GOOD;
}

DwReading *dw_sheet_reading(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->reading_count; i++)
        if (strcmp(sheet->readings[i].key, key) == 0)
            return &sheet->readings[i];
    return NULL;
}

// Copies the part of "a|b|c" before the next bar and moves past it.
static char *next_part(const char **at)
{
    size_t length = strcspn(*at, "|");
    char *part = dw_memory_new(length + 1, 1);
    memcpy(part, *at, length);
    *at += length + ((*at)[length] == '|');
    return part;
}

DwTable *dw_sheet_add_table(DwSheet *sheet, const char *key, const char *label, const char *const *columns)
{
    sheet->tables = grow(sheet->tables, &sheet->table_count, sizeof *sheet->tables);
    DwTable *table = &sheet->tables[sheet->table_count - 1];
    table->key = dw_memory_text(key);
    table->label = dw_memory_text(label);
    for (size_t i = 0; columns[i]; i++) {
        table->columns = grow(table->columns, &table->column_count, sizeof *table->columns);
        DwColumn *column = &table->columns[i];
        const char *at = columns[i];
        column->key = next_part(&at);
        column->label = next_part(&at);
        column->unit = next_part(&at);
        column->digits = *at ? atoi(at) : 0;
    }
    return table;
}

size_t dw_table_add_row(DwTable *table)
{
    if (table->row_count == table->row_room) {
        table->row_room = table->row_room * 2 + 8;
        table->cells = dw_memory_resize(table->cells, table->row_room * table->column_count, sizeof *table->cells);
    }
    for (size_t i = 0; i < table->column_count; i++)
        table->cells[table->row_count * table->column_count + i] = (DwCell){.number = NAN};
    return table->row_count++;
}

static DwCell *cell_at(const DwTable *table, size_t row, size_t column)
{
    assert(row < table->row_count && column < table->column_count);
    return &table->cells[row * table->column_count + column];
}

void dw_table_set_number(DwTable *table, size_t row, size_t column, double number)
{
    cell_at(table, row, column)->number = isfinite(number) ? number : NAN;
}

void dw_table_set_word(DwTable *table, size_t row, size_t column, const char *word)
{
    DwCell *cell = cell_at(table, row, column);
    free(cell->word);
    cell->word = dw_memory_text(word);
}

const DwCell *dw_table_cell(const DwTable *table, size_t row, size_t column)
{
    return cell_at(table, row, column);
}

const DwTable *dw_sheet_table(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->table_count; i++)
        if (strcmp(sheet->tables[i].key, key) == 0)
            return &sheet->tables[i];
    return NULL;
}

static DwAxis copy_axis(DwAxis axis)
{
    return (DwAxis){.label = dw_memory_text(axis.label), .unit = dw_memory_text(axis.unit)};
}

DwCurve *dw_sheet_add_curve(DwSheet *sheet, const char *key, const char *label, DwAxis x, DwAxis y, size_t count)
{
    sheet->curves = grow(sheet->curves, &sheet->curve_count, sizeof *sheet->curves);
    DwCurve *curve = &sheet->curves[sheet->curve_count - 1];
    curve->key = dw_memory_text(key);
    curve->label = dw_memory_text(label);
    curve->x = copy_axis(x);
    curve->y = copy_axis(y);
    curve->count = count;
    curve->x_values = dw_memory_new(count, sizeof(double));
    curve->y_values = dw_memory_new(count, sizeof(double));
    for (size_t i = 0; i < count; i++)
        curve->y_values[i] = NAN;
    return curve;
}

const DwCurve *dw_sheet_curve(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->curve_count; i++)
        if (strcmp(sheet->curves[i].key, key) == 0)
            return &sheet->curves[i];
    return NULL;
}

DwRaster *dw_sheet_add_raster(DwSheet *sheet, const char *key, const char *label, DwAxis across, DwAxis down,
                              const char *unit, size_t rows, size_t columns)
{
    sheet->rasters = grow(sheet->rasters, &sheet->raster_count, sizeof *sheet->rasters);
    DwRaster *raster = &sheet->rasters[sheet->raster_count - 1];
    raster->key = dw_memory_text(key);
    raster->label = dw_memory_text(label);
    raster->across = copy_axis(across);
    raster->down = copy_axis(down);
    raster->unit = dw_memory_text(unit);
    raster->rows = rows;
    raster->columns = columns;
    raster->values = dw_memory_new(rows * columns, sizeof(float));
    for (size_t i = 0; i < rows * columns; i++)
        raster->values[i] = NAN;
    return raster;
}

const DwRaster *dw_sheet_raster(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->raster_count; i++)
        if (strcmp(sheet->rasters[i].key, key) == 0)
            return &sheet->rasters[i];
    return NULL;
}

void dw_sheet_remark(DwSheet *sheet, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    sheet->remarks = grow(sheet->remarks, &sheet->remark_count, sizeof *sheet->remarks);
    sheet->remarks[sheet->remark_count - 1] = dw_saying_make(format, arguments);
    va_end(arguments);
}

void dw_sheet_caution(DwSheet *sheet, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    sheet->cautions = grow(sheet->cautions, &sheet->caution_count, sizeof *sheet->cautions);
    sheet->cautions[sheet->caution_count - 1] = dw_saying_make(format, arguments);
    va_end(arguments);
}

void dw_sheet_not_measured(DwSheet *sheet, const char *key, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    sheet->not_measured = grow(sheet->not_measured, &sheet->not_measured_count, sizeof *sheet->not_measured);
    DwNotMeasured *item = &sheet->not_measured[sheet->not_measured_count - 1];
    item->key = dw_memory_text(key);
    item->reason = dw_saying_make(format, arguments);
    va_end(arguments);
}

bool dw_sheet_is_flagged(const DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->reading_count; i++)
        if (sheet->readings[i].flags)
            return true;
    return false;
}

const char *dw_verdict_word(DwVerdict verdict)
{
    switch (verdict) {
    case DW_VERDICT_NONE:
        return "";
    case DW_VERDICT_GOOD:
        return "good";
    case DW_VERDICT_SERVICEABLE:
        return "serviceable";
    case DW_VERDICT_CANNOT_TELL:
        return "cannot tell";
    case DW_VERDICT_ATTENTION:
        return "attention soon";
    case DW_VERDICT_REPLACE:
        return "replace";
    case DW_VERDICT_UNSAFE:
        return "unsafe";
    case DW_VERDICT_NOT_TESTED:
        return "not tested";
    }
    return "";
}

const char *dw_flag_word(DwFlag flag)
{
    switch (flag) {
    case DW_FLAG_CLIPPED:
        return "clipped";
    case DW_FLAG_SHORT:
        return "short";
    case DW_FLAG_GAPS:
        return "gaps";
    case DW_FLAG_APPROXIMATE:
        return "approximate";
    case DW_FLAG_NOISY:
        return "noisy";
    case DW_FLAG_UNSTEADY:
        return "unsteady";
    case DW_FLAG_FAULT:
        return "fault";
    case DW_FLAG_COUNT:
        break;
    }
    return "";
}

DwVerdict dw_sheet_worst_verdict(const DwSheet *sheet)
{
    DwVerdict worst = DW_VERDICT_NONE;
    for (size_t i = 0; i < sheet->reading_count; i++) {
        DwVerdict verdict = sheet->readings[i].verdict;
        if (verdict != DW_VERDICT_NOT_TESTED && verdict > worst)
            worst = verdict;
    }
    return worst;
}
