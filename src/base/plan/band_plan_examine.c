// SPDX-License-Identifier: MIT
#include "base/plan/band_plan.h"

#include "base/plan/band_plan_private.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// What stands where a record says nothing of its silent grooves; common practice, no source.
static const double usual_lead_in_s = 2;
static const double usual_gap_s = 3;

static const DwQuantity record_rows[] = {
    {.key = "speed",
     .label = "A record's speed",
     .dimension = DW_DIMENSION_ROTATION,
     .unit = "rpm",
     .plausible = {45, 80},
     .possible = {10, 100}},
    {.key = "reference",
     .label = "The velocity of 0 dB",
     .dimension = DW_DIMENSION_VELOCITY,
     .unit = "cm/s",
     .plausible = {5, 10},
     .possible = {0.01, 100}},
    {.key = "lead_in",
     .label = "The silent groove before the first band",
     .dimension = DW_DIMENSION_TIME,
     .unit = "s",
     .plausible = {3, 60},
     .possible = {0, 600}},
    {.key = "gap",
     .label = "The silent groove after a band",
     .dimension = DW_DIMENSION_TIME,
     .unit = "s",
     .plausible = {3, 60},
     .possible = {0, 600}},
};

static void replace_text(char **text, const char *value)
{
    free(*text);
    *text = dw_memory_text(value);
}

// 33 typed without its third is meant as 33⅓.
static double full_speed(double rpm)
{
    return fabs(rpm - 33.3) <= 0.35 ? 100.0 / 3 : rpm;
}

static void read_record_number(DwPlanReading *reading, const DwKeyLine *line, const DwQuantity *row)
{
    DwMessage message;
    double value = NAN;
    if (dw_quantity_read(row, line->value, &value, NULL, &message) != DW_OK) {
        dw_plan_trouble_put(reading->troubles, line->line, 0, false, dw_text_format("[record] %s", message.text),
                            dw_text_format("[record] %s", dw_message_said(&message)));
        return;
    }
    DwBandPlan *plan = reading->plan;
    if (row == &record_rows[0])
        plan->speed_rpm = full_speed(value);
    else if (row == &record_rows[1])
        plan->reference_cm_s = value;
    else if (row == &record_rows[2])
        plan->lead_in_s = value;
    else
        plan->gap_s = value;
}

static void read_record_line(DwPlanReading *reading, const DwKeyLine *line)
{
    if (strcmp(line->key, "name") == 0) {
        replace_text(&reading->plan->name, line->value);
        return;
    }
    if (strcmp(line->key, "number") == 0) {
        replace_text(&reading->plan->number, line->value);
        return;
    }
    for (size_t i = 0; i < sizeof record_rows / sizeof *record_rows; i++)
        if (strcmp(line->key, record_rows[i].key) == 0) {
            read_record_number(reading, line, &record_rows[i]);
            return;
        }
    dw_plan_trouble_add(
        reading->troubles, line->line, 0, false,
        "[record] '%.*s' is no key of the record. It takes name, number, speed, reference, lead_in and gap.",
        dw_text_whole(line->key, 40), line->key);
}

// The N of a group "band N", 0 when it is no such group.
static unsigned band_number(const char *group)
{
    if (strncmp(group, "band ", 5) != 0)
        return 0;
    const char *digits = group + 5 + strspn(group + 5, " ");
    char *end;
    unsigned long number = isdigit((unsigned char)*digits) ? strtoul(digits, &end, 10) : 0;
    return number > 0 && *end == 0 && number <= DW_BAND_PLAN_BANDS_MOST ? (unsigned)number : 0;
}

static DwBandPlanBand *find_band(DwBandPlan *plan, unsigned number)
{
    for (size_t i = 0; i < plan->count; i++)
        if (plan->bands[i].number == number)
            return &plan->bands[i];
    return NULL;
}

