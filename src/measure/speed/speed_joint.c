// SPDX-License-Identifier: MIT
// Fits trend, platter and every other slow line of a speed deviation at once, each with
// its rate: the platter's own rate is free of what the record's tone says.
#include "measure/speed/slow_series.h"
#include "measure/speed/speed_belt.h"
#include "measure/speed/speed_filling.h"
#include "measure/speed/speed_neighbour.h"
#include "measure/speed/speed_platter.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { ROUNDS = 8, AT_ONCE = 3, AROUND = 40, BESIDE = 4, BEYOND_MOST = 4 };

static const double LOWEST_HZ = 0.1, FEW_SWINGS = 1.5;
static const double BEYOND_HZ = 19.5;       // to where the series still shows what its low-pass leaves of faster lines
static const double ABOVE_AROUND = 22;      // in power, over the median around
static const double LEAST_PERCENT = 0.0004; // peak
static const double CRUMB_PERCENT = 0.0001; // likewise: what looked like a line and is none once all are fitted
static const double FAMILY = 0.08;          // over the span: how near harmonics are to one rate
static const double HIDDEN = 0.2;           // over the span: nearer to the platter nothing parts
static const double BLENDED = 0.1;          // of what comes once a turn
static const double RESOLVED = 0.55;        // over the span: nearer lines are one
static const double SWOLLEN = 3;       // of the largest departure from the mean: more is two lines that undo each other
static const double MEAN_FLOOR = 5e-5; // %, of the mean and what it changes by: half a millionth
static const double NEIGHBOUR = 0.003; // over the span: what a line too near to be seen bends the platter's rate by
static const double LINE_FLOOR = 2e-5; // % peak
static const double SHOWS_PERCENT = 0.002, SHOWS_SHARE = 0.03; // peak; of the strongest slow line

double dw_speed_expected_turn_hz(const DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings)
{
    return settings->speed_rpm / 60 * analysis->mean_hz / run->engraved_hz;
}

// The platter's line, where the tone leads to expect it.
static void add_platter(const DwSlowSeries *series, double expected_hz, double tolerance, DwLineFit *fit)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    double reach = 1.6 * tolerance * expected_hz, start = expected_hz; // NAN: the rate is found already
    if (reach * fit->span > 0.3) {                                     // farther than the fit finds by itself
        double *left = dw_memory_new(series->count, sizeof *left);
        dw_line_fit_run(fit, &samples, 1);
        dw_line_fit_rest(fit, &samples, left);
        start = dw_slow_series_strongest(series, left, 1, expected_hz, reach);
        free(left);
    }
    fit->line[fit->count++] = dw_platter_line(start, expected_hz, tolerance);
    dw_line_fit_run(fit, &samples, 5);
}

static double median_around(const DwSlowRest *rest, size_t bin)
{
    float values[2 * AROUND];
    size_t count = 0;
    for (size_t k = bin > AROUND ? bin - AROUND : 2; k <= bin + AROUND && k < rest->bins; k++)
        if (k + 3 < bin || k > bin + 3)
            values[count++] = (float)rest->power[k];
    return count ? dw_statistics_quantile(values, count, 0.5) : 0;
}

static bool is_peak(const DwSlowRest *rest, size_t k)
{
    const double *p = rest->power + k;
    return p[0] >= p[-1] && p[0] >= p[1] && p[0] >= p[-2] && p[0] >= p[2] && p[0] >= LEAST_PERCENT * LEAST_PERCENT &&
           p[0] >= ABOVE_AROUND * median_around(rest, k);
}

// Whether BIN is clear of the COUNT bins of TAKEN.
static bool is_clear(const size_t *taken, size_t count, size_t bin)
{
    for (size_t i = 0; i < count; i++)
        if (bin + BESIDE > taken[i] && bin < taken[i] + BESIDE)
            return false;
    return true;
}

// Lines too fast for the fit to hold: fitted with the others, for what a window's edges make of them bends the
// platter's rate and phase, and then let go.
static bool is_beyond(const DwLine *line)
{
    return line->rate_hz > dw_slow_series_highest_hz;
}

