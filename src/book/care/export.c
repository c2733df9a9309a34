// SPDX-License-Identifier: MIT
// What the book holds as JSON and CSV: the same rows, with labels a person and a
// program can read.
#include "base/memory.h"
#include "base/text.h"
#include "book/care/attachments.h"
#include "book/care/export.h"
#include "book/store/csv.h"
#include "book/store/attachment.h"
#include "book/store/journal.h"
#include "book/store/private.h"
#include "book/shop/settings.h"

#include <dirent.h>
#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static json_t *field_json(const DwBook *book, const DwRecord *record, const DwField *field)
{
    const void *place = (const char *)record + field->offset;
    switch (field->kind) {
    case DW_FIELD_INTEGER:
        return json_integer(*(const int64_t *)place);
    case DW_FIELD_YES:
        return json_boolean(*(const bool *)place);
    case DW_FIELD_REAL:
        return isnan(*(const double *)place) ? json_null() : json_real(*(const double *)place);
    case DW_FIELD_REFERENCE:
        return *(const int64_t *)place ? json_integer(*(const int64_t *)place) : json_null();
    case DW_FIELD_TEXT:
    case DW_FIELD_PATH:
    case DW_FIELD_CHOICE:
    case DW_FIELD_DATE:
    case DW_FIELD_MOMENT:
    case DW_FIELD_AMOUNT:
    case DW_FIELD_RATE:
        break;
    }
    char *text = dw_record_text(book, record, field);
    json_t *value =
        *text || field->kind == DW_FIELD_TEXT || field->kind == DW_FIELD_PATH ? json_string(text) : json_null();
    free(text);
    return value ? value : json_null(); // text that is no UTF-8
}

static json_t *record_json(const DwBook *book, const DwRecord *record)
{
    json_t *object = json_object();
    json_object_set_new(object, "id", json_integer(record->id));
    for (size_t i = 0; i < record->entity->field_count; i++)
        json_object_set_new(object, record->entity->fields[i].key,
                            field_json(book, record, &record->entity->fields[i]));
    return object;
}

