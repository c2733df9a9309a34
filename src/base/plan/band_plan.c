// SPDX-License-Identifier: MIT
#include "base/plan/band_plan.h"

#include "base/plan/band_plan_private.h"
#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static const char *const kind_words[DW_PLAN_KINDS] = {N_("tone"), N_("sweep"), N_("steps"), N_("silence"),
                                                      N_("two-tone")};
static const char *const channel_words[DW_PLAN_CHANNELS] = {"left", "right", "lateral", "vertical"};
static const char *const cut_words[DW_PLAN_CUTS] = {"riaa", "bass", "velocity", "amplitude"};

const char *dw_band_plan_kind_word(DwPlanKind kind)
{
    return kind_words[kind];
}

const char *dw_band_plan_channel_word(DwPlanChannel channel)
{
    return channel_words[channel];
}

const char *dw_band_plan_cut_word(DwPlanCut cut)
{
    return cut_words[cut];
}

void dw_band_plan_clear(DwBandPlan *plan)
{
    for (size_t i = 0; i < plan->count; i++)
        free(plan->bands[i].steps_um);
    free(plan->bands);
    free(plan->name);
    free(plan->number);
    *plan = (DwBandPlan){0};
}

void dw_plan_troubles_clear(DwPlanTroubles *troubles)
{
    for (size_t i = 0; i < troubles->count; i++) {
        free(troubles->items[i].text);
        free(troubles->items[i].said);
    }
    free(troubles->items);
    *troubles = (DwPlanTroubles){0};
}

void dw_plan_trouble_add(DwPlanTroubles *troubles, unsigned line, unsigned band, bool doubtful, const char *format, ...)
{
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    dw_plan_trouble_put(troubles, line, band, doubtful, dw_say_in(NULL, format, arguments),
                        dw_say_in(dw_tongue_of_program(), format, again));
    va_end(again);
    va_end(arguments);
}

void dw_plan_trouble_put(DwPlanTroubles *troubles, unsigned line, unsigned band, bool doubtful, char *text, char *said)
{
    if (troubles->count == troubles->room) {
        troubles->room = troubles->room * 2 + 16;
        troubles->items = dw_memory_resize(troubles->items, troubles->room, sizeof *troubles->items);
    }
    troubles->items[troubles->count++] = (DwPlanTrouble){line, band, doubtful, text, said};
}

double dw_band_plan_sweep_level_hz(double from_hz, double to_hz)
{
    return fmin(from_hz, to_hz) <= 1000 && fmax(from_hz, to_hz) >= 1000 ? 1000 : from_hz;
}

static double or_nothing(double seconds)
{
    return isnan(seconds) ? 0 : seconds;
}

double dw_band_plan_start_s(const DwBandPlan *plan, size_t index)
{
    double start_s = plan->lead_in_s;
    for (size_t i = 0; i < index; i++)
        start_s += or_nothing(plan->bands[i].length_s) + or_nothing(plan->bands[i].gap_s);
    return start_s;
}

// The first trouble that is no mere doubt fails the whole.
static DwStatus refuse_wrong(const char *name, DwBandPlan *plan, DwPlanTroubles *troubles, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < troubles->count && status == DW_OK; i++) {
        const DwPlanTrouble *trouble = &troubles->items[i];
        if (!trouble->doubtful && trouble->line)
            status = dw_fail(message, DW_BAD_INPUT, "%s: line %u: %s", name, trouble->line, trouble->said);
        else if (!trouble->doubtful)
            status = dw_fail(message, DW_BAD_INPUT, "%s: %s", name, trouble->said);
    }
    dw_plan_troubles_clear(troubles);
    if (status != DW_OK)
        dw_band_plan_clear(plan);
    return status;
}

DwStatus dw_band_plan_read(const char *path, DwBandPlan *plan, DwMessage *message)
{
    DwPlanTroubles troubles = {0};
    DwStatus status = dw_band_plan_examine(path, plan, &troubles, message);
    return status == DW_OK ? refuse_wrong(path, plan, &troubles, message) : status;
}

DwStatus dw_band_plan_parse(const char *text, size_t length, const char *name, DwBandPlan *plan, DwMessage *message)
{
    DwPlanTroubles troubles = {0};
    DwStatus status = dw_band_plan_examine_text(text, length, name, plan, &troubles, message);
    return status == DW_OK ? refuse_wrong(name, plan, &troubles, message) : status;
}

static void write_number(DwText *text, const char *key, double value, const char *unit)
{
    if (!isnan(value))
        dw_text_add(text, "%s = %.9g %s\n", key, value, unit);
}

static void write_band(DwText *text, const DwBandPlanBand *band, double common_gap_s)
{
    dw_text_add(text, "\n[band %u]\nkind = %s\n", band->number, kind_words[band->kind]);
    if (band->kind != DW_PLAN_SILENCE)
        dw_text_add(text, "channel = %s\n", channel_words[band->channel]);
    if (band->kind == DW_PLAN_TWO_TONE)
        dw_text_add(text, "frequency = %.9g %.9g Hz\n", band->from_hz, band->frequency_hz);
    else
        write_number(text, "frequency", band->frequency_hz, "Hz");
    if (band->kind == DW_PLAN_SWEEP) {
        write_number(text, "from", band->from_hz, "Hz");
        write_number(text, "to", band->to_hz, "Hz");
        dw_text_add(text, "cut = %s\n", cut_words[band->cut]);
    }
    // A line of a key file has its limit, so steps are given one by one.
    for (size_t i = 0; i < band->step_count; i++)
        write_number(text, "level", band->steps_um[i], "um");
    if (band->kind != DW_PLAN_STEPS)
        write_number(text, "level", band->velocity_cm_s, "cm/s");
    write_number(text, "high", band->high_db, "dB");
    write_number(text, "length", band->length_s, "s");
    if (band->gap_s != common_gap_s)
        write_number(text, "gap", band->gap_s, "s");
    write_number(text, "radius", band->radius_mm, "mm");
}

char *dw_band_plan_write(const DwBandPlan *plan)
{
    DwText text = {0};
    dw_text_add(&text, "[record]\n");
    if (plan->name && plan->name[0])
        dw_text_add(&text, "name = %s\n", plan->name);
    if (plan->number && plan->number[0])
        dw_text_add(&text, "number = %s\n", plan->number);
    if (fabs(plan->speed_rpm - 100.0 / 3) < 1e-6)
        dw_text_add(&text, "speed = 33 1/3 rpm\n");
    else
        write_number(&text, "speed", plan->speed_rpm, "rpm");
    write_number(&text, "reference", plan->reference_cm_s, "cm/s");
    write_number(&text, "lead_in", plan->lead_in_s, "s");
    write_number(&text, "gap", plan->gap_s, "s");
    for (size_t i = 0; i < plan->count; i++)
        write_band(&text, &plan->bands[i], plan->gap_s);
    return dw_text_take(&text);
}
