// SPDX-License-Identifier: MIT
#include "measure/speed/speed_hold.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LEAST_TURNS = 12, STEPS = 600 };

static const double SHORTEST_SHARE = 0.02, LONGEST_SHARE = 2; // time constants tried, of the take
static const double WITHIN_95 = 3.841;                        // of chi-square with one degree of freedom
static const double CLEARLY = 10;     // of chi-square: from there on a bend is one (two more parameters, 1 in 100)
static const double LEAST_OFF = 0.05; // %: less is no excursion
static const double OFF_SIGMAS = 6;   // of what turns differ by
static const double MOST_CORRELATED = 0.95;

// A law that is linear in two values, fitted.
typedef struct {
    double a, b, squares; // a + b·f(t)
    double b_unit;        // variance of b for residuals of one
} Fit;

static Fit fit_linear(const DwTurns *turns, double constant_s)
{
    double n = 0, f1 = 0, y1 = 0, ff = 0, fy = 0;
    for (size_t i = 0; i < turns->count; i++) {
        if (isnan(turns->percent[i]))
            continue;
        double f = isfinite(constant_s) ? exp(-turns->seconds[i] / constant_s) : turns->seconds[i];
        n++;
        f1 += f;
        y1 += turns->percent[i];
        ff += f * f;
        fy += f * turns->percent[i];
    }
    double spread = ff - f1 * f1 / n;
    Fit fit = {.b = (fy - f1 * y1 / n) / spread, .b_unit = 1 / spread};
    fit.a = (y1 - fit.b * f1) / n;
    for (size_t i = 0; i < turns->count; i++) {
        if (isnan(turns->percent[i]))
            continue;
        double f = isfinite(constant_s) ? exp(-turns->seconds[i] / constant_s) : turns->seconds[i];
        double off = turns->percent[i] - fit.a - fit.b * f;
        fit.squares += off * off;
    }
    return fit;
}

// How many values that know nothing of one another are as good as these: by the correlation from one to the next of
// what FIT leaves.
static double effective(const DwTurns *turns, const Fit *fit, double constant_s)
{
    double before = NAN, sum = 0, squares = 0, n = 0;
    for (size_t i = 0; i < turns->count; i++) {
        double f = isfinite(constant_s) ? exp(-turns->seconds[i] / constant_s) : turns->seconds[i];
        double off = turns->percent[i] - fit->a - fit->b * f;
        if (isfinite(off) && isfinite(before)) {
            sum += off * before;
            squares += (off * off + before * before) / 2;
        }
        n += isfinite(off);
        before = off;
    }
    double r = squares > 0 ? fmax(0, fmin(MOST_CORRELATED, sum / squares)) : 0;
    return fmax(6, n * (1 - r) / (1 + r));
}

static double time_constant(double span, size_t step)
{
    return span * SHORTEST_SHARE * pow(LONGEST_SHARE / SHORTEST_SHARE, (double)step / (STEPS - 1));
}

static double settled_after(const Fit *fit, double constant_s, double within)
{
    return fmax(0, constant_s * log(fabs(fit->b) / within));
}

// One with each time constant that is tried.
static void try_constants(const DwTurns *turns, double span, Fit tried[STEPS])
{
    for (size_t i = 0; i < STEPS; i++)
        tried[i] = fit_linear(turns, time_constant(span, i));
}

// The exponential's interval: all time constants TRIED that leave little more than the best.
static void find_settling(const Fit tried[STEPS], double span, double within, double n, Fit *best, DwWarming *w)
{
    double low = NAN, high = NAN, early = NAN, late = NAN;
    size_t at = 0;
    for (size_t i = 1; i < STEPS; i++)
        at = tried[i].squares < tried[at].squares ? i : at;
    *best = tried[at];
    w->constant_s = time_constant(span, at);
    double most = best->squares * (1 + WITHIN_95 / (n - 3));
    for (size_t i = 0; i < STEPS; i++) {
        double constant = time_constant(span, i);
        if (tried[i].squares > most)
            continue;
        double settled = settled_after(&tried[i], constant, within);
        low = fmin(low, constant);
        high = fmax(high, constant);
        early = fmin(early, settled);
        late = fmax(late, settled);
    }
    double half_step = w->constant_s * log(LONGEST_SHARE / SHORTEST_SHARE) / (STEPS - 1) / 2;
    w->constant_off_s = fmax(half_step, fmax(high - w->constant_s, w->constant_s - low));
    w->settled_s = settled_after(best, w->constant_s, within);
    w->settled_off_s = fmax(half_step, fmax(late - w->settled_s, w->settled_s - early));
}

