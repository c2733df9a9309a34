// SPDX-License-Identifier: MIT
#include "base/sheet_json.h"

#include "base/memory.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FORMAT_VERSION = 1, REAL_DIGITS = 10 };

static json_t *number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *text_list(const DwSaying *sayings, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(list, json_string(sayings[i].text));
    return list;
}

// What WORDING was made of; null where that is not known.
static json_t *write_saying(const DwSaying *saying)
{
    if (!saying->pattern)
        return json_null();
    json_t *parts = json_array();
    for (size_t i = 0; i < saying->part_count; i++)
        json_array_append_new(parts, json_string(saying->parts[i]));
    return json_pack("{s:s, s:o}", "pattern", saying->pattern, "parts", parts);
}

// What the sentences of the other lists were made of, each list in their order.
static json_t *write_sayings(const DwSheet *sheet)
{
    json_t *remarks = json_array(), *cautions = json_array(), *not_measured = json_array();
    for (size_t i = 0; i < sheet->remark_count; i++)
        json_array_append_new(remarks, write_saying(&sheet->remarks[i]));
    for (size_t i = 0; i < sheet->caution_count; i++)
        json_array_append_new(cautions, write_saying(&sheet->cautions[i]));
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        json_array_append_new(not_measured, write_saying(&sheet->not_measured[i].reason));
    return json_pack("{s:o, s:o, s:o}", "remarks", remarks, "cautions", cautions, "not_measured", not_measured);
}

static json_t *write_inputs(const DwSheet *sheet)
{
    json_t *inputs = json_object();
    for (size_t i = 0; i < sheet->input_count; i++) {
        const DwSheetInput *input = &sheet->inputs[i];
        json_t *entry = json_object();
        json_object_set_new(entry, "label", json_string(input->label));
        json_object_set_new(entry, "value",
                            isfinite(input->value) ? json_real(input->value) : json_string(input->text));
        json_object_set_new(entry, "text", json_string(input->text));
        json_object_set_new(entry, "unit", json_string(input->unit));
        json_object_set_new(entry, "given", json_boolean(input->given));
        json_t *earlier = json_object_get(inputs, input->key);
        if (!earlier)
            json_object_set_new(inputs, input->key, entry);
        else { // a quantity that was given several times becomes a list
            if (!json_is_array(earlier)) {
                json_t *list = json_array();
                json_array_append(list, earlier);
                json_object_set_new(inputs, input->key, list);
                earlier = list;
            }
            json_array_append_new(earlier, entry);
        }
    }
    return inputs;
}

static json_t *write_limit(const DwLimit *limit)
{
    if (!limit)
        return json_null();
    json_t *object = json_object();
    json_object_set_new(object, "low", number_or_null(limit->low));
    json_object_set_new(object, "high", number_or_null(limit->high));
    json_object_set_new(object, "good_low", number_or_null(limit->good_low));
    json_object_set_new(object, "good_high", number_or_null(limit->good_high));
    json_object_set_new(object, "source", json_string(limit->source));
    return object;
}

static json_t *write_reading(const DwReading *reading)
{
    json_t *object = json_object();
    json_object_set_new(object, "key", json_string(reading->key));
    json_object_set_new(object, "label", json_string(reading->label));
    json_object_set_new(object, "value", reading->word ? json_string(reading->word) : number_or_null(reading->value));
    json_object_set_new(object, "unit", json_string(reading->unit));
    json_object_set_new(object, "digits", json_integer(reading->digits));
    json_object_set_new(object, "uncertainty", number_or_null(reading->uncertainty));
    json_t *flags = json_array();
    for (int i = 0; i < DW_FLAG_COUNT; i++)
        if (reading->flags & (1u << i))
            json_array_append_new(flags, json_string(dw_flag_word((DwFlag)(1u << i))));
    json_object_set_new(object, "flags", flags);
    json_object_set_new(object, "limit", write_limit(reading->limit));
    json_object_set_new(object, "verdict",
                        reading->verdict == DW_VERDICT_NONE ? json_null()
                                                            : json_string(dw_verdict_word(reading->verdict)));
    json_object_set_new(object, "method", json_string(reading->method));
    return object;
}