static size_t count_beyond(const DwLineFit *fit)
{
    size_t count = 0;
    for (size_t l = 0; l < fit->count; l++)
        count += is_beyond(&fit->line[l]);
    return count;
}

static void let_beyond_go(DwLineFit *fit)
{
    size_t kept = 0;
    for (size_t l = 0; l < fit->count; l++)
        if (!is_beyond(&fit->line[l]) || l == 0) {
            DwLine line = fit->line[l];
            fit->line[kept++] = line;
        }
    fit->count = kept;
}

// The strongest peaks of REST up to HIGHEST_HZ, apart from each other, as bins. Returned: how many.
static size_t find_peaks(const DwSlowRest *rest, double highest_hz, size_t bins[AT_ONCE])
{
    size_t count = 0, low = (size_t)fmax(2, ceil(LOWEST_HZ / rest->step_hz));
    size_t high = (size_t)(highest_hz / rest->step_hz);
    for (; count < AT_ONCE; count++) {
        size_t best = 0;
        for (size_t k = low; k <= high && k + 2 < rest->bins; k++)
            if ((!best || rest->power[k] > rest->power[best]) && is_clear(bins, count, k) && is_peak(rest, k))
                best = k;
        if (!best)
            break;
        bins[count] = best;
    }
    return count;
}

// The largest departure of SAMPLES from their mean.
static double departs_most(const DwLineSamples *samples)
{
    double sum = 0, weights = 0, most = 0;
    for (size_t n = 0; n < samples->count; n++) {
        sum += samples->weight[n] * samples->value[n];
        weights += samples->weight[n];
    }
    for (size_t n = 0; n < samples->count; n++)
        if (samples->weight[n] > 0)
            most = fmax(most, fabs(samples->value[n] - sum / weights));
    return most;
}

// Whether the Lth line came to lie on one of those before it, out of the band, or to nothing.
static bool is_lost(const DwLineFit *fit, size_t l)
{
    double rate = fit->line[l].rate_hz;
    if (rate < LOWEST_HZ / 2 || rate > 1.02 * BEYOND_HZ || dw_line_amplitude(&fit->line[l], 0) < CRUMB_PERCENT)
        return true;
    for (size_t i = 0; i < l; i++)
        for (size_t k = 1; k <= fit->line[i].harmonics; k++)
            if (fabs((double)k * fit->line[i].rate_hz - rate) * fit->span < RESOLVED)
                return true;
    return false;
}

// Drops the lines that are lost, or swollen to more than MOST. Returned: whether any was.
static bool drop(DwLineFit *fit, bool lost, double most)
{
    size_t kept = 1, before = fit->count;
    for (size_t l = 1; l < before; l++)
        if (!(lost && is_lost(fit, l)) && dw_line_amplitude(&fit->line[l], 0) <= most) {
            DwLine line = fit->line[l];
            fit->line[kept++] = line;
        }
    fit->count = kept < before ? kept : before;
    return fit->count < before;
}

// Drops lines that came to lie on others, and fits again, until none does; then those that swell as they are fitted.
static void drop_lost(const DwLineSamples *samples, DwLineFit *fit)
{
    double most = SWOLLEN * departs_most(samples);
    bool dropped;
    do {
        dropped = drop(fit, true, most);
        dw_line_fit_run(fit, samples, 4);
    } while (dropped);
    while (drop(fit, false, most))
        dw_line_fit_run(fit, samples, 4);
}

// Adds what stands out of what is left. Returned: whether anything did.
static bool add_lines(const DwSlowSeries *series, DwLineFit *fit)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    DwSlowRest rest = dw_slow_rest_of(series, fit);
    double highest_hz = count_beyond(fit) < BEYOND_MOST ? BEYOND_HZ : dw_slow_series_highest_hz;
    size_t bins[AT_ONCE], found = find_peaks(&rest, highest_hz, bins), before = fit->count;
    for (size_t i = 0; i < found && fit->count < DW_LINE_FIT_LINES; i++) {
        double rate = dw_spectrum_peak_bin(rest.power, bins[i]) * rest.step_hz;
        size_t clock = dw_slow_series_clock(series, fit, &rate);
        fit->line[fit->count++] =
            (DwLine){.clock = clock, .harmonics = 1, .rate_hz = rate, .prior_hz = NAN, .prior_off_hz = NAN};
    }
    dw_slow_rest_clear(&rest);
    if (fit->count == before)
        return false;
    if (dw_line_fit_run(fit, &samples, 3)) {
        drop_lost(&samples, fit);
        return fit->count > before;
    }
    fit->count = before;
    return false;
}

