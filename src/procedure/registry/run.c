// SPDX-License-Identifier: MIT
#include "base/arm_key.h"
#include "base/sheet.h"
#include "base/tongue.h"
#include "procedure/registry/limits.h"
#include "procedure/registry/procedure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

bool dw_procedure_takes(const DwProcedure *procedure, const char *key)
{
    for (size_t i = 0; procedure->quantities[i]; i++)
        if (strcmp(procedure->quantities[i], key) == 0)
            return true;
    return false;
}

static bool read_alike(FILE *one, FILE *two)
{
    char first[4096], second[4096];
    for (;;) {
        size_t got = fread(first, 1, sizeof first, one);
        if (fread(second, 1, sizeof second, two) != got || memcmp(first, second, got) != 0)
            return false;
        if (got < sizeof first)
            return !ferror(one) && !ferror(two);
    }
}

// Whether the files at PATH and OTHER hold the same bytes, as no two takes do. What cannot be opened is said elsewhere.
static bool is_same_take(const char *path, const char *other)
{
    struct stat one_is, two_is;
    if (stat(path, &one_is) != 0 || stat(other, &two_is) != 0 || !S_ISREG(one_is.st_mode) || !S_ISREG(two_is.st_mode) ||
        one_is.st_size != two_is.st_size)
        return false;
    FILE *one = fopen(path, "rb"), *two = fopen(other, "rb");
    bool same = one && two && read_alike(one, two);
    if (one)
        fclose(one);
    if (two)
        fclose(two);
    return same;
}

static DwStatus check_takes(const DwRequest *request, bool photos, DwMessage *message)
{
    for (size_t i = 0; i < request->recording_count; i++)
        for (size_t k = 0; k < i; k++)
            if (is_same_take(request->recordings[k], request->recordings[i]))
                return dw_fail(message, DW_BAD_INPUT,
                               photos
                                   ? "Photographs %zu and %zu are one and the same: give each once, or take it again."
                                   : "Recordings %zu and %zu are one and the same: give each take once, or record it "
                                     "again.",
                               k + 1, i + 1);
    return DW_OK;
}

const char *dw_procedure_takes_word(const DwProcedure *procedure)
{
    switch (procedure->takes) {
    case DW_TAKES_FILM:
        return "FILM";
    case DW_TAKES_PHOTOS:
        return "PHOTO";
    case DW_TAKES_SOUND:
        break;
    }
    return "RECORDING";
}

static DwStatus refuse_other_count(const DwProcedure *procedure, size_t count, DwMessage *message)
{
    bool film = procedure->takes == DW_TAKES_FILM;
    if (count < procedure->recordings_least && procedure->recordings_least > 1)
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s needs %u photographs or more, from different sides: one alone cannot tell how high anything stands "
            "over the paper, and a cantilever's far end is a millimetre up. Take a second one.",
            procedure->name, procedure->recordings_least);
    if (count < procedure->recordings_least)
        return dw_fail(message, DW_BAD_INPUT,
                       film ? "%s needs a film: deckwright %s FILE [key=value …]."
                            : "%s needs a photograph: deckwright %s FILE [key=value …].",
                       procedure->name, procedure->name);
    return dw_fail(message, DW_BAD_INPUT,
                   film                              ? "%s takes %u film, not %zu."
                   : procedure->recordings_most == 1 ? "%s takes %u photograph, not %zu."
                                                     : "%s takes %u photographs at most, not %zu.",
                   procedure->name, procedure->recordings_most, count);
}

static DwStatus check_recordings(const DwProcedure *procedure, size_t count, DwMessage *message)
{
    bool counts = count >= procedure->recordings_least && count <= procedure->recordings_most;
    if (!counts && procedure->takes != DW_TAKES_SOUND)
        return refuse_other_count(procedure, count, message);
    if (count < procedure->recordings_least)
        return dw_fail(message, DW_BAD_INPUT,
                       procedure->recordings_least == 1
                           ? "%s needs a recording: deckwright %s FILE [key=value …]."
                           : "%s needs more recordings: deckwright %s FILE FILE [key=value …].",
                       procedure->name, procedure->name);
    if (count > procedure->recordings_most)
        return procedure->recordings_most == 0
                   ? dw_fail(message, DW_BAD_INPUT, "%s takes no recording, only key=value operands.", procedure->name)
                   : dw_fail(message, DW_BAD_INPUT,
                             procedure->recordings_most == 1
                                 ? "%s takes one recording, not %zu. Measure them one after another."
                                 : "%s takes fewer recordings, not %zu. Measure them one after another.",
                             procedure->name, count);
    return DW_OK;
}

