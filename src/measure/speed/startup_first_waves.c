// SPDX-License-Identifier: MIT
#include "measure/speed/startup_first_waves.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

enum { SHAPES = 6, PASSES = 8, GUESSES_MOST = 8 * 64 };

static const double STILL_S = 0.1, STILL_MOST_S = 1;       // before the start: what is needed, and what tells its hum
static const double FASTEST = 0.4;                         // of the low sound's rate
static const double SPEED_MOST = 0.06, SPEED_ABOVE = 0.03; // of the final one: how far the waves are followed
static const double RAMP_STEP_S = 0.02, HIDDEN = 0.01;     // of the torque's rise; a speed that may hide it
static const double LINE_OFF_S = 0.006, LINE_STEP_S = 0.0015, SLOPE_OFF = 0.015, SLOPE_STEP = 0.015;
static const double LEFT_MOST = 0.03; // of the squares, for the waves to be those of a start
// Squares that another guess may leave and be as likely: of the best, and of all.
static const double AS_LIKELY = 1.5, AS_LIKELY_OF_ALL = 6e-5;
static const double WORTH_REFINING = 3, WORTH_OF_ALL = 0.01;
static const double LEAST_DOUBT_S = 0.0015;

// What the chain cuts off below.
typedef struct {
    double corner_hz;
    unsigned order;
} Pass;
static const Pass passes[PASSES] = {{0, 1}, {5, 1}, {10, 1}, {20, 1}, {30, 1}, {10, 2}, {20, 2}, {30, 2}};

// The torque comes up over RAMP_S, from half of that before LINE_S on; then PER_S is gained a second.
typedef struct {
    double line_s, per_s, ramp_s;
    const Pass *pass;
    double left; // of the squares
} Guess;

typedef struct {
    double *values; // less their mean before the start
    size_t count;
    double first_s, step_s, tone_hz, squares, speed_most;
} Window;

// The speed SINCE seconds after the torque set in, and the turns of the tone at the full speed that have passed.
static double speed_since(const Guess *guess, double since, double *passed)
{
    double r = guess->ramp_s, a = guess->per_s;
    if (since < r) {
        *passed = a * since * since * since / (6 * r);
        return a * since * since / (2 * r);
    }
    double line = since - r / 2;
    *passed = a * (r * r / 24 + line * line / 2);
    return a * line;
}

// Solves the normal equations A x = B in place; the last to be small are held at nought.
static void solve(double a[SHAPES][SHAPES], double b[SHAPES])
{
    for (size_t k = 0; k < SHAPES; k++) {
        double pivot = fmax(a[k][k], 1e-12);
        for (size_t i = k + 1; i < SHAPES; i++) {
            double times = a[i][k] / pivot;
            for (size_t j = k; j < SHAPES; j++)
                a[i][j] -= times * a[k][j];
            b[i] -= times * b[k];
        }
    }
    for (size_t k = SHAPES; k-- > 0;) {
        for (size_t j = k + 1; j < SHAPES; j++)
            b[k] -= a[k][j] * b[j];
        b[k] = a[k][k] > 1e-12 ? b[k] / a[k][k] : 0;
    }
}

// A first-order high-pass, twice for the second order.
typedef struct {
    double gain, back, before[2], out[2];
} HighPass;

static double pass_on(HighPass *filter, const Pass *pass, double value)
{
    for (unsigned i = 0; i < pass->order && pass->corner_hz > 0; i++) {
        double out = filter->gain * (value - filter->before[i]) + filter->back * filter->out[i];
        filter->before[i] = value;
        filter->out[i] = value = out;
    }
    return value;
}