static json_t *write_table(const DwTable *table)
{
    json_t *object = json_object();
    json_object_set_new(object, "key", json_string(table->key));
    json_object_set_new(object, "label", json_string(table->label));
    json_t *columns = json_array();
    for (size_t i = 0; i < table->column_count; i++) {
        const DwColumn *column = &table->columns[i];
        json_array_append_new(columns, json_pack("{s:s, s:s, s:s, s:i}", "key", column->key, "label", column->label,
                                                 "unit", column->unit, "digits", column->digits));
    }
    json_object_set_new(object, "columns", columns);
    json_t *rows = json_array();
    for (size_t r = 0; r < table->row_count; r++) {
        json_t *row = json_array();
        for (size_t c = 0; c < table->column_count; c++) {
            const DwCell *cell = dw_table_cell(table, r, c);
            json_array_append_new(row, cell->word ? json_string(cell->word) : number_or_null(cell->number));
        }
        json_array_append_new(rows, row);
    }
    json_object_set_new(object, "rows", rows);
    return object;
}

static json_t *write_axis(const DwAxis *axis, const double *values, size_t count)
{
    json_t *object = json_pack("{s:s, s:s}", "label", axis->label, "unit", axis->unit);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(list, number_or_null(values[i]));
    json_object_set_new(object, "values", list);
    return object;
}

static json_t *write_curve(const DwCurve *curve)
{
    json_t *object = json_pack("{s:s, s:s}", "key", curve->key, "label", curve->label);
    json_object_set_new(object, "x", write_axis(&curve->x, curve->x_values, curve->count));
    json_object_set_new(object, "y", write_axis(&curve->y, curve->y_values, curve->count));
    return object;
}

static json_t *write_raster(const DwRaster *raster)
{
    json_t *object = json_pack("{s:s, s:s, s:s}", "key", raster->key, "label", raster->label, "unit", raster->unit);
    json_object_set_new(object, "across",
                        json_pack("{s:s, s:s, s:f}", "label", raster->across.label, "unit", raster->across.unit, "span",
                                  raster->across_span));
    json_object_set_new(object, "down",
                        json_pack("{s:s, s:s, s:f, s:f}", "label", raster->down.label, "unit", raster->down.unit,
                                  "start", raster->down_start, "step", raster->down_step));
    json_object_set_new(object, "columns", json_integer((json_int_t)raster->columns));
    json_t *rows = json_array();
    for (size_t r = 0; r < raster->rows; r++) {
        json_t *row = json_array();
        for (size_t c = 0; c < raster->columns; c++) {
            double value = raster->values[r * raster->columns + c];
            json_array_append_new(row, isfinite(value) ? json_real(round(value * 1e6) / 1e6) : json_null());
        }
        json_array_append_new(rows, row);
    }
    json_object_set_new(object, "rows", rows);
    return object;
}

char *dw_sheet_json_write(const DwSheet *sheet)
{
    json_t *root = json_object();
    json_object_set_new(root, "deckwright", json_integer(FORMAT_VERSION));
    json_object_set_new(root, "procedure", json_string(sheet->procedure));
    json_object_set_new(root, "title", json_string(sheet->title));
    json_object_set_new(root, "subject", json_string(sheet->subject));
    json_object_set_new(root, "inputs", write_inputs(sheet));
    json_t *list = json_array();
    for (size_t i = 0; i < sheet->reading_count; i++)
        json_array_append_new(list, write_reading(&sheet->readings[i]));
    json_object_set_new(root, "readings", list);
    list = json_array();
    for (size_t i = 0; i < sheet->table_count; i++)
        json_array_append_new(list, write_table(&sheet->tables[i]));
    json_object_set_new(root, "tables", list);
    list = json_array();
    for (size_t i = 0; i < sheet->curve_count; i++)
        json_array_append_new(list, write_curve(&sheet->curves[i]));
    json_object_set_new(root, "curves", list);
    list = json_array();
    for (size_t i = 0; i < sheet->raster_count; i++)
        json_array_append_new(list, write_raster(&sheet->rasters[i]));
    json_object_set_new(root, "rasters", list);
    json_object_set_new(root, "remarks", text_list(sheet->remarks, sheet->remark_count));
    json_object_set_new(root, "cautions", text_list(sheet->cautions, sheet->caution_count));
    list = json_array();
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        json_array_append_new(list, json_pack("{s:s, s:s}", "key", sheet->not_measured[i].key, "reason",
                                              sheet->not_measured[i].reason.text));
    json_object_set_new(root, "not_measured", list);
    json_object_set_new(root, "sayings", write_sayings(sheet));
    char *text = json_dumps(root, JSON_INDENT(1) | JSON_REAL_PRECISION(REAL_DIGITS));
    json_decref(root);
    // jansson's allocator is malloc unless told otherwise; nobody tells it.
    return text ? text : dw_memory_text("{}");
}

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text ? text : "";
}

