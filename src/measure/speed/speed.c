// SPDX-License-Identifier: MIT
#include "measure/speed/speed.h"

#include "base/memory.h"
#include "measure/speed/speed_fitness.h"

#include <math.h>
#include <stdlib.h>

static const double LEAST_REVOLUTIONS = 3;
static const double MOST_EXCLUDED = 0.5; // of the stretch; with more gone nobody knows what was
static const double SWEEP_PERCENT = 6;   // in one stretch

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
        .mains_hz = NAN,
        .good_flutter = NAN,
        .good_turn = NAN,
        .most_drift = NAN,
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
    double second = 0, stated = speed->settings.tone_hz;
    if (dw_carrier_met_bad_sample(speed->carrier, &second))
        return dw_fail(message, DW_BAD_INPUT,
                       "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                       second + speed->settings.skip_s);
    double length = dw_carrier_length_s(speed->carrier);
    if (!found)
        return dw_fail(message, DW_BAD_INPUT,
                       isfinite(stated)
                           ? "No steady tone found between %.1f and %.1f s. Record the tone band of a test record "
                             "(3150, 3000, 1000 or 315 Hz) for 30 s or more."
                           : "No steady tone found between %.1f and %.1f s. Record the tone band of a test record "
                             "(3150, 3000, 1000 or 315 Hz) for 30 s or more, or give record.tone.",
                       speed->settings.skip_s, speed->settings.skip_s + length);
    if (run->fit != DW_TONE_FOREIGN)
        return DW_OK;
    if (isfinite(stated))
        return dw_fail(message, DW_BAD_INPUT,
                       "The steady tone found is at %.1f Hz, too far from record.tone=%gHz for any speed of the deck. "
                       "Check which band was recorded and what the record says of it.",
                       run->late_hz, stated);
    return dw_fail(message, DW_BAD_INPUT,
                   "The steady tone found is at %.1f Hz, none of 3150, 3000, 1000 or 315 Hz. Give record.tone=, "
                   "the frequency printed on the test record.",
                   run->late_hz);
}

// Why RUN holds nothing to measure.
static DwStatus refuse_unsteady(const DwSpeed *speed, const DwToneRun *run, double turn_s,
                                const DwSteadiness *steadiness, DwMessage *message)
{
    double length = (double)run->count / run->rate_hz, end = run->start_s + length;
    if (steadiness->is_sweep)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The tone sweeps from %.0f to %.0f Hz between %.1f and %.1f s. Record a band of one steady tone, "
            "or set record.start and record.end to it.",
            steadiness->from_hz, steadiness->to_hz, run->start_s, end);
    if (length < LEAST_REVOLUTIONS * turn_s)
        return dw_fail(message, DW_BAD_INPUT,
                       "Only %.1f s of tone were found; three revolutions take %.1f s. Record 30 s or more.", length,
                       LEAST_REVOLUTIONS * 60 / speed->settings.speed_rpm);
    return dw_fail(
        message, DW_BAD_INPUT,
        "The tone lasts from %.1f to %.1f s, but its speed never holds still for three revolutions. See what "
        "makes the deck change its speed, or record again once it has settled.",
        run->start_s, end);
}

// Seconds of a turn at the speed that the tone tells.
static double turn_of(const DwSpeed *speed, const DwToneRun *run)
{
    return 60 / speed->settings.speed_rpm * run->engraved_hz / run->late_hz;
}

// Narrows RUN to the stretch that is measured. USED[run->count] is filled for the whole run.
// Returned: false without one.
static bool choose_stretch(const DwSpeed *speed, DwToneRun *run, unsigned char *used, DwSteadiness *steadiness)
{
    dw_speed_mark(dw_carrier_demodulator(speed->carrier), run, used);
    dw_steadiness_find(run, used, turn_of(speed, run), speed->settings.tone_hz, steadiness);
    const DwStretch *chosen = &steadiness->stretch[steadiness->chosen];
    if (!steadiness->count || (steadiness->is_sweep && fabs(chosen->change) > SWEEP_PERCENT))
        return false;
    run->start_s += (double)chosen->from / run->rate_hz;
    run->deviation_hz += chosen->from;
    run->amplitude += chosen->from;
    run->count = chosen->to - chosen->from;
    run->fit = chosen->fit;
    run->engraved_hz = chosen->engraved_hz * (1 + 1e-6 * speed->settings.tone_off_ppm);
    return true;
}

static DwStatus refuse_spoilt(const DwToneRun *run, const DwSpeedAnalysis *analysis, DwMessage *message)
{
    double length = (double)run->count / run->rate_hz;
    return dw_fail(
        message, DW_BAD_INPUT,
        "Of the %.1f s of tone from %.1f s on, %.0f %% is spoilt by dropouts, ticks, hum, noise or a "
        "room's echo: too much to measure. Record by cable, see to hum and leads, clean record and stylus, and "
        "record again.",
        length, run->start_s, 100 * analysis->excluded);
}

DwStatus dw_speed_work_out(const DwSpeed *speed, DwToneRun *run, DwSpeedAnalysis *analysis, DwMessage *message)
{
    bool found = dw_carrier_best(speed->carrier, run);
    DwStatus status = check_run(speed, run, found, message);
    if (status != DW_OK)
        return status;
    run->start_s += speed->settings.skip_s;
    *analysis = (DwSpeedAnalysis){0};
    DwToneRun whole = *run;
    DwSteadiness steadiness = {0};
    unsigned char *used = dw_memory_new(run->count, 1);
    if ((double)run->count < run->rate_hz || !choose_stretch(speed, run, used, &steadiness)) {
        free(used);
        return refuse_unsteady(speed, &whole, turn_of(speed, &whole), &steadiness, message);
    }
    analysis->marked = used + steadiness.stretch[steadiness.chosen].from;
    bool usable = dw_speed_analyse(dw_carrier_demodulator(speed->carrier), run, &speed->settings, analysis);
    analysis->marked = NULL;
    free(used);
    analysis->steadiness = steadiness;
    analysis->whole = whole;
    if (usable)
        analysis->fitness.is_locked =
            dw_speed_is_locked(run, dw_speed_analysis_turn_hz(analysis, run, &speed->settings));
    if (usable && analysis->excluded <= MOST_EXCLUDED)
        return DW_OK;
    status = refuse_spoilt(run, analysis, message);
    dw_speed_analysis_clear(analysis);
    return status;
}

DwStatus dw_speed_read(const DwSpeed *speed, DwSheet *sheet, DwMessage *message)
{
    DwToneRun run;
    DwSpeedAnalysis analysis;
    DwStatus status = dw_speed_work_out(speed, &run, &analysis, message);
    if (status != DW_OK)
        return status;
    analysis.passages = dw_carrier_passages(speed->carrier, &analysis.passage);
    dw_speed_fill_sheet(&analysis, &run, &speed->settings, speed->settings.rate_hz, sheet);
    dw_speed_analysis_clear(&analysis);
    return DW_OK;
}
