// SPDX-License-Identifier: MIT
#include "procedure/live/live_words.h"

#include "procedure/input/measure_inputs.h"
#include "procedure/input/tone_settings.h"
#include "procedure/registry/limits.h"

#include <math.h>
#include <stdio.h>

DwStatus dw_live_settings_limits(const DwInputs *inputs, DwLiveLimit limit[DW_LIVE_FIGURES], DwMessage *message)
{
    DwSheet *sheet = dw_sheet_new("live", "");
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++) {
        const DwLiveFigureKind *kind = dw_live_figure_kind((DwLiveFigureName)i);
        dw_sheet_add_reading(sheet, kind->key, kind->label, NAN, kind->unit, kind->digits);
        limit[i] = (DwLiveLimit){0};
    }
    DwLimits limits;
    DwStatus status = dw_limits_read(inputs, &limits, message);
    if (status == DW_OK)
        dw_limits_give(&limits, sheet);
    dw_limits_clear(&limits);
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++) {
        const DwLimit *found = sheet->readings[i].limit;
        if (!found)
            continue;
        limit[i] = (DwLiveLimit){true, {found->low, found->high}, {found->good_low, found->good_high}, ""};
        snprintf(limit[i].source, sizeof limit[i].source, "%s", found->source);
    }
    dw_sheet_free(sheet);
    // The speed of now is held against what the mean must keep to.
    limit[DW_LIVE_SPEED_NOW] = limit[DW_LIVE_SPEED_TURN] = limit[DW_LIVE_SPEED_ERROR];
    return status;
}

DwLiveMeterSettings dw_live_settings_meter(const DwInputs *inputs, double rate_hz, unsigned channels)
{
    DwRecording like = {.rate_hz = rate_hz, .channels = channels};
    DwLiveMeterSettings settings = dw_live_meter_settings(rate_hz, channels);
    DwDrive drive;
    bool given = false;
    DwMessage unread; // a drive that cannot be read names no part
    bool known = dw_measure_inputs_drive(inputs, dw_nominal_speed(inputs), &given, &drive, &unread) == DW_OK && given;
    settings.speed = dw_tone_settings(inputs, &like, known ? &drive : NULL);
    settings.settles_apart = true;
    settings.mains_hz = dw_inputs_in(inputs, "deck.mains", "Hz");
    return settings;
}