// The share of the squares that the waves of GUESS leave, of any phase and of a level that grows as the speed, as its
// root, or not at all: a magnetic cartridge before and behind its equaliser.
static double left_by(const Window *window, const Guess *guess)
{
    double a[SHAPES][SHAPES] = {{0}}, b[SHAPES] = {0}, sums[SHAPES] = {0};
    double k = tan(M_PI * guess->pass->corner_hz * window->step_s), begins = guess->line_s - guess->ramp_s / 2;
    HighPass filters[SHAPES];
    for (size_t i = 0; i < SHAPES; i++)
        filters[i] = (HighPass){1 / (1 + k), (1 - k) / (1 + k), {0}, {0}};
    for (size_t n = 0; n < window->count; n++) {
        double since = window->first_s + (double)n * window->step_s - begins, passed, value = window->values[n];
        if (since < 0)
            continue;
        double level = speed_since(guess, since, &passed) / window->speed_most;
        double angle = 2 * M_PI * window->tone_hz * passed, c = cos(angle), s = sin(angle);
        double root = sqrt(level), shape[SHAPES] = {c - 1, s, root * c, root * s, level * c, level * s};
        for (size_t i = 0; i < SHAPES; i++) {
            shape[i] = pass_on(&filters[i], guess->pass, shape[i]);
            b[i] += shape[i] * value;
            for (size_t j = 0; j <= i; j++)
                a[i][j] += shape[i] * shape[j];
        }
    }
    for (size_t i = 0; i < SHAPES; i++) {
        sums[i] = b[i];
        for (size_t j = i + 1; j < SHAPES; j++)
            a[i][j] = a[j][i];
    }
    solve(a, b);
    double fitted = 0; // of the best fit, the share explained is its product with the values
    for (size_t i = 0; i < SHAPES; i++)
        fitted += b[i] * sums[i];
    return 1 - fitted / window->squares;
}

// The best line and slope about GUESS's own, on a grid.
static void search(const Window *window, Guess *guess)
{
    Guess best = *guess;
    best.left = INFINITY;
    for (double off = -LINE_OFF_S; off < LINE_OFF_S + LINE_STEP_S / 2; off += LINE_STEP_S)
        for (double more = -SLOPE_OFF; more < SLOPE_OFF + SLOPE_STEP / 2; more += SLOPE_STEP) {
            Guess tried = *guess;
            tried.line_s += off;
            tried.per_s *= 1 + more;
            tried.left = left_by(window, &tried);
            if (tried.left < best.left)
                best = tried;
        }
    *guess = best;
}

// Steps in line, slope and rise that make it better, ever smaller.
static void refine(const Window *window, Guess *guess)
{
    double steps[] = {LINE_STEP_S / 2, SLOPE_STEP / 2 * guess->per_s, RAMP_STEP_S / 2};
    for (int round = 0; round < 7; round++) {
        for (size_t i = 0; i < 6; i++) {
            Guess tried = *guess;
            double step = (i % 2 ? -1 : 1) * steps[i / 2];
            *(i / 2 == 0 ? &tried.line_s : i / 2 == 1 ? &tried.per_s : &tried.ramp_s) += step;
            tried.left = tried.ramp_s < 0 ? INFINITY : left_by(window, &tried);
            if (tried.left < guess->left)
                *guess = tried;
        }
        for (size_t i = 0; i < 3; i++)
            steps[i] *= 0.6;
    }
}

static size_t list_guesses(const Window *window, const DwFirstWaves *waves, Guess *guesses)
{
    size_t count = 0;
    double longest = 2 * (waves->from + HIDDEN) / waves->per_s;
    longest = fmin(longest, RAMP_STEP_S * (GUESSES_MOST / PASSES - 1));
    for (size_t p = 0; p < PASSES; p++)
        for (double ramp = 0; ramp < longest + RAMP_STEP_S && count < GUESSES_MOST; ramp += RAMP_STEP_S) {
            guesses[count] = (Guess){waves->line_s, waves->per_s, ramp, &passes[p], 0};
            search(window, &guesses[count++]);
        }
    return count;
}

static double least_left(const Guess *guesses, size_t count)
{
    double least = INFINITY;
    for (size_t i = 0; i < count; i++)
        least = fmin(least, guesses[i].left);
    return least;
}

