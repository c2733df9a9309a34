// SPDX-License-Identifier: MIT
#include "dsp/hidden_line.h"

#include "base/memory.h"
#include "base/wide.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TREND = DW_LINE_FIT_TREND, OF = DW_HIDDEN_LINE_OF, HIDDEN = 4, ALL = TREND + OF + HIDDEN };
enum { RATE = TREND + OF - 1, FIRST_HIDDEN = TREND + OF, PASSES = 6, TOGETHER = 4 };
enum {
    TILE = 32,
    LEFT = ALL,
    WIDE = 16
}; // points gathered at a time; a row's columns, and their place for what is left

static const double FARTHEST_STEP = 0.3; // of the rate in one pass, over the span
static const double LOOSE = 0.3;         // of a rate of which nothing is known, over the span

// Some samples together: what the platter's line and the trend are fitted to.
typedef struct {
    double x, since, value, weight; // place in the span from −1 to 1, clock from the middle, weight over the variance
} Point;

typedef struct {
    const DwLineFit *fit;
    Point *points;
    size_t count;
    double expected_hz, expected_off_hz; // of the rate, beforehand
} Known;

// Where a search stands: trend, line and its rate, hidden line.
typedef struct {
    double value[ALL];
    double cost;             // half of the squares over their variances, those of what is known beforehand too
    double factor[ALL][ALL]; // Cholesky's of the normal equations
} Place;

// Some points' columns, each along the points, what they make of each point, and cosine and sine of the line's and the
// hidden line's angle there.
typedef struct {
    double column[ALL][TILE], made[TILE], since[TILE];
    double cosine[2][TILE], sine[2][TILE];
} Tile;

// Fills TILE's columns, all but the trend's, where the search stands at VALUE; the loops vectorise.
DW_WIDE static void fill_columns(const double *restrict value, double ratio, Tile *restrict tile)
{
    double slope[TILE] = {0};
    for (size_t part = 0; part < 2; part++) {
        double(*own)[TILE] = &tile->column[part ? FIRST_HIDDEN : TREND];
        const double *amplitude = &value[part ? FIRST_HIDDEN : TREND];
        double turn = part ? ratio : 1;
        for (size_t n = 0; n < TILE; n++) {
            double c = tile->cosine[part][n], s = tile->sine[part][n];
            double twice_c = c * c - s * s, twice_s = 2 * c * s;
            own[0][n] = c;
            own[1][n] = s;
            own[2][n] = twice_c;
            own[3][n] = twice_s;
            slope[n] += turn * (amplitude[1] * c - amplitude[0] * s);
            slope[n] += turn * 2 * (amplitude[3] * twice_c - amplitude[2] * twice_s);
        }
    }
    for (size_t n = 0; n < TILE; n++) {
        tile->column[RATE][n] = 0;
        tile->made[n] = 0;
    }
    for (size_t i = 0; i < ALL; i++)
        for (size_t n = 0; n < TILE; n++)
            tile->made[n] += tile->column[i][n] * value[i];
    for (size_t n = 0; n < TILE; n++)
        tile->column[RATE][n] = 2 * M_PI * tile->since[n] * slope[n];
}

// Fills TILE for COUNT points where the search stands at VALUE.
static void fill_tile(const Point *points, size_t count, const double value[ALL], double ratio, Tile *tile)
{
    for (size_t n = 0; n < count; n++) {
        double angle = 2 * M_PI * value[RATE] * points[n].since, trend[TREND];
        dw_line_fit_trend_parts(points[n].x, trend);
        for (size_t i = 0; i < TREND; i++)
            tile->column[i][n] = trend[i];
        for (size_t part = 0; part < 2; part++) {
            double turned = part ? ratio * angle : angle;
            tile->cosine[part][n] = cos(turned);
            tile->sine[part][n] = sin(turned);
        }
        tile->since[n] = points[n].since;
    }
    fill_columns(value, ratio, tile);
}

// Adds to SUMS[i] the products of column i of ROWS, times its WEIGHT, with all columns; the loops vectorise.
DW_WIDE static void add_products(double rows[restrict TILE][WIDE], const double weights[restrict TILE], size_t count,
                                 double sums[restrict ALL][WIDE])
{
    for (size_t i = 0; i < ALL; i++) {
        double sum[WIDE];
        for (size_t k = 0; k < WIDE; k++)
            sum[k] = sums[i][k];
        for (size_t n = 0; n < count; n++)
            for (size_t k = 0; k < WIDE; k++)
                sum[k] += weights[n] * rows[n][i] * rows[n][k];
        for (size_t k = 0; k < WIDE; k++)
            sums[i][k] = sum[k];
    }
}

