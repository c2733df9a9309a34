// SPDX-License-Identifier: MIT
// Taking in what another shop shared of a model.
#include "base/memory.h"
#include "base/text.h"
#include "book/model/share.h"
#include "book/store/bound.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
    DwBook *book;
    const DwKeyfile *file;
    const char *name;
    char *shared_by;
    DwModel model;
    DwShareTaken taken;
} Share;

// Adds what LINE says to TEXT; true when it goes on in the next line.
static DwStatus add_decoded(const Share *share, const DwKeyLine *line, DwText *text, bool *goes_on, DwMessage *message)
{
    static const char letters[] = "\\nrt:_", meant[] = "\\\n\r\t; ";
    *goes_on = false;
    for (const char *at = line->value; *at; at++) {
        if (*at != '\\') {
            dw_text_add(text, "%c", *at);
            continue;
        }
        if (!*++at) {
            *goes_on = true;
            return DW_OK;
        }
        const char *found = strchr(letters, *at);
        if (!found)
            return dw_fail(message, DW_BAD_INPUT, "%s: line %u: '\\%c' means nothing. Write '\\\\' for a backslash.",
                           share->name, line->line, *at);
        dw_text_add(text, "%c", meant[found - letters]);
    }
    return DW_OK;
}

// The whole value of the key at *INDEX, which moves to its last line. The caller frees *VALUE.
static DwStatus take_value(const Share *share, size_t *index, char **value, DwMessage *message)
{
    const DwKeyfile *file = share->file;
    const DwKeyLine *first = &file->lines[*index];
    DwText text = {0};
    bool goes_on;
    DwStatus status = add_decoded(share, first, &text, &goes_on, message);
    while (status == DW_OK && goes_on) {
        const DwKeyLine *next = *index + 1 < file->count ? &file->lines[*index + 1] : NULL;
        if (!next || strcmp(next->group, first->group) != 0 || strcmp(next->key, first->key) != 0) {
            status = dw_fail(message, DW_BAD_INPUT, "%s: line %u ends in '\\', but does not go on. It was cut off.",
                             share->name, file->lines[*index].line);
            break;
        }
        ++*index;
        status = add_decoded(share, next, &text, &goes_on, message);
    }
    if (status == DW_OK)
        *value = text.chars ? dw_text_take(&text) : dw_memory_text("");
    dw_text_clear(&text);
    return status;
}

static bool is_one_of(const char *key, const char *const *keys)
{
    while (*keys && strcmp(*keys, key) != 0)
        keys++;
    return *keys != NULL;
}

// Sets RECORD from the lines of one group, which begins at *INDEX and whose keys are among KEYS; *INDEX moves past it.
static DwStatus take_group(Share *share, size_t *index, DwRecord *record, const char *const *keys, DwMessage *message)
{
    const DwKeyfile *file = share->file;
    size_t start = *index;
    const char *group = file->lines[start].group;
    DwStatus status = DW_OK;
    for (; status == DW_OK && *index < file->count && strcmp(file->lines[*index].group, group) == 0; ++*index) {
        const DwKeyLine *line = &file->lines[*index];
        if (!is_one_of(line->key, keys))
            return dw_fail(message, DW_BAD_INPUT, "%s: line %u: [%s] has no %s.", share->name, line->line, group,
                           line->key);
        for (size_t i = start; i < *index; i++)
            if (strcmp(file->lines[i].key, line->key) == 0)
                return dw_fail(message, DW_BAD_INPUT, "%s: line %u: %s is given twice. Keep one.", share->name,
                               line->line, line->key);
        char *value = NULL;
        DwMessage why;
        status = take_value(share, index, &value, message);
        if (status == DW_OK && dw_record_set(share->book, record, line->key, value, &why) != DW_OK)
            status =
                dw_fail(message, DW_BAD_INPUT, "%s: line %u: %s: %s", share->name, line->line, line->key, why.text);
        free(value);
    }
    return status;
}

// DW_BAD_INPUT with the line of the group that ended before INDEX, where STATUS is that.
static DwStatus at_line(const Share *share, size_t index, DwStatus status, DwMessage *message)
{
    if (status != DW_BAD_INPUT || !message)
        return status;
    DwMessage why = *message;
    return dw_fail(message, status, "%s: line %u: %s", share->name, share->file->lines[index].line, why.text);
}

// The row of ENTITY that the same shop shared before; 0 without one.
static DwStatus find_earlier(const Share *share, const char *sql, const char *key, const char *unit, int64_t *id,
                             DwMessage *message)
{
    DwQuery query = dw_query_begin(share->book, sql);
    dw_query_bind_integer(&query, share->model.record.id);
    dw_query_bind_text(&query, share->shared_by);
    dw_query_bind_text(&query, key);
    if (unit)
        dw_query_bind_text(&query, unit);
    *id = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    return dw_query_end(&query, message);
}

