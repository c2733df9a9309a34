// SPDX-License-Identifier: MIT
#include "procedure/registry/limits.h"
#include "web/record/record_form.h"

#include "base/arm_key.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/sheet.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/entry/entry.h"
#include "book/shop/settings.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// More to choose from than this is found by search, not in a list.
enum { MOST_CHOICES = 300 };

bool dw_record_in_grams(const DwField *field)
{
    return field->kind == DW_FIELD_REAL && field->unit && strcmp(field->unit, "mN") == 0;
}

// VALUE in millinewtons, in grams.
static char *in_grams(double value)
{
    const double mn_per_g = 9.80665; // standard gravity, ISO 80000-4
    char number[32];
    return dw_memory_text(dw_text_decimal(number, sizeof number, value / mn_per_g, 2));
}

char *dw_record_spoken(const DwWebRequest *request, const DwRecord *record, const DwField *field)
{
    char *text = dw_record_text(request->book, record, field);
    if (!dw_record_in_grams(field) || !*text)
        return text;
    free(text);
    double value;
    memcpy(&value, (const char *)record + field->offset, sizeof value);
    return in_grams(value);
}

char *dw_record_said(const DwField *field, const char *text)
{
    double value;
    if (field && field->kind == DW_FIELD_CHOICE)
        return dw_memory_text(dw_words(text));
    if (!field || !dw_record_in_grams(field) || !dw_text_number(text, &value) || !isfinite(value))
        return dw_memory_text(text);
    char *number = in_grams(value), *said = dw_text_format("%s g", number);
    free(number);
    return said;
}

// The unit that stands beside FIELD's number; "" without one. The caller frees it.
static char *unit_of(const DwWebRequest *request, const DwField *field)
{
    if (field->kind == DW_FIELD_AMOUNT)
        return dw_settings_text(request->book, "money.currency");
    if (dw_record_in_grams(field))
        return dw_memory_text("g");
    return dw_memory_text(field->kind == DW_FIELD_RATE ? "%" : field->unit ? field->unit : "");
}

static char *label_of(const DwWebRequest *request, const DwField *field)
{
    char *unit = unit_of(request, field);
    const char *label = dw_words(field->label);
    char *whole = *unit ? dw_text_format("%s (%s)", label, unit) : dw_memory_text(label);
    free(unit);
    return whole;
}

static void write_choice(DwPage *page, const DwField *field, const char *value)
{
    const char *shown[64];
    char *words[64];
    size_t count = 0;
    while (count < 64) {
        words[count] = dw_field_word(field, (int)count);
        if (!*words[count])
            break;
        shown[count] = dw_words(words[count]);
        count++;
    }
    dw_form_choice(page, field->key, dw_words(field->label), shown, (const char *const *)words, count, value,
                   field->help ? dw_words(field->help) : NULL);
    for (size_t i = 0; i <= count && i < 64; i++)
        free(words[i]);
}

// What RECORD's reference FIELD may point to: what hangs on the same job where it can hang on one. False when that is
// more than may be chosen from.
static bool candidates(const DwWebRequest *request, const DwRecord *record, const DwField *field, DwRecords *found)
{
    const DwEntity *entity = dw_entity_find(field->refers);
    const DwField *job = dw_field_find(record->entity, "job_id");
    bool same_job = job && dw_field_find(entity, "job_id");
    int64_t id = same_job ? *(const int64_t *)((const char *)record + job->offset) : 0;
    const char *key = id ? "job_id" : NULL;
    size_t count = 0;
    return dw_record_count(request->book, entity, key, id, MOST_CHOICES + 1, &count, NULL) == DW_OK &&
           count <= MOST_CHOICES &&
           dw_record_newest(request->book, entity, key, id, MOST_CHOICES, found, NULL) == DW_OK;
}

static void write_options(DwPage *page, const DwField *field, const DwRecords *found, const char *value)
{
    size_t count = found->count + 1;
    char **words = dw_memory_new(count, sizeof *words), **values = dw_memory_new(count, sizeof *values);
    words[0] = dw_memory_text("–");
    values[0] = dw_memory_text("");
    for (size_t i = 0; i < found->count; i++) {
        const DwRecord *record = dw_records_at(found, i);
        words[i + 1] = dw_entry_title(page->request->book, record);
        values[i + 1] = dw_text_format("%lld", (long long)record->id);
    }
    dw_form_choice(page, field->key, dw_words(field->label), (const char *const *)words, (const char *const *)values,
                   count, value, field->help ? dw_words(field->help) : NULL);
    for (size_t i = 0; i < count; i++) {
        free(words[i]);
        free(values[i]);
    }
    free(words);
    free(values);
}

