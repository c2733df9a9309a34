// SPDX-License-Identifier: MIT
#include "measure/music/twin_lines.h"

#include "base/memory.h"
#include "dsp/cross_spectrum.h"
#include "dsp/statistics.h"

#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const double RANGE = 0.03, FINE = 0.25;
static const double LOWEST = 0.3, HIGHEST_HZ = 3; // of other lines: times a turn, and Hz
static const double STANDS_OUT = 15;              // power of a line over the median around it
static const double AROUND = 0.4;                 // of its rate, either way
static const double RENEWED = 1.03;               // of the rate, until the median is taken anew
static const double LINES_BESIDE = 4;             // told apart in this length, either way at least
static const double BEND_MOST = 1e-3 / 60;        // a tenth of a per cent a minute
static const double SURE_S = 300;                 // so long a recording tells the turn's rate at once
static const double CLEAR = 8;                    // once a turn over what stands beside it
static const double FOUND = 3.5;                  // amplitude over its standard deviation
static const double GRID_S = 0.1;
// Fitted on drawn pairs: % peak, 95 %, what cannot be told from a turn's own line at all; of an amplitude, what the
// windows' loss is not known better than; how much farther a line strays than the rates beside it tell.
static const double TURN_LEAST = 2e-4, METHOD = 0.003, STRAYS = 1.2;
// Cycles over the whole by which two lines must differ: to be two; to be told apart.
static const double APART = 0.75, TOLD_APART = 2;
enum { RATES_BESIDE = 24, SEGMENTS = 16 };

static double sinc(double x)
{
    return fabs(x) < 1e-9 ? 1 : sin(M_PI * x) / (M_PI * x);
}

// How much of a cosine's bend a parabola through the points around its top finds.
static double bend_found(double rate_hz)
{
    double t[5] = {0}, y[3] = {0};
    for (int k = -(int)(DW_TWIN_AROUND_S / DW_TWIN_STEP_S); k <= (int)(DW_TWIN_AROUND_S / DW_TWIN_STEP_S); k++) {
        double at = k * DW_TWIN_STEP_S, x = at / DW_TWIN_AROUND_S, w = 1 - x * x, wave = cos(2 * M_PI * rate_hz * at);
        t[0] += w;
        t[2] += w * at * at;
        t[4] += w * at * at * at * at;
        y[0] += w * wave;
        y[2] += w * at * at * wave;
    }
    double bend = (t[0] * y[2] - t[2] * y[0]) / (t[0] * t[4] - t[2] * t[2]);
    return bend / (-2 * M_PI * M_PI * rate_hz * rate_hz);
}

// What is left of a line at RATE_HZ: both recordings' Hann windows, so that a moment counts by their product, average
// away what the parabola along which they are laid, twice refined, does not follow.
static double window_gain(double rate_hz, double window_s)
{
    double x = rate_hz * window_s, followed = bend_found(rate_hz);
    double even = sinc(x) + 2.0 / 3 * (sinc(x - 1) + sinc(x + 1)) + (sinc(x - 2) + sinc(x + 2)) / 6, gain = even;
    for (int pass = 0; pass < 2; pass++)
        gain = 1 - (1 - followed * gain) * (1 - even);
    return fmax(gain, 0.1);
}

static double length_of(const DwTwinPieces *work)
{
    return work->t[work->count - 1] - work->t[0];
}

// What passed on the platter's own clock at point I since the first: over a side its rate itself drifts by some turns.
static double turned_s(const DwTwinPieces *work, size_t i)
{
    double first_s = work->t[0] - work->middle_s, at_s = work->t[i] - work->middle_s;
    return at_s - first_s + work->bend / 2 * (at_s * at_s - first_s * first_s);
}

// The line at RATE_HZ in work->rest, as seconds (real: cosine, imaginary: sine, from the first point's time).
static double complex line_at(DwTwinPieces *work, double rate_hz)
{
    double aa = 0, ab = 0, bb = 0, ay = 0, by = 0;
    for (size_t i = 0; i < work->count; i++) {
        double angle = 2 * M_PI * rate_hz * turned_s(work, i);
        work->a[i] = cos(angle);
        work->b[i] = sin(angle);
    }
    dw_twin_pieces_take_out(work, work->a);
    dw_twin_pieces_take_out(work, work->b);
    for (size_t i = 0; i < work->count; i++) {
        double w = work->w[i];
        aa += w * work->a[i] * work->a[i];
        ab += w * work->a[i] * work->b[i];
        bb += w * work->b[i] * work->b[i];
        ay += w * work->a[i] * work->rest[i];
        by += w * work->b[i] * work->rest[i];
    }
    double determinant = aa * bb - ab * ab;
    if (determinant <= 1e-9 * aa * bb)
        return 0;
    return (bb * ay - ab * by) / determinant + I * (aa * by - ab * ay) / determinant;
}

