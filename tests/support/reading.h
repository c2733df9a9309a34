// SPDX-License-Identifier: MIT
// What a sheet holds, asked by key.
#ifndef DW_TESTS_SUPPORT_READING_H
#define DW_TESTS_SUPPORT_READING_H

#include "base/sheet.h"

#include <check.h>
#include <string.h>

static inline double reading_value(const DwSheet *sheet, const char *key)
{
    const DwReading *found = dw_sheet_reading(sheet, key);
    ck_assert_msg(found != NULL, "no reading %s", key);
    return found->value;
}

// Whether a remark holds PART.
static inline bool reading_remarks(const DwSheet *sheet, const char *part)
{
    for (size_t i = 0; i < sheet->remark_count; i++)
        if (strstr(sheet->remarks[i], part))
            return true;
    return false;
}

// Whether KEY is listed as not measured.
static inline bool reading_is_missing(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        if (strcmp(sheet->not_measured[i].key, key) == 0)
            return true;
    return false;
}

#endif