// Gives RECORD the place of the row ID, so that what differs is changed and nothing is there twice.
static DwStatus take_place(const Share *share, DwRecord *record, int64_t id, DwMessage *message)
{
    if (!id)
        return DW_OK;
    DwRecord *earlier = dw_record_new(record->entity);
    DwStatus status = dw_record_load(share->book, earlier, id, message);
    record->id = id;
    record->revision = earlier->revision;
    dw_record_free(earlier);
    return status;
}

static DwStatus take_known(Share *share, size_t *index, DwModelAbout about, const char *key, DwMessage *message)
{
    static const char *const keys[] = {"label", "value", "decks", "low", "high", "unit", "source", NULL};
    DwModelValue value;
    size_t start = *index;
    int64_t id = 0;
    dw_record_init(&value.record, &dw_model_value_entity);
    DwStatus status = take_group(share, index, &value.record, keys, message);
    value.model_id = share->model.record.id;
    value.about = (int)about;
    dw_field_replace(&value.shared_by, share->shared_by);
    if (status == DW_OK)
        status = at_line(share, start, dw_record_set(share->book, &value.record, "key", key, message), message);
    if (status == DW_OK)
        status =
            find_earlier(share,
                         about == DW_MODEL_BUILD
                             ? "SELECT id FROM model_value WHERE model_id = ?1 AND shared_by = ?2 AND key = ?3 AND "
                               "unit = ?4 AND about = 'build'"
                             : "SELECT id FROM model_value WHERE model_id = ?1 AND shared_by = ?2 AND key = ?3 AND "
                               "unit = ?4 AND about = 'reading'",
                         key, value.unit ? value.unit : "", &id, message);
    if (status == DW_OK)
        status = take_place(share, &value.record, id, message);
    if (status == DW_OK)
        status = at_line(share, start, dw_model_value_keep(share->book, &value, message), message);
    share->taken.builds += about == DW_MODEL_BUILD;
    share->taken.readings += about == DW_MODEL_READING;
    dw_record_clear(&value.record);
    return status;
}

static DwStatus take_fault(Share *share, size_t *index, DwMessage *message)
{
    static const char *const keys[] = {"fault", "remedy", "seen", NULL};
    DwModelFault fault;
    size_t start = *index;
    int64_t id = 0;
    dw_record_init(&fault.record, &dw_model_fault_entity);
    DwStatus status = take_group(share, index, &fault.record, keys, message);
    fault.model_id = share->model.record.id;
    dw_field_replace(&fault.shared_by, share->shared_by);
    if (status == DW_OK)
        status = find_earlier(share, "SELECT id FROM model_fault WHERE model_id = ? AND shared_by = ? AND fault = ?",
                              fault.fault ? fault.fault : "", NULL, &id, message);
    if (status == DW_OK)
        status = take_place(share, &fault.record, id, message);
    if (status == DW_OK)
        status = at_line(share, start, dw_record_save(share->book, &fault.record, message), message);
    share->taken.faults++;
    dw_record_clear(&fault.record);
    return status;
}

// A limit that the shop set itself stays; another shop's does not stand beside it.
static DwStatus take_limit(Share *share, size_t *index, const char *key, DwMessage *message)
{
    static const char *const keys[] = {"low", "high", "good_low", "good_high", "source", NULL};
    DwBound bound;
    DwLimit limit = {0};
    size_t start = *index;
    bool found = false;
    dw_record_init(&bound.record, &dw_bound_entity);
    DwStatus status = take_group(share, index, &bound.record, keys, message);
    if (status == DW_OK)
        status = dw_bound_find(share->book, "", share->model.make, share->model.name, key, &found, &limit, message);
    free(limit.source);
    dw_field_replace(&bound.make, share->model.make);
    dw_field_replace(&bound.model, share->model.name);
    if (status == DW_OK)
        status = at_line(share, start, dw_record_set(share->book, &bound.record, "key", key, message), message);
    char *source = dw_text_format("%s (shared by %s)", bound.source ? bound.source : "", share->shared_by);
    if (bound.source && *bound.source)
        dw_field_replace(&bound.source, source);
    free(source);
    if (status == DW_OK && !found)
        status = at_line(share, start, dw_record_save(share->book, &bound.record, message), message);
    share->taken.limits += !found;
    share->taken.limits_left += found;
    dw_record_clear(&bound.record);
    return status;
}

