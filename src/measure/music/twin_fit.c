// SPDX-License-Identifier: MIT
#include "measure/music/twin_fit.h"

#include "base/memory.h"
#include "dsp/cross_spectrum.h"
#include "dsp/statistics.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double KNOT_TURNS = 3, RANGE = 0.03, FINE = 0.25;
static const double LOWEST = 0.3, HIGHEST_HZ = 3; // of other lines: times a turn, and Hz
static const double STANDS_OUT = 12;              // power of a line over the median around it
static const double STIFF = 4;                    // times as long
static const double STRAY = 8;                    // times the median of what the lines leave
static const double IN_STEP_S = 5e-4;             // of lines and pieces, where one groove is played twice
static const double FOUND = 3.5;                  // amplitude over its standard deviation
static const double GRID_S = 0.1;
static const double SPEED_LEAST = 2e-4; // %, two ppm: where exactly either ends
// % peak, 95 %: what cannot be told from a turn's own line at all, fitted on drawn pairs.
static const double TURN_LEAST = 0.0028;
static const double METHOD = 0.004; // of an amplitude, what the windows' loss is not known better than
// How much farther a line strays than the rates beside it tell: the music's own beat and what coding and equalisation
// did to it stand at the turn's rate too. By pairs drawn with tests/oracle/music.py.
static const double STRAYS = 4;
enum { RATES_BESIDE = 24, BLOCKS = 8 };

// Points that count, and the knots of straight pieces under them.
typedef struct {
    size_t count, knots;
    double window_s; // that each point was read over
    double *t, *y, *w;
    size_t *knot;  // the knot before each point
    double *place; // from it to the next, 0 … 1
    double *knot_t;
    unsigned *piece;
    double *diagonal, *beside, *right; // of the knots' normal equations, decomposed; room for a right side
    double *a, *b, *rest;              // room for columns
} Work;

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

// --- straight pieces ---------------------------------------------------------------

static void lay_knots(Work *work, double knot_s)
{
    work->knots = 0;
    for (size_t i = 0, from = 0; i < work->count; i++) {
        bool ends = i + 1 == work->count || work->piece[i + 1] != work->piece[i];
        if (!ends)
            continue;
        double begin_s = work->t[from], length_s = fmax(work->t[i] - begin_s, 1e-3);
        size_t spans = (size_t)fmax(1, round(length_s / knot_s));
        for (size_t k = 0; k <= spans; k++)
            work->knot_t[work->knots + k] = begin_s + length_s * (double)k / (double)spans;
        for (size_t n = from; n <= i; n++) {
            double at = (work->t[n] - begin_s) / length_s * (double)spans;
            size_t k = at >= (double)spans ? spans - 1 : (size_t)at;
            work->knot[n] = work->knots + k;
            work->place[n] = at - (double)k;
        }
        work->knots += spans + 1;
        from = i + 1;
    }
}

// Cholesky's decomposition of a matrix of three diagonals, a little lifted for spans without points.
static void decompose(Work *work)
{
    for (size_t k = 0; k < work->knots; k++) {
        work->diagonal[k] = 1e-6;
        work->beside[k] = 0;
    }
    for (size_t i = 0; i < work->count; i++) {
        size_t k = work->knot[i];
        double u = work->place[i], w = work->w[i];
        work->diagonal[k] += w * (1 - u) * (1 - u);
        work->diagonal[k + 1] += w * u * u;
        work->beside[k] += w * u * (1 - u);
    }
    for (size_t k = 0; k < work->knots; k++) {
        if (k > 0)
            work->diagonal[k] -= work->beside[k - 1] * work->beside[k - 1];
        work->diagonal[k] = sqrt(fmax(work->diagonal[k], 1e-9));
        work->beside[k] /= work->diagonal[k];
    }
}

