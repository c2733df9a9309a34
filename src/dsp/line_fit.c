// SPDX-License-Identifier: MIT
#include "dsp/line_fit.h"

#include "base/memory.h"
#include "base/wide.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS_MOST = DW_LINE_FIT_TREND + DW_LINE_FIT_LINES * (2 * DW_LINE_FIT_HARMONICS + 1), TILE = 32 };

static const double FARTHEST_STEP = 0.3; // of a rate in one pass, over the span
static const double SETTLED = 1e-6;      // likewise: the next step would be of its square

// The normal equations; columns are the trend's, then each line's cosines and sines and its rate.
typedef struct {
    size_t columns;
    double *left, *right;    // [columns²] row by row, lower half; [columns]
    double (*tile)[TILE];    // columns of some samples, times the root of their weight
    double wanted[TILE];     // their values
    double squares, weights; // of the values
} Equations;

void dw_line_fit_init(DwLineFit *fit, const DwLineSamples *samples)
{
    *fit = (DwLineFit){0};
    size_t last = samples->count - 1;
    for (size_t i = 0; i < 2; i++)
        fit->middle[i] = 0.5 * (samples->clock[i][0] + samples->clock[i][last]);
    fit->span = samples->clock[0][last] - samples->clock[0][0];
}

void dw_line_fit_trend_parts(double x, double values[DW_LINE_FIT_TREND])
{
    values[0] = 1;
    values[1] = x;
    values[2] = 1.5 * x * x - 0.5;
    values[3] = (2.5 * x * x - 1.5) * x;
}

double dw_line_fit_trend_at(const DwLineFit *fit, double clock)
{
    double values[DW_LINE_FIT_TREND], sum = 0;
    dw_line_fit_trend_parts(2 * (clock - fit->middle[0]) / fit->span, values);
    for (size_t i = 0; i < DW_LINE_FIT_TREND; i++)
        sum += fit->trend[i] * values[i];
    return sum;
}

// Cosines and sines of TURNS; the loop vectorises.
//
// Given: whole turns and parts, below 10¹² in size. Accuracy: 2e-16. Quarters of a turn are taken off exactly; what is
// left is at most an eighth, for which Taylor's series end at the 16th power.
DW_WIDE static void turn_tile(const double *restrict turns, double *restrict cosines, double *restrict sines)
{
    static const double round = 6755399441055744.0; // 1.5·2⁵²: added and taken off again it rounds to a whole number
    for (size_t i = 0; i < TILE; i++) {
        double quarters = (4 * turns[i] + round) - round, x = 2 * M_PI * (turns[i] - quarters / 4), y = x * x;
        double whole = (quarters / 4 - 0.375 + round) - round, quarter = quarters - 4 * whole; // 0, 1, 2 or 3
        double s = -1.0 / 1307674368000.0, c = 1.0 / 20922789888000.0;
        s = s * y + 1.0 / 6227020800.0;
        s = s * y - 1.0 / 39916800;
        s = s * y + 1.0 / 362880;
        s = s * y - 1.0 / 5040;
        s = s * y + 1.0 / 120;
        s = s * y - 1.0 / 6;
        s = x + x * y * s;
        c = c * y - 1.0 / 87178291200.0;
        c = c * y + 1.0 / 479001600;
        c = c * y - 1.0 / 3628800;
        c = c * y + 1.0 / 40320;
        c = c * y - 1.0 / 720;
        c = c * y + 1.0 / 24;
        c = 1 - 0.5 * y + y * y * c;
        double odd_c = quarter == 1 ? -s : s, even_c = quarter == 0 ? c : -c;
        double odd_s = quarter == 1 ? c : -c, even_s = quarter == 0 ? s : -s;
        bool odd = quarter == 1 || quarter == 3;
        cosines[i] = odd ? odd_c : even_c;
        sines[i] = odd ? odd_s : even_s;
    }
}

// Cosine and sine of the harmonics of an angle of cosine C and sine S, by turning on.
static void harmonics_of(double c, double s, size_t count, double *cosines, double *sines)
{
    double re = 1, im = 0;
    for (size_t k = 0; k < count; k++) {
        double next = re * c - im * s;
        im = im * c + re * s;
        re = next;
        cosines[k] = re;
        sines[k] = im;
    }
}

