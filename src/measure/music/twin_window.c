// SPDX-License-Identifier: MIT
#include "measure/music/twin_window.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/cross_spectrum.h"

#include <math.h>
#include <stdlib.h>

// Taps each way of the interpolation, and its table; what is worked out side by side.
enum { TAPS = 8, PHASES = 512, LANES = 8 };

static const double LOW_HZ = 90, HIGH_HZ = 4200;
static const double PADDED = 0.04;  // of a window: farther looks need zeros behind it, for the ends not to meet
static const double SOUND = 1e-9;   // of a window's mean square
static const double SMOOTH_HZ = 8;  // either way, of the phase learnt
static const double SETTLED = 1e-3; // samples: the next of Newton's steps is its square

// A row of complex numbers, one for each bin from the lowest, and zeros up to a whole number of lanes.
typedef struct {
    double *re, *im;
} Row;

struct DwTwinWindow {
    DwTwinSound one, two;
    size_t size, whole; // samples of the first; with the zeros behind
    size_t low, count;  // bins that are used
    DwCross *cross;
    double *hann, *samples, *correlation;
    double (*first)[2], (*second)[2], (*weighted)[2];
    Row row; // what is weighted
    Row learnt, phase;
    double weight; // the sum of all sizes in ROW
    float *drawn;  // the second's samples
    float *kernel; // (PHASES + 1) × 2 TAPS
};

static void make_kernel(DwTwinWindow *window)
{
    window->kernel = dw_memory_new((PHASES + 1) * 2 * TAPS, sizeof(float));
    for (int p = 0; p <= PHASES; p++) {
        double sum = 0;
        float *row = window->kernel + (size_t)p * 2 * TAPS;
        for (int k = 0; k < 2 * TAPS; k++) {
            double x = k - (TAPS - 1) - (double)p / PHASES;
            double sinc = fabs(x) < 1e-9 ? 1 : sin(M_PI * x) / (M_PI * x), y = x / TAPS;
            double taper = fabs(y) < 1 ? cos(M_PI / 2 * y) : 0;
            row[k] = (float)(sinc * taper * taper);
            sum += row[k];
        }
        for (int k = 0; k < 2 * TAPS; k++)
            row[k] = (float)(row[k] / sum);
    }
}

static Row new_row(size_t count)
{
    return (Row){dw_memory_new(count, sizeof(double)), dw_memory_new(count, sizeof(double))};
}

static void free_row(Row *row)
{
    free(row->re);
    free(row->im);
}

static void choose_bins(DwTwinWindow *window)
{
    double bin_hz = window->one.rate_hz / (double)window->whole;
    double high_hz = fmin(HIGH_HZ, 0.4 * fmin(window->one.rate_hz, window->two.rate_hz));
    window->low = (size_t)(LOW_HZ / bin_hz);
    window->count = (size_t)(high_hz / bin_hz) - window->low;
    window->count -= window->count % LANES;
}

DwTwinWindow *dw_twin_window_new(const DwTwinSound *one, const DwTwinSound *two, double length_s, double reach_s)
{
    DwTwinWindow *window = dw_memory_new(1, sizeof *window);
    window->one = *one;
    window->two = *two;
    window->size = 256;
    while ((double)window->size * M_SQRT2 < length_s * one->rate_hz)
        window->size *= 2;
    window->whole = reach_s * one->rate_hz > PADDED * (double)window->size ? 2 * window->size : window->size;
    choose_bins(window);
    size_t bins = window->whole / 2 + 1;
    window->cross = dw_cross_new(window->whole);
    window->hann = dw_memory_new(window->size, sizeof(double));
    for (size_t n = 0; n < window->size; n++)
        window->hann[n] = 0.5 - 0.5 * cos(2 * M_PI * ((double)n + 0.5) / (double)window->size);
    window->samples = dw_memory_new(window->size, sizeof(double));
    window->drawn = dw_memory_new(window->size, sizeof(float));
    window->correlation = dw_memory_new(window->whole, sizeof(double));
    window->first = dw_memory_new(bins, sizeof *window->first);
    window->second = dw_memory_new(bins, sizeof *window->second);
    window->weighted = dw_memory_new(bins, sizeof *window->weighted);
    window->row = new_row(window->count);
    window->learnt = new_row(window->count);
    window->phase = new_row(window->count);
    for (size_t k = 0; k < window->count; k++)
        window->phase.re[k] = 1;
    make_kernel(window);
    return window;
}

