// SPDX-License-Identifier: MIT
// Fields of a record, to and from what is typed.
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"
#include "base/unit.h"
#include "book/store/record.h"
#include "book/store/private.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const DwField *dw_field_find(const DwEntity *entity, const char *key)
{
    for (size_t i = 0; i < entity->field_count; i++)
        if (strcmp(entity->fields[i].key, key) == 0)
            return &entity->fields[i];
    return NULL;
}

char *dw_field_word(const DwField *field, int choice)
{
    const char *at = field->choices;
    for (; at && choice > 0; choice--) {
        at = strchr(at, '|');
        at = at ? at + 1 : NULL;
    }
    return at && choice == 0 ? dw_text_format("%.*s", (int)strcspn(at, "|"), at) : dw_memory_text("");
}

// A choice of several words may be typed with '-' or '_' between them.
static bool same_words(const char *typed, const char *word, size_t length)
{
    if (strlen(typed) != length)
        return false;
    for (size_t i = 0; i < length; i++) {
        bool gap = word[i] == ' ' && (typed[i] == '-' || typed[i] == '_');
        if (typed[i] != word[i] && !gap)
            return false;
    }
    return true;
}

int dw_field_choice(const DwField *field, const char *word)
{
    int place = 0;
    for (const char *at = field->choices; at; place++) {
        size_t length = strcspn(at, "|");
        if (same_words(word, at, length))
            return place;
        at = at[length] ? at + length + 1 : NULL;
    }
    return -1;
}

static void *place_of(DwRecord *record, const DwField *field)
{
    return (char *)record + field->offset;
}

void dw_field_replace(char **place, const char *text)
{
    char *copy = dw_memory_text(text);
    free(*place);
    *place = copy;
}

void dw_field_stamp(const DwBook *book, char **at, char **who)
{
    char now[DW_MOMENT_SIZE];
    dw_book_now(book, now);
    dw_field_replace(at, now);
    if (who)
        dw_field_replace(who, dw_book_actor(book));
}

static DwStatus bad_value(const DwField *field, const char *text, const char *wanted, DwMessage *message)
{
    return dw_fail(message, DW_BAD_INPUT, "%s: \"%s\" is not %s.", dw_said(field->label), text, dw_said(wanted));
}

static DwStatus check_range(const DwField *field, const char *text, double value, DwMessage *message)
{
    bool nothing = !*text || (field->kind == DW_FIELD_INTEGER && value == 0);
    if (nothing || field->low == field->high || (value >= field->low && value <= field->high))
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT, "%s: %s is out of range. It can be from %.10g to %.10g%s%s.",
                   dw_said(field->label), text, field->low, field->high, field->unit ? " " : "",
                   !field->unit                ? ""
                   : dw_message_is_for_pages() ? dw_unit_sign(field->unit)
                                               : field->unit);
}

static DwStatus set_number(DwRecord *record, const DwField *field, const char *text, DwMessage *message)
{
    double value = NAN;
    if (dw_text_number_clear(field->label, text, message) != DW_OK)
        return DW_BAD_INPUT;
    const char *end = *text ? dw_text_number(text, &value) : text;
    while (end && *end == ' ')
        end++;
    if (end && *end && field->unit) {
        const DwUnit *from = dw_unit_any(field->unit), *typed = from ? dw_unit_find(from->dimension, end) : NULL;
        if (typed) {
            value = dw_unit_convert(value, typed, from);
            end += strlen(end);
        } else if (strcmp(end, field->unit) == 0)
            end += strlen(end);
    }
    if (end && field->kind == DW_FIELD_RATE && strcmp(end, "%") == 0)
        end++;
    if (!end || *end)
        return bad_value(field, text, field->unit ? N_("a number with a unit of that kind") : N_("a number"), message);
    if (check_range(field, text, value, message) != DW_OK)
        return DW_BAD_INPUT;
    if (field->kind == DW_FIELD_REAL)
        *(double *)place_of(record, field) = value;
    else if (field->kind == DW_FIELD_RATE) {
        if (!(value >= 0 && value <= 100) && *text)
            return bad_value(field, text, N_("a rate from 0 to 100 %"), message);
        *(int64_t *)place_of(record, field) = *text ? llround(value * 10000) : 0;
    } else {
        if (*text && (value != floor(value) || fabs(value) > 9e15))
            return bad_value(field, text, N_("a whole number"), message);
        *(int64_t *)place_of(record, field) = *text ? (int64_t)value : 0;
    }
    return DW_OK;
}

