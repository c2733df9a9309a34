// SPDX-License-Identifier: MIT
#include "measure/speed/speed.h"

#include "base/memory.h"
#include "measure/speed/speed_analysis.h"

#include <math.h>
#include <stdlib.h>

static const double LEAST_REVOLUTIONS = 3;

struct DwSpeed {
    DwSpeedSettings settings;
    DwCarrier *carrier;
};

DwSpeedSettings dw_speed_settings(double rate_hz, unsigned channels)
{
    return (DwSpeedSettings){
        .rate_hz = rate_hz,
        .channels = channels,
        .tone_hz = NAN,
        .speed_rpm = 100.0 / 3,
        .split_hz = 6,
        .radius_mm = NAN,
        .offset_deg = NAN,
        .clock_error_ppm = NAN,
        .tone_tolerance_percent = NAN,
        .keep_s = 1500, // 25 minutes: a side
    };
}

DwSpeed *dw_speed_new(DwSpeedSettings settings)
{
    DwSpeed *speed = dw_memory_new(1, sizeof *speed);
    speed->settings = settings;
    speed->carrier = dw_carrier_new((DwCarrierSettings){
        .rate_hz = settings.rate_hz,
        .channels = settings.channels,
        .tone_hz = settings.tone_hz,
        .keep_s = settings.keep_s,
    });
    return speed;
}

void dw_speed_free(DwSpeed *speed)
{
    if (!speed)
        return;
    dw_carrier_free(speed->carrier);
    free(speed);
}

void dw_speed_push(DwSpeed *speed, const float *interleaved, size_t frames)
{
    dw_carrier_push(speed->carrier, interleaved, frames);
}

void dw_speed_finish(DwSpeed *speed)
{
    dw_carrier_finish(speed->carrier);
}

static DwStatus check_run(const DwSpeed *speed, const DwToneRun *run, bool found, DwMessage *message)
{
    double second = 0;
    if (dw_carrier_met_bad_sample(speed->carrier, &second))
        return dw_fail(message, DW_BAD_INPUT,
                       "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                       second + speed->settings.skip_s);
    double length = dw_carrier_length_s(speed->carrier);
    if (!found)
        return dw_fail(message, DW_BAD_INPUT,
                       "No steady tone found between %.1f and %.1f s. Record the tone band of a test record "
                       "(3150, 3000, 1000 or 315 Hz) for at least 30 s, or give record.tone.",
                       speed->settings.skip_s, speed->settings.skip_s + length);
    if (run->fit != DW_TONE_FOREIGN)
        return DW_OK;
    if (isfinite(speed->settings.tone_hz))
        return dw_fail(message, DW_BAD_INPUT,
                       "The steady tone found is at %.1f Hz, too far from record.tone=%gHz for any speed of the deck. "
                       "Check the band, or give record.tone.",
                       run->centre_hz, speed->settings.tone_hz);
    return dw_fail(message, DW_BAD_INPUT,
                   "The steady tone found is at %.1f Hz, none of 3150, 3000, 1000 or 315 Hz. Give record.tone=, "
                   "the frequency printed on the test record.",
                   run->centre_hz);
}

DwStatus dw_speed_work_out(const DwSpeed *speed, DwToneRun *run, DwSpeedAnalysis *analysis, DwMessage *message)
{
    bool found = dw_carrier_best(speed->carrier, run);
    DwStatus status = check_run(speed, run, found, message);
    if (status != DW_OK)
        return status;
    run->start_s += speed->settings.skip_s;
    *analysis = (DwSpeedAnalysis){0};
    bool usable = dw_speed_analyse(dw_carrier_demodulator(speed->carrier), run, &speed->settings, analysis);
    double turns = usable ? (double)analysis->count / analysis->rate_hz *
                                dw_speed_analysis_turn_hz(analysis, run, &speed->settings)
                          : 0;
    if (!usable || turns < LEAST_REVOLUTIONS) {
        double needed = LEAST_REVOLUTIONS * 60 / speed->settings.speed_rpm;
        dw_speed_analysis_clear(analysis);
        return dw_fail(message, DW_BAD_INPUT,
                       "Only %.1f s of steady tone were found; three revolutions take %.1f s. Record at least 30 s.",
                       (double)run->count / run->rate_hz, needed);
    }
    return DW_OK;
}

DwStatus dw_speed_read(const DwSpeed *speed, DwSheet *sheet, DwMessage *message)
{
    DwToneRun run;
    DwSpeedAnalysis analysis;
    DwStatus status = dw_speed_work_out(speed, &run, &analysis, message);
    if (status != DW_OK)
        return status;
    dw_speed_fill_sheet(&analysis, &run, &speed->settings, speed->settings.rate_hz, sheet);
    dw_speed_analysis_clear(&analysis);
    return DW_OK;
}
