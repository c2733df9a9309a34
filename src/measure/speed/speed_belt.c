// SPDX-License-Identifier: MIT
#include "measure/speed/speed_belt.h"

#include "base/memory.h"
#include "dsp/hidden_line.h"
#include "physics/chance.h"
#include "physics/drive.h"
#include "physics/rates.h"

#include <math.h>
#include <stdlib.h>

enum {
    RIMS = 6,
    GAPS = 5,
    SIZES = 4,
    RATIOS = RIMS * GAPS,
    GUESSES = RATIOS * SIZES + 1,
    DRAWS = 3000,
    LEAST_DRAWS = 4
};
enum { OF = DW_HIDDEN_LINE_OF, QUANTITIES = 4 };

static const double HAS_BELT = 0.55; // of drives that nobody described
static const double PULLEY_MM = 15;
// Half of them inside, half about the platter's rim; the gap between rim and pulley.
static const double rims_mm[RIMS] = {110, 140, 170, 285, 295, 305}, gaps_mm[GAPS] = {9, 16, 25, 40, 65};
// Of cosine and sine, %: with them the swing's size is about as often below 0.03 % as above.
static const double sizes[SIZES] = {0.01, 0.018, 0.034, 0.06};
static const double SECOND = 0.6;                        // the second harmonic's size over the first's
static const double SEEN_LEAST = 0.6, SEEN_MOST = 0.997; // a line at such a rate, over the platter's, is the belt
static const double UNLIKELY = 1e-5;

// What may hide, and how likely it is; the first is nothing at all.
typedef struct {
    DwHiddenLine line[GUESSES];
    double chance[GUESSES];
    size_t count;
} Guesses;

static void add_belt(double ratio, double chance, Guesses *guesses)
{
    for (size_t i = 0; i < SIZES; i++) {
        guesses->line[guesses->count] = (DwHiddenLine){.ratio = ratio, .deviation = {sizes[i], SECOND * sizes[i]}};
        guesses->chance[guesses->count++] = chance / SIZES;
    }
}

static void add_any_belt(Guesses *guesses)
{
    for (size_t r = 0; r < RIMS; r++)
        for (size_t g = 0; g < GAPS; g++) {
            DwBeltPath path = {rims_mm[r], PULLEY_MM, (rims_mm[r] + PULLEY_MM) / 2 + gaps_mm[g]};
            add_belt(M_PI * rims_mm[r] / dw_drive_belt_length_mm(&path), HAS_BELT / RATIOS, guesses);
        }
    guesses->chance[0] = 1 - HAS_BELT;
}

// The belt's rate over the platter's and its standard uncertainty as described; false where nothing tells it.
static bool described(const DwDrive *drive, double turn_hz, double *ratio, double *off)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(drive, 60 * turn_hz, rates);
    for (size_t i = 0; i < count; i++)
        if (rates[i].part == DW_PART_BELT && !rates[i].turn) {
            *ratio = rates[i].rate_hz / turn_hz;
            *off = rates[i].uncertainty_hz / turn_hz;
            return true;
        }
    return false;
}

static bool shows_belt(const DwLineFit *fit)
{
    for (size_t l = 1; l < fit->count; l++) {
        double ratio = fit->line[l].rate_hz / fit->line[0].rate_hz;
        if (ratio > SEEN_LEAST && ratio < SEEN_MOST)
            return true;
    }
    return false;
}

static void guess(const DwLineFit *fit, const DwSpeedSettings *settings, Guesses *guesses)
{
    double ratio, off;
    guesses->line[0] = (DwHiddenLine){.ratio = 1};
    guesses->chance[0] = 1;
    guesses->count = 1;
    if (shows_belt(fit) || (settings->drive_given && settings->drive.kind != DW_DRIVE_BELT))
        return;
    if (settings->drive_given && described(&settings->drive, fit->line[0].rate_hz, &ratio, &off)) {
        guesses->chance[0] = 0;
        for (int i = -1; i <= 1; i++)
            add_belt(ratio + 1.2 * i * off, i ? 0.25 : 0.5, guesses);
    } else
        add_any_belt(guesses);
}

// Turns the chances beforehand into those after the samples were heard.
static void weigh(Guesses *guesses)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < guesses->count; i++)
        most = guesses->chance[i] > 0 ? fmax(most, guesses->line[i].evidence) : most;
    for (size_t i = 0; i < guesses->count; i++)
        sum += guesses->chance[i] *= exp(guesses->line[i].evidence - most);
    for (size_t i = 0; i < guesses->count; i++)
        guesses->chance[i] /= sum;
}

// One draw: how far the platter's line is then off the fitted one.
typedef struct {
    double off[QUANTITIES]; // once and twice a turn, phase, rate
    double weight;
} Draw;

