// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/store/journal.h"
#include "book/store/private.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void dw_record_init(DwRecord *record, const DwEntity *entity)
{
    memset(record, 0, entity->size);
    record->entity = entity;
    for (size_t i = 0; i < entity->field_count; i++) {
        void *place = (char *)record + entity->fields[i].offset;
        if (entity->fields[i].kind == DW_FIELD_REAL)
            *(double *)place = NAN;
        if (entity->fields[i].kind == DW_FIELD_AMOUNT)
            *(int64_t *)place = DW_AMOUNT_NONE;
        if (entity->fields[i].kind == DW_FIELD_CHOICE)
            *(int *)place = entity->fields[i].preset;
    }
}

void dw_record_clear(DwRecord *record)
{
    const DwEntity *entity = record->entity;
    for (size_t i = 0; i < entity->field_count; i++)
        if (dw_field_is_text(&entity->fields[i]))
            free(*(char **)((char *)record + entity->fields[i].offset));
    dw_record_init(record, entity);
}

DwRecord *dw_record_new(const DwEntity *entity)
{
    DwRecord *record = dw_memory_new(1, entity->size);
    dw_record_init(record, entity);
    return record;
}

void dw_record_free(DwRecord *record)
{
    if (record)
        dw_record_clear(record);
    free(record);
}

DwRecord *dw_records_at(const DwRecords *records, size_t index)
{
    assert(index < records->count);
    return (DwRecord *)((char *)records->items + index * records->entity->size);
}

void dw_records_clear(DwRecords *records)
{
    for (size_t i = 0; i < records->count; i++)
        dw_record_clear(dw_records_at(records, i));
    free(records->items);
    *records = (DwRecords){.entity = records->entity};
}

// Nothing of it can be seen: blanks of every width, joiners and marks of direction.
static bool is_blank(const char *text)
{
    return !text || dw_text_is_blank(text);
}

static bool is_missing(const DwRecord *record, const DwField *field)
{
    const void *place = (const char *)record + field->offset;
    if (dw_field_is_text(field))
        return is_blank(*(char *const *)place);
    if (field->kind == DW_FIELD_REFERENCE)
        return *(const int64_t *)place == 0;
    if (field->kind == DW_FIELD_AMOUNT)
        return *(const int64_t *)place == DW_AMOUNT_NONE;
    return field->kind == DW_FIELD_REAL && isnan(*(const double *)place);
}

static bool time_is_wrong(const DwRecord *record, const DwField *field)
{
    const char *text = *(char *const *)((const char *)record + field->offset);
    if (!text || !*text)
        return false;
    return field->kind == DW_FIELD_DATE ? !dw_moment_is_date(text) : !dw_moment_is_moment(text);
}

static DwStatus check_fields(const DwRecord *record, DwMessage *message)
{
    for (size_t i = 0; i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        if (field->required && is_missing(record, field))
            return dw_fail(message, DW_BAD_INPUT, "The %s has no %s (%s). Give it and save again.",
                           dw_said(record->entity->label), dw_said(field->label), field->key);
        if ((field->kind == DW_FIELD_DATE || field->kind == DW_FIELD_MOMENT) && time_is_wrong(record, field))
            return dw_fail(message, DW_BAD_INPUT, "%s is no day or moment of the calendar.", dw_said(field->label));
    }
    return DW_OK;
}

// Binds a field; a choice's word is put into *WORD, which must outlive the query.
static void bind_field(DwQuery *query, const DwRecord *record, const DwField *field, char **word)
{
    const void *place = (const char *)record + field->offset;
    switch (field->kind) {
    case DW_FIELD_TEXT:
    case DW_FIELD_PATH: {
        const char *text = *(char *const *)place;
        dw_query_bind_text(query, text ? text : "");
        return;
    }
    case DW_FIELD_DATE:
    case DW_FIELD_MOMENT: {
        const char *text = *(char *const *)place;
        dw_query_bind_text(query, text && *text ? text : NULL);
        return;
    }
    case DW_FIELD_RATE:
    case DW_FIELD_INTEGER:
        dw_query_bind_integer(query, *(const int64_t *)place);
        return;
    case DW_FIELD_YES:
        dw_query_bind_integer(query, *(const bool *)place);
        return;
    case DW_FIELD_REAL:
        dw_query_bind_real(query, *(const double *)place);
        return;
    case DW_FIELD_CHOICE:
        *word = dw_field_word(field, *(const int *)place);
        assert(**word);
        dw_query_bind_text(query, *word);
        return;
    case DW_FIELD_REFERENCE:
    case DW_FIELD_AMOUNT:
        if (is_missing(record, field))
            dw_query_bind_text(query, NULL);
        else
            dw_query_bind_integer(query, *(const int64_t *)place);
        return;
    }
}