static DwStatus set_yes(bool *place, const DwField *field, const char *text, DwMessage *message)
{
    if (strcmp(text, "yes") == 0 || strcmp(text, "1") == 0)
        *place = true;
    else if (!*text || strcmp(text, "no") == 0 || strcmp(text, "0") == 0)
        *place = false;
    else
        return bad_value(field, text, "yes or no", message);
    return DW_OK;
}

// The words of CHOICES, parted by PARTED, as what goes wrong is told: at the command line as they are typed, on a page
// by what stands in its list. The caller frees them with free().
static char *told_choices(const char *choices, char parted)
{
    DwText told = {0};
    if (!dw_message_is_for_pages())
        return dw_memory_text(choices);
    for (const char *at = choices; *at;) {
        size_t length = strcspn(at, (char[]){parted, 0});
        char *word = dw_text_format("%.*s", (int)length, at);
        dw_text_add(&told, "%s%s", told.length ? ", " : "", dw_said(word));
        free(word);
        at += length + (at[length] != 0);
    }
    return dw_text_take(&told);
}

static DwStatus refuse_choice(const DwField *field, const char *text, const char *choices, char parted,
                              DwMessage *message)
{
    char *told = told_choices(choices, parted);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s: \"%s\" is none of: %s.", dw_said(field->label), text, told);
    free(told);
    return status;
}

static DwStatus set_choice(int *place, const DwField *field, const char *text, DwMessage *message)
{
    int choice = *text ? dw_field_choice(field, text) : 0;
    if (choice < 0)
        return refuse_choice(field, text, field->choices, '|', message);
    *place = choice;
    return DW_OK;
}

static DwStatus set_time(char **place, const DwField *field, const char *text, DwMessage *message)
{
    bool date = field->kind == DW_FIELD_DATE;
    char whole[DW_MOMENT_SIZE];
    if (!date && strlen(text) == strlen("2026-11-25T14:16Z") && text[strlen(text) - 1] == 'Z') {
        snprintf(whole, sizeof whole, "%.16s:00Z", text); // seconds may be left out
        text = whole;
    }
    // Nothing in a shop's book is from before there were records to play.
    if (*text && (!(date ? dw_moment_is_date(text) : dw_moment_is_moment(text)) || strcmp(text, "1870") < 0))
        return bad_value(field, text,
                         date ? N_("a day such as 2026-11-25") : N_("a date and time such as 2026-11-25T14:16Z"),
                         message);
    dw_field_replace(place, *text ? text : NULL);
    return DW_OK;
}

static bool is_own_file(const char *text)
{
    static const char folder[] = "attachments/";
    const char *name = text + strlen(folder);
    return strncmp(text, folder, strlen(folder)) == 0 && *name && *name != '.' && !strchr(name, '/');
}

// The one place where a path is taken.
static DwStatus set_path(const DwBook *book, char **place, const DwField *field, const char *text, DwMessage *message)
{
    if (book->away && !(field->attached && is_own_file(text)))
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: this names a place on the bench computer's disk, and is set there alone.",
                       dw_said(field->label));
    dw_field_replace(place, text);
    return DW_OK;
}

