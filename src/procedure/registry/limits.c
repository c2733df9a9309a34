// SPDX-License-Identifier: MIT
#include "procedure/registry/limits.h"

#include "base/text.h"

#include <dirent.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const keys[] = {"allowed", "good", "source", NULL};
static const double coarse_rpm = 70; // records that turn faster are of 78

// What a deck may be besides its drive, the narrowest first.
static const char *const kinds[] = {"linear", "changer", "automatic", "suspended"};

static bool is_kind(const char *word)
{
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kinds[i], word) == 0)
            return true;
    return dw_quantity_has_choice(dw_quantity_find("drive.kind"), word);
}

// The row of a group [KEY], [KEY on KIND] or [KEY at 78], or NULL.
static const DwLimitRow *row_of(const char *group)
{
    const char *end = strchr(group, ' ');
    if (end && strcmp(end, " at 78") != 0 && (strncmp(end, " on ", 4) != 0 || !is_kind(end + 4)))
        return NULL;
    char *key = dw_text_format("%.*s", (int)strcspn(group, " "), group);
    const DwLimitRow *row = dw_limit_row_find(key);
    free(key);
    return row;
}

// What GROUP states of ROW; NULL ranges are open ends.
static DwStatus read_group(const DwDataTable *table, const char *group, const DwLimitRow *row, DwRange *allowed,
                           DwRange *good, DwMessage *message)
{
    const DwKeyLine *line = dw_data_table_line(table, group, "allowed");
    const DwKeyLine *good_line = dw_data_table_line(table, group, "good");
    *good = (DwRange){NAN, NAN};
    if (!line)
        return dw_fail(message, DW_BAD_INPUT, "%s: [%s] does not say what is allowed. Add allowed = LOW .. HIGH.",
                       table->path, group);
    DwStatus status = dw_data_table_range(table, line, row->unit, allowed, message);
    if (status == DW_OK && good_line)
        status = dw_data_table_range(table, good_line, row->unit, good, message);
    if (status == DW_OK && !dw_data_table_line(table, group, "source"))
        status = dw_fail(message, DW_BAD_INPUT, "%s: [%s] names no source. Add source = standard or 'common practice'.",
                         table->path, group);
    if (status == DW_OK && (good->low < allowed->low || good->high > allowed->high))
        status = dw_fail(message, DW_BAD_INPUT, "%s: line %u: what is good for [%s] must lie within what is allowed.",
                         table->path, good_line->line, group);
    return status;
}

static DwStatus check_groups(const DwDataTable *table, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < table->file.count; i++) {
        const DwKeyLine *line = &table->file.lines[i];
        const DwLimitRow *row = row_of(line->group);
        DwRange allowed, good;
        if (!row)
            return dw_fail(
                message, DW_BAD_INPUT,
                "%s: line %u: [%s] is no reading that can have a limit, alone or with ' on belt', "
                "' on idler', ' on direct', ' on suspended', ' on automatic', ' on changer', ' on linear' or "
                "' at 78' behind it. Is it mistyped?",
                table->path, line->line, line->group);
        status = read_group(table, line->group, row, &allowed, &good, message);
    }
    return status;
}

DwStatus dw_limits_read_file(const char *name, DwLimits *limits, DwMessage *message)
{
    static const DwDataGroup any = {NULL, keys};
    *limits = (DwLimits){0};
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

// A changer is an automatic deck too.
static void take_kinds(const DwInputs *inputs, DwLimits *limits)
{
    const char *operation = dw_inputs_word(inputs, "deck.operation"), *drive = dw_inputs_typed(inputs, "drive.kind");
    bool changer = strcmp(operation, "changer") == 0;
    const bool is[] = {strcmp(dw_inputs_word(inputs, "arm.kind"), "linear") == 0, changer,
                       changer || strcmp(operation, "automatic") == 0 || strcmp(operation, "semi-automatic") == 0,
                       strcmp(dw_inputs_word(inputs, "deck.suspended"), "yes") == 0};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (is[i])
            limits->are[limits->are_count++] = kinds[i];
    if (drive)
        limits->are[limits->are_count++] = drive;
}

DwStatus dw_limits_read(const DwInputs *inputs, DwLimits *limits, DwMessage *message)
{
    char *name = dw_text_format("limits/%s.ini", dw_inputs_word(inputs, "deck.class"));
    DwStatus status = dw_limits_read_file(name, limits, message);
    take_kinds(inputs, limits);
    limits->coarse = dw_inputs_in(inputs, "deck.speed", "rpm") > coarse_rpm;
    free(name);
    return status == DW_OK ? check_names(message) : status;
}

void dw_limits_clear(DwLimits *limits)
{
    dw_data_table_clear(&limits->table);
}

// The group that is called KEY with MORE behind it, or NULL.
static const char *group_called(const DwLimits *limits, const char *key, const char *relation, const char *more)
{
    char *name = dw_text_format("%s%s%s", key, relation, more);
    const DwKeyLine *line = dw_data_table_line(&limits->table, name, "allowed");
    free(name);
    return line ? line->group : NULL;
}

// Where LIMITS say something of KEY: the group of what the deck is, else of its speed, else of every deck; NULL where
// they say nothing.
static const char *group_of(const DwLimits *limits, const char *key)
{
    const char *group = NULL;
    for (size_t i = 0; !group && i < limits->are_count; i++)
        group = group_called(limits, key, " on ", limits->are[i]);
    if (!group && limits->coarse)
        group = group_called(limits, key, " at ", "78");
    return group ? group : group_called(limits, key, "", "");
}

static bool find(const DwLimits *limits, const char *key, DwRange *allowed, DwRange *good)
{
    const char *group = group_of(limits, key);
    return group && read_group(&limits->table, group, row_of(group), allowed, good, NULL) == DW_OK;
}

double dw_limits_good_most(const DwLimits *limits, const char *key)
{
    DwRange allowed, good;
    if (!find(limits, key, &allowed, &good))
        return NAN;
    return isfinite(good.high) ? good.high : allowed.high;
}

double dw_limits_allowed_most(const DwLimits *limits, const char *key)
{
    DwRange allowed, good;
    return find(limits, key, &allowed, &good) ? allowed.high : NAN;
}

void dw_limits_give(const DwLimits *limits, DwSheet *sheet)
{
    const DwDataTable *table = &limits->table;
    if (table->missing)
        dw_sheet_remark(sheet, "No limits: %s, so that no reading is judged by it. Put the file back.", table->missing);
    else if (table->file.count == 0)
        dw_sheet_remark(sheet, "No limits: %s is empty, so that no reading is judged by it.", table->path);
    for (size_t i = 0; i < sheet->reading_count; i++) {
        DwReading *reading = &sheet->readings[i];
        DwRange allowed, good;
        if (reading->word || reading->unjudged || !find(limits, reading->key, &allowed, &good))
            continue;
        const char *group = group_of(limits, reading->key);
        const DwLimitRow *row = dw_limit_row_find(reading->key);
        if (strcmp(reading->unit, row->unit) == 0)
            dw_reading_set_limit(reading, allowed, good, dw_data_table_line(table, group, "source")->value);
        else
            dw_sheet_remark(sheet, "%s is in %s here and was not judged by its limit in %s.", reading->label,
                            reading->unit, row->unit);
    }
}
