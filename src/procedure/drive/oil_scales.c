// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "base/saying.h"
#include "base/text.h"
#include "procedure/registry/data_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char iso[] = "ISO 3448", sae[] = "SAE J306";
static const DwDataGroup groups[] = {{iso, NULL}, {sae, NULL}};
enum { GROUPS = sizeof groups / sizeof *groups };

// The line of STANDARD whose range holds VALUE (its upper end not included), or NULL.
static const DwKeyLine *grade_of(const DwDataTable *table, const char *standard, double value)
{
    for (size_t i = 0; i < table->file.count; i++) {
        DwRange range;
        const DwKeyLine *line = &table->file.lines[i];
        if (strcmp(line->group, standard) == 0 && dw_data_table_range(table, line, "mm2/s", &range, NULL) == DW_OK &&
            value >= range.low && !(value >= range.high))
            return line;
    }
    return NULL;
}

static char *grade_words(const DwDataTable *table, const char *standard, double value, int celsius)
{
    const DwKeyLine *line = grade_of(table, standard, value);
    if (!line)
        return dw_saying_phrase("between the grades of %s (%.1f mm2/s at %d °C)", standard, value, celsius);
    return dw_saying_phrase("grade %s of %s (%s mm2/s at %d °C)", line->key, standard, line->value, celsius);
}

static void remark(DwSheet *sheet, const DwDataTable *table, double at_40, double at_100)
{
    if (table->missing || table->file.count == 0) {
        dw_sheet_remark(sheet, "No grades to name this oil by: %s%s. Put the file back.",
                        table->missing ? table->missing : table->path, table->missing ? "" : " is empty");
        return;
    }
    char *of_iso = grade_words(table, iso, at_40, 40), *of_sae = grade_words(table, sae, at_100, 100);
    dw_sheet_remark(sheet, "By its viscosity this oil is %s and %s.", of_iso, of_sae);
    free(of_iso);
    free(of_sae);
}

DwStatus dw_oil_scales_remark(DwSheet *sheet, double at_40, double at_100, DwMessage *message)
{
    DwDataTable table;
    DwRange range;
    DwStatus status = dw_data_table_read("oil_scales.ini", groups, GROUPS, &table, message);
    for (size_t i = 0; status == DW_OK && i < table.file.count; i++)
        status = dw_data_table_range(&table, &table.file.lines[i], "mm2/s", &range, message);
    if (status == DW_OK)
        remark(sheet, &table, at_40, at_100);
    dw_data_table_clear(&table);
    return status;
}