static void read_field(const DwQuery *query, int column, DwRecord *record, const DwField *field)
{
    void *place = (char *)record + field->offset;
    bool nothing = dw_query_is_nothing(query, column);
    switch (field->kind) {
    case DW_FIELD_TEXT:
    case DW_FIELD_PATH:
    case DW_FIELD_DATE:
    case DW_FIELD_MOMENT:
        *(char **)place = nothing ? NULL : dw_memory_text(dw_query_text(query, column));
        return;
    case DW_FIELD_REFERENCE:
    case DW_FIELD_RATE:
    case DW_FIELD_INTEGER:
        *(int64_t *)place = dw_query_integer(query, column);
        return;
    case DW_FIELD_AMOUNT:
        *(int64_t *)place = nothing ? DW_AMOUNT_NONE : dw_query_integer(query, column);
        return;
    case DW_FIELD_YES:
        *(bool *)place = dw_query_integer(query, column) != 0;
        return;
    case DW_FIELD_REAL:
        *(double *)place = dw_query_real(query, column);
        return;
    case DW_FIELD_CHOICE: {
        int choice = dw_field_choice(field, dw_query_text(query, column));
        *(int *)place = choice < 0 ? 0 : choice; // `book check` tells of words this program does not know
        return;
    }
    }
}

DwStatus dw_record_select(DwBook *book, const DwEntity *entity, const char *sql, int64_t id, DwRecords *records,
                          DwMessage *message)
{
    DwText text = {0};
    dw_text_add(&text, "SELECT id, revision");
    for (size_t i = 0; i < entity->field_count; i++)
        dw_text_add(&text, ", %s", entity->fields[i].key);
    dw_text_add(&text, " FROM %s %s", entity->name, sql);
    DwQuery query = dw_query_begin(book, text.chars);
    for (int i = sqlite3_bind_parameter_count(query.statement); i > 0; i--)
        dw_query_bind_integer(&query, id);
    DwRecords found = {.entity = entity};
    size_t room = 0;
    while (dw_query_step(&query)) {
        if (found.count == room) {
            room = room ? room * 2 : 4;
            found.items = dw_memory_resize(found.items, room, entity->size);
        }
        DwRecord *record = (DwRecord *)((char *)found.items + found.count++ * entity->size);
        dw_record_init(record, entity);
        record->id = dw_query_integer(&query, 0);
        record->revision = dw_query_integer(&query, 1);
        for (size_t i = 0; i < entity->field_count; i++)
            read_field(&query, (int)i + 2, record, &entity->fields[i]);
    }
    dw_text_clear(&text);
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *records = found;
    else
        dw_records_clear(&found);
    return status;
}

// Moves the only record of RECORDS into RECORD.
static void take_first(DwRecord *record, DwRecords *records)
{
    dw_record_clear(record);
    memcpy(record, records->items, records->entity->size);
    dw_record_init(records->items, records->entity);
    dw_records_clear(records);
}

DwStatus dw_record_load(DwBook *book, DwRecord *record, int64_t id, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_select(book, record->entity, "WHERE id = ?", id, &records, message);
    if (status != DW_OK)
        return status;
    if (records.count == 0) {
        dw_records_clear(&records);
        return dw_fail(message, DW_BAD_INPUT, "There is no %s number %lld in the book.", dw_said(record->entity->label),
                       (long long)id);
    }
    take_first(record, &records);
    return DW_OK;
}

DwStatus dw_record_list(DwBook *book, const DwEntity *entity, const char *key, int64_t id, DwRecords *records,
                        DwMessage *message)
{
    char *sql = key ? dw_text_format("WHERE %s = ? ORDER BY id", key) : dw_memory_text("ORDER BY id");
    DwStatus status = dw_record_select(book, entity, sql, id, records, message);
    free(sql);
    return status;
}

DwStatus dw_record_newest(DwBook *book, const DwEntity *entity, const char *key, int64_t id, size_t most,
                          DwRecords *records, DwMessage *message)
{
    char *of = key ? dw_text_format("WHERE %s = ?", key) : dw_memory_text("");
    char *sql = dw_text_format("WHERE id IN (SELECT id FROM %s %s ORDER BY id DESC LIMIT %zu) ORDER BY id",
                               entity->name, of, most);
    DwStatus status = dw_record_select(book, entity, sql, id, records, message);
    free(sql);
    free(of);
    return status;
}

