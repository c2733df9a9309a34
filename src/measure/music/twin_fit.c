// SPDX-License-Identifier: MIT
#include "measure/music/twin_fit.h"

#include "base/memory.h"
#include "dsp/cross_spectrum.h"
#include "dsp/statistics.h"
#include "measure/music/twin_pieces.h"

#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const double KNOT_TURNS = 3, DRIFT_TURNS = 1, RANGE = 0.03, FINE = 0.25;
static const double LOWEST = 0.3, HIGHEST_HZ = 3; // of other lines: times a turn, and Hz
static const double STANDS_OUT = 15;              // power of a line over the median around it
static const double AROUND = 0.4;                 // of its rate, either way
static const double LINES_BESIDE = 4;             // told apart in this length, either way at least
static const double STIFF = 4;                    // times as long
static const double STRAY = 8;                    // times the median of what the lines leave
static const double IN_STEP_S = 5e-4;             // of lines and pieces, where one groove is played twice
static const double CLEAR = 8;                    // once a turn over what stands beside it
static const double FOUND = 3.5;                  // amplitude over its standard deviation
static const double GRID_S = 0.1;
static const double SPEED_LEAST = 2e-4; // %, two ppm: where exactly either ends
// Fitted on drawn pairs: % peak, 95 %, what cannot be told from a turn's own line at all; of an amplitude, what the
// windows' loss is not known better than; how much farther a line strays than the rates beside it tell.
static const double TURN_LEAST = 2e-4, METHOD = 0.003, STRAYS = 1.2;
// Cycles over the whole by which two lines must differ: to be two; to be told apart.
static const double APART = 0.75, TOLD_APART = 2;
// How much farther knots stray than by points on their own, neighbours reading the same music; as often again with each
// jump, over which windows hear both sides. By 68 drawn pairs, of which 67 hold.
static const double KNOTS_STRAY = 1.5;
static const double UNHEARD_S = 0.5; // at either end: what a window needs around it
static const double SUPPORTED = 0.1; // of a whole piece's points: a knot that is known
enum { RATES_BESIDE = 24 };

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

// --- lines -------------------------------------------------------------------------

