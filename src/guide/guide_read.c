// SPDX-License-Identifier: MIT
#include "guide/guide_read.h"

#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwGuideField *field_of(const DwGuideTable *table, const char *key)
{
    for (size_t i = 0; i < table->field_count; i++)
        if (strcmp(table->fields[i].key, key) == 0)
            return &table->fields[i];
    return NULL;
}

static void *at(void *item, size_t offset)
{
    return (char *)item + offset;
}

static void add_text(DwGuideTexts *texts, const DwKeyLine *line)
{
    texts->texts = dw_memory_resize(texts->texts, texts->count + 1, sizeof *texts->texts);
    texts->lines = dw_memory_resize(texts->lines, texts->count + 1, sizeof *texts->lines);
    texts->texts[texts->count] = dw_memory_text(line->value);
    texts->lines[texts->count++] = line->line;
}

static void set_number(const DwGuideTable *table, const DwKeyLine *line, double *number, DwGuideTroubles *troubles)
{
    double value;
    const char *after = dw_text_number(line->value, &value);
    if (!isnan(*number))
        dw_guide_trouble(troubles, table->file, line->line, "[%s] %s stands twice. Keep one.", line->group, line->key);
    else if (!after || *after)
        dw_guide_trouble(troubles, table->file, line->line, "[%s] %s: '%s' is no number.", line->group, line->key,
                         line->value);
    else
        *number = value;
}

static void set(const DwGuideTable *table, const DwKeyLine *line, void *item, DwGuideTroubles *troubles)
{
    const DwGuideField *field = field_of(table, line->key);
    if (!field) {
        dw_guide_trouble(troubles, table->file, line->line, "[%s] '%s' is nothing that this file can say.", line->group,
                         line->key);
        return;
    }
    switch (field->kind) {
    case DW_GUIDE_TEXT: {
        char **text = at(item, field->offset);
        if (*text)
            dw_guide_trouble(troubles, table->file, line->line, "[%s] %s stands twice. Keep one.", line->group,
                             line->key);
        else
            *text = dw_memory_text(line->value);
        break;
    }
    case DW_GUIDE_NUMBER:
        set_number(table, line, at(item, field->offset), troubles);
        break;
    case DW_GUIDE_TEXTS:
        add_text(at(item, field->offset), line);
        break;
    }
}

static void *add_item(const DwGuideTable *table, const DwKeyLine *line, void **items, size_t *count)
{
    *items = dw_memory_resize(*items, *count + 1, table->size);
    void *item = (char *)*items + (*count)++ * table->size;
    memset(item, 0, table->size);
    *(char **)at(item, table->key_offset) = dw_memory_text(line->group);
    *(unsigned *)at(item, table->line_offset) = line->line;
    for (size_t i = 0; i < table->field_count; i++)
        if (table->fields[i].kind == DW_GUIDE_NUMBER)
            *(double *)at(item, table->fields[i].offset) = NAN;
    return item;
}

static bool is_given(const DwGuideField *field, void *item)
{
    void *value = at(item, field->offset);
    switch (field->kind) {
    case DW_GUIDE_TEXT:
        return *(char **)value && **(char **)value;
    case DW_GUIDE_NUMBER:
        return !isnan(*(double *)value);
    case DW_GUIDE_TEXTS:
        return ((DwGuideTexts *)value)->count > 0;
    }
    return false;
}

static void check_needed(const DwGuideTable *table, void *items, size_t first, size_t count, DwGuideTroubles *troubles)
{
    for (size_t i = first; i < count; i++) {
        void *item = (char *)items + i * table->size;
        for (size_t k = 0; k < table->field_count; k++)
            if (table->fields[k].needed && !is_given(&table->fields[k], item))
                dw_guide_trouble(troubles, table->file, *(unsigned *)at(item, table->line_offset),
                                 "[%s] says no %s. Add the line.", *(char **)at(item, table->key_offset),
                                 table->fields[k].key);
    }
}

// The item of [GROUP] among those from FIRST on, or NULL.
static void *item_of(const DwGuideTable *table, const char *group, void *items, size_t first, size_t count)
{
    for (size_t i = first; i < count; i++) {
        void *item = (char *)items + i * table->size;
        if (strcmp(*(char **)at(item, table->key_offset), group) == 0)
            return item;
    }
    return NULL;
}

DwStatus dw_guide_read(const char *folder, const DwGuideTable *table, void **items, size_t *count,
                       DwGuideTroubles *troubles, DwMessage *message)
{
    DwKeyfile file;
    char *path = dw_text_format("%s/%s", folder, table->file);
    DwStatus status = dw_keyfile_read(path, &file, message);
    free(path);
    if (status != DW_OK)
        return status;
    size_t first = *count;
    const char *group = "";
    void *item = NULL;
    for (size_t i = 0; i < file.count; i++) {
        const DwKeyLine *line = &file.lines[i];
        if (!*line->group) {
            dw_guide_trouble(troubles, table->file, line->line, "'%s' stands before any [group].", line->key);
            continue;
        }
        if (!item || strcmp(group, line->group) != 0) {
            if (item_of(table, line->group, *items, first, *count))
                dw_guide_trouble(troubles, table->file, line->line, "[%s] stands twice. Keep one.", line->group);
            item = add_item(table, line, items, count);
            group = line->group;
        }
        set(table, line, item, troubles);
    }
    check_needed(table, *items, first, *count, troubles);
    dw_keyfile_clear(&file);
    return DW_OK;
}

static void texts_clear(DwGuideTexts *texts)
{
    for (size_t i = 0; i < texts->count; i++)
        free(texts->texts[i]);
    free(texts->texts);
    free(texts->lines);
}

void dw_guide_read_clear(const DwGuideTable *table, void *item)
{
    free(*(char **)at(item, table->key_offset));
    for (size_t i = 0; i < table->field_count; i++) {
        if (table->fields[i].kind == DW_GUIDE_TEXT)
            free(*(char **)at(item, table->fields[i].offset));
        if (table->fields[i].kind == DW_GUIDE_TEXTS)
            texts_clear(at(item, table->fields[i].offset));
    }
}