static void harmonics_at(double angle, size_t count, double *cosines, double *sines)
{
    harmonics_of(cos(angle), sin(angle), count, cosines, sines);
}

double dw_line_fit_line_at(const DwLineFit *fit, const DwLine *line, const double clock[2])
{
    double c[DW_LINE_FIT_HARMONICS], s[DW_LINE_FIT_HARMONICS], sum = 0;
    double since = clock[line->clock] - fit->middle[line->clock];
    harmonics_at(2 * M_PI * line->rate_hz * since, line->harmonics, c, s);
    for (size_t k = 0; k < line->harmonics; k++)
        sum += line->cosine[k] * c[k] + line->sine[k] * s[k];
    return sum;
}

double dw_line_fit_lines_at(const DwLineFit *fit, const double clock[2])
{
    double sum = 0;
    for (size_t i = 0; i < fit->count; i++)
        sum += dw_line_fit_line_at(fit, &fit->line[i], clock);
    return sum;
}

// The tile's samples from FROM on as LINE's clock counts them from the fit's middle, and its cosine and sine there.
// Past the end the last one stands.
typedef struct {
    double since[TILE], cosine[TILE], sine[TILE];
} Turning;

static void turn_line(const DwLineFit *fit, const DwLine *line, const DwLineSamples *samples, size_t from,
                      Turning *turning)
{
    double turns[TILE];
    for (size_t i = 0; i < TILE; i++) {
        size_t n = from + i < samples->count ? from + i : samples->count - 1;
        turning->since[i] = samples->clock[line->clock][n] - fit->middle[line->clock];
        turns[i] = line->rate_hz * turning->since[i];
    }
    turn_tile(turns, turning->cosine, turning->sine);
}

void dw_line_fit_rest(const DwLineFit *fit, const DwLineSamples *samples, double *rest)
{
    for (size_t n = 0; n < samples->count; n++)
        rest[n] = samples->value[n] - dw_line_fit_trend_at(fit, samples->clock[0][n]);
    for (size_t l = 0; l < fit->count; l++) {
        const DwLine *line = &fit->line[l];
        for (size_t from = 0; from < samples->count; from += TILE) {
            Turning turning;
            turn_line(fit, line, samples, from, &turning);
            for (size_t i = 0; i < TILE && from + i < samples->count; i++) {
                double c[DW_LINE_FIT_HARMONICS], s[DW_LINE_FIT_HARMONICS];
                harmonics_of(turning.cosine[i], turning.sine[i], line->harmonics, c, s);
                for (size_t k = 0; k < line->harmonics; k++)
                    rest[from + i] -= line->cosine[k] * c[k] + line->sine[k] * s[k];
            }
        }
    }
}

// Fills one line's columns of the tile that begins at FROM; ROOT is that of each sample's weight. Returned: how many.
static size_t fill_line(const DwLineFit *fit, const DwLine *line, const DwLineSamples *samples, size_t from,
                        const double root[TILE], double (*tile)[TILE])
{
    Turning turning;
    turn_line(fit, line, samples, from, &turning);
    for (size_t i = 0; i < TILE; i++) {
        double c[DW_LINE_FIT_HARMONICS], s[DW_LINE_FIT_HARMONICS], slope = 0;
        harmonics_of(turning.cosine[i], turning.sine[i], line->harmonics, c, s);
        for (size_t k = 0; k < line->harmonics; k++) {
            tile[2 * k][i] = root[i] * c[k];
            tile[2 * k + 1][i] = root[i] * s[k];
            slope += (double)(k + 1) * (line->sine[k] * c[k] - line->cosine[k] * s[k]);
        }
        tile[2 * line->harmonics][i] = root[i] * 2 * M_PI * turning.since[i] * slope;
    }
    return 2 * line->harmonics + 1;
}