static void take_out_line(DwTwinPieces *work, double rate_hz, double complex line)
{
    for (size_t i = 0; i < work->count; i++) {
        double angle = 2 * M_PI * rate_hz * turned_s(work, i);
        work->rest[i] -= creal(line) * cos(angle) + cimag(line) * sin(angle);
    }
    dw_twin_pieces_take_out(work, work->rest);
}

// A displacement of the course in seconds as speed in percent, the window's loss made good.
static double percent_of(const DwTwinPieces *work, double rate_hz)
{
    return 100 * 2 * M_PI * rate_hz / window_gain(rate_hz, work->window_s);
}

static double strongest(DwTwinPieces *work, double low_hz, double high_hz, double best, double *rate_hz)
{
    double length_s = length_of(work), step = FINE / length_s;
    for (double hz = low_hz; hz <= high_hz; hz += step) {
        double amplitude = cabs(line_at(work, hz));
        if (amplitude > best) {
            best = amplitude;
            *rate_hz = hz;
        }
    }
    return best;
}

static void sharpen(DwTwinPieces *work, double *rate_hz)
{
    double length_s = length_of(work), step = FINE / length_s;
    double best = cabs(line_at(work, *rate_hz));
    for (int halving = 0; halving < 5; halving++) {
        step /= 2;
        double down = cabs(line_at(work, *rate_hz - step)), up = cabs(line_at(work, *rate_hz + step));
        if (fmax(down, up) <= best)
            continue;
        best = fmax(down, up);
        *rate_hz += up > down ? step : -step;
    }
}

// Standard deviation of a line's amplitude at RATE_HZ [s], by what stands at rates beside it.
static double restlessness(DwTwinPieces *work, double rate_hz)
{
    double length_s = length_of(work), sum = 0;
    size_t counted = 0;
    for (size_t k = 0; k < RATES_BESIDE; k++) {
        double hz = rate_hz * (0.65 + 0.75 * ((double)k + 0.5) / RATES_BESIDE);
        if (fabs(hz - rate_hz) * length_s < 1.5)
            continue;
        // As speed, for a course that wanders.
        sum += pow(cabs(line_at(work, hz)) * hz / rate_hz, 2);
        counted++;
    }
    return counted ? sqrt(sum / (2 * (double)counted)) : 0;
}

// The median of the powers around bin K, LEAST or more either way: a line is too few of them to lift it. ROOM: for as
// many as POWER.
static double middle_around(const double *power, size_t k, double least, double *room)
{
    size_t count = 0, reach = (size_t)fmax(least, AROUND * (double)k);
    for (size_t n = k > reach ? k - reach : 0; n <= k + reach; n++)
        room[count++] = power[n];
    return dw_statistics_middle(room, count);
}

static bool is_known(const DwTwinFit *fit, double rate_hz, double apart_hz)
{
    for (size_t l = 0; l < fit->lines; l++)
        if (fabs(fit->line[l].rate_hz - rate_hz) < apart_hz)
            return true;
    return false;
}

// The rate outside the turn's two lines at which the rest stands out most; 0 without one.
static double find_other(DwTwinPieces *work, const DwTwinFit *fit)
{
    double length_s = length_of(work);
    size_t size = 1024, count = (size_t)(length_s / GRID_S) + 1;
    while (size < 2 * count)
        size *= 2;
    DwCross *cross = dw_cross_new(size);
    double *grid = dw_memory_new(size, sizeof *grid), *power = dw_memory_new(size / 2 + 1, sizeof *power);
    double *room = dw_memory_new(size / 2 + 1, sizeof *room);
    double(*bins)[2] = dw_memory_new(size / 2 + 1, sizeof *bins);
    for (size_t i = 0; i < work->count; i++)
        grid[(size_t)lround((work->t[i] - work->t[0]) / GRID_S)] = work->rest[i] * work->w[i];
    dw_cross_transform(cross, grid, size, bins);
    double bin_hz = 1 / (GRID_S * (double)size), best = STANDS_OUT, found = 0;
    size_t low = (size_t)(LOWEST * fit->line[0].rate_hz / bin_hz), high = (size_t)(HIGHEST_HZ / bin_hz);
    for (size_t k = 0; k <= size / 2; k++)
        power[k] = (bins[k][0] * bins[k][0] + bins[k][1] * bins[k][1]) * (double)k * (double)k;
    double around = 0, holds_to = 0; // which changes little from bin to bin
    for (size_t k = low + 1; k < high; k++) {
        bool is_top = power[k] > power[k - 1] && power[k] >= power[k + 1];
        if ((double)k > holds_to) {
            around = middle_around(power, k, LINES_BESIDE / (length_s * bin_hz), room);
            holds_to = RENEWED * (double)k;
        }
        if (is_top && power[k] > best * around && !is_known(fit, (double)k * bin_hz, APART / length_s)) {
            best = power[k] / around;
            found = (double)k * bin_hz;
        }
    }
    free(grid);
    free(room);
    free(power);
    free(bins);
    dw_cross_free(cross);
    return found;
}