// Whether what two lines are the HIGHth and LOWth harmonic of turns at one rate.
static bool are_family(const DwLineFit *fit, const DwLine *low, const DwLine *high, size_t a, size_t b)
{
    return low->harmonics == 1 && high->harmonics == 1 &&
           fabs(low->rate_hz / (double)a - high->rate_hz / (double)b) * fit->span < FAMILY;
}

static bool stands(const DwLineFit *fit, double rate_hz)
{
    for (size_t l = 1; l < fit->count; l++)
        if (fabs(fit->line[l].rate_hz - rate_hz) * fit->span < RESOLVED)
            return true;
    return false;
}

// Joins the second and third harmonic of a part that turns so nearly with the platter that its
// first one was not parted: all three at one rate tell it.
static bool join_family(DwLineFit *fit)
{
    for (size_t i = 1; i < fit->count; i++)
        for (size_t j = 1; j < fit->count; j++) {
            DwLine *low = &fit->line[i], *high = &fit->line[j];
            double rate = low->rate_hz / 2, apart = fabs(rate - fit->line[0].rate_hz) * fit->span;
            if (i == j || !are_family(fit, low, high, 2, 3) || apart < HIDDEN || apart > 1.5 || stands(fit, rate))
                continue;
            *low = (DwLine){.clock = 1, .harmonics = 3, .rate_hz = rate, .prior_hz = NAN, .prior_off_hz = NAN};
            *high = fit->line[--fit->count];
            return true;
        }
    return false;
}

// The last passes, with what belongs to one part as one.
static void settle(const DwLineSamples *samples, DwLineFit *fit)
{
    drop_lost(samples, fit);
    DwLineFit before = *fit;
    if (join_family(fit) && (!dw_line_fit_run(fit, samples, 8) || fit->variance > before.variance))
        *fit = before;
}

// Variance of a sample, were the noise everywhere as dense as about FREQUENCY_HZ.
static double variance_at(const DwSlowSeries *series, const DwSlowRest *rest, const DwLineFit *fit, double frequency_hz)
{
    return dw_slow_rest_density(rest, fit, frequency_hz) * series->rate_hz / 2;
}

// The platter's reading of its clock at the recording's start, trend and lines going on backwards.
static double clock_at_start(const DwSlowSeries *series, const DwLineFit *fit)
{
    static const double step_s = 0.02;
    double begun = series->clock[0][0], slope = 2 * fit->trend[1] / fit->span;
    double level = dw_line_fit_trend_at(fit, begun) - fit->trend[0], groove = series->clock[1][0];
    for (double second = begun; second > 0; second -= step_s) {
        double step = fmin(step_s, second), middle = second - step / 2;
        const double clock[2] = {middle, groove - step / 2};
        double percent = level + slope * (middle - begun) + dw_line_fit_lines_at(fit, clock);
        groove -= step * (1 + percent / 100);
    }
    return groove;
}

// The platter's lines as a fit over the recording's time, right in its middle.
static void fill_turn(const DwSlowSeries *series, const DwLineFit *fit, DwSpeedAnalysis *analysis)
{
    size_t middle = 0;
    while (middle + 1 < series->count && series->clock[1][middle] < fit->middle[1])
        middle++;
    const DwLine *platter = &fit->line[0];
    double ahead = series->clock[1][middle] - fit->middle[1], centre = series->clock[0][middle] - ahead;
    DwHarmonicFit *turn = &analysis->fit;
    *turn = (DwHarmonicFit){.centre = centre, .rate_hz = platter->rate_hz, .harmonics = platter->harmonics};
    turn->slope = 2 * fit->trend[1] / fit->span;
    for (size_t k = 0; k < platter->harmonics; k++) {
        double angle = 2 * M_PI * (double)(k + 1) * platter->rate_hz * centre, c = cos(angle), s = sin(angle);
        turn->cosine[k] = platter->cosine[k] * c - platter->sine[k] * s;
        turn->sine[k] = platter->cosine[k] * s + platter->sine[k] * c;
    }
}