// The fitted LINE with what the DRAWth of a sequence that fills five dimensions evenly makes of GUESS (M. Roberts,
// "The unreasonable effectiveness of quasirandom sequences", 2018 – from memory).
static DwLine drawn(const DwLine *line, const DwHiddenLine *alone, const DwHiddenLine *guess, size_t draw)
{
    static const double STEP = 1.0 / 1.1673039782614187; // the root of x⁶ = x + 1
    double normal[OF], moved[OF], step = 1;
    for (size_t i = 0; i < OF; i++) {
        step *= STEP;
        double place = fmod(0.5 + step * (double)(draw + 1), 1);
        normal[i] = dw_chance_normal(fmax(1e-9, fmin(1 - 1e-9, place)));
    }
    for (size_t i = 0; i < OF; i++) {
        moved[i] = guess->line[i] - alone->line[i];
        for (size_t j = 0; j <= i; j++)
            moved[i] += guess->factor[i][j] * normal[j];
    }
    DwLine other = *line;
    for (size_t k = 0; k < 2; k++) {
        other.cosine[k] += moved[2 * k];
        other.sine[k] += moved[2 * k + 1];
    }
    other.rate_hz += moved[OF - 1];
    return other;
}

static Draw draw_one(const DwLineFit *fit, const DwHiddenLine *alone, const DwHiddenLine *guess, double reading,
                     size_t number)
{
    const DwLine *line = &fit->line[0];
    DwLine other = drawn(line, alone, guess, number);
    Draw draw = {.off[3] = fabs(other.rate_hz - line->rate_hz)};
    for (size_t k = 0; k < 2; k++)
        draw.off[k] = fabs(dw_line_amplitude(&other, k) - dw_line_amplitude(line, k));
    draw.off[2] = fabs(remainder(dw_line_phase(fit, &other, reading) - dw_line_phase(fit, line, reading), 2 * M_PI));
    return draw;
}

static int by_off(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// What 95 of 100 of COUNT draws are nearer than, in QUANTITY.
static double half_width(const Draw *draws, size_t count, size_t quantity)
{
    double(*sorted)[2] = dw_memory_new(count + 1, sizeof *sorted), sum = 0;
    for (size_t i = 0; i < count; i++) {
        sorted[i][0] = draws[i].off[quantity];
        sorted[i][1] = draws[i].weight;
    }
    qsort(sorted, count, sizeof *sorted, by_off);
    size_t at = 0;
    while (at + 1 < count && (sum += sorted[at][1]) < 0.95)
        at++;
    double half = count ? sorted[at][0] : 0;
    free(sorted);
    return half;
}

// Draws from GUESSES by CHANCE, and takes the half-widths.
static void draw_all(const DwLineFit *fit, const Guesses *guesses, const double *chance, double reading,
                     double half[QUANTITIES])
{
    Draw *draws = dw_memory_new(DRAWS + GUESSES * (LEAST_DRAWS + 1), sizeof *draws);
    size_t count = 0;
    for (size_t i = 0; i < guesses->count; i++) {
        if (chance[i] < UNLIKELY)
            continue;
        size_t times = LEAST_DRAWS + (size_t)(chance[i] * DRAWS);
        for (size_t n = 0; n < times; n++) {
            draws[count] = draw_one(fit, &guesses->line[0], &guesses->line[i], reading, count);
            draws[count++].weight = chance[i] / (double)times;
        }
    }
    for (size_t q = 0; q < QUANTITIES; q++)
        half[q] = half_width(draws, count, q);
    free(draws);
}

DwBeltDoubt dw_speed_belt_doubt(const DwSlowSeries *series, const DwLineFit *fit, double variance, double reading,
                                const DwSpeedSettings *settings)
{
    DwBeltDoubt doubt = {{0}, 0, 0};
    Guesses *guesses = dw_memory_new(1, sizeof *guesses);
    DwLineSamples samples = dw_slow_series_samples(series);
    guess(fit, settings, guesses);
    if (guesses->count > 1 && dw_hidden_line_try(fit, &samples, variance, guesses->line, guesses->count)) {
        static const double nothing[GUESSES] = {1};
        double alone[QUANTITIES], whole[QUANTITIES], more[QUANTITIES];
        weigh(guesses);
        draw_all(fit, guesses, nothing, reading, alone);
        draw_all(fit, guesses, guesses->chance, reading, whole);
        for (size_t q = 0; q < QUANTITIES; q++)
            more[q] = sqrt(fmax(0, whole[q] * whole[q] - alone[q] * alone[q]));
        doubt = (DwBeltDoubt){{more[0], more[1]}, more[2], more[3]};
    }
    free(guesses);
    return doubt;
}