void dw_twin_window_free(DwTwinWindow *window)
{
    if (!window)
        return;
    dw_cross_free(window->cross);
    free(window->hann);
    free(window->samples);
    free(window->drawn);
    free(window->correlation);
    free(window->first);
    free(window->second);
    free(window->weighted);
    free_row(&window->row);
    free_row(&window->learnt);
    free_row(&window->phase);
    free(window->kernel);
    free(window);
}

double dw_twin_window_length_s(const DwTwinWindow *window)
{
    return (double)window->size / window->one.rate_hz;
}

// --- reading ---------------------------------------------------------------------

static double sum_lanes(const double lanes[LANES])
{
    double sum = 0;
    for (size_t i = 0; i < LANES; i++)
        sum += lanes[i];
    return sum;
}

// SIZE samples, in whole lanes, under the window. Returned: the sum of their squares without it.
DW_WIDE static double taper(const float *restrict samples, const double *restrict hann, size_t size,
                            double *restrict to)
{
    double squares[LANES] = {0};
    for (size_t n = 0; n < size; n += LANES)
        for (size_t i = 0; i < LANES; i++) {
            double sample = (double)samples[n + i];
            squares[i] += sample * sample;
            to[n + i] = hann[n + i] * sample;
        }
    return sum_lanes(squares);
}

static double read_first(DwTwinWindow *window, double at_s, double *middle_s)
{
    double from = round(at_s * window->one.rate_hz - (double)window->size / 2);
    if (from < 0 || from + (double)window->size > (double)window->one.count)
        return -1;
    *middle_s = (from + (double)window->size / 2) / window->one.rate_hz;
    return taper(window->one.samples + (size_t)from, window->hann, window->size, window->samples) /
           (double)window->size;
}

// COUNT samples of FROM: at FIRST + n STEP + n² BEND, for n from −COUNT / 2.
DW_WIDE static void interpolate(const float *restrict kernel, const float *restrict from, const double place[3],
                                size_t count, float *restrict to)
{
    for (size_t n = 0; n < count; n++) {
        double from_middle = (double)n - (double)count / 2;
        double at = place[0] + from_middle * (place[1] + place[2] * from_middle);
        size_t whole = (size_t)at;
        const float *restrict row = kernel + (size_t)((at - (double)whole) * PHASES + 0.5) * 2 * TAPS;
        const float *restrict near = from + whole - (TAPS - 1);
        float lanes[LANES];
        for (size_t i = 0; i < LANES; i++)
            lanes[i] = row[i] * near[i] + row[i + LANES] * near[i + LANES];
        to[n] = ((lanes[0] + lanes[4]) + (lanes[2] + lanes[6])) + ((lanes[1] + lanes[5]) + (lanes[3] + lanes[7]));
    }
}

// The second's samples at the first's times, by GUESS.
static double read_second(DwTwinWindow *window, const DwTwinGuess *guess, double middle_s)
{
    double rate_hz = window->two.rate_hz, step = guess->ratio * rate_hz / window->one.rate_hz;
    double middle = (guess->other_s + (middle_s - guess->at_s) * guess->ratio) * rate_hz,
           half = (double)window->size / 2;
    double bend = guess->bend * rate_hz / (window->one.rate_hz * window->one.rate_hz), most = fabs(bend) * half * half;
    if (middle - step * half - most < TAPS || middle + step * half + most + TAPS >= (double)window->two.count)
        return -1;
    interpolate(window->kernel, window->two.samples, (const double[]){middle, step, bend}, window->size, window->drawn);
    return taper(window->drawn, window->hann, window->size, window->samples) / (double)window->size;
}

// --- matching --------------------------------------------------------------------

