// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "base/memory.h"
#include "procedure/registry/data_table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const char *const keys[] = {"viscosity_40", "viscosity_100", "grade", "scale", "source", NULL};

static void copy_word(const DwDataTable *table, const char *group, const char *key, char *word, size_t size)
{
    const DwKeyLine *line = dw_data_table_line(table, group, key);
    snprintf(word, size, "%s", line ? line->value : "");
}

static DwStatus read_viscosity(const DwDataTable *table, const char *group, const char *key, double *value,
                               DwMessage *message)
{
    const DwKeyLine *line = dw_data_table_line(table, group, key);
    return line ? dw_data_table_number(table, line, DW_DIMENSION_VISCOSITY_KINEMATIC, "mm2/s", value, message)
                : dw_fail(message, DW_BAD_INPUT, "%s: [%s] needs viscosity_40 and viscosity_100 in mm2/s.", table->path,
                          group);
}

static DwStatus add_oil(DwOilList *list, const DwDataTable *table, const char *group, DwMessage *message)
{
    DwListedOil oil = {0};
    DwStatus status = read_viscosity(table, group, "viscosity_40", &oil.at_40, message);
    if (status == DW_OK)
        status = read_viscosity(table, group, "viscosity_100", &oil.at_100, message);
    if (status != DW_OK)
        return status;
    DwMessage why;
    if (dw_oil_fit(oil.at_40, 40, oil.at_100, 100, &oil.oil, &why) != DW_OK)
        return dw_fail(message, DW_BAD_INPUT, "%s: [%s]: %s", table->path, group, why.text);
    snprintf(oil.name, sizeof oil.name, "%s", group);
    copy_word(table, group, "scale", oil.scale, sizeof oil.scale);
    copy_word(table, group, "grade", oil.grade, sizeof oil.grade);
    list->oils = dw_memory_resize(list->oils, list->count + 1, sizeof *list->oils);
    list->oils[list->count++] = oil;
    return DW_OK;
}

DwStatus dw_oil_list_read(DwOilList *list, DwMessage *message)
{
    static const DwDataGroup any = {NULL, keys};
    DwDataTable table;
    *list = (DwOilList){0};
    DwStatus status = dw_data_table_read("oils.ini", &any, 1, &table, message);
    for (size_t i = 0; status == DW_OK && i < table.file.count; i++)
        if (!dw_oil_list_find(list, table.file.lines[i].group))
            status = add_oil(list, &table, table.file.lines[i].group, message);
    if (table.missing || table.file.count == 0)
        snprintf(list->missing, sizeof list->missing, "%s%s", table.missing ? table.missing : table.path,
                 table.missing ? "" : " lists no oil");
    dw_data_table_clear(&table);
    if (status != DW_OK)
        dw_oil_list_clear(list);
    return status;
}

void dw_oil_list_clear(DwOilList *list)
{
    free(list->oils);
    *list = (DwOilList){0};
}

const DwListedOil *dw_oil_list_find(const DwOilList *list, const char *name)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcasecmp(list->oils[i].name, name) == 0)
            return &list->oils[i];
    return NULL;
}