// Sums up the points' normal equations and gradient, and adds to the cost.
static void add_points(const Known *known, double ratio, Place *place, double gradient[ALL])
{
    Tile tile = {0};
    _Alignas(64) double rows[TILE][WIDE] = {0};
    double weights[TILE], sums[ALL][WIDE] = {0};
    for (size_t from = 0; from < known->count; from += TILE) {
        const Point *points = &known->points[from];
        size_t count = known->count - from < TILE ? known->count - from : TILE;
        fill_tile(points, count, place->value, ratio, &tile);
        for (size_t n = 0; n < count; n++) {
            double left = points[n].value - tile.made[n];
            for (size_t i = 0; i < ALL; i++)
                rows[n][i] = tile.column[i][n];
            rows[n][LEFT] = left;
            weights[n] = points[n].weight;
            place->cost += 0.5 * weights[n] * left * left;
        }
        add_products(rows, weights, count, sums);
    }
    for (size_t i = 0; i < ALL; i++) {
        gradient[i] = sums[i][LEFT];
        memcpy(place->factor[i], sums[i], (i + 1) * sizeof(double));
    }
}

// Normal equations, gradient and cost where PLACE stands.
static void gather(const Known *known, const DwHiddenLine *guess, Place *place, double gradient[ALL])
{
    double off = (known->expected_hz - place->value[RATE]) / known->expected_off_hz;
    memset(place->factor, 0, sizeof place->factor);
    place->cost = 0.5 * off * off;
    add_points(known, guess->ratio, place, gradient);
    place->factor[RATE][RATE] += 1 / (known->expected_off_hz * known->expected_off_hz);
    gradient[RATE] += off / known->expected_off_hz;
    for (size_t i = 0; i < HIDDEN && guess->deviation[0] > 0; i++) {
        double precision = 1 / (guess->deviation[i / 2] * guess->deviation[i / 2]),
               *own = place->value + FIRST_HIDDEN + i;
        place->factor[FIRST_HIDDEN + i][FIRST_HIDDEN + i] += precision;
        gradient[FIRST_HIDDEN + i] -= precision * *own;
        place->cost += 0.5 * precision * *own * *own;
    }
}

static size_t unknowns_of(const DwHiddenLine *guess)
{
    return guess->deviation[0] > 0 ? ALL : FIRST_HIDDEN;
}

// One step towards the likeliest values; the rate stands where it is HELD. Returned: false where it has none.
static bool step_on(const Known *known, const DwHiddenLine *guess, bool held, Place *place)
{
    double gradient[ALL];
    size_t unknowns = unknowns_of(guess);
    gather(known, guess, place, gradient);
    if (held) {
        for (size_t i = 0; i < ALL; i++)
            place->factor[i > RATE ? i : RATE][i > RATE ? RATE : i] = 0;
        place->factor[RATE][RATE] = 1;
        gradient[RATE] = 0;
    }
    gsl_matrix_view whole = gsl_matrix_view_array(&place->factor[0][0], ALL, ALL);
    gsl_matrix_view part = gsl_matrix_submatrix(&whole.matrix, 0, 0, unknowns, unknowns);
    gsl_vector_view step = gsl_vector_view_array(gradient, unknowns);
    if (gsl_linalg_cholesky_decomp1(&part.matrix) != GSL_SUCCESS)
        return false;
    gsl_linalg_cholesky_svx(&part.matrix, &step.vector);
    double farthest = FARTHEST_STEP / known->fit->span;
    gradient[RATE] = fmax(-farthest, fmin(farthest, gradient[RATE]));
    for (size_t i = 0; i < unknowns; i++)
        place->value[i] += gradient[i];
    return true;
}

// Searches from where the rate is RATE_HZ; FITTED: from the fit's own values, else from those that go best with it.
static bool search(const Known *known, const DwHiddenLine *guess, double rate_hz, bool fitted, Place *place)
{
    const DwLine *line = &known->fit->line[0];
    memset(place->value, 0, sizeof place->value);
    memcpy(place->value, known->fit->trend, sizeof known->fit->trend);
    for (size_t k = 0; k < 2 && fitted; k++) {
        place->value[TREND + 2 * k] = line->cosine[k];
        place->value[TREND + 2 * k + 1] = line->sine[k];
    }
    place->value[RATE] = rate_hz;
    bool good = fitted || step_on(known, guess, true, place);
    for (size_t i = 0; i < PASSES && good; i++)
        good = step_on(known, guess, false, place);
    double unused[ALL], cost = place->cost;
    if (good) {
        Place at = *place;
        gather(known, guess, &at, unused);
        cost = at.cost;
    }
    place->cost = cost;
    return good && isfinite(cost);
}