DwStatus dw_record_count(DwBook *book, const DwEntity *entity, const char *key, int64_t id, size_t most, size_t *count,
                         DwMessage *message)
{
    char *of = key ? dw_text_format("WHERE %s = ?", key) : dw_memory_text("");
    char *sql = dw_text_format("SELECT count(*) FROM (SELECT 1 FROM %s %s LIMIT %zu)", entity->name, of, most);
    int64_t found = 0;
    DwStatus status = dw_query_number(book, sql, id, &found, message);
    if (status == DW_OK)
        *count = (size_t)found;
    free(sql);
    free(of);
    return status;
}

DwStatus dw_record_find(DwBook *book, DwRecord *record, const char *key, const char *text, DwMessage *message)
{
    assert(dw_field_find(record->entity, key));
    char *sql = dw_text_format("SELECT id FROM %s WHERE %s = ? ORDER BY id DESC LIMIT 1", record->entity->name, key);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_text(&query, text);
    int64_t id = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    DwStatus status = dw_query_end(&query, message);
    free(sql);
    if (status == DW_OK && id == 0)
        return dw_fail(message, DW_BAD_INPUT, "There is no %s with %s \"%s\" in the book.",
                       dw_said(record->entity->label), key, text);
    return status == DW_OK ? dw_record_load(book, record, id, message) : status;
}

// Binds the chosen fields, steps, and frees the words.
static DwStatus run_with_fields(DwBook *book, const char *sql, const DwRecord *record, const bool *chosen,
                                DwMessage *message)
{
    size_t count = record->entity->field_count;
    char **words = dw_memory_new(count, sizeof *words);
    DwQuery query = dw_query_begin(book, sql);
    for (size_t i = 0; i < count; i++)
        if (chosen[i])
            bind_field(&query, record, &record->entity->fields[i], &words[i]);
    if (record->id) {
        dw_query_bind_integer(&query, record->id);
        dw_query_bind_integer(&query, record->revision);
    }
    DwStatus status = dw_query_finish(&query, message);
    for (size_t i = 0; i < count; i++)
        free(words[i]);
    free(words);
    return status;
}

// Under ID again when it is not 0, else under a new one.
static DwStatus insert(DwBook *book, DwRecord *record, int64_t again, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    DwText sql = {0};
    bool *all = dw_memory_new(entity->field_count, sizeof *all);
    dw_text_add(&sql, "INSERT INTO %s (id, revision", entity->name);
    for (size_t i = 0; i < entity->field_count; i++) {
        all[i] = true;
        dw_text_add(&sql, ", %s", entity->fields[i].key);
    }
    // An id that the journal speaks of is never given again, though its record be gone.
    if (again)
        dw_text_add(&sql, ") VALUES (%lld, 1", (long long)again);
    else
        dw_text_add(&sql,
                    ") VALUES (1 + max(coalesce((SELECT max(id) FROM %s), 0), coalesce((SELECT max(row_id) FROM "
                    "journal WHERE entity = '%s'), 0)), 1",
                    entity->name, entity->name);
    for (size_t i = 0; i < entity->field_count; i++)
        dw_text_add(&sql, ", ?");
    dw_text_add(&sql, ")");
    DwStatus status = run_with_fields(book, sql.chars, record, all, message);
    dw_text_clear(&sql);
    free(all);
    if (status != DW_OK)
        return status;
    int64_t id = sqlite3_last_insert_rowid(book->database);
    if (!entity->quiet)
        status = dw_journal_add(book, entity->name, id, "", "", again ? DW_JOURNAL_PUT_BACK : "added", false, message);
    if (status == DW_OK) {
        record->id = id;
        record->revision = 1;
    }
    return status;
}

// Notes in the journal what differs between OLD and RECORD and marks it in CHANGED.
static DwStatus note_changes(DwBook *book, const DwRecord *old, const DwRecord *record, bool kept_too, bool *changed,
                             bool *any, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    DwStatus status = DW_OK;
    for (size_t i = 0; i < entity->field_count && status == DW_OK; i++) {
        const DwField *field = &entity->fields[i];
        if (field->kept && !kept_too)
            continue;
        char *before = dw_record_text(book, old, field), *after = dw_record_text(book, record, field);
        changed[i] = strcmp(before, after) != 0;
        if (changed[i]) {
            *any = true;
            if (!entity->quiet)
                status =
                    dw_journal_add(book, entity->name, record->id, field->key, before, after, field->personal, message);
        }
        free(before);
        free(after);
    }
    return status;
}

