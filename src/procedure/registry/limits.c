// SPDX-License-Identifier: MIT
#include "procedure/registry/limits.h"

#include "base/text.h"

#include <dirent.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const keys[] = {"allowed", "good", "source", NULL};

// What GROUP states; NULL ranges are open ends.
static DwStatus read_group(const DwDataTable *table, const DwLimitRow *row, DwRange *allowed, DwRange *good,
                           DwMessage *message)
{
    const DwKeyLine *line = dw_data_table_line(table, row->key, "allowed");
    const DwKeyLine *good_line = dw_data_table_line(table, row->key, "good");
    *good = (DwRange){NAN, NAN};
    if (!line)
        return dw_fail(message, DW_BAD_INPUT, "%s: [%s] does not say what is allowed. Add allowed = LOW .. HIGH.",
                       table->path, row->key);
    DwStatus status = dw_data_table_range(table, line, row->unit, allowed, message);
    if (status == DW_OK && good_line)
        status = dw_data_table_range(table, good_line, row->unit, good, message);
    if (status == DW_OK && !dw_data_table_line(table, row->key, "source"))
        status = dw_fail(message, DW_BAD_INPUT, "%s: [%s] names no source. Add source = standard or 'common practice'.",
                         table->path, row->key);
    if (status == DW_OK && (good->low < allowed->low || good->high > allowed->high))
        status = dw_fail(message, DW_BAD_INPUT, "%s: line %u: what is good for [%s] must lie within what is allowed.",
                         table->path, good_line->line, row->key);
    return status;
}

static DwStatus check_groups(const DwDataTable *table, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < table->file.count; i++) {
        const DwKeyLine *line = &table->file.lines[i];
        const DwLimitRow *row = dw_limit_row_find(line->group);
        DwRange allowed, good;
        if (!row)
            return dw_fail(message, DW_BAD_INPUT,
                           "%s: line %u: [%s] is no reading that can have a limit. Is it mistyped?", table->path,
                           line->line, line->group);
        status = read_group(table, row, &allowed, &good, message);
    }
    return status;
}

DwStatus dw_limits_read_file(const char *name, DwLimits *limits, DwMessage *message)
{
    static const DwDataGroup any = {NULL, keys};
    DwStatus status = dw_data_table_read(name, &any, 1, &limits->table, message);
    return status == DW_OK ? check_groups(&limits->table, message) : status;
}

// A file of limits that is named after no class would never be read.
static DwStatus check_names(DwMessage *message)
{
    const DwQuantity *classes = dw_quantity_find("deck.class");
    char *folder = dw_text_format("%s/limits", dw_data_folder());
    DIR *listing = opendir(folder);
    DwStatus status = DW_OK;
    const struct dirent *entry;
    while (status == DW_OK && listing && (entry = readdir(listing))) {
        char name[256];
        size_t length = strlen(entry->d_name);
        if (length < 5 || entry->d_name[0] == '.' || strcmp(entry->d_name + length - 4, ".ini") != 0)
            continue;
        memcpy(name, entry->d_name, length - 4);
        name[length - 4] = 0;
        if (!dw_quantity_has_choice(classes, name))
            status = dw_fail(message, DW_BAD_INPUT,
                             "%s/%s: there is no class of deck '%s', so it would not be read. The classes are: %s.",
                             folder, entry->d_name, name, classes->choices);
    }
    if (listing)
        closedir(listing);
    free(folder);
    return status;
}

DwStatus dw_limits_read(const char *class_name, DwLimits *limits, DwMessage *message)
{
    char *name = dw_text_format("limits/%s.ini", class_name);
    DwStatus status = dw_limits_read_file(name, limits, message);
    free(name);
    return status == DW_OK ? check_names(message) : status;
}

void dw_limits_clear(DwLimits *limits)
{
    dw_data_table_clear(&limits->table);
}

double dw_limits_good_most(const DwLimits *limits, const char *key)
{
    DwRange allowed, good;
    const DwLimitRow *row = dw_limit_row_find(key);
    if (!row || read_group(&limits->table, row, &allowed, &good, NULL) != DW_OK)
        return NAN;
    return isfinite(good.high) ? good.high : allowed.high;
}

double dw_limits_allowed_most(const DwLimits *limits, const char *key)
{
    DwRange allowed, good;
    const DwLimitRow *row = dw_limit_row_find(key);
    return row && read_group(&limits->table, row, &allowed, &good, NULL) == DW_OK ? allowed.high : NAN;
}

void dw_limits_give(const DwLimits *limits, DwSheet *sheet)
{
    const DwDataTable *table = &limits->table;
    if (table->missing)
        dw_sheet_remark(sheet, "No limits: %s, so that no reading is judged by it. Put the file back.", table->missing);
    else if (table->file.count == 0)
        dw_sheet_remark(sheet, "No limits: %s is empty, so that no reading is judged by it.", table->path);
    for (size_t i = 0; i < table->file.count; i++) {
        const DwKeyLine *line = &table->file.lines[i];
        DwReading *reading = strcmp(line->key, "allowed") == 0 ? dw_sheet_reading(sheet, line->group) : NULL;
        DwRange allowed, good;
        if (!reading || reading->word || reading->unjudged ||
            read_group(table, dw_limit_row_find(line->group), &allowed, &good, NULL) != DW_OK)
            continue;
        const DwLimitRow *row = dw_limit_row_find(line->group);
        if (strcmp(reading->unit, row->unit) == 0)
            dw_reading_set_limit(reading, allowed, good, dw_data_table_line(table, line->group, "source")->value);
        else
            dw_sheet_remark(sheet, "%s is in %s here and was not judged by its limit in %s.", reading->label,
                            reading->unit, row->unit);
    }
}
