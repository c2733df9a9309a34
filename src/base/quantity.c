// SPDX-License-Identifier: MIT
#include "base/quantity.h"

#include "base/catalogue/catalogue.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <threads.h>

static const char *skip_spaces(const char *text)
{
    while (*text == ' ')
        text++;
    return text;
}

// Past one of SIGNS, or NULL.
static const char *read_sign(const char *text, const char *const *signs)
{
    for (; *signs; signs++)
        if (strncmp(text, *signs, strlen(*signs)) == 0)
            return text + strlen(*signs);
    return NULL;
}

// Up to three digits, with DECIMALS a part behind a point; past them, or NULL.
static const char *read_digits(const char *text, bool decimals, double *value)
{
    char digits[16] = "";
    size_t length = strspn(text, "0123456789");
    if (length < 1 || length > 3)
        return NULL;
    if (decimals && text[length] == '.' && isdigit((unsigned char)text[length + 1]))
        length += 1 + strspn(text + length + 1, "0123456789");
    if (length >= sizeof digits)
        return NULL;
    memcpy(digits, text, length);
    *value = strtod(digits, NULL);
    return text + length;
}

// Reads TEXT ("22°59'", "22°59′30″", "-1° 30'") as degrees. Returned: whether the
// whole of TEXT is such an angle, minutes and seconds below 60; *DEGREES is
// written only then. Plain degrees are not: they are a number with a unit.
static bool read_angle(const char *text, double *degrees)
{
    static const char *const degree[] = {"°", "deg", NULL}, *const minute[] = {"'", "′", "’", NULL},
                             *const second[] = {"\"", "″", "”", "''", NULL}, *const minus[] = {"-", "−", NULL};
    double parts[3] = {0};
    text = skip_spaces(text);
    const char *at = read_sign(text, minus);
    double sign = at ? -1 : 1;
    at = read_digits(at ? at : text, false, &parts[0]);
    at = at ? read_sign(skip_spaces(at), degree) : NULL;
    at = at ? read_digits(skip_spaces(at), true, &parts[1]) : NULL;
    at = at ? read_sign(skip_spaces(at), minute) : NULL;
    if (!at)
        return false;
    at = skip_spaces(at);
    if (*at) {
        at = read_digits(at, true, &parts[2]);
        at = at ? read_sign(skip_spaces(at), second) : NULL;
    }
    if (!at || *skip_spaces(at) || parts[1] >= 60 || parts[2] >= 60)
        return false;
    *degrees = sign * (parts[0] + parts[1] / 60 + parts[2] / 3600);
    return true;
}

static const DwCatalogue *const catalogues[] = {
    &dw_catalogue_deck,    &dw_catalogue_drive, &dw_catalogue_record,  &dw_catalogue_flutter,
    &dw_catalogue_arm,     &dw_catalogue_force, &dw_catalogue_found,   &dw_catalogue_cartridge,
    &dw_catalogue_loading, &dw_catalogue_chain, &dw_catalogue_bearing, &dw_catalogue_noise,
    &dw_catalogue_bands,   &dw_catalogue_synth, &dw_catalogue_view,    &dw_catalogue_camera,
};

const DwQuantity *dw_quantity_at(size_t index)
{
    for (size_t i = 0; i < sizeof catalogues / sizeof *catalogues; i++) {
        if (index < catalogues[i]->count)
            return &catalogues[i]->rows[index];
        index -= catalogues[i]->count;
    }
    return NULL;
}

// A row's preset, read once for all.
typedef struct {
    double first, second;
} Preset;

// Made on the first question and kept to the end.
static const DwQuantity **by_keys; // all rows, by key
static Preset *presets;            // of each row, by its place among dw_quantity_at()'s
static size_t known_count;
static once_flag known_once = ONCE_FLAG_INIT;

static int compare_keys(const void *a, const void *b)
{
    return strcmp((*(const DwQuantity *const *)a)->key, (*(const DwQuantity *const *)b)->key);
}

static void make_known(void)
{
    while (dw_quantity_at(known_count))
        known_count++;
    by_keys = dw_memory_new(known_count, sizeof *by_keys);
    presets = dw_memory_new(known_count, sizeof *presets);
    for (size_t i = 0; i < known_count; i++) {
        const DwQuantity *row = dw_quantity_at(i);
        by_keys[i] = row;
        presets[i] = (Preset){NAN, NAN};
        if (!row->preset || (row->kind != DW_QUANTITY_NUMBER && row->kind != DW_QUANTITY_PAIR))
            continue;
        DwStatus status = dw_quantity_read(row, row->preset, &presets[i].first, &presets[i].second, NULL);
        assert(status == DW_OK);
        (void)status;
    }
    qsort(by_keys, known_count, sizeof *by_keys, compare_keys);
}