static void fill_tile(const DwLineFit *fit, const DwLineSamples *samples, size_t from, Equations *equations)
{
    double roots[TILE];
    for (size_t i = 0; i < TILE; i++) {
        bool there = from + i < samples->count;
        size_t n = there ? from + i : samples->count - 1;
        double root = there ? sqrt(samples->weight[n]) : 0, trend[DW_LINE_FIT_TREND];
        dw_line_fit_trend_parts(2 * (samples->clock[0][n] - fit->middle[0]) / fit->span, trend);
        for (size_t k = 0; k < DW_LINE_FIT_TREND; k++)
            equations->tile[k][i] = root * trend[k];
        equations->wanted[i] = root * samples->value[n];
        equations->squares += equations->wanted[i] * equations->wanted[i];
        equations->weights += root * root;
        roots[i] = root;
    }
    size_t column = DW_LINE_FIT_TREND;
    for (size_t l = 0; l < fit->count; l++)
        column += fill_line(fit, &fit->line[l], samples, from, roots, equations->tile + column);
}

DW_WIDE static double dot(const double *restrict a, const double *restrict b)
{
    double lanes[8] = {0}, sum = 0;
    for (size_t n = 0; n < TILE; n += 8)
        for (size_t i = 0; i < 8; i++)
            lanes[i] += a[n + i] * b[n + i];
    for (size_t i = 0; i < 8; i++)
        sum += lanes[i];
    return sum;
}

static void gather(const DwLineFit *fit, const DwLineSamples *samples, Equations *equations)
{
    size_t columns = equations->columns;
    memset(equations->left, 0, columns * columns * sizeof(double));
    memset(equations->right, 0, columns * sizeof(double));
    equations->squares = equations->weights = 0;
    for (size_t from = 0; from < samples->count; from += TILE) {
        fill_tile(fit, samples, from, equations);
        for (size_t i = 0; i < columns; i++) {
            for (size_t j = 0; j <= i; j++)
                equations->left[i * columns + j] += dot(equations->tile[i], equations->tile[j]);
            equations->right[i] += dot(equations->tile[i], equations->wanted);
        }
    }
}

// What is known of a rate counts as one more sample.
static void add_priors(const DwLineFit *fit, Equations *equations)
{
    size_t column = DW_LINE_FIT_TREND;
    for (size_t l = 0; l < fit->count; l++) {
        const DwLine *line = &fit->line[l];
        column += 2 * line->harmonics;
        double *own = &equations->left[column * equations->columns + column];
        if (!isnan(line->prior_off_hz)) {
            double weight = fmax(fit->variance, 1e-12) / (line->prior_off_hz * line->prior_off_hz);
            double off = line->prior_hz - line->rate_hz;
            *own += weight;
            equations->right[column] += weight * off;
            equations->squares += weight * off * off;
        }
        *own += 1e-9 * equations->weights; // a line of no amplitude has any rate
        column++;
    }
}

// Solves in place. Returned: false where the equations do not determine it.
static bool solve(Equations *equations, double *answer)
{
    size_t columns = equations->columns;
    gsl_matrix_view left = gsl_matrix_view_array(equations->left, columns, columns);
    gsl_vector_view right = gsl_vector_view_array(answer, columns);
    memcpy(answer, equations->right, columns * sizeof *answer);
    bool solved = gsl_linalg_cholesky_decomp1(&left.matrix) == GSL_SUCCESS &&
                  gsl_linalg_cholesky_svx(&left.matrix, &right.vector) == GSL_SUCCESS;
    return solved;
}

// Takes over what was solved, rates by a bounded step. Returned: the largest such step over the span.
static double take_answer(const double *answer, DwLineFit *fit)
{
    size_t column = DW_LINE_FIT_TREND;
    double farthest = FARTHEST_STEP / fit->span, largest = 0;
    memcpy(fit->trend, answer, sizeof fit->trend);
    for (size_t l = 0; l < fit->count; l++) {
        DwLine *line = &fit->line[l];
        for (size_t k = 0; k < line->harmonics; k++) {
            line->cosine[k] = answer[column++];
            line->sine[k] = answer[column++];
        }
        double step = answer[column++];
        line->rate_hz += fmax(-farthest, fmin(farthest, step));
        largest = fmax(largest, fabs(step) * fit->span);
    }
    return largest;
}