static void add_line(DwTwinPieces *work, DwTwinFit *fit, double rate_hz)
{
    fit->line[fit->lines++] = (DwTwinLine){.rate_hz = rate_hz};
    take_out_line(work, rate_hz, line_at(work, rate_hz));
}

// What lines beside the Lth, that the recording is hardly long enough to tell from it, may add to its amplitude or take
// from it: what a sine of another rate leaves of itself over so many turns.
static double crowding(const DwTwinFit *fit, size_t l, double length_s)
{
    double squares = 0;
    for (size_t k = 0; k < fit->lines; k++) {
        double cycles = fabs(fit->line[k].rate_hz - fit->line[l].rate_hz) * length_s;
        if (k != l && cycles < TOLD_APART)
            squares += pow(fit->line[k].amplitude / (M_PI * fmax(cycles, APART)), 2);
    }
    return sqrt(squares);
}

void dw_twin_lines_refit(DwTwinPieces *work, double ratio, DwTwinFit *fit)
{
    double complex line[DW_TWIN_LINES_MOST] = {0};
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    dw_twin_pieces_take_out(work, work->rest);
    for (int round = 0; round < 5; round++)
        for (size_t l = 0; l < fit->lines; l++) {
            double rate_hz = fit->line[l].rate_hz;
            take_out_line(work, rate_hz, -line[l]);
            line[l] = line_at(work, rate_hz);
            take_out_line(work, rate_hz, line[l]);
        }
    for (size_t l = 0; l < fit->lines; l++) {
        // The course runs ahead where the speed is high: its derivative.
        double complex speed = line[l] * percent_of(work, fit->line[l].rate_hz) / I / ratio;
        fit->line[l].vector = (DwVector){creal(speed), cimag(speed)};
        fit->line[l].amplitude = cabs(speed);
        fit->line[l].off =
            hypot(METHOD * fit->line[l].amplitude,
                  1.96 * STRAYS * restlessness(work, fit->line[l].rate_hz) * percent_of(work, fit->line[l].rate_hz));
    }
    for (size_t l = 0; l < 2; l++)
        fit->line[l].off = hypot(hypot(fit->line[l].off, TURN_LEAST), crowding(fit, l, length_of(work)));
    fit->once_found = fit->line[0].amplitude > FOUND * fit->line[0].off / 1.96;
}

// The strongest line near TURN_HZ, by either recording's time. Returned: how many times what stands beside it;
// *RATE_HZ: where it lies.
static double look_near(DwTwinPieces *work, double ratio, double turn_hz, double *rate_hz)
{
    double low = fmin(1, ratio) * (1 - RANGE), high = fmax(1, ratio) * (1 + RANGE), best = 0;
    // Either the first or the second turns near the nominal speed.
    if (fmax(1, ratio) / fmin(1, ratio) > (1 + RANGE) / (1 - RANGE)) {
        best = strongest(work, turn_hz * low, turn_hz * fmin(1, ratio) * (1 + RANGE), best, rate_hz);
        low = fmax(1, ratio) * (1 - RANGE);
    }
    best = strongest(work, turn_hz * low, turn_hz * high, best, rate_hz);
    return best / fmax(restlessness(work, *rate_hz), 1e-12);
}