const DwQuantity *dw_quantity_find(const char *key)
{
    call_once(&known_once, make_known);
    const DwQuantity named = {.key = key}, *wanted = &named;
    const DwQuantity **found = bsearch(&wanted, by_keys, known_count, sizeof *by_keys, compare_keys);
    return found ? *found : NULL;
}

// The place of ROW among dw_quantity_at()'s: each catalogue's rows lie side by side.
static size_t place_of(const DwQuantity *row)
{
    size_t before = 0;
    for (size_t i = 0; i < sizeof catalogues / sizeof *catalogues; i++) {
        const DwQuantity *rows = catalogues[i]->rows;
        if ((uintptr_t)row >= (uintptr_t)rows && (uintptr_t)row < (uintptr_t)(rows + catalogues[i]->count))
            return before + (size_t)(row - rows);
        before += catalogues[i]->count;
    }
    assert(false);
    return 0;
}

double dw_quantity_preset(const DwQuantity *row, double *second)
{
    call_once(&known_once, make_known);
    const Preset *preset = &presets[place_of(row)];
    if (second)
        *second = preset->second;
    return preset->first;
}

const DwQuantity *dw_quantity_near(const char *key)
{
    const DwQuantity *best = NULL;
    const DwQuantity *row;
    size_t best_distance = strlen(key) / 3 + 1;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++) {
        size_t distance = dw_text_distance(key, row->key);
        const char *name = strchr(row->key, '.');
        if (name && strcmp(name + 1, key) == 0)
            distance = 0;
        if (distance < best_distance) {
            best_distance = distance;
            best = row;
        }
    }
    return best;
}

bool dw_range_is_set(DwRange range)
{
    return range.low < range.high;
}

bool dw_quantity_has_choice(const DwQuantity *quantity, const char *word)
{
    size_t length = strlen(word);
    const char *at = quantity->choices;
    while (length && at && *at) {
        size_t span = strcspn(at, " ");
        if (span == length && strncmp(at, word, length) == 0)
            return true;
        at += span;
        while (*at == ' ')
            at++;
    }
    return false;
}

static bool lies_in(DwRange range, double value)
{
    return !dw_range_is_set(range) || (value >= range.low && value <= range.high);
}

// Three digits behind a comma are refused. A point is a decimal point, as this program writes
// it, unless the thousands would be plausible ("47.000ohm" of a load); times are given to the
// millisecond everywhere.
static bool is_open(const DwTextNumber *number, const DwUnit *typed, const DwUnit *own, DwRange plausible)
{
    if (!number->mark || number->mark == ',')
        return number->mark == ',';
    return own->dimension != DW_DIMENSION_TIME && dw_range_is_set(plausible) &&
           lies_in(plausible, dw_unit_convert(number->grouped, typed, own));
}

// UNIT behind a number as what goes wrong is told: a page's reader reads a thin space and its sign.
static const char *told_unit(const char *unit, char room[24])
{
    const char *sign = dw_unit_sign(unit);
    if (!dw_message_is_for_pages() || !*unit)
        return unit;
    snprintf(room, 24, "%s%s", strcmp(sign, "°") == 0 ? "" : "\u202f", sign);
    return room;
}

static DwStatus refuse_unit(const DwQuantity *quantity, DwDimension dimension, const char *after, DwMessage *message)
{
    char *names = dw_message_is_for_pages() ? dw_unit_signs(dimension) : dw_unit_names(dimension);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s: '%s' is not a unit of it. Use one of: %s.", quantity->key,
                              after, *names ? names : dw_said("none, a bare number"));
    free(names);
    return status;
}

// Reads one number with its unit from the LENGTH bytes at TEXT.
static DwStatus read_value(const DwQuantity *quantity, const char *text, size_t length, DwDimension dimension,
                           const char *own_unit, DwRange plausible, double *value, DwMessage *message)
{
    char part[80];
    if (length >= sizeof part)
        return dw_fail(message, DW_BAD_INPUT, "%s: '%.*s…' is too long for a number.", quantity->key,
                       dw_text_whole(text, 40), text);
    memcpy(part, text, length);
    part[length] = 0;
    double degrees;
    if (dimension == DW_DIMENSION_ANGLE && read_angle(part, &degrees)) {
        *value = dw_unit_convert(degrees, dw_unit_find(dimension, "deg"), dw_unit_find(dimension, own_unit));
        return DW_OK;
    }
    DwTextNumber number;
    const char *after = dw_text_number_parse(part, &number);
    if (!after) {
        double example = dw_range_is_set(quantity->plausible) ? quantity->plausible.low : 12;
        char room[24];
        return dw_fail(message, DW_BAD_INPUT, "%s: '%s' is not a number. Give it as in %s=%g%s.", quantity->key, part,
                       quantity->key, example, told_unit(own_unit, room));
    }
    while (*after == ' ')
        after++;
    const DwUnit *own = dw_unit_find(dimension, own_unit);
    assert(own);
    const DwUnit *typed = *after ? dw_unit_find(dimension, after) : own;
    if (!typed)
        return refuse_unit(quantity, dimension, after, message);
    *value = dw_unit_convert(number.value, typed, own);
    if (is_open(&number, typed, own, plausible)) {
        char *doubt = dw_text_number_doubt(part, &number);
        DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s: %s.", quantity->key, doubt);
        free(doubt);
        return status;
    }
    return DW_OK;
}