// Whether the platter's line is there: clear of the noise, and no crumb of a stronger one.
static bool shows(const DwLineFit *fit, double variance)
{
    double amplitude = dw_line_amplitude(&fit->line[0], 0), strongest = 0;
    for (size_t l = 0; l < fit->count; l++)
        strongest = fmax(strongest, dw_line_amplitude(&fit->line[l], 0));
    double least = fmax(dw_platter_shows * dw_line_amplitude_off(&fit->line[0], 0, variance), SHOWS_SHARE * strongest);
    return amplitude > fmax(least, SHOWS_PERCENT);
}

// Half-widths over standard uncertainties: the density is itself a mean of some 16 squares.
static const double HALF_WIDTH = 2.1;
// Likewise of the mean, and of what comes once and twice a turn: evaluated on drawn decks.
static const double MEAN_HALF_WIDTH = 1.9, TURN_HALF_WIDTH[] = {1.9, 2.2};
// Likewise of the platter's rate, over what the density about it leads to expect: that counts flutter on either side of
// the line which moves its rate less than noise on it would. Evaluated on drawn decks.
static const double RATE_HALF_WIDTH = 1.8;

// Lets the second clock count by the fitted mean speed: the plain mean is bent by what is no
// whole number of turns.
static void set_clock(DwSlowSeries *series, DwLineFit *fit)
{
    double scale = (1 + series->plain_percent / 100) / (1 + fit->trend[0] / 100), start = series->clock[0][0];
    for (size_t n = 0; n < series->count; n++)
        series->clock[1][n] = start + (series->clock[1][n] - start) * scale;
    fit->middle[1] = start + (fit->middle[1] - start) * scale;
    for (size_t l = 0; l < fit->count; l++)
        if (fit->line[l].clock == 1)
            fit->line[l].rate_hz /= scale;
    series->plain_percent = fit->trend[0];
    DwLineSamples samples = dw_slow_series_samples(series);
    dw_line_fit_run(fit, &samples, 2);
    if (drop(fit, false, SWOLLEN * departs_most(&samples)))
        drop_lost(&samples, fit);
}

// Lines act on each other: a product of two is no line of the fit, and a platter lingers where it is slow. Half-width,
// %.
static double second_order(const DwLineFit *fit)
{
    double sum = 0;
    for (size_t l = 0; l < fit->count; l++)
        for (size_t k = 0; k < fit->line[l].harmonics; k++)
            sum += dw_line_amplitude(&fit->line[l], k);
    return sum * sum / 190 + LINE_FLOOR;
}

// How many times more a harmonic of LINE is moved by what is no noise than were it the only one: of two lines close to
// each other each moves by far more than what is wrong with their sum.
static double strain(const DwSlowSeries *series, const DwLine *line, size_t harmonic)
{
    return fmax(1, dw_line_amplitude_off(line, harmonic, (double)series->count / 2));
}

// The same of the platter's angle at START, which a line beside it turns by what it takes from its size.
static double turn_strain(const DwSlowSeries *series, const DwLineFit *fit, double start)
{
    const DwLine *platter = &fit->line[0];
    // Of a line by itself, whose angle at an end has four times the variance of that in the middle.
    double alone = 2;
    double turned = dw_line_phase_off(fit, platter, start, (double)series->count / 2) * dw_line_amplitude(platter, 0);
    return fmax(strain(series, platter, 0), turned / alone);
}