// The cross-spectrum from the first bin on, COUNT bins in whole lanes, turned back by PHASE. Of each bin's size five
// eighths are taken out, which four roots do. Returned: the sum of what is left.
DW_WIDE static double weigh(const double (*restrict first)[2], const double (*restrict second)[2],
                            const Row *restrict phase, size_t count, const Row *restrict row)
{
    double lanes[LANES] = {0};
    const double *restrict turn_re = phase->re, *restrict turn_im = phase->im;
    double *restrict to_re = row->re, *restrict to_im = row->im;
    for (size_t k = 0; k < count; k += LANES)
        for (size_t i = 0; i < LANES; i++) {
            const double *a = first[k + i], *b = second[k + i];
            double re = a[0] * b[0] + a[1] * b[1], im = a[0] * b[1] - a[1] * b[0];
            double half = sqrt(sqrt(re * re + im * im + 1e-60)), eighth = sqrt(sqrt(half)), scale = 1 / (half * eighth);
            lanes[i] += half / eighth;
            to_re[k + i] = (re * turn_re[k + i] - im * turn_im[k + i]) * scale;
            to_im[k + i] = (re * turn_im[k + i] + im * turn_re[k + i]) * scale;
        }
    return sum_lanes(lanes);
}

static double find_peak(DwTwinWindow *window, double reach, double *sign)
{
    for (size_t k = 0; k < window->count; k++) {
        window->weighted[window->low + k][0] = window->row.re[k];
        window->weighted[window->low + k][1] = window->row.im[k];
    }
    dw_cross_correlate(window->cross, (const double(*)[2])window->weighted, window->correlation);
    long most = (long)fmin(reach, (double)window->size / 2), found = 0, size = (long)window->whole;
    double best = -1;
    for (long n = -most; n <= most; n++) {
        double value = fabs(window->correlation[(n + size) % size]);
        if (value > best) {
            best = value;
            found = n;
        }
    }
    *sign = window->correlation[(found + size) % size] < 0 ? -1 : 1;
    return (double)found;
}

// e to the i ANGLE times the number of the bin, for a row of bins from FIRST on; each step goes on by all LANES.
typedef struct {
    double re[LANES], im[LANES], on_re, on_im;
} Turning;

static Turning begin_turning(double angle, size_t first)
{
    Turning turning = {.on_re = cos(angle * LANES), .on_im = sin(angle * LANES)};
    for (size_t i = 0; i < LANES; i++) {
        turning.re[i] = cos(angle * (double)(first + i));
        turning.im[i] = sin(angle * (double)(first + i));
    }
    return turning;
}

// How far the bins of a row agree, turned, and the slope and bend of that over the angle.
typedef struct {
    double agree, slope, bend;
} Agreement;

DW_WIDE static Agreement agree(const Row *restrict row, size_t count, size_t first, Turning turning)
{
    double sums[3][LANES] = {{0}}, number[LANES];
    const double *restrict re = row->re, *restrict im = row->im;
    for (size_t i = 0; i < LANES; i++)
        number[i] = (double)(first + i);
    for (size_t k = 0; k < count; k += LANES)
        for (size_t i = 0; i < LANES; i++) {
            double along = re[k + i] * turning.re[i] - im[k + i] * turning.im[i];
            double across = re[k + i] * turning.im[i] + im[k + i] * turning.re[i];
            double turned = turning.re[i] * turning.on_re - turning.im[i] * turning.on_im;
            sums[0][i] += along;
            sums[1][i] += number[i] * across;
            sums[2][i] += number[i] * number[i] * along;
            turning.im[i] = turning.re[i] * turning.on_im + turning.im[i] * turning.on_re;
            turning.re[i] = turned;
            number[i] += LANES;
        }
    return (Agreement){sum_lanes(sums[0]), sum_lanes(sums[1]), sum_lanes(sums[2])};
}

// Brings the delay to where the phases of all bins agree best: Newton's steps on the sum of their cosines.
static double refine(const DwTwinWindow *window, double delay, double sign, double *quality)
{
    double angle = 2 * M_PI / (double)window->whole, moved = 1;
    for (int step = 0; step < 4 && fabs(moved) > SETTLED; step++) {
        Agreement all = agree(&window->row, window->count, window->low, begin_turning(angle * delay, window->low));
        *quality = window->weight > 0 ? fmax(0, sign * all.agree / window->weight) : 0;
        if (sign * all.bend <= 0)
            break;
        moved = fmin(fmax(all.slope / (angle * all.bend), -1), 1);
        delay -= moved;
    }
    return delay;
}

