// SPDX-License-Identifier: MIT
#include "base/inputs.h"

#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const DwQuantity *quantity;
    char *typed;
    double value, second;
    int source;
    const char *from; // what the source is called, or ""
    char day[11];
} Given;

struct DwInputs {
    Given *given;
    size_t count, room;
    int source;
    const char *from;
    char day[11];
};

DwInputs *dw_inputs_new(void)
{
    return dw_memory_new(1, sizeof(DwInputs));
}

void dw_inputs_free(DwInputs *inputs)
{
    if (!inputs)
        return;
    for (size_t i = 0; i < inputs->count; i++)
        free(inputs->given[i].typed);
    free(inputs->given);
    free(inputs);
}

void dw_inputs_begin_source(DwInputs *inputs)
{
    inputs->source++;
}

void dw_inputs_name_source(DwInputs *inputs, const char *words, const char *day)
{
    inputs->from = words;
    snprintf(inputs->day, sizeof inputs->day, "%.10s", day);
}

const char *dw_inputs_source(const DwInputs *inputs, const char *key, char day[11])
{
    day[0] = '\0';
    for (size_t i = 0; i < inputs->count; i++) {
        const Given *given = &inputs->given[i];
        if (strcmp(given->quantity->key, key) != 0)
            continue;
        memcpy(day, given->day, sizeof given->day);
        return given->from ? given->from : "";
    }
    return "";
}

static void drop(DwInputs *inputs, size_t index)
{
    free(inputs->given[index].typed);
    memmove(&inputs->given[index], &inputs->given[index + 1], (inputs->count - index - 1) * sizeof *inputs->given);
    inputs->count--;
}

static DwStatus read_given(const DwQuantity *quantity, const char *value, Given *given, DwMessage *message)
{
    if (!*value)
        return dw_fail(message, DW_BAD_INPUT, "%s: no value given. Write it as %s=VALUE.", quantity->key,
                       quantity->key);
    if (!dw_text_is_utf8(value, strlen(value)))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is no text in UTF-8. Type it again.", quantity->key);
    if (quantity->kind == DW_QUANTITY_CHOICE && !dw_quantity_has_choice(quantity, value))
        return dw_fail(message, DW_BAD_INPUT, "%s: '%s' is not one of its choices. Use one of: %s.", quantity->key,
                       value, quantity->choices);
    if (quantity->kind == DW_QUANTITY_NUMBER || quantity->kind == DW_QUANTITY_PAIR)
        return dw_quantity_read(quantity, value, &given->value, &given->second, message);
    return DW_OK;
}

DwStatus dw_inputs_refuse_key(const char *key, DwMessage *message)
{
    const DwQuantity *near = dw_quantity_near(key);
    return near ? dw_fail(message, DW_BAD_INPUT, "'%s' is not a known quantity. Did you mean %s?", key, near->key)
                : dw_fail(message, DW_BAD_INPUT,
                          "'%s' is not a known quantity. 'deckwright help quantities' lists them all.", key);
}

static DwStatus set_row(DwInputs *inputs, const DwQuantity *quantity, const char *value, DwMessage *message)
{
    Given given = {.quantity = quantity, .value = NAN, .second = NAN, .source = inputs->source, .from = inputs->from};
    memcpy(given.day, inputs->day, sizeof given.day);
    DwStatus status = read_given(quantity, value, &given, message);
    if (status != DW_OK)
        return status;
    for (size_t i = inputs->count; i-- > 0;) {
        const Given *old = &inputs->given[i];
        if (old->quantity == quantity && (!quantity->repeats || old->source < inputs->source))
            drop(inputs, i);
    }
    if (inputs->count == inputs->room) {
        inputs->room = inputs->room * 2 + 8;
        inputs->given = dw_memory_resize(inputs->given, inputs->room, sizeof *inputs->given);
    }
    given.typed = dw_memory_text(value);
    inputs->given[inputs->count++] = given;
    return DW_OK;
}