// Takes the covariances from the inverse, which stands in `left`.
static void take_covariance(const Equations *equations, DwLineFit *fit)
{
    size_t columns = equations->columns, column = DW_LINE_FIT_TREND;
    for (size_t i = 0; i < DW_LINE_FIT_TREND; i++)
        fit->trend_unit[i] = equations->left[i * columns + i];
    for (size_t l = 0; l < fit->count; l++) {
        DwLine *line = &fit->line[l];
        size_t rate = column + 2 * line->harmonics;
        for (size_t k = 0; k < line->harmonics; k++) {
            const size_t at[3] = {column + 2 * k, column + 2 * k + 1, rate};
            for (size_t i = 0; i < 3; i++)
                for (size_t j = 0; j < 3; j++)
                    line->unit[k][i][j] = equations->left[at[i] * columns + at[j]];
        }
        column = rate + 1;
    }
}

// One pass. *LAST is set where another one would move nothing.
static bool pass(DwLineFit *fit, const DwLineSamples *samples, Equations *equations, double *answer, bool *last)
{
    gather(fit, samples, equations);
    add_priors(fit, equations);
    if (!solve(equations, answer))
        return false;
    double explained = 0;
    for (size_t i = 0; i < equations->columns; i++)
        explained += answer[i] * equations->right[i];
    double free = fmax(1, equations->weights - (double)equations->columns);
    double before = fit->variance; // priors weigh by it
    fit->variance = fmax(0, equations->squares - explained) / free;
    bool same = fabs(fit->variance - before) <= SETTLED * before;
    *last = (take_answer(answer, fit) < SETTLED && same) || *last;
    if (*last) {
        gsl_matrix_view left = gsl_matrix_view_array(equations->left, equations->columns, equations->columns);
        gsl_linalg_cholesky_invert(&left.matrix);
        take_covariance(equations, fit);
    }
    return true;
}

bool dw_line_fit_run(DwLineFit *fit, const DwLineSamples *samples, unsigned passes)
{
    Equations equations = {.columns = DW_LINE_FIT_TREND};
    for (size_t l = 0; l < fit->count; l++)
        equations.columns += 2 * fit->line[l].harmonics + 1;
    if (samples->count < 2 * equations.columns)
        return false;
    DwLineFit before = *fit;
    equations.left = dw_memory_new(equations.columns * equations.columns, sizeof(double));
    equations.right = dw_memory_new(equations.columns, sizeof(double));
    equations.tile = dw_memory_new(equations.columns, sizeof *equations.tile);
    double answer[COLUMNS_MOST];
    bool solved = true, last = false;
    for (unsigned i = 0; solved && !last && i < passes; i++) {
        last = i + 1 == passes;
        solved = pass(fit, samples, &equations, answer, &last);
    }
    if (!solved)
        *fit = before;
    free(equations.left);
    free(equations.right);
    free(equations.tile);
    return solved;
}

double dw_line_amplitude(const DwLine *line, size_t harmonic)
{
    return hypot(line->cosine[harmonic], line->sine[harmonic]);
}

double dw_line_amplitude_off(const DwLine *line, size_t harmonic, double variance)
{
    double amplitude = dw_line_amplitude(line, harmonic);
    if (!(amplitude > 0))
        return NAN;
    double c = line->cosine[harmonic] / amplitude, s = line->sine[harmonic] / amplitude;
    const double(*v)[3] = line->unit[harmonic];
    return sqrt(variance * fmax(0, c * c * v[0][0] + 2 * c * s * v[0][1] + s * s * v[1][1]));
}

double dw_line_rate_off(const DwLine *line, double variance)
{
    return sqrt(variance * line->unit[0][2][2]);
}

double dw_line_phase(const DwLineFit *fit, const DwLine *line, double reading)
{
    double turned = 2 * M_PI * line->rate_hz * (reading - fit->middle[line->clock]);
    return atan2(-line->sine[0], line->cosine[0]) + turned;
}

double dw_line_phase_off(const DwLineFit *fit, const DwLine *line, double reading, double variance)
{
    double c = line->cosine[0], s = line->sine[0], square = c * c + s * s;
    if (!(square > 0))
        return M_PI;
    // The phase turns by these for each of cosine, sine and rate.
    const double by[3] = {s / square, -c / square, 2 * M_PI * (reading - fit->middle[line->clock])};
    double sum = 0;
    for (size_t i = 0; i < 3; i++)
        for (size_t j = 0; j < 3; j++)
            sum += by[i] * by[j] * line->unit[0][i][j];
    return sqrt(variance * fmax(0, sum));
}