// Of two that are not told apart either may be all or nothing of what is seen; mean, drift and what comes twice a turn
// are as sure as the fit of both, OTHER, agrees with the fit of one.
static void doubt_hidden(const DwLineFit *other, double centre_hz, DwSpeedAnalysis *analysis)
{
    const DwLineFit *fit = &analysis->joint;
    const DwLine *both = &other->line[0];
    double second = dw_line_amplitude(both, 1) - dw_line_amplitude(&fit->line[0], 1);
    analysis->hidden_hz = fabs(other->line[other->count - 1].rate_hz - both->rate_hz);
    for (size_t i = 0; i < 3; i++) {
        const DwLine *line = i == 0 ? &fit->line[0] : i == 1 ? both : &other->line[other->count - 1];
        analysis->turn_off[0] = fmax(analysis->turn_off[0], dw_line_amplitude(line, 0));
    }
    analysis->turn_off[1] = hypot(analysis->turn_off[1], second);
    analysis->turn_phase_off = M_PI;
    analysis->mean_off_hz = hypot(analysis->mean_off_hz, (other->trend[0] - fit->trend[0]) / 100 * centre_hz);
    analysis->drift_off = hypot(analysis->drift_off, (other->trend[1] - fit->trend[1]) * 2 / fit->span * 60);
}

// In a take as short as a few swings of the slowest lines one of them may pass for mean, slope and bend together.
static double bend_of(const DwLineFit *fit)
{
    return fit->span * LOWEST_HZ < FEW_SWINGS ? hypot(fit->trend[2], fit->trend[3]) : 0;
}

// Hands the power of REST over, in % of the mean.
static void keep_rest(DwSlowRest *rest, double percent, DwSpeedAnalysis *analysis)
{
    free(analysis->rest_power);
    analysis->rest_power = rest->power;
    analysis->rest_bins = rest->bins;
    analysis->rest_step_hz = rest->step_hz;
    for (size_t k = 0; k < rest->bins; k++)
        analysis->rest_power[k] *= percent * percent;
}

static void fill(const DwSlowSeries *series, double centre_hz, DwSpeedAnalysis *analysis)
{
    DwLineFit *fit = &analysis->joint;
    DwSlowRest rest = dw_slow_rest_of(series, fit);
    let_beyond_go(fit);
    double whole = 1 + fit->trend[0] / 100, percent = 1 / whole;
    double slow = variance_at(series, &rest, fit, 5 * rest.step_hz);
    analysis->mean_hz = centre_hz * whole;
    double second = second_order(fit);
    double bend = bend_of(fit);
    analysis->mean_off_hz =
        hypot(MEAN_HALF_WIDTH * sqrt(slow * fit->trend_unit[0]), MEAN_FLOOR + second + bend) / 100 * centre_hz;
    analysis->drift = 2 * fit->trend[1] / fit->span * 60 * percent;
    double slope_off = hypot(HALF_WIDTH * sqrt(slow * fit->trend_unit[1]), MEAN_FLOOR + second + bend);
    analysis->drift_off = slope_off * 2 / fit->span * 60 * percent;
    for (size_t l = 0; l < fit->count; l++)
        for (size_t k = 0; k < fit->line[l].harmonics; k++) {
            fit->line[l].cosine[k] *= percent;
            fit->line[l].sine[k] *= percent;
            analysis->line_variance[l][k] =
                percent * percent * variance_at(series, &rest, fit, (double)(k + 1) * fit->line[l].rate_hz);
        }
    for (size_t k = 0; k < DW_LINE_FIT_TREND; k++)
        fit->trend[k] *= percent;
    const DwLine *platter = &fit->line[0];
    const double *variance = analysis->line_variance[0];
    double start = clock_at_start(series, fit);
    for (size_t k = 0; k < 2; k++)
        analysis->turn_off[k] = hypot(TURN_HALF_WIDTH[k] * dw_line_amplitude_off(platter, k, variance[k]),
                                      second * strain(series, platter, k));
    analysis->turn_hz = platter->rate_hz;
    double amplitude = dw_line_amplitude(platter, 0);
    double stray = fmin(M_PI, second * turn_strain(series, fit, start) / fmax(amplitude, second)); // radians
    double unseen = NEIGHBOUR / fit->span + stray / M_PI / fit->span;
    analysis->turn_off_hz = hypot(RATE_HALF_WIDTH * dw_line_rate_off(platter, variance[0]), unseen);
    analysis->turn_shows = shows(fit, variance[0]);
    // The lines keep step with the groove that passed. Of what a record off its centre makes of the speed the groove
    // runs ahead of the platter; of what the platter does itself it does not: which it is nobody knows.
    double phase = dw_line_phase(fit, platter, start), ahead = 0.5 * amplitude / 100 * sin(phase);
    double known = hypot(HALF_WIDTH * dw_line_phase_off(fit, platter, start, variance[0]), stray);
    analysis->turn_phase = phase - ahead;
    analysis->turn_phase_off = hypot(known, ahead);
    analysis->slow_start[0] = analysis->start_s;
    analysis->slow_start[1] = series->clock[1][0] - (series->clock[0][0] - analysis->start_s);
    fill_turn(series, fit, analysis);
    keep_rest(&rest, percent, analysis);
}