// Fills what GUESS asks for from its likeliest PLACE.
static bool answer(const Place *place, DwHiddenLine *guess)
{
    double inverse[ALL][ALL], covariance[OF * OF];
    size_t unknowns = unknowns_of(guess);
    memcpy(inverse, place->factor, sizeof inverse);
    guess->evidence = -place->cost;
    for (size_t i = 0; i < unknowns; i++)
        guess->evidence -= log(place->factor[i][i]);
    for (size_t i = 0; i < HIDDEN && guess->deviation[0] > 0; i++)
        guess->evidence -= log(guess->deviation[i / 2]);
    gsl_matrix_view whole = gsl_matrix_view_array(&inverse[0][0], ALL, ALL);
    gsl_matrix_view part = gsl_matrix_submatrix(&whole.matrix, 0, 0, unknowns, unknowns);
    gsl_linalg_cholesky_invert(&part.matrix);
    for (size_t i = 0; i < OF; i++) {
        guess->line[i] = place->value[TREND + i];
        for (size_t j = 0; j < OF; j++)
            covariance[i * OF + j] = inverse[TREND + i][TREND + j];
    }
    gsl_matrix_view view = gsl_matrix_view_array(covariance, OF, OF);
    if (gsl_linalg_cholesky_decomp1(&view.matrix) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < OF; i++)
        for (size_t j = 0; j < OF; j++)
            guess->factor[i][j] = j <= i ? covariance[i * OF + j] : 0;
    return true;
}

// Takes what the fit leaves, TOGETHER samples at a time, and the trend and line 0 with it.
static void collect(const DwLineSamples *samples, double variance, Known *known)
{
    const DwLineFit *fit = known->fit;
    const DwLine *line = &fit->line[0];
    double *left = dw_memory_new(samples->count, sizeof *left);
    dw_line_fit_rest(fit, samples, left);
    for (size_t from = 0; from + TOGETHER <= samples->count; from += TOGETHER) {
        double weight = 0, sum = 0, time = 0, since = 0, trend[TREND];
        for (size_t n = from; n < from + TOGETHER; n++) {
            weight += samples->weight[n];
            sum += samples->weight[n] * left[n];
            time += samples->clock[0][n] / TOGETHER;
            since += (samples->clock[1][n] - fit->middle[1]) / TOGETHER;
        }
        if (weight <= 0)
            continue;
        Point point = {2 * (time - fit->middle[0]) / fit->span, since, sum / weight, weight / variance};
        dw_line_fit_trend_parts(point.x, trend);
        for (size_t i = 0; i < TREND; i++)
            point.value += fit->trend[i] * trend[i];
        for (size_t k = 0; k < 2; k++) {
            double angle = 2 * M_PI * (double)(k + 1) * line->rate_hz * since;
            point.value += line->cosine[k] * cos(angle) + line->sine[k] * sin(angle);
        }
        known->points[known->count++] = point;
    }
    free(left);
}

bool dw_hidden_line_try(const DwLineFit *fit, const DwLineSamples *samples, double variance, DwHiddenLine *tried,
                        size_t count)
{
    if (fit->count == 0 || fit->line[0].harmonics < 2 || samples->count < 8 * ALL || !(variance > 0))
        return false;
    const DwLine *line = &fit->line[0];
    bool expected = isfinite(line->prior_hz) && isfinite(line->prior_off_hz);
    Known known = {fit, dw_memory_new(samples->count / TOGETHER + 1, sizeof *known.points), 0,
                   expected ? line->prior_hz : line->rate_hz, expected ? line->prior_off_hz : LOOSE / fit->span};
    collect(samples, variance, &known);
    bool done = known.count > 2 * ALL;
    for (size_t i = 0; i < count && done; i++) {
        Place near, far;
        bool good = search(&known, &tried[i], line->rate_hz, true, &near),
             other = search(&known, &tried[i], known.expected_hz, false, &far);
        done = (good || other) && answer(!other || (good && near.cost <= far.cost) ? &near : &far, &tried[i]);
    }
    free(known.points);
    return done;
}