bool dw_twin_window_match(DwTwinWindow *window, const DwTwinGuess *guess, double reach_s, DwTwinMatch *match)
{
    double middle_s = 0;
    if (read_first(window, guess->at_s, &middle_s) < SOUND)
        return false;
    dw_cross_transform(window->cross, window->samples, window->size, window->first);
    if (read_second(window, guess, middle_s) < SOUND)
        return false;
    dw_cross_transform(window->cross, window->samples, window->size, window->second);
    window->weight =
        weigh((const double(*)[2])window->first + window->low, (const double(*)[2])window->second + window->low,
              &window->phase, window->count, &window->row);
    double delay = find_peak(window, reach_s * window->one.rate_hz, &match->sign);
    delay = refine(window, delay, match->sign, &match->quality);
    match->delay = delay;
    match->late_s = delay / window->one.rate_hz * guess->ratio;
    return true;
}

// --- the phase in common -----------------------------------------------------------

DW_WIDE static void add_turned(const Row *restrict row, size_t count, double scale, Turning turning,
                               const Row *restrict to)
{
    const double *restrict re = row->re, *restrict im = row->im;
    double *restrict to_re = to->re, *restrict to_im = to->im;
    for (size_t k = 0; k < count; k += LANES)
        for (size_t i = 0; i < LANES; i++) {
            double turned = turning.re[i] * turning.on_re - turning.im[i] * turning.on_im;
            to_re[k + i] += scale * (re[k + i] * turning.re[i] - im[k + i] * turning.im[i]);
            to_im[k + i] += scale * (re[k + i] * turning.im[i] + im[k + i] * turning.re[i]);
            turning.im[i] = turning.re[i] * turning.on_im + turning.im[i] * turning.on_re;
            turning.re[i] = turned;
        }
}

void dw_twin_window_learn(DwTwinWindow *window, const DwTwinMatch *match)
{
    double angle = 2 * M_PI / (double)window->whole * match->delay;
    add_turned(&window->row, window->count, match->quality * match->sign, begin_turning(angle, window->low),
               &window->learnt);
}

// The phase of bin K against what its neighbours and it have learnt together: a unit vector that turns it back.
static void settle_bin(const DwTwinWindow *window, size_t k, size_t reach, double *re, double *im)
{
    double sum_re = 0, sum_im = 0;
    for (size_t n = k > reach ? k - reach : 0; n <= k + reach && n < window->count; n++) {
        sum_re += window->learnt.re[n];
        sum_im += window->learnt.im[n];
    }
    double size = hypot(sum_re, sum_im);
    *re = size > 0 ? sum_re / size : 1;
    *im = size > 0 ? -sum_im / size : 0;
}

void dw_twin_window_settle(DwTwinWindow *window)
{
    Row *phase = &window->phase;
    size_t reach = (size_t)lround(SMOOTH_HZ * (double)window->whole / window->one.rate_hz);
    for (size_t k = 0; k < window->count; k++)
        settle_bin(window, k, reach, &phase->re[k], &phase->im[k]);
    // A phase that grows evenly with frequency is time, and stays.
    double slope = 0, all = 0;
    for (size_t k = 0; k + 1 < window->count; k++) {
        double w = hypot(window->learnt.re[k], window->learnt.im[k]);
        slope += w * atan2(phase->im[k + 1] * phase->re[k] - phase->re[k + 1] * phase->im[k],
                           phase->re[k + 1] * phase->re[k] + phase->im[k + 1] * phase->im[k]);
        all += w;
    }
    slope = all > 0 ? slope / all : 0;
    for (size_t k = 0; k < window->count; k++) {
        double angle = -slope * (double)(k + window->low), re = phase->re[k];
        phase->re[k] = re * cos(angle) - phase->im[k] * sin(angle);
        phase->im[k] = re * sin(angle) + phase->im[k] * cos(angle);
    }
}