// A belt that no line shows may turn nearly as often as the platter. WHOLE: the fit, lines too fast for it and all.
static void doubt_belt(const DwSlowSeries *series, const DwLineFit *whole, const DwSpeedSettings *settings,
                       DwSpeedAnalysis *analysis)
{
    double start = clock_at_start(series, whole);
    DwBeltDoubt doubt = dw_speed_belt_doubt(series, whole, analysis->line_variance[0][0], start, settings);
    for (size_t k = 0; k < 2; k++)
        analysis->turn_off[k] = hypot(analysis->turn_off[k], doubt.amplitude[k]);
    analysis->turn_phase_off = fmin(M_PI, hypot(analysis->turn_phase_off, doubt.phase));
    analysis->turn_off_hz = hypot(analysis->turn_off_hz, doubt.rate_hz);
    analysis->belt_hides = doubt.amplitude[0] > BLENDED * dw_line_amplitude(&whole->line[0], 0);
}

static void fit_all(DwSlowSeries *series, double centre_hz, DwPlatterAsked asked, DwSpeedAnalysis *analysis)
{
    DwLineSamples samples = dw_slow_series_samples(series);
    DwLineFit *fit = &analysis->joint;
    dw_line_fit_init(fit, &samples);
    add_platter(series, asked.turn_hz, asked.tolerance, fit);
    for (int round = 0; round < ROUNDS && add_lines(series, fit); round++)
        ;
    settle(&samples, fit);
    dw_platter_claim(&samples, &asked, fit);
    dw_slow_series_choose_clocks(series, fit);
    dw_neighbour_anew(series, fit);
    DwLineFit other;
    double left = 0;
    DwNeighbour neighbour = dw_neighbour_part(series, fit, &other, &left);
    set_clock(series, fit);
    DwLineFit whole = *fit;
    fill(series, centre_hz, analysis);
    analysis->hidden_hz = NAN;
    analysis->belt_hides = false;
    if (fit->span < dw_speed_good_length_s)
        doubt_belt(series, &whole, asked.settings, analysis);
    if (neighbour == DW_NEIGHBOUR_HIDDEN)
        doubt_hidden(&other, centre_hz, analysis);
    if (neighbour == DW_NEIGHBOUR_OTHERWISE)
        for (size_t k = 0; k < 2; k++)
            analysis->turn_off[k] = hypot(analysis->turn_off[k], left);
}

bool dw_speed_joint(DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings)
{
    DwSlowSeries series = dw_slow_series_of(analysis, run->centre_hz);
    bool enough = (double)series.count > 2 * series.rate_hz;
    if (enough) {
        double sum = 0;
        for (size_t n = 0; n < series.count; n++)
            sum += series.value[n] / (double)series.count;
        analysis->mean_hz = run->centre_hz * (1 + sum / 100);
        double turn_hz = dw_speed_expected_turn_hz(analysis, run, settings);
        fit_all(&series, run->centre_hz, (DwPlatterAsked){turn_hz, dw_platter_tolerance(settings), settings}, analysis);
        double other = analysis->turn_shows ? 0 : dw_platter_elsewhere(analysis, run->engraved_hz, settings);
        if (other > 0)
            fit_all(&series, run->centre_hz, (DwPlatterAsked){other, NAN, settings}, analysis);
    }
    dw_slow_series_clear(&series);
    return enough;
}