// The knots' values of the straight pieces through VALUES, into work->right.
static void fit_knots(Work *work, const double *values)
{
    memset(work->right, 0, work->knots * sizeof *work->right);
    for (size_t i = 0; i < work->count; i++) {
        size_t k = work->knot[i];
        double wv = work->w[i] * values[i];
        work->right[k] += wv * (1 - work->place[i]);
        work->right[k + 1] += wv * work->place[i];
    }
    for (size_t k = 0; k < work->knots; k++) {
        if (k > 0)
            work->right[k] -= work->beside[k - 1] * work->right[k - 1];
        work->right[k] /= work->diagonal[k];
    }
    for (size_t k = work->knots; k-- > 0;) {
        if (k + 1 < work->knots)
            work->right[k] -= work->beside[k] * work->right[k + 1];
        work->right[k] /= work->diagonal[k];
    }
}

static void take_out_pieces(Work *work, double *values)
{
    fit_knots(work, values);
    for (size_t i = 0; i < work->count; i++) {
        size_t k = work->knot[i];
        values[i] -= (1 - work->place[i]) * work->right[k] + work->place[i] * work->right[k + 1];
    }
}

static bool begin_work(const DwTwinCourse *course, double ratio, double knot_s, Work *work)
{
    *work = (Work){.window_s = course->window_s};
    for (size_t i = 0; i < course->count; i++)
        work->count += course->point[i].used;
    if (work->count < 60)
        return false;
    size_t n = work->count, most = 2 * n + 2 * course->pieces + 4;
    double **columns[] = {&work->t, &work->y, &work->w, &work->place, &work->a, &work->b, &work->rest};
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
        *columns[c] = dw_memory_new(n, sizeof(double));
    double **knots[] = {&work->knot_t, &work->diagonal, &work->beside, &work->right};
    for (size_t c = 0; c < sizeof knots / sizeof *knots; c++)
        *knots[c] = dw_memory_new(most, sizeof(double));
    work->knot = dw_memory_new(n, sizeof *work->knot);
    work->piece = dw_memory_new(n, sizeof *work->piece);
    size_t kept = 0;
    for (size_t i = 0; i < course->count; i++) {
        const DwTwinPoint *point = &course->point[i];
        if (!point->used)
            continue;
        work->t[kept] = point->at_s;
        work->y[kept] = point->other_s - ratio * point->at_s;
        work->w[kept] = point->quality * point->quality;
        work->piece[kept++] = point->piece;
    }
    lay_knots(work, knot_s);
    decompose(work);
    return true;
}

static void end_work(Work *work)
{
    double *rooms[] = {work->t,    work->y,      work->w,        work->place,  work->a,    work->b,
                       work->rest, work->knot_t, work->diagonal, work->beside, work->right};
    for (size_t r = 0; r < sizeof rooms / sizeof *rooms; r++)
        free(rooms[r]);
    free(work->knot);
    free(work->piece);
}

// --- lines -------------------------------------------------------------------------