static void remark_value(DwSheet *sheet, const char *key, double value, const char *unit, DwRange plausible)
{
    const char *gap = *unit ? " " : "";
    if (dw_range_is_set(plausible) && (value < plausible.low || value > plausible.high))
        dw_sheet_remark(sheet, "%s = %g%s%s is unusual (%g to %g%s%s is common). Is it right?", key, value, gap, unit,
                        plausible.low, plausible.high, gap, unit);
}

// Says of each value of ROW outside its plausible range that it looks wrong.
static void remark_implausible(const DwQuantity *row, const DwInputs *inputs, DwSheet *sheet)
{
    double first, second;
    for (size_t n = 0; dw_inputs_own(inputs, row, n, &first, &second); n++) {
        if (row->kind == DW_QUANTITY_NUMBER || row->kind == DW_QUANTITY_PAIR)
            remark_value(sheet, row->key, first, row->unit, row->plausible);
        if (row->kind == DW_QUANTITY_PAIR)
            remark_value(sheet, row->key, second, row->second_unit, row->second_plausible);
    }
}

// What is read from two channels; speed, flutter and forces are not.
static const char *const of_the_channels[] = {"channels.", "azimuth.",  "noise.",    "response.",
                                              "lowsweep.", "tracking.", "intermod.", NULL};

static bool hangs_on_channels(const DwReading *reading)
{
    for (size_t i = 0; of_the_channels[i]; i++)
        if (strncmp(reading->key, of_the_channels[i], strlen(of_the_channels[i])) == 0)
            return true;
    return false;
}

// Where SHEET says that a fault of the channels stands, it comes first, and no reading that is
// made of the channels keeps a verdict of good: it is marked with the fault instead.
static void apply_faults(DwSheet *sheet)
{
    const DwReading *fault = dw_sheet_reading(sheet, "channels.fault");
    if (!fault || !(fault->flags & DW_FLAG_FAULT))
        return;
    dw_sheet_put_first(sheet, "channels.fault");
    size_t withheld = 0;
    for (size_t i = 1; i < sheet->reading_count; i++) {
        DwReading *reading = &sheet->readings[i];
        bool passed = reading->verdict == DW_VERDICT_GOOD || reading->verdict == DW_VERDICT_SERVICEABLE;
        if (!passed || !hangs_on_channels(reading))
            continue;
        reading->verdict = DW_VERDICT_CANNOT_TELL;
        reading->flags |= DW_FLAG_FAULT;
        withheld++;
    }
    if (withheld)
        dw_sheet_remark(sheet, "While the fault of the channels stands nothing that is read from them is called good. "
                               "Mend it and measure again.");
}

static const double LONGEST_S = 1200; // a side

// How far READING is from the nearer end of its allowed range.
static double margin_of(const DwReading *reading, double *end)
{
    const DwLimit *limit = reading->limit;
    double low = fabs(reading->value - limit->low), high = fabs(reading->value - limit->high);
    bool is_low = isnan(high) || low < high;
    *end = is_low ? limit->low : limit->high;
    return is_low ? low : high;
}

// Seconds that would do; infinite where no side is long enough.
static double seconds_for(const DwReading *reading, double margin, double length_s)
{
    double power = strcmp(reading->key, "speed.drift") == 0 ? 2.0 / 3 : 2;
    double seconds = 1.1 * length_s * pow(reading->uncertainty / margin, power);
    return seconds <= LONGEST_S ? 5 * ceil(seconds / 5) : INFINITY;
}