bool dw_warming_fit(const DwTurns *turns, double within, DwWarming *w)
{
    size_t known = 0;
    for (size_t i = 0; i < turns->count; i++)
        known += isfinite(turns->percent[i]);
    *w = (DwWarming){.constant_s = NAN};
    if (known < LEAST_TURNS)
        return false;
    double span = turns->seconds[turns->count - 1] - turns->seconds[0];
    Fit line = fit_linear(turns, INFINITY), bend, tried[STEPS];
    double n = effective(turns, &line, INFINITY);
    try_constants(turns, span, tried);
    find_settling(tried, span, within, n, &bend, w);
    double n_bend = effective(turns, &bend, w->constant_s);
    double gain = (line.squares / bend.squares - 1) * (n_bend - 3);
    w->settles = gain > CLEARLY && w->constant_s < span;
    if (w->settles) { // its own residuals say how sure it is
        find_settling(tried, span, within, n_bend, &bend, w);
        n = n_bend;
    }
    const Fit *fit = w->settles ? &bend : &line;
    double values = (double)known, variance = fit->squares / (values - 3) * values / n;
    double b_off = 1.96 * sqrt(variance * fit->b_unit);
    w->final = fit->a;
    w->by = w->settles ? fit->b : 0;
    w->slope = w->settles ? 0 : 60 * fit->b;
    w->slope_off = w->settles ? 0 : 60 * b_off;
    double reach = w->settles ? exp(-span / w->constant_s) - 1 : span;
    w->change = fit->b * reach;
    w->change_off = fabs(b_off * reach);
    return true;
}

double dw_warming_at(const DwWarming *w, double seconds)
{
    return w->final + (w->settles ? w->by * exp(-seconds / w->constant_s) : w->slope / 60 * seconds);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// What a turn may differ by and be as usual: by the middle of all, which some turns elsewhere do not move; CENTRE of
// what WARMING leaves.
static double usual_spread(const DwTurns *turns, const DwWarming *warming, double *centre)
{
    double *off = dw_memory_new(turns->count + 1, sizeof *off);
    size_t n = 0;
    for (size_t i = 0; i < turns->count; i++)
        if (isfinite(turns->percent[i]))
            off[n++] = turns->percent[i] - dw_warming_at(warming, turns->seconds[i]);
    qsort(off, n, sizeof *off, ascending);
    *centre = n ? off[n / 2] : 0;
    for (size_t i = 0; i < n; i++)
        off[i] = fabs(off[i] - *centre);
    qsort(off, n, sizeof *off, ascending);
    double spread = n ? 1.4826 * off[n / 2] : 0; // of a normal one, its standard deviation
    free(off);
    return fmax(LEAST_OFF, OFF_SIGMAS * spread);
}

size_t dw_excursions_find(const DwTurns *turns, const DwWarming *warming, DwExcursion excursions[DW_EXCURSIONS_MOST])
{
    double centre, least = usual_spread(turns, warming, &centre);
    size_t count = 0, begun = 0, length = 0;
    for (size_t i = 0; i < turns->count; i++) {
        double off = turns->percent[i] - dw_warming_at(warming, turns->seconds[i]) - centre;
        bool away = isfinite(off) && fabs(off) > least;
        if (away && length == 0)
            begun = i;
        if (away) {
            length++;
            continue;
        }
        bool whole = begun > 0 && length > 1 && count < DW_EXCURSIONS_MOST;
        if (whole) {
            DwExcursion *excursion = &excursions[count++];
            *excursion = (DwExcursion){turns->seconds[begun], turns->seconds[i - 1], 0};
            for (size_t k = begun; k < i; k++) {
                double here = turns->percent[k] - dw_warming_at(warming, turns->seconds[k]) - centre;
                excursion->by = fabs(here) > fabs(excursion->by) ? here : excursion->by;
            }
        }
        length = 0;
    }
    return count;
}