// The line at RATE_HZ in work->rest, as seconds (real: cosine, imaginary: sine, from the first point's time).
static double complex line_at(Work *work, double rate_hz)
{
    double aa = 0, ab = 0, bb = 0, ay = 0, by = 0;
    for (size_t i = 0; i < work->count; i++) {
        double angle = 2 * M_PI * rate_hz * (work->t[i] - work->t[0]);
        work->a[i] = cos(angle);
        work->b[i] = sin(angle);
    }
    take_out_pieces(work, work->a);
    take_out_pieces(work, work->b);
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

static void take_out_line(Work *work, double rate_hz, double complex line)
{
    for (size_t i = 0; i < work->count; i++) {
        double angle = 2 * M_PI * rate_hz * (work->t[i] - work->t[0]);
        work->rest[i] -= creal(line) * cos(angle) + cimag(line) * sin(angle);
    }
    take_out_pieces(work, work->rest);
}

// A displacement of the course in seconds as speed in percent, the window's loss made good.
static double percent_of(const Work *work, double rate_hz)
{
    return 100 * 2 * M_PI * rate_hz / window_gain(rate_hz, work->window_s);
}

static double strongest(Work *work, double low_hz, double high_hz, double best, double *rate_hz)
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

static void sharpen(Work *work, double *rate_hz)
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
static double restlessness(Work *work, double rate_hz)
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

// The rate outside the turn's two lines at which the rest stands out most; 0 without one.
static double find_other(Work *work, double turn_hz)
{
    double length_s = work->t[work->count - 1] - work->t[0];
    size_t size = 1024, count = (size_t)(length_s / GRID_S) + 1;
    while (size < 2 * count)
        size *= 2;
    DwCross *cross = dw_cross_new(size);
    double *grid = dw_memory_new(size, sizeof *grid), *power = dw_memory_new(size / 2 + 1, sizeof *power);
    double(*bins)[2] = dw_memory_new(size / 2 + 1, sizeof *bins);
    for (size_t i = 0; i < work->count; i++)
        grid[(size_t)lround((work->t[i] - work->t[0]) / GRID_S)] = work->rest[i] * work->w[i];
    dw_cross_transform(cross, grid, size, bins);
    double bin_hz = 1 / (GRID_S * (double)size), best = STANDS_OUT, found = 0;
    size_t low = (size_t)(LOWEST * turn_hz / bin_hz), high = (size_t)(HIGHEST_HZ / bin_hz);
    for (size_t k = 0; k <= high; k++)
        power[k] = (bins[k][0] * bins[k][0] + bins[k][1] * bins[k][1]) * (double)k * (double)k;
    double mean = 0, keep = 0.98;
    for (size_t k = low; k < low + 60 && k < high; k++)
        mean += power[k] / 60;
    for (size_t k = low + 1; k < high; k++) {
        mean = keep * mean + (1 - keep) * fmin(power[k], 4 * mean);
        if (power[k] > best * mean && power[k] > power[k - 1] && power[k] >= power[k + 1]) {
            best = power[k] / mean;
            found = (double)k * bin_hz;
        }
    }
    free(grid);
    free(power);
    free(bins);
    dw_cross_free(cross);
    return found;
}

static void add_line(Work *work, DwTwinFit *fit, double rate_hz)
{
    fit->line[fit->lines++] = (DwTwinLine){.rate_hz = rate_hz};
    take_out_line(work, rate_hz, line_at(work, rate_hz));
}

// Fits all lines found so far anew, each with the others taken out, a few times over.
static void refit(Work *work, double ratio, DwTwinFit *fit)
{
    double complex line[DW_TWIN_LINES_MOST] = {0};
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    take_out_pieces(work, work->rest);
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

static void find_lines(Work *work, double ratio, double turn_hz, DwTwinFit *fit)
{
    memcpy(work->rest, work->y, work->count * sizeof *work->rest);
    take_out_pieces(work, work->rest);
    double rate_hz = turn_hz, low = fmin(1, ratio) * (1 - RANGE), high = fmax(1, ratio) * (1 + RANGE), best = 0;
    // Either the first or the second turns near the nominal speed.
    if (fmax(1, ratio) / fmin(1, ratio) > (1 + RANGE) / (1 - RANGE)) {
        best = strongest(work, turn_hz * low, turn_hz * fmin(1, ratio) * (1 + RANGE), best, &rate_hz);
        low = fmax(1, ratio) * (1 - RANGE);
    }
    strongest(work, turn_hz * low, turn_hz * high, best, &rate_hz);
    sharpen(work, &rate_hz);
    add_line(work, fit, rate_hz);
    add_line(work, fit, 2 * rate_hz);
    while (fit->lines < DW_TWIN_LINES_MOST) {
        double other_hz = find_other(work, rate_hz);
        if (other_hz <= 0)
            break;
        sharpen(work, &other_hz);
        add_line(work, fit, other_hz);
    }
    refit(work, ratio, fit);
}

// Drops the points that stray far from all lines and pieces, and lays the pieces anew.
static void leave_out_strays(Work *work, double knot_s)
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
    lay_knots(work, knot_s);
    decompose(work);
}

// Of COUNT points, those that were left out among them.
static double share_in_step(const Work *work, size_t count)
{
    size_t in_step = 0;
    for (size_t i = 0; i < work->count; i++)
        in_step += fabs(work->rest[i]) < IN_STEP_S;
    return (double)in_step / (double)count;
}

// --- speed and drift -----------------------------------------------------------------

// Takes the lines out of the course itself, which keeps its straight pieces.
static void straighten(Work *work, double ratio, const DwTwinFit *fit)
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

// What the course gains from beginning to end of each piece, by the knots there.
static void measure_speed(Work *work, double ratio, DwTwinFit *fit)
{
    fit_knots(work, work->y);
    double gained_s = 0, squares = 0;
    size_t pieces = 0;
    for (size_t i = 0, from = 0; i < work->count; i++) {
        if (i + 1 < work->count && work->piece[i + 1] == work->piece[i])
            continue;
        size_t first = work->knot[from], last = work->knot[i] + 1;
        gained_s += work->right[last] - work->right[first];
        fit->length_s += work->knot_t[last] - work->knot_t[first];
        from = i + 1;
        pieces++;
    }
    double weights = 1e-12;
    for (size_t i = 0; i < work->count; i++) {
        squares += work->w[i] * work->rest[i] * work->rest[i];
        weights += work->w[i];
    }
    fit->rest_s = sqrt(squares / weights);
    fit->speed = 100 * (ratio + gained_s / fmax(fit->length_s, 1e-3) - 1);
    double end_s =
        fit->rest_s * sqrt(2.0 * 2 * (double)pieces * 12 * work->count / fmax(1, (double)work->knots * 54) / 12);
    fit->speed_off = hypot(196 * end_s / fmax(fit->length_s, 1e-3), SPEED_LEAST);
}

// The bend of the course by its points FROM to TO left out: %/min.
static double bend(Work *work, size_t from, size_t to)
{
    unsigned pieces = work->piece[work->count - 1] + 1;
    double(*mean)[4] = dw_memory_new(pieces, sizeof *mean);
    double middle = (work->t[0] + work->t[work->count - 1]) / 2, half = (work->t[work->count - 1] - work->t[0]) / 2;
    for (int pass = 0; pass < 2; pass++) {
        double aa = 0, ab = 0, bb = 0, ay = 0, by = 0;
        for (size_t i = 0; i < work->count; i++) {
            if (i >= from && i < to)
                continue;
            double u = (work->t[i] - middle) / half, w = work->w[i], *own = mean[work->piece[i]];
            if (pass == 0) {
                own[0] += w;
                own[1] += w * u;
                own[2] += w * u * u;
                own[3] += w * work->y[i];
                continue;
            }
            double a = u - own[1] / own[0], b = u * u - own[2] / own[0], y = work->y[i] - own[3] / own[0];
            aa += w * a * a;
            ab += w * a * b;
            bb += w * b * b;
            ay += w * a * y;
            by += w * b * y;
        }
        double determinant = aa * bb - ab * ab;
        if (pass == 1 && determinant > 0) {
            free(mean);
            return 100 * 60 * 2 * (aa * by - ab * ay) / determinant / (half * half);
        }
    }
    free(mean);
    return 0;
}

static void measure_drift(Work *work, DwTwinFit *fit)
{
    fit->drift = bend(work, 0, 0);
    double squares = 0;
    for (size_t b = 0; b < BLOCKS; b++) {
        double without = bend(work, work->count * b / BLOCKS, work->count * (b + 1) / BLOCKS);
        squares += pow(without - fit->drift, 2);
    }
    fit->drift_off = 2.36 * sqrt(squares * (BLOCKS - 1) / BLOCKS); // Student's t of seven degrees
}

bool dw_twin_fit(const DwTwinCourse *course, double ratio, double turn_hz, DwTwinFit *fit)
{
    *fit = (DwTwinFit){0};
    Work work;
    if (!begin_work(course, ratio, STIFF * KNOT_TURNS / turn_hz, &work))
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
        fit->line[l].off = hypot(fit->line[l].off, TURN_LEAST);
    fit->once_found = fit->line[0].amplitude > FOUND * fit->line[0].off / 1.96;
    straighten(&work, ratio, fit);
    measure_speed(&work, ratio, fit);
    measure_drift(&work, fit);
    end_work(&work);
    return true;
}