static DwBandPlanBand *add_band(DwBandPlan *plan, unsigned number, unsigned line)
{
    plan->bands = dw_memory_resize(plan->bands, plan->count + 1, sizeof *plan->bands);
    plan->bands[plan->count] = (DwBandPlanBand){
        .number = number,
        .line = line,
        .frequency_hz = NAN,
        .from_hz = NAN,
        .to_hz = NAN,
        .velocity_cm_s = NAN,
        .high_db = NAN,
        .length_s = NAN,
        .gap_s = plan->gap_s,
        .radius_mm = NAN,
    };
    return &plan->bands[plan->count++];
}

// Opens a band for the group that LINE begins.
static void begin_group(DwPlanReading *reading, const DwKeyLine *line)
{
    unsigned number = band_number(line->group);
    if (number == 0) {
        dw_plan_trouble_add(reading->troubles, line->line, 0, false,
                            "[%.*s] is no group of a plan. It takes [record] and [band 1], [band 2] … up to [band %d].",
                            dw_text_whole(line->group, 40), line->group, DW_BAND_PLAN_BANDS_MOST);
        return;
    }
    const DwBandPlanBand *twin = find_band(reading->plan, number);
    if (twin) {
        dw_plan_trouble_add(reading->troubles, line->line, number, false,
                            "[%s] stands twice, first in line %u. Number the bands in the order of the record.",
                            line->group, twin->line);
        return;
    }
    if (reading->plan->count && reading->plan->bands[reading->plan->count - 1].number > number)
        dw_plan_trouble_add(
            reading->troubles, line->line, number, true,
            "[%s] stands after [band %u]. Bands are taken by number: renumber it if this is the record's order.",
            line->group, reading->plan->bands[reading->plan->count - 1].number);
    DwBandPlanBand *band = add_band(reading->plan, number, line->line);
    dw_band_plan_read_band(reading, line->group, band);
}

static void read_groups(DwPlanReading *reading)
{
    const DwKeyfile *file = reading->file;
    for (size_t i = 0; i < file->count; i++) {
        const DwKeyLine *line = &file->lines[i];
        if (strcmp(line->group, "record") == 0)
            read_record_line(reading, line);
    }
    for (size_t i = 0; i < file->count; i++) {
        const DwKeyLine *line = &file->lines[i];
        bool is_new = i == 0 || strcmp(line->group, file->lines[i - 1].group) != 0;
        if (is_new && strcmp(line->group, "record") != 0)
            begin_group(reading, line);
    }
}

static int by_number(const void *a, const void *b)
{
    const DwBandPlanBand *x = a, *y = b;
    return (x->number > y->number) - (x->number < y->number);
}

static int by_line(const void *a, const void *b)
{
    const DwPlanTrouble *x = a, *y = b;
    if (x->line != y->line)
        return x->line < y->line ? -1 : 1;
    return x->band < y->band ? -1 : x->band > y->band;
}

static void examine(const DwKeyfile *file, DwBandPlan *plan, DwPlanTroubles *troubles)
{
    *plan = (DwBandPlan){
        .name = dw_memory_text(""),
        .number = dw_memory_text(""),
        .speed_rpm = 100.0 / 3,
        .reference_cm_s = NAN,
        .lead_in_s = usual_lead_in_s,
        .gap_s = usual_gap_s,
    };
    *troubles = (DwPlanTroubles){0};
    DwPlanReading reading = {file, plan, troubles};
    read_groups(&reading);
    if (plan->count)
        qsort(plan->bands, plan->count, sizeof *plan->bands, by_number);
    dw_band_plan_check(plan, troubles);
    if (troubles->count)
        qsort(troubles->items, troubles->count, sizeof *troubles->items, by_line);
}

DwStatus dw_band_plan_examine(const char *path, DwBandPlan *plan, DwPlanTroubles *troubles, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_read(path, &file, message);
    if (status != DW_OK)
        return status;
    examine(&file, plan, troubles);
    dw_keyfile_clear(&file);
    return DW_OK;
}

DwStatus dw_band_plan_examine_text(const char *text, size_t length, const char *name, DwBandPlan *plan,
                                   DwPlanTroubles *troubles, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_parse(text, length, name, &file, message);
    if (status != DW_OK)
        return status;
    examine(&file, plan, troubles);
    dw_keyfile_clear(&file);
    return DW_OK;
}
