// SPDX-License-Identifier: MIT
#include "book/care/exchange_same.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/cartridge.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/store/private.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { FIGURES_LEAST = 6 };

static char *text_of(const DwBook *book, const DwRecord *record, const char *key)
{
    return dw_record_text(book, record, dw_field_find(record->entity, key));
}

static const char *next_figure(const char *text)
{
    while (*text && !isdigit((unsigned char)*text))
        text++;
    return text;
}

static bool same_figures(const char *one, const char *other)
{
    size_t count = 0;
    for (;; count++) {
        one = next_figure(one);
        other = next_figure(other);
        if (!*one || !*other || *one != *other)
            break;
        one++;
        other++;
    }
    return !*one && !*other && count >= FIGURES_LEAST;
}

// The same words, blanks at their ends and the case of ASCII letters apart.
static bool same_words(const char *one, const char *other)
{
    one += strspn(one, " \n");
    other += strspn(other, " \n");
    size_t length = strlen(one), others = strlen(other);
    while (length && strchr(" \n", one[length - 1]))
        length--;
    while (others && strchr(" \n", other[others - 1]))
        others--;
    return length == others && strncasecmp(one, other, length) == 0;
}

bool dw_exchange_equal(const char *key, const char *one, const char *other)
{
    return same_words(one, other) || (strcmp(key, "phone") == 0 && same_figures(one, other));
}

// 1: both say the same of KEY; -1: they say it otherwise; 0: one or both say nothing.
static int compare(const DwBook *book, const DwRecord *one, const DwRecord *other, const char *key)
{
    char *a = text_of(book, one, key), *b = text_of(book, other, key);
    int result = !*a || !*b ? 0 : dw_exchange_equal(key, a, b) ? 1 : -1;
    free(a);
    free(b);
    return result;
}

static bool both_silent(const DwBook *book, const DwRecord *one, const DwRecord *other, const char *key)
{
    char *a = text_of(book, one, key), *b = text_of(book, other, key);
    bool silent = !*a && !*b;
    free(a);
    free(b);
    return silent;
}

// Equal or both silent in all of KEYS.
static bool all_alike(const DwBook *book, const DwRecord *one, const DwRecord *other, const char *const *keys)
{
    for (; *keys; keys++)
        if (compare(book, one, other, *keys) != 1 && !both_silent(book, one, other, *keys))
            return false;
    return true;
}

bool dw_exchange_same(const DwBook *book, const DwRecord *one, const DwRecord *other)
{
    static const char *const customer[] = {"name", "phone", "email", "address", NULL};
    static const char *const made[] = {"make", "model", "serial", NULL};
    static const char *const stylus[] = {"model", "profile", "bought_on", "fitted_on", NULL};
    const DwEntity *entity = one->entity;
    if (entity == &dw_customer_entity)
        return compare(book, one, other, "name") == 1 &&
               (compare(book, one, other, "phone") == 1 || compare(book, one, other, "email") == 1 ||
                all_alike(book, one, other, customer));
    if (entity == &dw_deck_entity)
        return compare(book, one, other, "make") == 1 && compare(book, one, other, "serial") == 1 &&
               compare(book, one, other, "model") >= 0;
    return all_alike(book, one, other, entity == &dw_stylus_entity ? stylus : made);
}

bool dw_exchange_may_be_same(const DwBook *book, const DwRecord *one, const DwRecord *other)
{
    static const char *const deck[] = {"make", "model", "variant", NULL};
    if (one->entity == &dw_customer_entity)
        return compare(book, one, other, "name") == 1;
    return one->entity == &dw_deck_entity && all_alike(book, one, other, deck) &&
           compare(book, one, other, "serial") == 0;
}

static const DwField *note_of(const DwEntity *entity)
{
    return dw_field_find(entity, entity == &dw_deck_entity ? "lesson" : "note");
}

static bool has_line(const char *text, const char *line, size_t length)
{
    for (const char *at = text; *at;) {
        size_t here = strcspn(at, "\n");
        if (here == length && memcmp(at, line, length) == 0)
            return true;
        at += here + (at[here] == '\n');
    }
    return false;
}

bool dw_exchange_note(const DwBook *book, DwRecord *record, const char *line)
{
    DwMessage message;
    const DwField *field = note_of(record->entity);
    char *own = dw_record_text(book, record, field);
    bool is_new = *line && !has_line(own, line, strlen(line));
    if (is_new) {
        char *text = dw_text_format("%s%s%s", own, *own ? "\n" : "", line);
        is_new = dw_field_set(book, record, field, text, &message) == DW_OK;
        free(text);
    }
    free(own);
    return is_new;
}

// Whether LINE ("Telephone: 0123") says what RECORD says itself: it was written when the other book took this one.
static bool says_itself(const DwBook *book, const DwRecord *record, const char *line)
{
    bool says = false;
    for (size_t i = 0; !says && i < record->entity->field_count; i++) {
        char *own = dw_record_text(book, record, &record->entity->fields[i]);
        char *same = dw_text_format("%s: %s", record->entity->fields[i].label, own);
        says = *own && strcmp(same, line) == 0;
        free(own);
        free(same);
    }
    return says;
}

static bool fill_note(const DwBook *book, const char *theirs, DwRecord *into)
{
    bool changed = false;
    for (const char *at = theirs; *at;) {
        size_t length = strcspn(at, "\n");
        char *line = dw_text_format("%.*s", (int)length, at);
        if (!says_itself(book, into, line) && dw_exchange_note(book, into, line))
            changed = true;
        free(line);
        at += length + (at[length] == '\n');
    }
    return changed;
}

static bool is_nothing(const DwField *field, const char *text)
{
    return !*text || strcmp(text, "0") == 0 || (field->kind == DW_FIELD_CHOICE && dw_field_choice(field, text) == 0);
}

static DwStatus fill_field(const DwBook *book, const DwField *field, const char *theirs, DwRecord *into, bool *changed,
                           DwMessage *message)
{
    DwStatus status = DW_OK;
    char *own = dw_record_text(book, into, field);
    if (field->kind == DW_FIELD_YES) {
        if (strcmp(own, "yes") == 0 && strcmp(theirs, "yes") != 0) {
            status = dw_field_set(book, into, field, "no", message);
            *changed = true;
        }
    } else if (!is_nothing(field, theirs) && is_nothing(field, own)) {
        status = dw_field_set(book, into, field, theirs, message);
        *changed = true;
    } else if (!is_nothing(field, theirs) && !dw_exchange_equal(field->key, theirs, own)) {
        char *line = dw_text_format("%s: %s", field->label, theirs);
        for (char *at = line; *at; at++)
            *at = *at == '\n' ? ' ' : *at;
        *changed |= dw_exchange_note(book, into, line);
        free(line);
    }
    free(own);
    return status;
}

DwStatus dw_exchange_fill(const DwBook *book, const DwRecord *from, DwRecord *into, bool *changed, DwMessage *message)
{
    DwStatus status = DW_OK;
    const DwEntity *entity = into->entity;
    *changed = false;
    for (size_t i = 0; status == DW_OK && i < entity->field_count; i++) {
        const DwField *field = &entity->fields[i];
        if (field->kept || field->secret || field->kind == DW_FIELD_REFERENCE)
            continue;
        char *theirs = dw_record_text(book, from, field);
        if (field == note_of(entity))
            *changed |= fill_note(book, theirs, into);
        else
            status = fill_field(book, field, theirs, into, changed, message);
        free(theirs);
    }
    return status;
}