static bool judge(const Window *window, DwFirstWaves *waves)
{
    Guess *guesses = dw_memory_new(GUESSES_MOST, sizeof *guesses);
    size_t count = list_guesses(window, waves, guesses);
    double least = least_left(guesses, count), earliest = INFINITY, latest = -INFINITY;
    for (size_t i = 0; i < count; i++)
        if (guesses[i].left < WORTH_REFINING * least + WORTH_OF_ALL)
            refine(window, &guesses[i]);
    least = least_left(guesses, count);
    for (size_t i = 0; i < count; i++) {
        double begins = guesses[i].line_s - guesses[i].ramp_s / 2;
        if (guesses[i].left <= AS_LIKELY * least + AS_LIKELY_OF_ALL) {
            earliest = fmin(earliest, begins);
            latest = fmax(latest, begins);
        }
        if (guesses[i].left <= least)
            waves->begins_s = begins;
    }
    waves->doubt_s = hypot(fmax(latest - waves->begins_s, waves->begins_s - earliest), LEAST_DOUBT_S);
    free(guesses);
    return least < LEFT_MOST;
}

// Takes HZ, as it is in the first STILL values of SAMPLES, out of all COUNT of them.
static void take_out_hum(double *samples, size_t still, size_t count, double step_s, double hz)
{
    double c = 0, s = 0, step = 2 * M_PI * hz * step_s;
    size_t whole = (size_t)(floor((double)still * step_s * hz) / hz / step_s); // cycles
    for (size_t n = 0; n < whole; n++) {
        c += 2 * samples[n] * cos(step * (double)n) / (double)whole;
        s += 2 * samples[n] * sin(step * (double)n) / (double)whole;
    }
    for (size_t n = 0; n < count && whole > 0; n++)
        samples[n] -= c * cos(step * (double)n) + s * sin(step * (double)n);
}

// What is steady before the start, which begins STILL values on: its mean and the hum of either mains.
static void take_out_still(double *samples, size_t still, size_t count, double step_s)
{
    static const double hums_hz[] = {50, 60, 100, 120, 150, 180};
    double mean = 0;
    for (size_t n = 0; n < still; n++)
        mean += samples[n] / (double)still;
    for (size_t n = 0; n < count; n++)
        samples[n] -= mean;
    for (size_t i = 0; i < sizeof hums_hz / sizeof *hums_hz; i++)
        take_out_hum(samples, still, count, step_s, hums_hz[i]);
}

bool dw_startup_first_waves(const DwLowSound *sound, DwFirstWaves *waves)
{
    double most = fmax(SPEED_MOST, waves->from + SPEED_ABOVE), step_s = sound->step_s;
    double rise_s = (waves->from + HIDDEN) / waves->per_s, begins_s = waves->line_s - rise_s - sound->first_s;
    double still_s = fmin(STILL_MOST_S, begins_s), to_s = waves->line_s + most / waves->per_s - sound->first_s;
    if (!(still_s >= STILL_S) || most * waves->tone_hz * step_s > FASTEST || to_s / step_s >= (double)sound->count)
        return false;
    size_t from = (size_t)((begins_s - still_s) / step_s), still = (size_t)(still_s / step_s);
    size_t count = (size_t)(to_s / step_s) - from, before = still - (size_t)(STILL_S / step_s);
    double *samples = dw_memory_new(count, sizeof *samples);
    for (size_t n = 0; n < count; n++)
        samples[n] = (double)sound->samples[from + n];
    take_out_still(samples, still, count, step_s);
    double first_s = sound->first_s + (double)(from + before) * step_s;
    Window window = {samples + before, count - before, first_s, step_s, waves->tone_hz, 0, most};
    for (size_t n = 0; n < window.count; n++)
        window.squares += window.values[n] * window.values[n];
    DwFirstWaves found = *waves;
    bool heard = window.squares > 0 && judge(&window, &found);
    if (heard)
        *waves = found;
    free(samples);
    return heard;
}