static double number_of(const json_t *value)
{
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static double number_in(const json_t *object, const char *key)
{
    return number_of(json_object_get(object, key));
}

static void read_input(DwSheet *sheet, const char *key, const json_t *entry)
{
    size_t count = sheet->input_count++;
    sheet->inputs = dw_memory_resize(sheet->inputs, count + 1, sizeof *sheet->inputs);
    sheet->inputs[count] = (DwSheetInput){
        .key = dw_memory_text(key),
        .label = dw_memory_text(text_of(entry, "label")),
        .text = dw_memory_text(text_of(entry, "text")),
        .unit = dw_memory_text(text_of(entry, "unit")),
        .value = number_in(entry, "value"),
        .given = json_is_true(json_object_get(entry, "given")),
    };
}

static void read_inputs(DwSheet *sheet, json_t *inputs)
{
    const char *key;
    json_t *entry;
    json_object_foreach(inputs, key, entry)
    {
        size_t index;
        json_t *one;
        if (json_is_array(entry))
            json_array_foreach(entry, index, one) read_input(sheet, key, one);
        else
            read_input(sheet, key, entry);
    }
}

static DwVerdict verdict_of(const char *word)
{
    for (int i = DW_VERDICT_NONE; i <= DW_VERDICT_NOT_TESTED; i++)
        if (strcmp(dw_verdict_word((DwVerdict)i), word) == 0)
            return (DwVerdict)i;
    return DW_VERDICT_NONE;
}

static unsigned flags_of(const json_t *list)
{
    unsigned flags = 0;
    size_t index;
    json_t *word;
    json_array_foreach(list, index, word) for (int i = 0; i < DW_FLAG_COUNT;
                                               i++) if (json_is_string(word) &&
                                                        strcmp(json_string_value(word),
                                                               dw_flag_word((DwFlag)(1u << i))) == 0) flags |= 1u << i;
    return flags;
}

static void read_reading(DwSheet *sheet, const json_t *object)
{
    const json_t *value = json_object_get(object, "value");
    DwReading *reading =
        dw_sheet_add_reading(sheet, text_of(object, "key"), text_of(object, "label"), number_of(value),
                             text_of(object, "unit"), (int)json_integer_value(json_object_get(object, "digits")));
    reading->word = dw_memory_text(json_string_value(value));
    reading->uncertainty = number_in(object, "uncertainty");
    reading->flags = flags_of(json_object_get(object, "flags"));
    dw_reading_set_method(reading, text_of(object, "method"));
    const json_t *limit = json_object_get(object, "limit");
    if (json_is_object(limit))
        dw_reading_set_limit(reading, (DwRange){number_in(limit, "low"), number_in(limit, "high")},
                             (DwRange){number_in(limit, "good_low"), number_in(limit, "good_high")},
                             text_of(limit, "source"));
    reading->verdict = verdict_of(text_of(object, "verdict"));
}

static void read_table(DwSheet *sheet, const json_t *object)
{
    const char *const none[] = {NULL};
    DwTable *table = dw_sheet_add_table(sheet, text_of(object, "key"), text_of(object, "label"), none);
    size_t index;
    json_t *item;
    const json_t *columns = json_object_get(object, "columns");
    table->columns = dw_memory_new(json_array_size(columns), sizeof *table->columns);
    table->column_count = json_array_size(columns);
    json_array_foreach(columns, index, item) table->columns[index] = (DwColumn){
        .key = dw_memory_text(text_of(item, "key")),
        .label = dw_memory_text(text_of(item, "label")),
        .unit = dw_memory_text(text_of(item, "unit")),
        .digits = (int)json_integer_value(json_object_get(item, "digits")),
    };
    json_array_foreach(json_object_get(object, "rows"), index, item)
    {
        size_t row = dw_table_add_row(table);
        for (size_t c = 0; c < table->column_count; c++) {
            const json_t *cell = json_array_get(item, c);
            if (json_is_string(cell))
                dw_table_set_word(table, row, c, json_string_value(cell));
            else
                dw_table_set_number(table, row, c, number_of(cell));
        }
    }
}

static DwAxis axis_of(const json_t *object)
{
    return (DwAxis){.label = (char *)text_of(object, "label"), .unit = (char *)text_of(object, "unit")};
}

static void read_curve(DwSheet *sheet, const json_t *object)
{
    const json_t *x = json_object_get(object, "x"), *y = json_object_get(object, "y");
    const json_t *xs = json_object_get(x, "values"), *ys = json_object_get(y, "values");
    size_t count = json_array_size(xs) < json_array_size(ys) ? json_array_size(xs) : json_array_size(ys);
    DwCurve *curve =
        dw_sheet_add_curve(sheet, text_of(object, "key"), text_of(object, "label"), axis_of(x), axis_of(y), count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = number_of(json_array_get(xs, i));
        curve->y_values[i] = number_of(json_array_get(ys, i));
    }
}

static void read_raster(DwSheet *sheet, const json_t *object)
{
    const json_t *across = json_object_get(object, "across"), *down = json_object_get(object, "down");
    const json_t *rows = json_object_get(object, "rows");
    json_int_t columns = json_integer_value(json_object_get(object, "columns"));
    if (columns < 0 || columns > 100000)
        columns = 0;
    DwRaster *raster =
        dw_sheet_add_raster(sheet, text_of(object, "key"), text_of(object, "label"), axis_of(across), axis_of(down),
                            text_of(object, "unit"), json_array_size(rows), (size_t)columns);
    raster->across_span = number_in(across, "span");
    raster->down_start = number_in(down, "start");
    raster->down_step = number_in(down, "step");
    for (size_t r = 0; r < raster->rows; r++)
        for (size_t c = 0; c < raster->columns; c++)
            raster->values[r * raster->columns + c] = (float)number_of(json_array_get(json_array_get(rows, r), c));
}

// Puts what WORDING was made of, as ENTRY keeps it, beside its text; leaves it at the text where ENTRY has none.
static void read_saying(DwSaying *saying, const json_t *entry)
{
    const char *pattern = json_string_value(json_object_get(entry, "pattern"));
    const json_t *list = json_object_get(entry, "parts");
    size_t count = json_array_size(list);
    const char **parts = dw_memory_new(count + 1, sizeof *parts);
    for (size_t i = 0; i < count; i++)
        parts[i] = json_is_string(json_array_get(list, i)) ? json_string_value(json_array_get(list, i)) : "";
    DwSaying read = dw_saying_of(saying->text, pattern, parts, count);
    free(parts);
    dw_saying_clear(saying);
    *saying = read;
}

static void read_sayings(DwSheet *sheet, const json_t *sayings)
{
    const json_t *remarks = json_object_get(sayings, "remarks"), *cautions = json_object_get(sayings, "cautions");
    const json_t *not_measured = json_object_get(sayings, "not_measured");
    for (size_t i = 0; i < sheet->remark_count; i++)
        read_saying(&sheet->remarks[i], json_array_get(remarks, i));
    for (size_t i = 0; i < sheet->caution_count; i++)
        read_saying(&sheet->cautions[i], json_array_get(cautions, i));
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        read_saying(&sheet->not_measured[i].reason, json_array_get(not_measured, i));
}

static void read_lists(DwSheet *sheet, const json_t *root)
{
    size_t index;
    json_t *item;
    json_array_foreach(json_object_get(root, "readings"), index, item) read_reading(sheet, item);
    json_array_foreach(json_object_get(root, "tables"), index, item) read_table(sheet, item);
    json_array_foreach(json_object_get(root, "curves"), index, item) read_curve(sheet, item);
    json_array_foreach(json_object_get(root, "rasters"), index, item) read_raster(sheet, item);
    json_array_foreach(json_object_get(root, "remarks"), index, item)
        dw_sheet_remark(sheet, "%s", json_is_string(item) ? json_string_value(item) : "");
    json_array_foreach(json_object_get(root, "cautions"), index, item)
        dw_sheet_caution(sheet, "%s", json_is_string(item) ? json_string_value(item) : "");
    json_array_foreach(json_object_get(root, "not_measured"), index, item)
        dw_sheet_not_measured(sheet, text_of(item, "key"), "%s", text_of(item, "reason"));
    read_sayings(sheet, json_object_get(root, "sayings"));
}

DwStatus dw_sheet_json_read(const char *text, DwSheet **sheet, DwMessage *message)
{
    json_error_t error;
    json_t *root = json_loads(text, 0, &error);
    if (!root)
        return dw_fail(message, DW_BAD_INPUT, "Not a sheet: line %d: %s.", error.line, error.text);
    json_int_t version = json_integer_value(json_object_get(root, "deckwright"));
    if (version < 1 || version > FORMAT_VERSION) {
        json_decref(root);
        return version > FORMAT_VERSION
                   ? dw_fail(message, DW_BAD_INPUT, "This sheet was written by a later Deckwright. Update to read it.")
                   : dw_fail(message, DW_BAD_INPUT, "Not a sheet: there is no \"deckwright\" version in it.");
    }
    DwSheet *read = dw_sheet_new(text_of(root, "procedure"), text_of(root, "title"));
    dw_sheet_set_subject(read, text_of(root, "subject"));
    read_inputs(read, json_object_get(root, "inputs"));
    read_lists(read, root);
    json_decref(root);
    *sheet = read;
    return DW_OK;
}