static DwStatus set_amount(const DwBook *book, int64_t *place, const DwField *field, const char *text,
                           DwMessage *message)
{
    int64_t amount = DW_AMOUNT_NONE;
    DwStatus status = *text ? dw_money_read(text, book->amount_digits, &amount, message) : DW_OK;
    if (status == DW_OK && *text && field->not_negative && amount < 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: an amount here is not below 0.", dw_said(field->label));
    if (status == DW_OK)
        *place = amount;
    return status;
}

static DwStatus check_word(const DwField *field, const char *text, DwMessage *message)
{
    const DwQuantity *quantity = dw_quantity_find(field->catalogue);
    if (!*text || dw_quantity_has_choice(quantity, text))
        return DW_OK;
    return refuse_choice(field, text, quantity->choices, ' ', message);
}

// Text that every paper, page and export can carry as it stands.
static DwStatus check_text(const DwField *field, const char *text, DwMessage *message)
{
    if (!dw_text_is_utf8(text, strlen(text)))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is no text in UTF-8. Type it again.", dw_said(field->label));
    for (const unsigned char *at = (const unsigned char *)text; *at; at++)
        if ((*at < ' ' && !strchr("\t\r\n", *at)) || *at == 0x7f)
            return dw_fail(message, DW_BAD_INPUT, "%s: a control character stands in it. Type it again.",
                           dw_said(field->label));
    return field->catalogue ? check_word(field, text, message) : DW_OK;
}

DwStatus dw_field_set(const DwBook *book, DwRecord *record, const DwField *field, const char *text, DwMessage *message)
{
    void *place = place_of(record, field);
    bool plain = dw_field_is_text(field);
    if (plain && check_text(field, text, message) != DW_OK)
        return DW_BAD_INPUT;
    switch (field->kind) {
    case DW_FIELD_TEXT:
        dw_field_replace(place, text);
        return DW_OK;
    case DW_FIELD_PATH:
        return set_path(book, place, field, text, message);
    case DW_FIELD_INTEGER:
    case DW_FIELD_REFERENCE:
    case DW_FIELD_RATE:
    case DW_FIELD_REAL:
        return set_number(record, field, text, message);
    case DW_FIELD_YES:
        return set_yes(place, field, text, message);
    case DW_FIELD_CHOICE:
        return set_choice(place, field, text, message);
    case DW_FIELD_DATE:
    case DW_FIELD_MOMENT:
        return set_time(place, field, text, message);
    case DW_FIELD_AMOUNT:
        return set_amount(book, place, field, text, message);
    }
    return DW_OK;
}

DwStatus dw_record_set(const DwBook *book, DwRecord *record, const char *key, const char *text, DwMessage *message)
{
    const DwField *field = dw_field_find(record->entity, key);
    if (!field || field->kept) {
        DwText known = {0};
        for (size_t i = 0; i < record->entity->field_count; i++)
            if (!record->entity->fields[i].kept)
                dw_text_add(&known, "%s%s", known.length ? ", " : "", record->entity->fields[i].key);
        DwStatus status = dw_fail(message, DW_BAD_INPUT,
                                  strchr("aeiou", record->entity->label[0]) ? "An %s has no \"%s\" to set. It has: %s."
                                                                            : "A %s has no \"%s\" to set. It has: %s.",
                                  dw_said(record->entity->label), key, known.chars ? known.chars : "-");
        dw_text_clear(&known);
        return status;
    }
    return dw_field_set(book, record, field, text, message);
}

static char *real_text(double value)
{
    if (isnan(value))
        return dw_memory_text("");
    // The shortest form that reads back as the same number.
    for (int digits = 6; digits < 17; digits += 3) {
        char *text = dw_text_format("%.*g", digits, value);
        if (strtod(text, NULL) == value)
            return text;
        free(text);
    }
    return dw_text_format("%.17g", value);
}

char *dw_record_text(const DwBook *book, const DwRecord *record, const DwField *field)
{
    const void *place = (const char *)record + field->offset;
    if (field->secret)
        return dw_memory_text("");
    switch (field->kind) {
    case DW_FIELD_TEXT:
    case DW_FIELD_PATH:
    case DW_FIELD_DATE:
    case DW_FIELD_MOMENT: {
        const char *text = *(char *const *)place;
        return dw_memory_text(text ? text : "");
    }
    case DW_FIELD_INTEGER:
        return dw_text_format("%" PRId64, *(const int64_t *)place);
    case DW_FIELD_REFERENCE:
        return *(const int64_t *)place ? dw_text_format("%" PRId64, *(const int64_t *)place) : dw_memory_text("");
    case DW_FIELD_REAL:
        return real_text(*(const double *)place);
    case DW_FIELD_RATE:
        return real_text((double)*(const int64_t *)place / 10000);
    case DW_FIELD_YES:
        return dw_memory_text(*(const bool *)place ? "yes" : "no");
    case DW_FIELD_CHOICE:
        return dw_field_word(field, *(const int *)place);
    case DW_FIELD_AMOUNT:
        return dw_money_text(*(const int64_t *)place, book->amount_digits);
    }
    return dw_memory_text("");
}

bool dw_field_is_text(const DwField *field)
{
    return field->kind == DW_FIELD_TEXT || field->kind == DW_FIELD_PATH || field->kind == DW_FIELD_DATE ||
           field->kind == DW_FIELD_MOMENT;
}

DwStatus dw_field_check(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    struct {
        DwRecord record;
        union {
            char *text;
            int64_t integer;
            double real;
            bool yes;
            int choice;
        } value;
    } scratch = {.value = {0}};
    DwField moved = *field;
    moved.offset = offsetof(__typeof__(scratch), value);
    DwStatus status = dw_field_set(book, &scratch.record, &moved, text, message);
    if (dw_field_is_text(field))
        free(scratch.value.text);
    return status;
}
