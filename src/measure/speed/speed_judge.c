// SPDX-License-Identifier: MIT
#include "measure/speed/speed_judge.h"

#include "base/usual_speed.h"

#include <math.h>

static const double IEC_PERCENT = 0.5;       // that a record's tone may be off: IEC 60098:2020, 5.6
static const double TYPICAL_CLOCK_PPM = 100; // of an audio interface nobody has checked; value from memory
static const double CHECKED_CLOCK_PPM = 2;   // left after a check against a reference
static const double EVEN_95 = 0.95;          // of its half-span, the half-width of a rectangular spread
static const double SLIDER = 0.09;           // what speed sliders do, while the tone is a guess
static const double SURE_PERCENT = 0.5;      // so near to a usual tone nobody asks
static const double PARTED = 0.6;            // over the span: nearer rates may be one
static const double TELLS = 0.25;            // over the span, that a tone not known to be off must be off by
static const double DOUBT = 1.5;             // half-widths from which on a difference is one

double dw_speed_judge_turn_hz(double mean_hz, double tone_hz, double speed_rpm)
{
    return speed_rpm / 60 * mean_hz / tone_hz;
}

double dw_speed_clock_percent(const DwSpeedSettings *settings)
{
    return EVEN_95 * (isfinite(settings->clock_error_ppm) ? CHECKED_CLOCK_PPM : TYPICAL_CLOCK_PPM) * 1e-4;
}

double dw_speed_off_percent(const DwSpeedSettings *settings, double stray_percent)
{
    double tolerance = isfinite(settings->tone_tolerance_percent) ? EVEN_95 * settings->tone_tolerance_percent : 0;
    double clock = dw_speed_clock_percent(settings);
    return sqrt(stray_percent * stray_percent + clock * clock + tolerance * tolerance);
}

// Any value within ±TOLERANCE is as likely as another, and MEASURED ± MEASURED_OFF was seen.
// Returned: the mean of what is then likely; *OFF its 95 % half-width.
static double join(double tolerance, double measured, double measured_off, double *off)
{
    enum { STEPS = 400 };
    double weight[STEPS + 1], total = 0, mean = 0, sigma = measured_off / 1.96;
    double nearest = fmax(-tolerance, fmin(tolerance, measured));
    for (int i = 0; i <= STEPS; i++) {
        double x = tolerance * (2.0 * i / STEPS - 1);
        double z = (x - measured) / sigma, least = (nearest - measured) / sigma;
        weight[i] = exp(-0.5 * (z * z - least * least));
        total += weight[i];
        mean += weight[i] * x;
    }
    mean /= total;
    double step = 2 * tolerance / STEPS, inside = 0;
    for (*off = 0; inside < 0.95 * total && *off < 2 * tolerance; *off += step / 2) {
        inside = 0;
        for (int i = 0; i <= STEPS; i++)
            if (fabs(tolerance * (2.0 * i / STEPS - 1) - mean) <= *off + step / 2)
                inside += weight[i];
    }
    if (measured_off < 3 * step) { // finer than the grid
        *off = measured_off;
        return nearest;
    }
    return mean;
}

// A usual tone or speed that would make tone and platter agree; tones first.
static void name_statement(const DwSpeedAnalysis *analysis, double engraved_hz, const DwSpeedSettings *settings,
                           DwSpeedJudgement *judgement)
{
    double within = IEC_PERCENT / 100 + DOUBT * analysis->turn_off_hz / analysis->turn_hz;
    double best = within;
    for (size_t i = 0; i < DW_TONE_USUAL; i++) {
        double turn = dw_speed_judge_turn_hz(analysis->mean_hz, dw_tone_usual_hz[i], settings->speed_rpm);
        double off = fabs(turn / analysis->turn_hz - 1);
        if (off < best) {
            best = off;
            judgement->tone_hz = dw_tone_usual_hz[i];
        }
    }
    for (size_t i = 0; isnan(judgement->tone_hz) && i < DW_USUAL_SPEEDS; i++) {
        double turn = dw_speed_judge_turn_hz(analysis->mean_hz, engraved_hz, dw_usual_speed[i].rpm);
        double off = fmax(0, fabs(turn / analysis->turn_hz - 1) - dw_usual_speed[i].within);
        if (off < best) {
            best = off;
            judgement->speed_rpm = dw_usual_speed[i].rpm;
        }
    }
}