DwStatus dw_inputs_set(DwInputs *inputs, const char *key, const char *value, DwMessage *message)
{
    const DwQuantity *quantity = dw_quantity_find(key);
    return quantity ? set_row(inputs, quantity, value, message) : dw_inputs_refuse_key(key, message);
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

// Whether the comma at AT of the part that begins at BEGIN is the only one between two colons, with no other mark that
// parts a list: each pair has one colon.
static bool parts_pairs(const char *begin, const char *at)
{
    const char *before = at;
    while (before > begin && before[-1] != ':' && before[-1] != ',')
        before--;
    size_t after = strcspn(at + 1, ":,;");
    return before > begin && before[-1] == ':' && at[1 + after] == ':';
}

// How long the first part of VALUE is, a list for ROW: parts stand between semicolons, or commas where every part has a
// decimal point (1.54,1.51,1.50), or commas that cannot be a decimal mark: not between digits, or between two colons.
static size_t part_length(const DwQuantity *row, const char *value, bool points)
{
    size_t length = 0;
    for (; value[length] && value[length] != ';'; length++) {
        if (value[length] != ',' || length == 0)
            continue;
        bool is_inside = is_digit(value[length - 1]) && is_digit(value[length + 1]);
        if (points || !is_inside || (row->kind == DW_QUANTITY_PAIR && parts_pairs(value, value + length)))
            break;
    }
    return length;
}

static bool all_have_points(const char *value)
{
    for (size_t commas = 0;; commas++) {
        size_t length = strcspn(value, ",");
        if (!memchr(value, '.', length))
            return false;
        if (!value[length])
            return commas > 0;
        value += length + 1;
    }
}

// Takes the parts of a list one after the other; all are read before the first is taken.
static DwStatus set_list(DwInputs *inputs, const DwQuantity *row, const char *value, DwMessage *message)
{
    bool points = all_have_points(value);
    for (int taken = 0; taken < 2; taken++)
        for (const char *at = value; *at;) {
            size_t length = part_length(row, at, points);
            char *part = dw_memory_text(at);
            part[length] = 0;
            Given unused;
            const char *begin = part + strspn(part, " ");
            DwStatus status = taken ? set_row(inputs, row, begin, message) : read_given(row, begin, &unused, message);
            free(part);
            if (status != DW_OK)
                return status;
            at += length + (at[length] != 0);
        }
    return DW_OK;
}

DwStatus dw_inputs_set_row(DwInputs *inputs, const DwQuantity *row, const char *value, DwMessage *message)
{
    for (size_t i = 0; !row->repeats && i < inputs->count; i++) {
        const Given *given = &inputs->given[i];
        if (given->quantity == row && given->source == inputs->source)
            return dw_fail(message, DW_BAD_INPUT, "%s is given twice: %s=%s and %s=%s. Keep one.", row->key, row->key,
                           given->typed, row->key, value);
    }
    bool numbers = row->kind == DW_QUANTITY_NUMBER || row->kind == DW_QUANTITY_PAIR;
    if (numbers && row->repeats && part_length(row, value, all_have_points(value)) < strlen(value))
        return set_list(inputs, row, value, message);
    return set_row(inputs, row, value, message);
}

DwStatus dw_inputs_set_once(DwInputs *inputs, const char *key, const char *value, DwMessage *message)
{
    const DwQuantity *quantity = dw_quantity_find(key);
    return quantity ? dw_inputs_set_row(inputs, quantity, value, message) : dw_inputs_refuse_key(key, message);
}

DwStatus dw_inputs_set_operand(DwInputs *inputs, const char *operand, DwMessage *message)
{
    const char *equals = strchr(operand, '=');
    if (!equals || equals == operand)
        return dw_fail(message, DW_BAD_INPUT, "'%s' is not an operand. Write it as key=value.", operand);
    char *key = dw_memory_text(operand);
    key[equals - operand] = 0;
    DwStatus status = dw_inputs_set_once(inputs, key, equals + 1, message);
    free(key);
    return status;
}

static const DwQuantity *row_of(const char *key)
{
    const DwQuantity *row = dw_quantity_find(key);
    assert(row);
    return row;
}

static const Given *given_at(const DwInputs *inputs, const DwQuantity *row, size_t index)
{
    for (size_t i = 0; i < inputs->count; i++)
        if (inputs->given[i].quantity == row && index-- == 0)
            return &inputs->given[i];
    return NULL;
}

static const Given *first_of(const DwInputs *inputs, const char *key)
{
    return given_at(inputs, row_of(key), 0);
}

bool dw_inputs_given(const DwInputs *inputs, const char *key)
{
    return first_of(inputs, key) != NULL;
}

bool dw_inputs_given_before(const DwInputs *inputs, const char *key)
{
    const Given *given = first_of(inputs, key);
    return given && given->source < inputs->source;
}

size_t dw_inputs_count(const DwInputs *inputs, const char *key)
{
    const DwQuantity *row = row_of(key);
    size_t count = 0;
    for (size_t i = 0; i < inputs->count; i++)
        count += inputs->given[i].quantity == row;
    return count;
}

// VALUE in the unit OWN as a value in UNIT, both of DIMENSION.
static double in_unit(double value, DwDimension dimension, const char *own, const char *unit)
{
    if (strcmp(own, unit) == 0)
        return value;
    const DwUnit *from = dw_unit_find(dimension, own), *to = dw_unit_find(dimension, unit);
    assert(from && to);
    return dw_unit_convert(value, from, to);
}

double dw_inputs_in(const DwInputs *inputs, const char *key, const char *unit)
{
    const DwQuantity *row = row_of(key);
    assert(row->kind == DW_QUANTITY_NUMBER);
    const Given *given = given_at(inputs, row, 0);
    return in_unit(given ? given->value : dw_quantity_preset(row, NULL), row->dimension, row->unit, unit);
}

double dw_inputs_in_at(const DwInputs *inputs, const char *key, size_t index, const char *unit)
{
    const DwQuantity *row = row_of(key);
    assert(row->kind == DW_QUANTITY_NUMBER);
    const Given *given = given_at(inputs, row, index);
    return in_unit(given ? given->value : NAN, row->dimension, row->unit, unit);
}

bool dw_inputs_pair_in(const DwInputs *inputs, const char *key, size_t index, const char *unit, const char *second_unit,
                       double *first, double *second)
{
    const DwQuantity *row = row_of(key);
    assert(row->kind == DW_QUANTITY_PAIR);
    const Given *given = given_at(inputs, row, index);
    if (!given)
        return false;
    *first = in_unit(given->value, row->dimension, row->unit, unit);
    *second = in_unit(given->second, row->second_dimension, row->second_unit, second_unit);
    return true;
}

bool dw_inputs_own(const DwInputs *inputs, const DwQuantity *row, size_t index, double *first, double *second)
{
    const Given *given = given_at(inputs, row, index);
    if (!given)
        return false;
    *first = given->value;
    *second = given->second;
    return true;
}

const char *dw_inputs_own_typed(const DwInputs *inputs, const DwQuantity *row, size_t index)
{
    const Given *given = given_at(inputs, row, index);
    return given ? given->typed : NULL;
}

const char *dw_inputs_word(const DwInputs *inputs, const char *key)
{
    const DwQuantity *row = row_of(key);
    const Given *given = given_at(inputs, row, 0);
    if (given)
        return given->typed;
    return row->preset ? row->preset : "";
}

const char *dw_inputs_typed(const DwInputs *inputs, const char *key)
{
    const Given *given = first_of(inputs, key);
    return given ? given->typed : NULL;
}
