// SPDX-License-Identifier: MIT
#include "procedure/registry/data_table.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool has_word(const char *const *words, const char *word)
{
    for (; *words; words++)
        if (strcmp(*words, word) == 0)
            return true;
    return false;
}

static const DwDataGroup *group_of(const DwDataGroup *groups, size_t count, const char *name)
{
    for (size_t i = 0; i < count; i++)
        if (!groups[i].group || strcmp(groups[i].group, name) == 0)
            return &groups[i];
    return NULL;
}

static DwStatus refuse_group(const DwDataTable *table, const DwKeyLine *line, const DwDataGroup *groups, size_t count,
                             DwMessage *message)
{
    DwText names = {0};
    for (size_t i = 0; i < count; i++)
        dw_text_add(&names, "%s[%s]", i ? ", " : "", groups[i].group);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s: line %u: [%s] is no group of this file. It has %s.",
                              table->path, line->line, line->group, names.chars);
    dw_text_clear(&names);
    return status;
}

static DwStatus refuse_key(const DwDataTable *table, const DwKeyLine *line, const char *const *keys, DwMessage *message)
{
    DwText names = {0};
    for (size_t i = 0; keys[i]; i++)
        dw_text_add(&names, "%s%s", i ? ", " : "", keys[i]);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s: line %u: '%s' is nothing that [%s] can say. It can say: %s.",
                              table->path, line->line, line->key, line->group, names.chars);
    dw_text_clear(&names);
    return status;
}

static DwStatus check_lines(const DwDataTable *table, const DwDataGroup *groups, size_t count, DwMessage *message)
{
    for (size_t i = 0; i < table->file.count; i++) {
        const DwKeyLine *line = &table->file.lines[i];
        const DwDataGroup *group = group_of(groups, count, line->group);
        if (!*line->group)
            return dw_fail(message, DW_BAD_INPUT, "%s: line %u: '%s' stands before any [group].", table->path,
                           line->line, line->key);
        if (!group)
            return refuse_group(table, line, groups, count, message);
        if (group->keys && !has_word(group->keys, line->key))
            return refuse_key(table, line, group->keys, message);
        const DwKeyLine *first = dw_data_table_line(table, line->group, line->key);
        if (first != line)
            return dw_fail(message, DW_BAD_INPUT, "%s: line %u: '%s' of [%s] stands on line %u already. Keep one.",
                           table->path, line->line, line->key, line->group, first->line);
    }
    return DW_OK;
}

DwStatus dw_data_table_read(const char *name, const DwDataGroup *groups, size_t count, DwDataTable *table,
                            DwMessage *message)
{
    *table = (DwDataTable){.path = dw_text_format("%s/%s", dw_data_folder(), name)};
    if (access(table->path, R_OK) != 0) {
        table->missing = dw_text_format("%s cannot be opened (%s)", table->path, strerror(errno));
        return DW_OK;
    }
    DwStatus status = dw_keyfile_read(table->path, &table->file, message);
    return status == DW_OK ? check_lines(table, groups, count, message) : status;
}

void dw_data_table_clear(DwDataTable *table)
{
    dw_keyfile_clear(&table->file);
    free(table->path);
    free(table->missing);
    *table = (DwDataTable){0};
}

const DwKeyLine *dw_data_table_line(const DwDataTable *table, const char *group, const char *key)
{
    for (size_t i = 0; i < table->file.count; i++)
        if (strcmp(table->file.lines[i].group, group) == 0 && strcmp(table->file.lines[i].key, key) == 0)
            return &table->file.lines[i];
    return NULL;
}

DwStatus dw_data_table_number(const DwDataTable *table, const DwKeyLine *line, DwDimension dimension, const char *unit,
                              double *value, DwMessage *message)
{
    DwQuantity named = {.key = line->key, .label = line->key, .dimension = dimension, .unit = unit};
    DwMessage why;
    if (dw_quantity_read(&named, line->value, value, NULL, &why) == DW_OK)
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT, "%s: line %u: %s", table->path, line->line, why.text);
}

// A number with what stands behind it, up to 31 bytes; NAN for none. Returned: false for anything else.
typedef struct {
    double value;
    char unit[32];
} End;

static bool read_end(const char *text, size_t length, End *end)
{
    char part[80];
    *end = (End){.value = NAN};
    while (length && strchr(" \t", *text)) {
        text++;
        length--;
    }
    while (length && strchr(" \t", text[length - 1]))
        length--;
    if (!length)
        return true;
    if (length >= sizeof part)
        return false;
    memcpy(part, text, length);
    part[length] = 0;
    const char *after = dw_text_number(part, &end->value);
    if (!after)
        return false;
    after += strspn(after, " ");
    if (strlen(after) >= sizeof end->unit)
        return false;
    strcpy(end->unit, after);
    return true;
}

// Brings END into UNIT: as it stands, or from another unit of the same dimension.
static bool convert(End *end, const char *unit)
{
    if (isnan(end->value) || !end->unit[0] || strcmp(end->unit, unit) == 0)
        return true;
    const DwUnit *own = dw_unit_any(unit), *typed = own ? dw_unit_find(own->dimension, end->unit) : NULL;
    if (!typed)
        return false;
    end->value = dw_unit_convert(end->value, typed, own);
    return true;
}

DwStatus dw_data_table_range(const DwDataTable *table, const DwKeyLine *line, const char *unit, DwRange *range,
                             DwMessage *message)
{
    const char *dots = strstr(line->value, "..");
    End low, high;
    if (!dots || !read_end(line->value, (size_t)(dots - line->value), &low) ||
        !read_end(dots + 2, strlen(dots + 2), &high) || (isnan(low.value) && isnan(high.value)) ||
        low.value > high.value)
        return dw_fail(message, DW_BAD_INPUT, "%s: line %u: a range is written LOW .. HIGH, as in %s = 0.5 .. 2%s%s.",
                       table->path, line->line, line->key, *unit ? " " : "", unit);
    if (!low.unit[0])
        strcpy(low.unit, high.unit);
    if (!convert(&low, unit) || !convert(&high, unit))
        return dw_fail(message, DW_BAD_INPUT, "%s: line %u: '%s' is not in a unit of [%s]. Give it in %s.", table->path,
                       line->line, line->value, line->group, *unit ? unit : dw_said("bare numbers"));
    *range = (DwRange){low.value, high.value};
    return DW_OK;
}