// The line at RATE_HZ in work->rest, as seconds (real: cosine, imaginary: sine, from the first point's time).
static double complex line_at(DwTwinPieces *work, double rate_hz)
{
    double aa = 0, ab = 0, bb = 0, ay = 0, by = 0;
    for (size_t i = 0; i < work->count; i++) {
        double angle = 2 * M_PI * rate_hz * (work->t[i] - work->t[0]);
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
        double angle = 2 * M_PI * rate_hz * (work->t[i] - work->t[0]);
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
    double length_s = work->t[work->count - 1] - work->t[0], step = FINE / length_s;
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
    double length_s = work->t[work->count - 1] - work->t[0], step = FINE / length_s;
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
    double length_s = work->t[work->count - 1] - work->t[0], sum = 0;
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
    double length_s = work->t[work->count - 1] - work->t[0];
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
    for (size_t k = low + 1; k < high; k++) {
        bool is_top = power[k] > power[k - 1] && power[k] >= power[k + 1];
        double around = is_top ? middle_around(power, k, LINES_BESIDE / (length_s * bin_hz), room) : 0;
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

// Fits all lines found so far anew, each with the others taken out, a few times over.
static void refit(DwTwinPieces *work, double ratio, DwTwinFit *fit)
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

static void find_lines(DwTwinPieces *work, double ratio, double turn_hz, DwTwinFit *fit)
{
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    dw_twin_pieces_take_out(work, work->rest);
    double rate_hz = find_turn(work, ratio, turn_hz);
    add_line(work, fit, rate_hz);
    add_line(work, fit, 2 * rate_hz);
    while (fit->lines < DW_TWIN_LINES_MOST) {
        double other_hz = find_other(work, fit);
        if (other_hz <= 0)
            break;
        sharpen(work, &other_hz);
        add_line(work, fit, other_hz);
    }
    refit(work, ratio, fit);
}

// Drops the points that stray far from all lines and pieces, and lays the pieces anew.
static void leave_out_strays(DwTwinPieces *work, double knot_s)
{
    for (size_t i = 0; i < work->count; i++)
        work->a[i] = fabs(work->rest[i]);
    double most = STRAY * dw_statistics_middle(work->a, work->count);
    size_t kept = 0;
    for (size_t i = 0; i < work->count; i++) {
        if (fabs(work->rest[i]) > most)
            continue;
        work->t[kept] = work->t[i];
        work->y[kept] = work->y[i];
        work->w[kept] = work->w[i];
        work->piece[kept++] = work->piece[i];
    }
    work->count = kept;
    dw_twin_pieces_lay(work, knot_s);
}

// Of COUNT points, those that were left out among them.
static double share_in_step(const DwTwinPieces *work, size_t count)
{
    size_t in_step = 0;
    for (size_t i = 0; i < work->count; i++)
        in_step += fabs(work->rest[i]) < IN_STEP_S;
    return (double)in_step / (double)count;
}

// --- speed and drift -----------------------------------------------------------------

// Takes the lines out of the course itself, which keeps its straight pieces.
static void straighten(DwTwinPieces *work, double ratio, const DwTwinFit *fit)
{
    for (size_t l = 0; l < fit->lines; l++) {
        const DwTwinLine *line = &fit->line[l];
        double complex at =
            (line->vector.real + I * line->vector.imaginary) * I * ratio / percent_of(work, line->rate_hz);
        for (size_t i = 0; i < work->count; i++) {
            double angle = 2 * M_PI * line->rate_hz * (work->t[i] - work->t[0]);
            work->y[i] -= creal(at) * cos(angle) + cimag(at) * sin(angle);
        }
    }
}

static double rms_of_rest(const DwTwinPieces *work)
{
    double squares = 0, weights = 1e-12;
    for (size_t i = 0; i < work->count; i++) {
        squares += work->w[i] * work->rest[i] * work->rest[i];
        weights += work->w[i];
    }
    return sqrt(squares / weights);
}

// A stretch between two knots that points hold, with none such between them.
typedef struct {
    size_t from, to;
    double length_s, middle_s;
} Held;

// By how many points each knot is held, as a share of those at the end of a whole piece.
static void find_support(const DwTwinPieces *work, double *support)
{
    double weights = 0, whole = (double)work->count / (double)work->knots / 3;
    for (size_t i = 0; i < work->count; i++)
        weights += work->w[i] / (double)work->count;
    for (size_t i = 0; i < work->count; i++) {
        double u = work->place[i], share = work->w[i] / weights / whole;
        support[work->knot[i]] += share * (1 - u) * (1 - u);
        support[work->knot[i] + 1] += share * u * u;
    }
}

static size_t find_held(const DwTwinPieces *work, const double *support, Held *held)
{
    size_t count = 0, before = SIZE_MAX, piece_begins = work->knot[0];
    for (size_t i = 0; i < work->count; i++) {
        bool ends = i + 1 == work->count || work->piece[i + 1] != work->piece[i];
        for (size_t k = before == SIZE_MAX ? piece_begins : before + 1; ends && k <= work->knot[i] + 1; k++) {
            if (support[k] < SUPPORTED)
                continue;
            double from_s = before == SIZE_MAX ? 0 : work->knot_t[before], to_s = work->knot_t[k];
            if (before != SIZE_MAX)
                held[count++] = (Held){before, k, to_s - from_s, (from_s + to_s) / 2};
            before = k;
        }
        if (ends && i + 1 < work->count) {
            piece_begins = work->knot[i + 1];
            before = SIZE_MAX;
        }
    }
    return count;
}

// What a figure is taken from: stretches that are held, and by how much each knot counts.
typedef struct {
    double *support, *share, rest_s;
    Held *held;
    size_t count;
    double length_s;
} Knots;

static Knots read_knots(DwTwinPieces *work)
{
    Knots knots = {.length_s = 1e-3};
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    dw_twin_pieces_take_out(work, work->rest);
    knots.rest_s = rms_of_rest(work);
    knots.support = dw_memory_new(work->knots + 1, sizeof *knots.support);
    knots.share = dw_memory_new(work->knots + 1, sizeof *knots.share);
    knots.held = dw_memory_new(work->knots + 1, sizeof *knots.held);
    find_support(work, knots.support);
    dw_twin_pieces_fit(work, work->y);
    knots.count = find_held(work, knots.support, knots.held);
    for (size_t i = 0; i < knots.count; i++)
        knots.length_s += knots.held[i].length_s;
    return knots;
}

// Returned: what the stretches gain, each by its LEVER.
static double gain_of(const DwTwinPieces *work, Knots *knots, const double *lever)
{
    double gain = 0;
    for (size_t i = 0; i < knots->count; i++) {
        const Held *held = &knots->held[i];
        gain += lever[i] * (work->right[held->to] - work->right[held->from]);
        knots->share[held->to] += lever[i];
        knots->share[held->from] -= lever[i];
    }
    return gain;
}

// How far that may be off, 95 %: by how well the points tell the knots, of which the first and last count most.
static double off_of(const DwTwinPieces *work, const Knots *knots)
{
    double variance = 0, pieces = work->piece[work->count - 1] + 1.0;
    for (size_t k = 0; k < work->knots; k++)
        variance += knots->support[k] < SUPPORTED ? 0 : pow(knots->share[k], 2) * 2 / knots->support[k];
    return KNOTS_STRAY * pieces * 1.96 * knots->rest_s * sqrt(variance);
}

static void clear_knots(Knots *knots)
{
    free(knots->support);
    free(knots->share);
    free(knots->held);
}

// How the speed sways from stretch to stretch about the straight line of DRIFT a second through it: rms, as a ratio.
static double sway_of(const DwTwinPieces *work, const Knots *knots, double mean, double middle_s, double drift)
{
    double squares = 0;
    for (size_t i = 0; i < knots->count; i++) {
        const Held *held = &knots->held[i];
        double pace = (work->right[held->to] - work->right[held->from]) / held->length_s;
        squares += held->length_s * pow(pace - mean - drift * (held->middle_s - middle_s), 2);
    }
    return sqrt(squares / knots->length_s);
}

// What the course gains from beginning to end of each piece.
static void measure_speed(DwTwinPieces *work, double ratio, DwTwinFit *fit)
{
    Knots knots = read_knots(work);
    double *lever = dw_memory_new(knots.count + 1, sizeof *lever);
    for (size_t i = 0; i < knots.count; i++)
        lever[i] = 1 / knots.length_s;
    fit->rest_s = knots.rest_s;
    fit->length_s = knots.length_s;
    fit->speed = 100 * (ratio + gain_of(work, &knots, lever) - 1);
    fit->speed_off = hypot(100 * off_of(work, &knots), SPEED_LEAST);
    free(lever);
    clear_knots(&knots);
}

// The straight line through the speed over all stretches that are held, by least squares: whatever wanders within them
// counts as it does in the speed.
static void measure_drift(DwTwinPieces *work, double ratio, double turn_hz, DwTwinFit *fit)
{
    // The lines are out: shorter pieces follow a speed that sways to the very ends.
    dw_twin_pieces_lay(work, DRIFT_TURNS / turn_hz);
    Knots knots = read_knots(work);
    double *lever = dw_memory_new(knots.count + 1, sizeof *lever), middle_s = 0, spread = 1e-9;
    for (size_t i = 0; i < knots.count; i++)
        middle_s += knots.held[i].length_s * knots.held[i].middle_s / knots.length_s;
    for (size_t i = 0; i < knots.count; i++) {
        const Held *held = &knots.held[i];
        lever[i] = held->middle_s - middle_s;
        spread += held->length_s * (lever[i] * lever[i] + held->length_s * held->length_s / 12);
    }
    for (size_t i = 0; i < knots.count; i++)
        lever[i] /= spread;
    double drift = gain_of(work, &knots, lever), mean = fit->speed / 100 + 1 - ratio;
    fit->drift = 100 * 60 * drift / ratio;
    fit->drift_off = hypot(100 * 60 * off_of(work, &knots) / ratio, sqrt(12) * SPEED_LEAST / (knots.length_s / 60));
    // What neither end lets hear sways as the rest does.
    double unheard = 100 * 1.96 * sqrt(2) * UNHEARD_S * sway_of(work, &knots, mean, middle_s, drift) / knots.length_s;
    fit->speed_off = hypot(fit->speed_off, unheard);
    fit->drift_off = hypot(fit->drift_off, 60 * 6 * unheard / knots.length_s);
    free(lever);
    clear_knots(&knots);
}

bool dw_twin_fit(const DwTwinCourse *course, double ratio, double turn_hz, DwTwinFit *fit)
{
    *fit = (DwTwinFit){0};
    DwTwinPieces work;
    if (!dw_twin_pieces_init(course, ratio, STIFF * KNOT_TURNS / turn_hz, &work))
        return false;
    size_t points = work.count;
    // Pieces that long do not bend to points that stray together at an end.
    for (int round = 0; round < 3; round++) {
        fit->lines = 0;
        find_lines(&work, ratio, turn_hz, fit);
        leave_out_strays(&work, (round < 1 ? STIFF : 1) * KNOT_TURNS / turn_hz);
    }
    refit(&work, ratio, fit);
    fit->in_step = share_in_step(&work, points);
    for (size_t l = 0; l < 2; l++)
        fit->line[l].off =
            hypot(hypot(fit->line[l].off, TURN_LEAST), crowding(fit, l, work.t[work.count - 1] - work.t[0]));
    fit->once_found = fit->line[0].amplitude > FOUND * fit->line[0].off / 1.96;
    straighten(&work, ratio, fit);
    measure_speed(&work, ratio, fit);
    measure_drift(&work, ratio, turn_hz, fit);
    dw_twin_pieces_clear(&work);
    return true;
}
