// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/text.h"
#include "book/job/measurement.h"
#include "measure/live/live_pictures.h"
#include "web/live/pages.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SHEETS = 4 };

struct DwLiveBefore {
    DwSheet *sheet[SHEETS];
    size_t count;
};

// Where each figure is looked for, in this order.
static const char *const procedures[SHEETS] = {"speed", "channels", "azimuth", "noise"};

static bool add_newest(DwLiveBefore *before, const DwRecords *all, const char *procedure)
{
    DwMessage unread; // what cannot be read is told on the job's own page
    for (size_t i = all->count; i-- > 0;) {
        const DwMeasurement *one = (const DwMeasurement *)dw_records_at(all, i);
        if (one->phase == DW_PHASE_AS_RECEIVED && strcmp(one->procedure, procedure) == 0)
            return dw_measurement_sheet(one, &before->sheet[before->count], &unread) == DW_OK;
    }
    return false;
}

DwLiveBefore *dw_live_before_read(const DwWebRequest *request, int64_t job)
{
    DwRecords all = {0};
    DwMessage unread;
    DwLiveBefore *before = dw_memory_new(1, sizeof *before);
    if (!job || strcmp(dw_request_query(request, "as"), "received") == 0 ||
        dw_measurement_standing(request->book, job, &all, &unread) != DW_OK)
        return before;
    for (size_t i = 0; i < SHEETS; i++)
        before->count += add_newest(before, &all, procedures[i]);
    dw_records_clear(&all);
    return before;
}

void dw_live_before_free(DwLiveBefore *before)
{
    for (size_t i = 0; before && i < before->count; i++)
        dw_sheet_free(before->sheet[i]);
    free(before);
}

const DwReading *dw_live_before_find(const DwLiveBefore *before, const char *key)
{
    for (size_t i = 0; i < before->count; i++) {
        const DwReading *reading = dw_sheet_reading(before->sheet[i], key);
        if (reading && isfinite(reading->value))
            return reading;
    }
    return NULL;
}

char *dw_live_before_spectrum(const DwLiveBefore *before)
{
    const DwCurve *curve = NULL;
    for (size_t i = 0; i < before->count && !curve; i++)
        curve = dw_sheet_curve(before->sheet[i], "flutter.spectrum");
    if (!curve)
        return NULL;
    float percent[DW_LIVE_BINS];
    double low = dw_live_spectrum_low_hz, high = dw_live_spectrum_high_hz;
    for (size_t i = 0; i < DW_LIVE_BINS; i++)
        percent[i] = NAN;
    for (size_t i = 0; i < curve->count; i++) {
        double at = DW_LIVE_BINS * log(curve->x_values[i] / low) / log(high / low);
        if (at >= 0 && at < DW_LIVE_BINS)
            percent[(size_t)at] = fmaxf(percent[(size_t)at], (float)curve->y_values[i]);
    }
    DwText text = {0};
    for (size_t i = 0; i < DW_LIVE_BINS; i++)
        if (isfinite(percent[i]))
            dw_text_add(&text, "%s%ld", i ? " " : "", lround(1e5 * percent[i]));
        else
            dw_text_add(&text, "%s-", i ? " " : "");
    return dw_text_take(&text);
}
