// SPDX-License-Identifier: MIT
// What tests ask of a sheet.
#ifndef DW_TESTS_SUPPORT_SHEET_CHECKS_H
#define DW_TESTS_SUPPORT_SHEET_CHECKS_H

#include "base/sheet.h"

#include <check.h>
#include <string.h>

static inline double value(const DwSheet *sheet, const char *key)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    ck_assert_msg(reading != NULL, "no reading %s", key);
    return reading->value;
}

static inline bool says_not_measured(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        if (strcmp(sheet->not_measured[i].key, key) == 0)
            return !dw_sheet_reading(sheet, key); // never both
    return false;
}

static inline bool remarks(const DwSheet *sheet, const char *part)
{
    for (size_t i = 0; i < sheet->remark_count; i++)
        if (strstr(sheet->remarks[i].text, part))
            return true;
    return false;
}

// A remark, or the reason for what was not measured.
static inline bool says(const DwSheet *sheet, const char *words)
{
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        if (strstr(sheet->not_measured[i].reason.text, words))
            return true;
    return remarks(sheet, words);
}

static inline const DwCell *cell_of(const DwSheet *sheet, const char *table_key, size_t row, size_t column)
{
    const DwTable *table = dw_sheet_table(sheet, table_key);
    ck_assert_msg(table != NULL, "no table %s", table_key);
    ck_assert_uint_gt(table->row_count, row);
    return dw_table_cell(table, row, column);
}

static inline const char *word(const DwSheet *sheet, const char *table_key, size_t row, size_t column)
{
    return cell_of(sheet, table_key, row, column)->word;
}

static inline double number(const DwSheet *sheet, const char *table_key, size_t row, size_t column)
{
    return cell_of(sheet, table_key, row, column)->number;
}

// Every reading names its method, every table and curve has something in it.
static inline void check_sound(const DwSheet *sheet)
{
    for (size_t i = 0; i < sheet->reading_count; i++)
        ck_assert_msg(sheet->readings[i].method || sheet->readings[i].word, "%s", sheet->readings[i].key);
    for (size_t i = 0; i < sheet->table_count; i++)
        ck_assert_msg(sheet->tables[i].row_count > 0, "%s", sheet->tables[i].key);
    for (size_t i = 0; i < sheet->curve_count; i++)
        for (size_t p = 1; p < sheet->curves[i].count; p++)
            ck_assert_msg(sheet->curves[i].x_values[p] > sheet->curves[i].x_values[p - 1], "%s", sheet->curves[i].key);
}

#endif
