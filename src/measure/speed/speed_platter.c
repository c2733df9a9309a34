// SPDX-License-Identifier: MIT
#include "measure/speed/speed_platter.h"

#include "base/usual_speed.h"
#include "measure/speed/speed_judge.h"

#include <math.h>

enum { MULTIPLES = 6, PART_HARMONICS = 3 };

const double dw_platter_shows = 4;
static const double UNSTATED_PERCENT = 0.5;     // that a record's tone may be off: IEC 60098:2020, 5.6
static const double SLIP_PERCENT = 0.02;        // between tone and platter besides
static const double FAMILY = 0.08;              // over the span: how near harmonics are to one rate
static const double LEAST_OTHER_PERCENT = 0.01; // peak, of a line that speaks against what was stated
static const double FOUND_BY = 0.7;             // of the variance left, what a line looked for must bring it down to
static const double NEAR = 2;                   // standard uncertainties of a described rate

double dw_platter_tolerance(const DwSpeedSettings *settings)
{
    double stated = settings->tone_tolerance_percent;
    return hypot(isfinite(stated) ? stated : UNSTATED_PERCENT, SLIP_PERCENT) / 100;
}

DwLine dw_platter_line(double rate_hz, double expected_hz, double tolerance)
{
    return (DwLine){.clock = 1,
                    .harmonics = 2,
                    .rate_hz = rate_hz,
                    .prior_hz = expected_hz,
                    .prior_off_hz = tolerance * expected_hz / sqrt(3)};
}

// Whether a part of the described drive other than the platter, which turns at TURN_HZ, comes at RATE_HZ by one of its
// first HARMONICS.
static bool is_described(const DwSpeedSettings *settings, double turn_hz, double rate_hz, unsigned harmonics)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = settings->drive_given ? dw_drive_rates(&settings->drive, 60 * turn_hz, rates) : 0;
    for (size_t i = 0; i < count; i++) {
        if (rates[i].part <= DW_PART_RECORD || rates[i].part > DW_PART_IDLER || rates[i].what)
            continue;
        double off = hypot(rates[i].uncertainty_hz, dw_platter_tolerance(settings) / 2 * rates[i].rate_hz);
        for (unsigned h = 1; h <= harmonics; h++)
            if (fabs(rate_hz - h * rates[i].rate_hz) < NEAR * h * off)
                return true;
    }
    return false;
}

// How many lines of FIT the described drive accounts for, were its platter to turn at TURN_HZ.
static size_t count_described(const DwSpeedSettings *settings, double turn_hz, const DwLineFit *fit)
{
    size_t count = 0;
    for (size_t l = 0; l < fit->count; l++) {
        double rate = fit->line[l].rate_hz, times = fmax(1, round(rate / turn_hz));
        bool is_turn =
            times <= PART_HARMONICS && fabs(rate - times * turn_hz) < dw_platter_tolerance(settings) * times * turn_hz;
        count += is_turn || is_described(settings, turn_hz, rate, PART_HARMONICS);
    }
    return count;
}

// Whether LINE of FIT, which is not where the platter is expected (EXPECTED_HZ), is another part's by the description;
// not where that accounts for more lines once it is the platter's.
static bool is_anothers(const DwSpeedSettings *settings, double expected_hz, const DwLine *line, const DwLineFit *fit)
{
    return is_described(settings, expected_hz, line->rate_hz, 1) &&
           count_described(settings, line->rate_hz, fit) <= count_described(settings, expected_hz, fit);
}

// Whether LINE is where the tone leads to expect the platter's, or at least where it may be.
static bool is_expected(const DwLine *line, double expected_hz, double tolerance)
{
    return fabs(line->rate_hz - expected_hz) < 2 * tolerance * expected_hz;
}

void dw_platter_claim(const DwLineSamples *samples, const DwPlatterAsked *asked, DwLineFit *fit)
{
    double expected_hz = asked->turn_hz, tolerance = asked->tolerance;
    if (isnan(tolerance) || is_expected(&fit->line[0], expected_hz, tolerance))
        return;
    bool anothers = is_anothers(asked->settings, expected_hz, &fit->line[0], fit);
    DwLineFit before = *fit;
    DwLine other = dw_platter_line(fit->line[0].rate_hz, NAN, NAN);
    size_t there = 1;
    while (there < fit->count && !is_expected(&fit->line[there], expected_hz, tolerance))
        there++;
    bool is_new = there == fit->count;
    if (there == DW_LINE_FIT_LINES)
        return;
    fit->line[0] = dw_platter_line(is_new ? expected_hz : fit->line[there].rate_hz, expected_hz, tolerance);
    fit->line[there] = other;
    fit->count += is_new;
    bool fits = dw_line_fit_run(fit, samples, 40) && is_expected(&fit->line[0], expected_hz, tolerance);
    if (!fits || (is_new && !anothers && fit->variance > FOUND_BY * before.variance))
        *fit = before;
}

// Whether LINE is a multiple of another that is as strong: a harmonic of something else, and no platter.
static bool is_multiple(const DwLineFit *fit, const DwLine *line)
{
    for (size_t l = 0; l < fit->count; l++)
        for (unsigned k = 2; k <= MULTIPLES; k++)
            if (fabs(k * fit->line[l].rate_hz - line->rate_hz) * fit->span < FAMILY * k &&
                dw_line_amplitude(&fit->line[l], 0) >= dw_line_amplitude(line, 0))
                return true;
    return false;
}

// Whether the described drive accounts for what is heard as well at EXPECTED_HZ as were its platter to turn with LINE:
// then that is a stray line that happens to suit another tone.
static bool is_stray(const DwSpeedSettings *settings, double expected_hz, const DwLine *line, const DwLineFit *fit)
{
    size_t expected = settings->drive_given ? count_described(settings, expected_hz, fit) : 0;
    return expected > 0 && count_described(settings, line->rate_hz, fit) <= expected;
}

double dw_platter_elsewhere(const DwSpeedAnalysis *analysis, double engraved_hz, const DwSpeedSettings *settings)
{
    const DwLineFit *fit = &analysis->joint;
    double stated_hz = dw_speed_judge_turn_hz(analysis->mean_hz, engraved_hz, settings->speed_rpm);
    double strongest = LEAST_OTHER_PERCENT, rate = 0;
    for (size_t l = 1; l < fit->count; l++) {
        const DwLine *line = &fit->line[l];
        double amplitude = dw_line_amplitude(line, 0), variance = analysis->line_variance[l][0];
        double within = dw_platter_tolerance(settings) * line->rate_hz + 2 * dw_line_rate_off(line, variance);
        if (is_multiple(fit, line) || amplitude < strongest ||
            amplitude < 2 * dw_platter_shows * dw_line_amplitude_off(line, 0, variance) ||
            is_anothers(settings, stated_hz, line, fit) || is_stray(settings, stated_hz, line, fit))
            continue;
        bool there = false;
        for (size_t i = 0; i < DW_TONE_USUAL; i++) {
            double at = dw_speed_judge_turn_hz(analysis->mean_hz, dw_tone_usual_hz[i], settings->speed_rpm);
            there = there || fabs(line->rate_hz - at) < within;
        }
        for (size_t i = 0; i < DW_USUAL_SPEEDS; i++) {
            double at = dw_speed_judge_turn_hz(analysis->mean_hz, engraved_hz, dw_usual_speed[i].rpm);
            there = there || fabs(line->rate_hz - at) < within + dw_usual_speed[i].within * at;
        }
        if (there) {
            strongest = amplitude;
            rate = line->rate_hz;
        }
    }
    return rate;
}