static DwStatus write_changes(DwBook *book, DwRecord *record, const bool *changed, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    DwText sql = {0};
    dw_text_add(&sql, "UPDATE %s SET revision = revision + 1", entity->name);
    for (size_t i = 0; i < entity->field_count; i++)
        if (changed[i])
            dw_text_add(&sql, ", %s = ?", entity->fields[i].key);
    dw_text_add(&sql, " WHERE id = ? AND revision = ?");
    DwStatus status = run_with_fields(book, sql.chars, record, changed, message);
    dw_text_clear(&sql);
    return status;
}

static DwStatus update(DwBook *book, DwRecord *record, bool kept_too, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    DwRecord *old = dw_record_new(entity);
    bool *changed = dw_memory_new(entity->field_count, sizeof *changed), any = false;
    DwStatus status = dw_record_load(book, old, record->id, message);
    if (status == DW_OK && old->revision != record->revision)
        status = dw_fail(message, DW_BAD_INPUT,
                         "The %s was changed by somebody else meanwhile. Open it again and repeat the change.",
                         dw_said(entity->label));
    if (status == DW_OK)
        status = note_changes(book, old, record, kept_too, changed, &any, message);
    if (status == DW_OK && any)
        status = write_changes(book, record, changed, message);
    if (status == DW_OK && any)
        record->revision++;
    dw_record_free(old);
    free(changed);
    return status;
}

static DwStatus save(DwBook *book, DwRecord *record, int64_t again, bool kept_too, DwMessage *message)
{
    DwStatus status = check_fields(record, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwRecord before = *record;
    status = record->id ? update(book, record, kept_too, message) : insert(book, record, again, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        *record = before;
    return status;
}

DwStatus dw_record_save(DwBook *book, DwRecord *record, DwMessage *message)
{
    return save(book, record, 0, false, message);
}

DwStatus dw_record_keep(DwBook *book, DwRecord *record, DwMessage *message)
{
    return save(book, record, 0, true, message);
}

DwStatus dw_record_put_back(DwBook *book, DwRecord *record, int64_t id, DwMessage *message)
{
    assert(record->id == 0);
    return save(book, record, id, true, message);
}

// The journal keeps each value of a record that goes, but a person's data goes with it unless it is to be KEPT.
static DwStatus note_removal(DwBook *book, const DwRecord *record, bool kept, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    DwStatus status = dw_journal_add(book, entity->name, record->id, "", "", DW_JOURNAL_REMOVED, false, message);
    for (size_t i = 0; i < entity->field_count && status == DW_OK; i++) {
        bool personal = entity->fields[i].personal;
        if (personal && !kept)
            continue;
        char *value = dw_record_text(book, record, &entity->fields[i]);
        if (*value)
            status =
                dw_journal_add(book, entity->name, record->id, entity->fields[i].key, value, "", personal, message);
        free(value);
    }
    return status == DW_OK && !kept ? dw_journal_forget(book, entity, "id = ?1", record->id, message) : status;
}

static DwStatus take_out(DwBook *book, DwRecord *record, bool kept, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    int64_t id = record->id;
    status = dw_record_load(book, record, id, message);
    if (status == DW_OK)
        status = note_removal(book, record, kept, message);
    if (status == DW_OK) {
        char *sql = dw_text_format("DELETE FROM %s WHERE id = ?", record->entity->name);
        DwQuery query = dw_query_begin(book, sql);
        dw_query_bind_integer(&query, id);
        status = dw_query_finish(&query, message);
        free(sql);
        if (status != DW_OK && sqlite3_extended_errcode(book->database) == SQLITE_CONSTRAINT_FOREIGNKEY)
            status = dw_fail(message, DW_BAD_INPUT,
                             "Another entry of the book refers to the %s, id %lld. It stays while one does.",
                             dw_said(record->entity->label), (long long)id);
    }
    status = dw_book_end(book, status, message);
    if (status == DW_OK)
        record->id = 0;
    return status;
}

DwStatus dw_record_remove(DwBook *book, DwRecord *record, DwMessage *message)
{
    return take_out(book, record, false, message);
}

DwStatus dw_record_take_out(DwBook *book, DwRecord *record, DwMessage *message)
{
    return take_out(book, record, true, message);
}