// Into PHASE how far the line at RATE_HZ is ahead in each of the SEGMENTS of the recording, gone on from one to the
// next.
static void read_phases(DwTwinPieces *work, double rate_hz, double *phase)
{
    double length_s = length_of(work), whole = 0;
    double complex sum[SEGMENTS] = {0};
    for (size_t i = 0; i < work->count; i++) {
        size_t k = (size_t)((work->t[i] - work->t[0]) / length_s * SEGMENTS);
        sum[k < SEGMENTS ? k : SEGMENTS - 1] +=
            work->w[i] * work->rest[i] * cexp(-2 * M_PI * I * rate_hz * turned_s(work, i));
    }
    for (size_t k = 0; k < SEGMENTS; k++) {
        double complex step = k ? sum[k] * conj(sum[k - 1]) : sum[k];
        whole += cabs(step) > 0 ? carg(step) : 0;
        phase[k] = whole;
    }
}

// Brings the rate of a line, and how that drifts, to where its phase stays: by the parabola through the phases of all
// segments. Returned: whether the line is stronger for it.
static bool hold_phase(DwTwinPieces *work, double *line_hz)
{
    double phase[SEGMENTS], segment_s = length_of(work) / SEGMENTS;
    double along[2] = {0}, squares[2] = {0}, mean = segment_s * segment_s * (SEGMENTS * SEGMENTS - 1) / 12;
    read_phases(work, *line_hz, phase);
    for (size_t k = 0; k < SEGMENTS; k++) {
        double at_s = ((double)k - (SEGMENTS - 1) / 2.0) * segment_s, bent = at_s * at_s - mean;
        along[0] += phase[k] * at_s;
        along[1] += phase[k] * bent;
        squares[0] += at_s * at_s;
        squares[1] += bent * bent;
    }
    double before = cabs(line_at(work, *line_hz)), bend = work->bend;
    double hz = *line_hz + along[0] / squares[0] / (2 * M_PI);
    work->bend = fmin(fmax(bend + along[1] / squares[1] / (M_PI * *line_hz), -BEND_MOST), BEND_MOST);
    if (cabs(line_at(work, hz)) <= before) {
        work->bend = bend;
        return false;
    }
    *line_hz = hz;
    return true;
}

// How the turn's rate drifts, and with that the rate itself, by what comes once or, where that is not clear, twice.
static double follow_turn(DwTwinPieces *work, double rate_hz)
{
    int times = cabs(line_at(work, rate_hz)) > CLEAR * restlessness(work, rate_hz) ? 1 : 2;
    double line_hz = times * rate_hz;
    work->middle_s = (work->t[0] + work->t[work->count - 1]) / 2;
    for (int round = 0; round < 5 && hold_phase(work, &line_hz); round++)
        ;
    return line_hz / times;
}

// How often a second the first turns: by what comes once a turn, or where that is not clear, by what comes twice.
static double find_turn(DwTwinPieces *work, double ratio, double turn_hz)
{
    double once_hz = turn_hz, twice_hz = 2 * turn_hz, once = look_near(work, ratio, turn_hz, &once_hz);
    if (once > CLEAR || look_near(work, ratio, 2 * turn_hz, &twice_hz) < once) {
        sharpen(work, &once_hz);
        return once_hz;
    }
    sharpen(work, &twice_hz);
    return twice_hz / 2;
}

void dw_twin_lines_find(DwTwinPieces *work, double ratio, double turn_hz, DwTwinFit *fit)
{
    bool is_long = length_of(work) > SURE_S;
    double known_hz = is_long && fit->lines ? fit->line[0].rate_hz : 0;
    fit->lines = 0;
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    dw_twin_pieces_take_out(work, work->rest);
    double rate_hz = known_hz > 0 ? known_hz : find_turn(work, ratio, turn_hz);
    if (is_long)
        rate_hz = follow_turn(work, rate_hz);
    add_line(work, fit, rate_hz);
    add_line(work, fit, 2 * rate_hz);
    while (fit->lines < DW_TWIN_LINES_MOST) {
        double other_hz = find_other(work, fit);
        if (other_hz <= 0)
            break;
        sharpen(work, &other_hz);
        add_line(work, fit, other_hz);
    }
    dw_twin_lines_refit(work, ratio, fit);
}

void dw_twin_lines_straighten(DwTwinPieces *work, double ratio, const DwTwinFit *fit)
{
    for (size_t l = 0; l < fit->lines; l++) {
        const DwTwinLine *line = &fit->line[l];
        double complex at =
            (line->vector.real + I * line->vector.imaginary) * I * ratio / percent_of(work, line->rate_hz);
        for (size_t i = 0; i < work->count; i++) {
            double angle = 2 * M_PI * line->rate_hz * turned_s(work, i);
            work->y[i] -= creal(at) * cos(angle) + cimag(at) * sin(angle);
        }
    }
}
