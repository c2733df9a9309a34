// SPDX-License-Identifier: MIT
#include "base/sheet.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

// Moves COUNT elements of SIZE bytes from PART to the end of WHOLE.
static void *move(void *whole, size_t *whole_count, void *part, size_t *part_count, size_t size)
{
    whole = dw_memory_resize(whole, *whole_count + *part_count + 1, size);
    if (*part_count)
        memcpy((char *)whole + *whole_count * size, part, *part_count * size);
    *whole_count += *part_count;
    *part_count = 0;
    return whole;
}

void dw_sheet_take(DwSheet *sheet, DwSheet *part)
{
    sheet->readings =
        move(sheet->readings, &sheet->reading_count, part->readings, &part->reading_count, sizeof *sheet->readings);
    sheet->tables = move(sheet->tables, &sheet->table_count, part->tables, &part->table_count, sizeof *sheet->tables);
    sheet->curves = move(sheet->curves, &sheet->curve_count, part->curves, &part->curve_count, sizeof *sheet->curves);
    sheet->rasters =
        move(sheet->rasters, &sheet->raster_count, part->rasters, &part->raster_count, sizeof *sheet->rasters);
    sheet->remarks =
        move(sheet->remarks, &sheet->remark_count, part->remarks, &part->remark_count, sizeof *sheet->remarks);
    sheet->cautions =
        move(sheet->cautions, &sheet->caution_count, part->cautions, &part->caution_count, sizeof *sheet->cautions);
    sheet->not_measured = move(sheet->not_measured, &sheet->not_measured_count, part->not_measured,
                               &part->not_measured_count, sizeof *sheet->not_measured);
    dw_sheet_free(part);
}

void dw_sheet_remark_as(DwSheet *sheet, const DwSaying *saying)
{
    sheet->remarks = dw_memory_resize(sheet->remarks, sheet->remark_count + 1, sizeof *sheet->remarks);
    sheet->remarks[sheet->remark_count++] =
        dw_saying_of(saying->text, saying->pattern, (const char *const *)saying->parts, saying->part_count);
}

void dw_sheet_remark_once(DwSheet *sheet, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    DwSaying saying = dw_saying_make(format, arguments);
    va_end(arguments);
    bool said = false;
    for (size_t i = 0; i < sheet->remark_count; i++)
        said = said || strcmp(sheet->remarks[i].text, saying.text) == 0;
    if (!said)
        dw_sheet_remark_as(sheet, &saying);
    dw_saying_clear(&saying);
}

bool dw_sheet_put_first(DwSheet *sheet, const char *key)
{
    DwReading *reading = dw_sheet_reading(sheet, key);
    if (!reading)
        return false;
    DwReading first = *reading;
    memmove(sheet->readings + 1, sheet->readings, (size_t)(reading - sheet->readings) * sizeof first);
    sheet->readings[0] = first;
    return true;
}

// What the readings of a whole side are called that are often not measured.
static const struct {
    const char *key, *label;
} missing_names[] = {
    {"azimuth.separation_possible", "Separation with the tilt undone"},
    {"azimuth.shim", "Shim between cartridge and headshell"},
    {"channels.balance", "Channel balance, right over left"},
    {"channels.polarity", "Polarity of lateral movement"},
    {"channels.separation_left", "Separation, left driven"},
    {"channels.separation_right", "Separation, right driven"},
    {"channels.sensitivity_left", "Sensitivity, left"},
    {"channels.sensitivity_right", "Sensitivity, right"},
    {"intermod.bands", "Intermodulation"},
    {"lowsweep.compliance_lateral", "Compliance at the resonance, lateral"},
    {"lowsweep.compliance_vertical", "Compliance at the resonance, vertical"},
    {"lowsweep.lateral", "Resonance, lateral"},
    {"lowsweep.q_lateral", "Q of the resonance, lateral"},
    {"lowsweep.q_vertical", "Q of the resonance, vertical"},
    {"lowsweep.vertical", "Resonance, vertical"},
    {"noise.hiss", "Hiss"},
    {"noise.hum", "Hum"},
    {"noise.mains", "Mains, by its hum"},
    {"noise.rumble_lateral", "Rumble, lateral, unweighted"},
    {"noise.rumble_unweighted", "Rumble, unweighted"},
    {"noise.rumble_vertical", "Rumble, vertical, unweighted"},
    {"noise.rumble_weighted", "Rumble, weighted"},
    {"response.left", "Response"},
    {"revolution.amplitude", "Once a revolution"},
    {"revolution.eccentricity", "Off-centre, if it is the record"},
    {"speed.error", "Speed error"},
    {"tracking.asymmetry", "Right's distortion over left's at its onset"},
    {"tracking.onset_left", "Onset of mistracking, left"},
    {"tracking.onset_right", "Onset of mistracking, right"},
    {"tracking.passed_left", "Highest step passed, left"},
    {"tracking.passed_right", "Highest step passed, right"},
};

char *dw_sheet_missing_name(const char *key)
{
    const DwQuantity *quantity = dw_quantity_find(key);
    if (quantity)
        return dw_memory_text(quantity->label);
    for (size_t i = 0; i < sizeof missing_names / sizeof *missing_names; i++)
        if (strcmp(missing_names[i].key, key) == 0)
            return dw_memory_text(missing_names[i].label);
    const char *dot = strrchr(key, '.');
    char *name = dot ? dw_text_format("%.*s, %s", (int)(dot - key), key, dot + 1) : dw_memory_text(key);
    for (char *at = name; *at; at++)
        if (*at == '_' || *at == '.')
            *at = ' ';
    name[0] = (char)toupper((unsigned char)name[0]);
    return name;
}