static DwStatus check_possible(const DwQuantity *quantity, DwRange possible, const char *unit, double value,
                               const char *text, DwMessage *message)
{
    if (lies_in(possible, value))
        return DW_OK;
    char room[24];
    return dw_fail(message, DW_BAD_INPUT, "%s: %s is out of range. %s can be from %g to %g%s%s.", quantity->key, text,
                   dw_said_label(quantity->label), possible.low, possible.high, *unit ? " " : "",
                   told_unit(unit, room));
}

static DwStatus refuse_single(const DwQuantity *quantity, const char *text, DwMessage *message)
{
    char room[24], second[24];
    return dw_fail(message, DW_BAD_INPUT, "%s: '%s' needs two values with a colon between, as in %s=A%s:B%s.",
                   quantity->key, text, quantity->key, told_unit(quantity->unit, room),
                   told_unit(quantity->second_unit, second));
}

DwStatus dw_quantity_read(const DwQuantity *quantity, const char *text, double *value, double *second,
                          DwMessage *message)
{
    assert(quantity->kind == DW_QUANTITY_NUMBER || quantity->kind == DW_QUANTITY_PAIR);
    size_t length = strlen(text);
    double first_value = 0, second_value = 0;
    DwStatus status;
    if (quantity->kind == DW_QUANTITY_PAIR) {
        const char *colon = strchr(text, ':');
        if (!colon)
            return refuse_single(quantity, text, message);
        size_t rest = (size_t)(colon - text);
        status = read_value(quantity, colon + 1, length - rest - 1, quantity->second_dimension, quantity->second_unit,
                            quantity->second_plausible, &second_value, message);
        if (status != DW_OK)
            return status;
        length = rest;
    }
    status = read_value(quantity, text, length, quantity->dimension, quantity->unit, quantity->plausible, &first_value,
                        message);
    if (status == DW_OK)
        status = check_possible(quantity, quantity->possible, quantity->unit, first_value, text, message);
    if (status == DW_OK && quantity->kind == DW_QUANTITY_PAIR)
        status =
            check_possible(quantity, quantity->second_possible, quantity->second_unit, second_value, text, message);
    if (status != DW_OK)
        return status;
    *value = first_value;
    if (second)
        *second = second_value;
    return DW_OK;
}

// The length of the word of letters, digits, '_' and inner dots at TEXT.
static size_t key_length(const char *text)
{
    size_t length = strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789_.");
    while (length && text[length - 1] == '.')
        length--;
    return length;
}

const DwQuantity *dw_quantity_in(const char *text, const char *from, const char **key, size_t *length)
{
    for (const char *at = from; *at;) {
        size_t word = key_length(at);
        bool begins = at == text || !(isalnum((unsigned char)at[-1]) || at[-1] == '/');
        char *name = dw_text_format("%.*s", (int)word, at);
        const DwQuantity *row = begins && strchr(name, '.') ? dw_quantity_find(name) : NULL;
        free(name);
        if (row) {
            *key = at;
            *length = word;
            return row;
        }
        at += word ? word : 1;
    }
    return NULL;
}

char *dw_quantity_choice_at(const DwQuantity *quantity, const char *at, size_t *length)
{
    *length = strspn(at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-");
    char *word = dw_text_format("%.*s", (int)*length, at);
    if (quantity->kind != DW_QUANTITY_CHOICE || !*word || !dw_quantity_has_choice(quantity, word)) {
        free(word);
        return NULL;
    }
    for (char *letter = word; *letter; letter++)
        *letter = *letter == '_' ? ' ' : *letter;
    return word;
}

char *dw_quantity_words(const char *text)
{
    DwText words = {0};
    dw_text_add(&words, "%s", "");
    const char *at = text, *key;
    size_t length;
    for (const DwQuantity *row; (row = dw_quantity_in(text, at, &key, &length));) {
        bool given = key[length] == '=';
        dw_text_add(&words, "%.*s“%s”%s", (int)(key - at), at, dw_said(row->label), given ? " " : "");
        at = key + length + given;
        char *choice = given ? dw_quantity_choice_at(row, at, &length) : NULL;
        if (choice) {
            dw_text_add(&words, "%s", dw_said(choice));
            at += length;
        }
        free(choice);
    }
    dw_text_add(&words, "%s", at);
    return dw_text_take(&words);
}