static void write_reference(DwPage *page, const DwRecord *record, const DwField *field, const char *value)
{
    DwRecords found = {0};
    if (candidates(page->request, record, field, &found))
        write_options(page, field, &found, value);
    else
        dw_form_text(page, field->key, dw_words(field->label), value, "text",
                     _("Its number in the book, as its page shows it."));
    dw_records_clear(&found);
}

static void write_moment(DwPage *page, const DwField *field, const char *value)
{
    char clock[DW_CLOCK_SIZE];
    dw_moment_clock(value, clock);
    dw_form_text(page, field->key, dw_words(field->label), clock, "datetime-local",
                 field->help ? dw_words(field->help) : NULL);
}

void dw_record_control(DwPage *page, const DwRecord *record, const DwField *field)
{
    char *value = dw_record_spoken(page->request, record, field), *label = label_of(page->request, field);
    const char *help = field->help ? dw_words(field->help) : NULL;
    switch (field->kind) {
    case DW_FIELD_TEXT:
    case DW_FIELD_PATH:
        if (field->lines)
            dw_form_area(page, field->key, label, value, help);
        else
            dw_form_text(page, field->key, label, value, "text", help);
        break;
    case DW_FIELD_INTEGER:
        dw_form_text(page, field->key, label, strcmp(value, "0") == 0 ? "" : value, "number", help);
        break;
    case DW_FIELD_REAL:
    case DW_FIELD_AMOUNT:
    case DW_FIELD_RATE:
        dw_form_text(page, field->key, label, value, "number", help);
        break;
    case DW_FIELD_YES:
        dw_form_tick(page, field->key, label, strcmp(value, "yes") == 0);
        break;
    case DW_FIELD_CHOICE:
        write_choice(page, field, value);
        break;
    case DW_FIELD_DATE:
        dw_form_text(page, field->key, label, value, "date", help);
        break;
    case DW_FIELD_MOMENT:
        write_moment(page, field, value);
        break;
    case DW_FIELD_REFERENCE:
        write_reference(page, record, field, value);
        break;
    }
    free(value);
    free(label);
}

char *dw_record_by_label(char *text)
{
    DwText named = {0};
    dw_text_add(&named, "%s", "");
    for (const char *at = text; *at;) {
        size_t length = strcspn(at, " ");
        char *word = dw_text_format("%.*s", (int)length, at);
        char *key = dw_arm_key_plain(word);
        bool known = strchr(key, '.') && (dw_quantity_find(key) || dw_limit_row_find(key));
        char *name = known ? dw_sheet_missing_name(key) : dw_memory_text(word);
        char *whole = known ? dw_arm_key_label(dw_said_label(name), dw_arm_key_name(word)) : dw_memory_text(name);
        dw_text_add(&named, "%s%s", whole, at[length] ? " " : "");
        free(key);
        free(whole);
        free(name);
        free(word);
        at += length + (at[length] == ' ');
    }
    free(text);
    return dw_text_take(&named);
}

// The title of the record that a reference points to.
static char *title_of(const DwWebRequest *request, const DwField *field, int64_t id)
{
    const DwEntity *entity = dw_entity_find(field->refers);
    DwRecord *record = dw_record_new(entity);
    char *title = id && dw_record_load(request->book, record, id, NULL) == DW_OK ? dw_entry_title(request->book, record)
                                                                                 : dw_memory_text("");
    dw_record_free(record);
    return title;
}

char *dw_record_form_words(const DwWebRequest *request, const DwRecord *record, const DwField *field)
{
    if (field->kind == DW_FIELD_REFERENCE)
        return title_of(request, field, *(const int64_t *)((const char *)record + field->offset));
    char *text = dw_record_spoken(request, record, field);
    char *unit = unit_of(request, field), *words = NULL;
    if (field->kind == DW_FIELD_MOMENT)
        words = dw_memory_text(dw_page_moment(text).text);
    else if (field->kind == DW_FIELD_CHOICE || field->kind == DW_FIELD_YES)
        words = dw_memory_text(*text ? dw_words(text) : "");
    else if (*text && *unit)
        words = dw_text_format("%s\u202F%s", text, unit);
    free(unit);
    if (!words)
        return dw_record_by_label(text);
    free(text);
    return words;
}