// Another usual tone that it may be as well, where none was stated.
static double rival_of(double mean_hz, double engraved_hz)
{
    if (fabs(mean_hz / engraved_hz - 1) < SURE_PERCENT / 100)
        return NAN;
    for (size_t i = 0; i < DW_TONE_USUAL; i++) {
        double tone = dw_tone_usual_hz[i];
        if (fabs(tone / engraved_hz - 1) > 1e-6 && fabs(mean_hz / tone - 1) < SLIDER)
            return tone;
    }
    return NAN;
}

// Joins the tone with the platter's lines.
static void judge_by_platter(const DwSpeedAnalysis *analysis, double engraved_hz, const DwSpeedSettings *settings,
                             DwSpeedJudgement *judgement)
{
    double expected = dw_speed_judge_turn_hz(analysis->mean_hz, engraved_hz, settings->speed_rpm);
    double error = 100 * (expected / analysis->turn_hz - 1), off = 100 * analysis->turn_off_hz / analysis->turn_hz;
    bool stated = isfinite(settings->tone_tolerance_percent);
    double tolerance = stated ? settings->tone_tolerance_percent : IEC_PERCENT;
    double stray = 100 * analysis->mean_off_hz / analysis->mean_hz, clock = dw_speed_clock_percent(settings);
    judgement->platter_rpm = analysis->turn_hz * 60 * judgement->true_hz / analysis->mean_hz;
    judgement->tone_error = error;
    judgement->tone_error_off = hypot(off, stray);
    double apart = fabs(expected - analysis->turn_hz) * analysis->joint.span;
    if (apart > PARTED && fabs(error) - DOUBT * off > fmax(tolerance, IEC_PERCENT)) {
        judgement->by = DW_SPEED_BY_PLATTER;
        judgement->ratio = judgement->platter_rpm / settings->speed_rpm;
        judgement->ratio_off = judgement->ratio * hypot(off, clock) / 100;
        name_statement(analysis, engraved_hz, settings, judgement);
    } else if (tolerance > 0 && (stated || (apart > TELLS && fabs(error) > DOUBT * off))) {
        double joined_off, joined = join(tolerance, error, fmax(off, 1e-6), &joined_off);
        judgement->by = DW_SPEED_BY_BOTH;
        judgement->ratio /= 1 + joined / 100;
        judgement->ratio_off = judgement->ratio * sqrt(joined_off * joined_off + stray * stray + clock * clock) / 100;
        // They contradict each other, in a take too short to say which is right: either may be.
        judgement->is_doubtful = fabs(error) - DOUBT * off > fmax(tolerance, IEC_PERCENT);
        if (judgement->is_doubtful)
            judgement->ratio_off += judgement->ratio * fabs(error - joined) / 100;
    }
}

DwSpeedJudgement dw_speed_judge(const DwSpeedAnalysis *analysis, double engraved_hz, const DwSpeedSettings *settings)
{
    double clock = isfinite(settings->clock_error_ppm) ? settings->clock_error_ppm * 1e-6 : 0;
    double stray = 100 * analysis->mean_off_hz / analysis->mean_hz;
    DwSpeedJudgement judgement = {.by = DW_SPEED_BY_TONE,
                                  .true_hz = analysis->mean_hz * (1 + clock),
                                  .tone_error = NAN,
                                  .tone_error_off = NAN,
                                  .platter_rpm = NAN,
                                  .tone_hz = NAN,
                                  .speed_rpm = NAN,
                                  .rival_hz = NAN};
    judgement.ratio = judgement.true_hz / engraved_hz;
    judgement.ratio_off = judgement.ratio * dw_speed_off_percent(settings, stray) / 100;
    if (analysis->turn_shows)
        judge_by_platter(analysis, engraved_hz, settings, &judgement);
    else if (isnan(settings->tone_hz))
        judgement.rival_hz = rival_of(analysis->mean_hz, engraved_hz);
    if (isfinite(judgement.rival_hz)) {
        judgement.by = DW_SPEED_UNKNOWN;
        judgement.ratio = judgement.ratio_off = NAN;
    }
    return judgement;
}