char *dw_record_json_write(const DwBook *book, const DwRecord *record)
{
    json_t *object = record_json(book, record);
    char *text = json_dumps(object, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
    json_decref(object);
    return text ? text : dw_memory_text("{}");
}

static char *records_csv(const DwBook *book, const DwRecords *records)
{
    const DwEntity *entity = records->entity;
    DwText csv = {0};
    dw_text_add(&csv, "id");
    for (size_t i = 0; i < entity->field_count; i++)
        dw_text_add(&csv, ",%s", entity->fields[i].key);
    dw_text_add(&csv, "\r\n");
    for (size_t r = 0; r < records->count; r++) {
        const DwRecord *record = dw_records_at(records, r);
        dw_text_add(&csv, "%lld", (long long)record->id);
        for (size_t i = 0; i < entity->field_count; i++) {
            char *text = dw_record_text(book, record, &entity->fields[i]);
            dw_text_add(&csv, ",");
            dw_csv_add(&csv, text);
            free(text);
        }
        dw_text_add(&csv, "\r\n");
    }
    return dw_text_take(&csv);
}

static DwStatus write_text(const char *folder, const char *name, const char *text, DwMessage *message)
{
    int error = dw_file_write(folder, name, text, strlen(text));
    return error ? dw_fail(message, DW_FAILED, "%s/%s could not be written: %s.", folder, name, strerror(error))
                 : DW_OK;
}

static DwStatus select_rows(DwBook *book, const DwEntity *entity, int64_t customer, DwRecords *records,
                            DwMessage *message)
{
    if (!customer)
        return dw_record_list(book, entity, NULL, 0, records, message);
    char *where = dw_text_format("WHERE %s ORDER BY id", entity->of_customer);
    DwStatus status = dw_record_select(book, entity, where, customer, records, message);
    free(where);
    return status;
}

static DwStatus copy_files(DwBook *book, int64_t customer, const char *folder, DwProblems *problems, DwMessage *message)
{
    char *from = dw_text_format("%s/attachments", book->folder), *to = dw_text_format("%s/attachments", folder);
    const char *const places[] = {from, NULL};
    DwStatus status = dw_attachments_copy_all(book, customer ? dw_attachment_entity.of_customer : NULL, customer,
                                              places, to, problems, message);
    free(from);
    free(to);
    return status;
}

static DwStatus export_entity(DwBook *book, const DwEntity *entity, int64_t customer, const char *folder, json_t *all,
                              DwProblems *problems, DwMessage *message)
{
    DwRecords records;
    DwStatus status = select_rows(book, entity, customer, &records, message);
    if (status != DW_OK)
        return status;
    json_t *list = json_array();
    for (size_t i = 0; i < records.count; i++)
        json_array_append_new(list, record_json(book, dw_records_at(&records, i)));
    json_object_set_new(all, entity->name, list);
    if (records.count) {
        char *csv = records_csv(book, &records), *name = dw_text_format("%s.csv", entity->name);
        status = write_text(folder, name, csv, message);
        free(csv);
        free(name);
    }
    if (status == DW_OK && records.count && entity == &dw_attachment_entity)
        status = copy_files(book, customer, folder, problems, message);
    dw_records_clear(&records);
    return status;
}

// The journal of the whole book, and the settings.
static DwStatus export_rest(DwBook *book, const char *folder, json_t *all, DwMessage *message)
{
    DwJournal journal;
    DwStatus status = dw_journal_read(book, NULL, 0, 0, &journal, message);
    if (status != DW_OK)
        return status;
    json_t *list = json_array();
    DwText csv = {0};
    dw_text_add(&csv, "id,at,who,entity,row,field,old_value,new_value\r\n");
    for (size_t i = 0; i < journal.count; i++) {
        const DwJournalLine *line = &journal.lines[i];
        const char *const cells[] = {line->at, line->who, line->entity, line->field, line->old_value, line->new_value};
        json_array_append_new(list,
                              json_pack("{s:I, s:s, s:s, s:s, s:I, s:s, s:s, s:s}", "id", (json_int_t)line->id, "at",
                                        cells[0], "who", cells[1], "entity", cells[2], "row", (json_int_t)line->row,
                                        "field", cells[3], "old_value", cells[4], "new_value", cells[5]));
        dw_text_add(&csv, "%lld", (long long)line->id);
        for (size_t c = 0; c < sizeof cells / sizeof *cells; c++) {
            if (c == 3) // the row's number follows its entity
                dw_text_add(&csv, ",%lld", (long long)line->row);
            dw_text_add(&csv, ",");
            dw_csv_add(&csv, cells[c]);
        }
        dw_text_add(&csv, "\r\n");
    }
    json_object_set_new(all, "journal", list);
    status = write_text(folder, "journal.csv", csv.chars, message);
    dw_text_clear(&csv);
    dw_journal_clear(&journal);
    json_t *settings = json_object();
    for (size_t i = 0; dw_settings_at(i); i++) {
        char *text = dw_settings_text(book, dw_settings_at(i)->field.key);
        json_object_set_new(settings, dw_settings_at(i)->field.key, json_string(text));
        free(text);
    }
    json_object_set_new(all, "settings", settings);
    return status;
}

static DwStatus export_entities(DwBook *book, int64_t customer, const char *folder, json_t *all, DwProblems *problems,
                                DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; dw_entity_at(i) && status == DW_OK; i++)
        if (!customer || dw_entity_at(i)->of_customer)
            status = export_entity(book, dw_entity_at(i), customer, folder, all, problems, message);
    return status == DW_OK && !customer ? export_rest(book, folder, all, message) : status;
}

static DwStatus prepare_folder(const char *folder, DwMessage *message)
{
    int error = dw_file_make_folder(folder);
    DIR *entries = error ? NULL : opendir(folder);
    if (!entries)
        return dw_fail(message, DW_FAILED, "%s: %s.", folder, strerror(error ? error : errno));
    bool empty = true;
    for (const struct dirent *entry = readdir(entries); entry; entry = readdir(entries))
        empty = empty && *entry->d_name == '.';
    closedir(entries);
    return empty ? DW_OK : dw_fail(message, DW_BAD_INPUT, "%s is not empty. Give a new folder for the export.", folder);
}

DwStatus dw_export_write(DwBook *book, int64_t customer, const char *folder, DwProblems *problems, DwMessage *message)
{
    *problems = (DwProblems){0};
    DwStatus status = prepare_folder(folder, message);
    if (status != DW_OK)
        return status;
    json_t *all = json_object();
    json_object_set_new(all, "deckwright_book", json_integer(1));
    // One view of the book, so that all tables are of the same instant; others may write meanwhile.
    status = dw_query_run(book, "SAVEPOINT export", message);
    if (status == DW_OK) {
        status = export_entities(book, customer, folder, all, problems, message);
        dw_query_run(book, "RELEASE export", NULL);
    }
    if (status == DW_OK) {
        char *text = json_dumps(all, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
        status = write_text(folder, "export.json", text ? text : "{}", message);
        free(text);
    }
    json_decref(all);
    return status;
}