static void remark_one(DwSheet *sheet, const DwReading *reading, double length_s)
{
    double end, margin = margin_of(reading, &end), seconds = seconds_for(reading, margin, length_s);
    const char *label = reading->label, *unit = reading->unit;
    const char *gap = *unit ? " " : "";
    int digits = reading->digits;
    bool is_speed = strcmp(reading->key, "speed.error") == 0 || strcmp(reading->key, "speed.mean") == 0;
    if (is_speed)
        dw_sheet_remark(
            sheet,
            "Cannot tell whether %s keeps its limit of %.*f%s%s: its ± reaches over it. A record whose tone is "
            "known better (record.tone_tolerance) and a checked sampling clock (chain.clock_error) would tell.",
            label, digits, end, gap, unit);
    else if (isfinite(length_s) && isfinite(seconds))
        dw_sheet_remark(
            sheet, "Cannot tell whether %s keeps its limit of %.*f%s%s: its ± reaches over it. Record %.0f s or more.",
            label, digits, end, gap, unit, fmax(seconds, length_s + 5));
    else
        dw_sheet_remark(sheet, "Cannot tell whether %s keeps its limit of %.*f%s%s: its ± reaches over it. %s", label,
                        digits, end, gap, unit,
                        isfinite(length_s) ? "It is too near to it for a longer recording to help."
                                           : "What is measured with a smaller ± would tell.");
}

// Adds a remark for each reading of SHEET with the verdict "cannot tell" by its ±, that neither a fault nor the
// procedure explains: what would settle it. Method: of a recording the uncertainty falls with the root of its length,
// of a drift with its length to the power of 3/2; that of a speed is mostly clock's and record's.
static void remark_settling(DwSheet *sheet)
{
    const DwReading *length = dw_sheet_reading(sheet, "tone.length");
    for (size_t i = 0; i < sheet->reading_count; i++)
        if (sheet->readings[i].verdict == DW_VERDICT_CANNOT_TELL && !sheet->readings[i].explained &&
            !(sheet->readings[i].flags & DW_FLAG_FAULT))
            remark_one(sheet, &sheet->readings[i], length ? length->value : NAN);
}

// Of several arms on a deck the head of the sheet says whose it is.
static void name_arm(DwSheet *sheet, const char *arm)
{
    char *title = dw_arm_key_label(sheet->title, arm);
    free(sheet->title);
    sheet->title = title;
}

// A sheet of recordings on which nothing at all was measured is none: the first reason is what to say. A sum that lacks
// a value says on its sheet what each reading lacks.
static DwStatus check_filled(const DwRequest *request, const DwSheet *sheet, DwMessage *message)
{
    if (!request->recording_count || sheet->reading_count || sheet->table_count || sheet->curve_count ||
        !sheet->not_measured_count)
        return DW_OK;
    char *reason = dw_say_saying(&sheet->not_measured[0].reason);
    DwStatus status = dw_fail(message, DW_BAD_INPUT, "%s", reason);
    free(reason);
    return status;
}

DwStatus dw_procedure_run(const DwProcedure *procedure, const DwRequest *request, DwSheet **sheet, DwMessage *message)
{
    DwStatus status = check_recordings(procedure, request->recording_count, message);
    if (status == DW_OK && procedure->takes_differ)
        status = check_takes(request, procedure->takes == DW_TAKES_PHOTOS, message);
    if (status == DW_OK && dw_inputs_given(request->inputs, "arm.name"))
        status = dw_arm_key_check_name(dw_inputs_word(request->inputs, "arm.name"), message);
    if (status != DW_OK)
        return status;
    DwLimits limits;
    status = dw_limits_read(request->inputs, &limits, message);
    if (status != DW_OK) {
        dw_limits_clear(&limits);
        return status;
    }
    DwSheet *made = dw_sheet_new(procedure->name, procedure->title);
    for (size_t i = 0; procedure->quantities[i]; i++) {
        const DwQuantity *row = dw_quantity_find(procedure->quantities[i]);
        dw_sheet_add_input(made, request->inputs, row);
        remark_implausible(row, request->inputs, made);
    }
    status = procedure->run(request, made, message);
    if (status == DW_OK)
        status = check_filled(request, made, message);
    if (status == DW_OK)
        dw_limits_give(&limits, made);
    dw_limits_clear(&limits);
    if (status != DW_OK) {
        dw_sheet_free(made);
        return status;
    }
    apply_faults(made);
    remark_settling(made);
    name_arm(made, dw_inputs_word(request->inputs, "arm.name"));
    *sheet = made;
    return DW_OK;
}
