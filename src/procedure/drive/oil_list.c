// SPDX-License-Identifier: MIT
#include "procedure/drive/oil_list.h"

#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "procedure/registry/limits.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static double number_of(const DwKeyfile *file, const char *group, const char *key)
{
    const char *text = dw_keyfile_value(file, group, key);
    double value = NAN;
    return text && dw_text_number(text, &value) ? value : NAN;
}

static void copy_word(const DwKeyfile *file, const char *group, const char *key, char *word, size_t size)
{
    const char *text = dw_keyfile_value(file, group, key);
    snprintf(word, size, "%s", text ? text : "");
}

static DwStatus add_oil(DwOilList *list, const DwKeyfile *file, const char *group, const char *path, DwMessage *message)
{
    DwListedOil oil = {.at_40 = number_of(file, group, "viscosity_40"),
                       .at_100 = number_of(file, group, "viscosity_100")};
    if (isnan(oil.at_40) || isnan(oil.at_100))
        return dw_fail(message, DW_BAD_INPUT, "%s: [%s] needs viscosity_40 and viscosity_100 in mm2/s.", path, group);
    DwStatus status = dw_oil_fit(oil.at_40, 40, oil.at_100, 100, &oil.oil, message);
    if (status != DW_OK)
        return status;
    snprintf(oil.name, sizeof oil.name, "%s", group);
    copy_word(file, group, "scale", oil.scale, sizeof oil.scale);
    copy_word(file, group, "grade", oil.grade, sizeof oil.grade);
    list->oils = dw_memory_resize(list->oils, list->count + 1, sizeof *list->oils);
    list->oils[list->count++] = oil;
    return DW_OK;
}

DwStatus dw_oil_list_read(DwOilList *list, DwMessage *message)
{
    *list = (DwOilList){0};
    char *path = dw_text_format("%s/oils.ini", dw_data_folder());
    DwKeyfile file;
    DwStatus status = dw_keyfile_read(path, &file, message);
    for (size_t i = 0; status == DW_OK && i < file.count; i++)
        if (!dw_oil_list_find(list, file.lines[i].group))
            status = add_oil(list, &file, file.lines[i].group, path, message);
    dw_keyfile_clear(&file);
    free(path);
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