// The model that FILE is of: what the library has, with what only the file says.
static DwStatus settle_model(Share *share, const DwModel *said, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_model_find(share->book, said->make, said->name, &id, message);
    if (status == DW_OK && id)
        status = dw_record_load(share->book, &share->model.record, id, message);
    for (size_t i = 0; status == DW_OK && i < dw_model_entity.field_count; i++) {
        const DwField *field = &dw_model_entity.fields[i];
        char *ours = dw_record_text(share->book, &share->model.record, field);
        char *theirs = dw_record_text(share->book, &said->record, field);
        if (!*ours || strcmp(ours, "unknown") == 0)
            status = dw_record_set(share->book, &share->model.record, field->key, theirs, message);
        free(ours);
        free(theirs);
    }
    if (status == DW_OK)
        status = dw_record_save(share->book, &share->model.record, message);
    share->taken.added = !id;
    share->taken.model = share->model.record.id;
    return status;
}

// Two shops of one name, or of none, stay apart by the MARK of their books.
static DwStatus name_shop(Share *share, const char *shop, const char *mark, DwMessage *message)
{
    char *shared_by = dw_text_format("%s (%s)", shop, mark);
    free(share->shared_by);
    share->shared_by = shared_by;
    return dw_field_check(share->book, dw_field_find(&dw_model_value_entity, "shared_by"), shared_by, message);
}

// What only the head of a file says, and no model.
static DwStatus check_head(Share *share, DwMessage *message)
{
    const char *format = dw_keyfile_value(share->file, "model", "format");
    const char *mark = dw_keyfile_value(share->file, "model", "book");
    if (!format || !mark || !*mark || strlen(mark) > 64)
        return dw_fail(message, DW_BAD_INPUT, "%s is not what 'deckwright model export' writes: [model] lacks %s.",
                       share->name, format ? "book" : "format");
    if (strcmp(format, "1") != 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s is of format %s, which this version cannot read. Bring it up to date.", share->name, format);
    char *own = dw_share_mark(share->book);
    bool ours = strcmp(own, mark) == 0;
    free(own);
    if (ours)
        return dw_fail(message, DW_BAD_INPUT, "%s was written by this book: it has all of it already.", share->name);
    return name_shop(share, "another shop", mark, message);
}

static DwStatus take_model(Share *share, size_t *index, DwMessage *message)
{
    static const char *const head[] = {"format", "shop", "book", "written", NULL};
    const DwKeyfile *file = share->file;
    DwModel said;
    dw_record_init(&said.record, &dw_model_entity);
    DwStatus status = DW_OK;
    for (; status == DW_OK && *index < file->count && strcmp(file->lines[*index].group, "model") == 0; ++*index) {
        const DwKeyLine *line = &file->lines[*index];
        char *value = NULL;
        DwMessage why = {""};
        status = take_value(share, index, &value, message);
        if (status == DW_OK && !is_one_of(line->key, head) &&
            dw_record_set(share->book, &said.record, line->key, value, &why) != DW_OK)
            status = dw_fail(message, DW_BAD_INPUT, "%s: line %u: %s", share->name, line->line, why.text);
        if (status == DW_OK && strcmp(line->key, "shop") == 0 && *value)
            status = name_shop(share, value, dw_keyfile_value(file, "model", "book"), message);
        free(value);
    }
    if (status == DW_OK)
        status = settle_model(share, &said, message);
    dw_record_clear(&said.record);
    return status;
}

static DwStatus take_next(Share *share, size_t *index, DwMessage *message)
{
    const DwKeyLine *line = &share->file->lines[*index];
    const char *key = strchr(line->group, ' ');
    key = key ? key + 1 : "";
    if (strncmp(line->group, "build ", 6) == 0)
        return take_known(share, index, DW_MODEL_BUILD, key, message);
    if (strncmp(line->group, "reading ", 8) == 0)
        return take_known(share, index, DW_MODEL_READING, key, message);
    if (strncmp(line->group, "fault ", 6) == 0)
        return take_fault(share, index, message);
    if (strncmp(line->group, "limit ", 6) == 0)
        return take_limit(share, index, key, message);
    return dw_fail(message, DW_BAD_INPUT,
                   "%s: line %u: [%s] is no part of a model. There are [model], [build KEY], [reading KEY], [fault "
                   "NUMBER] and [limit KEY].",
                   share->name, line->line, line->group);
}

DwStatus dw_share_read(DwBook *book, const DwKeyfile *file, const char *name, DwShareTaken *taken, DwMessage *message)
{
    Share share = {.book = book, .file = file, .name = name};
    size_t index = 0;
    DwStatus status = check_head(&share, message);
    if (status == DW_OK && strcmp(file->lines[0].group, "model") != 0)
        status = dw_fail(message, DW_BAD_INPUT, "%s: [model] does not come first.", name);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status != DW_OK) {
        free(share.shared_by);
        return status;
    }
    dw_record_init(&share.model.record, &dw_model_entity);
    status = take_model(&share, &index, message);
    while (status == DW_OK && index < file->count)
        status = take_next(&share, &index, message);
    status = dw_book_end(book, status, message);
    if (status == DW_OK)
        *taken = share.taken;
    dw_record_clear(&share.model.record);
    free(share.shared_by);
    return status;
}
