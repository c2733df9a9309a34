// SPDX-License-Identifier: MIT
#include "procedure/registry/settle.h"

#include <math.h>
#include <string.h>

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
    int digits = reading->digits;
    bool is_speed = strcmp(reading->key, "speed.error") == 0 || strcmp(reading->key, "speed.mean") == 0;
    if (is_speed)
        dw_sheet_remark(
            sheet,
            "Cannot tell whether %s keeps its limit of %.*f %s: its ± reaches over it. A record whose tone is "
            "known better (record.tone_tolerance) and a checked sampling clock (chain.clock_error) would tell.",
            label, digits, end, unit);
    else if (isfinite(length_s) && isfinite(seconds))
        dw_sheet_remark(
            sheet, "Cannot tell whether %s keeps its limit of %.*f %s: its ± reaches over it. Record %.0f s or more.",
            label, digits, end, unit, fmax(seconds, length_s + 5));
    else
        dw_sheet_remark(sheet, "Cannot tell whether %s keeps its limit of %.*f %s: its ± reaches over it. %s", label,
                        digits, end, unit,
                        isfinite(length_s) ? "It is too near to it for a longer recording to help."
                                           : "What is measured with a smaller ± would tell.");
}

void dw_settle_remark(DwSheet *sheet)
{
    const DwReading *length = dw_sheet_reading(sheet, "tone.length");
    for (size_t i = 0; i < sheet->reading_count; i++)
        if (sheet->readings[i].verdict == DW_VERDICT_CANNOT_TELL)
            remark_one(sheet, &sheet->readings[i], length ? length->value : NAN);
}
