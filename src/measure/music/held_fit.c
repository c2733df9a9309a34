// SPDX-License-Identifier: MIT
#include "measure/music/held_fit.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "physics/chance.h"

#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { UNKNOWNS = 2 * DW_HELD_LINES_MOST, ROUNDS = 4, ROUNDS_SETTLED = 8, BESIDE = 6, RATES_BESIDE = 40, HALVINGS = 7 };
#define NONE SIZE_MAX

static const double beside[BESIDE] = {0.6, 0.78, 1.27, 1.5, 2.4, 2.8}; // of the first line's rate
static const double PRIOR = 2;                                         // neighbours that the usual density counts as
static const double LOW_BESIDE = 0.5, HIGH_BESIDE = 1.85, CLEAR = 1.5; // of the turn's rate; of what can be told apart
static const double METHOD = 0.005; // of the amplitude, what noise draws towards the paths: by drawn music
static const double RIDGE = 1e-6;
static const double LEAST_FREEDOM = 2; // degrees of it
static const double FINE = 0.25;       // of what can be told apart, from one rate tried to the next
static const double STRETCH_TURNS = 2;

typedef struct {
    double a[UNKNOWNS][UNKNOWNS], g[UNKNOWNS];
    size_t count; // of unknowns
} Normal;

// --- one course ----------------------------------------------------------------

// Weighted straight line through values, taken out of them.
typedef struct {
    double sum, first, second, mean, spread;
} Trend;

static double place(const DwPartialCourse *course, size_t i)
{
    return ((double)i + 0.5) / (double)course->count - 0.5;
}

static Trend trend_of(const DwPartialCourse *course)
{
    Trend trend = {.sum = 1e-12};
    for (size_t i = 0; i < course->count; i++) {
        double w = course->weight[i], u = place(course, i);
        trend.sum += w;
        trend.first += w * u;
        trend.second += w * u * u;
    }
    trend.mean = trend.first / trend.sum;
    trend.spread = trend.second - trend.first * trend.mean + 1e-12;
    return trend;
}

static void detrend(const DwPartialCourse *course, const Trend *trend, double *values)
{
    double level = 0, slope = 0;
    for (size_t i = 0; i < course->count; i++) {
        level += course->weight[i] * values[i];
        slope += course->weight[i] * values[i] * (place(course, i) - trend->mean);
    }
    level /= trend->sum;
    slope /= trend->spread;
    for (size_t i = 0; i < course->count; i++)
        values[i] -= level + slope * (place(course, i) - trend->mean);
}

// Cosine and sine at RATE_HZ as the course keeps them, from the fit's middle.
static void make_wave(const DwHeldFit *fit, const DwPartialCourse *course, double rate_hz, double *cosine, double *sine)
{
    double complex at = cexp(2 * M_PI * I * rate_hz * (course->first_s - fit->middle_s));
    double complex step = cexp(2 * M_PI * I * rate_hz * course->step_s);
    at *= dw_partial_course_gain(course, rate_hz);
    for (size_t i = 0; i < course->count; i++) {
        cosine[i] = creal(at);
        sine[i] = cimag(at);
        at *= step;
    }
}

// --- room to work in -----------------------------------------------------------

typedef struct {
    DwHeldFit *fit;
    size_t longest;
    double *wave[UNKNOWNS], *value;
} Work;

static Work begin_work(DwHeldFit *fit)
{
    Work work = {.fit = fit};
    for (size_t j = 0; j < fit->count; j++)
        work.longest = fit->courses[j].count > work.longest ? fit->courses[j].count : work.longest;
    for (size_t u = 0; u < UNKNOWNS; u++)
        work.wave[u] = dw_memory_new(work.longest + 1, sizeof(double));
    work.value = dw_memory_new(work.longest + 1, sizeof(double));
    return work;
}

static void end_work(Work *work)
{
    for (size_t u = 0; u < UNKNOWNS; u++)
        free(work->wave[u]);
    free(work->value);
}

// The course's values with the first LINES lines, but for line BUT, taken out, and without trend.
static void load_rest(Work *work, const DwPartialCourse *course, const Trend *trend, size_t lines, size_t but)
{
    for (size_t i = 0; i < course->count; i++)
        work->value[i] = course->percent[i];
    for (size_t l = 0; l < lines; l++) {
        if (l == but)
            continue;
        const DwHeldLine *line = &work->fit->line[l];
        make_wave(work->fit, course, line->rate_hz, work->wave[0], work->wave[1]);
        for (size_t i = 0; i < course->count; i++)
            work->value[i] -= line->vector.real * work->wave[0][i] + line->vector.imaginary * work->wave[1][i];
    }
    detrend(course, trend, work->value);
}

static void load_waves(Work *work, const DwPartialCourse *course, const Trend *trend, const double *rates, size_t count)
{
    for (size_t l = 0; l < count; l++) {
        make_wave(work->fit, course, rates[l], work->wave[2 * l], work->wave[2 * l + 1]);
        detrend(course, trend, work->wave[2 * l]);
        detrend(course, trend, work->wave[2 * l + 1]);
    }
}

// Adds values FROM to TO of the course to the normal equations.
static void add_normal(const Work *work, const DwPartialCourse *course, size_t from, size_t to, double weight,
                       Normal *normal)
{
    for (size_t i = from; i < to; i++) {
        double w = weight * course->weight[i];
        for (size_t u = 0; u < normal->count; u++) {
            double wave = w * work->wave[u][i];
            normal->g[u] += wave * work->value[i];
            for (size_t v = 0; v <= u; v++)
                normal->a[u][v] += wave * work->wave[v][i];
        }
    }
}

static void take_away(Normal *normal, const Normal *part)
{
    for (size_t u = 0; u < normal->count; u++) {
        normal->g[u] -= part->g[u];
        for (size_t v = 0; v <= u; v++)
            normal->a[u][v] -= part->a[u][v];
    }
}

// Cholesky's decomposition of A, a little lifted, in its lower half.
static bool decompose(Normal *normal)
{
    for (size_t u = 0; u < normal->count; u++)
        normal->a[u][u] *= 1 + RIDGE;
    for (size_t u = 0; u < normal->count; u++)
        for (size_t v = 0; v <= u; v++) {
            double sum = normal->a[u][v];
            for (size_t k = 0; k < v; k++)
                sum -= normal->a[u][k] * normal->a[v][k];
            if (u == v && sum <= 0)
                return false;
            normal->a[u][v] = u == v ? sqrt(sum) : sum / normal->a[v][v];
        }
    return true;
}

static void solve(const Normal *decomposed, double *x)
{
    size_t n = decomposed->count;
    for (size_t u = 0; u < n; u++) {
        for (size_t k = 0; k < u; k++)
            x[u] -= decomposed->a[u][k] * x[k];
        x[u] /= decomposed->a[u][u];
    }
    for (size_t u = n; u-- > 0;) {
        for (size_t k = u + 1; k < n; k++)
            x[u] -= decomposed->a[k][u] * x[k];
        x[u] /= decomposed->a[u][u];
    }
}

// --- each partial's own density -------------------------------------------------

static double median(double *values, size_t count)
{
    return count ? dw_statistics_middle(values, count) : 1;
}

// What the course's rest holds at rates beside the line's, as variance of a value of weight one.
static double own_density(Work *work, const DwPartialCourse *course, size_t lines)
{
    Trend trend = trend_of(course);
    load_rest(work, course, &trend, lines, NONE);
    double sum = 0, told = 0;
    for (size_t b = 0; b < BESIDE; b++) {
        double rate_hz = beside[b] * work->fit->line[0].rate_hz;
        load_waves(work, course, &trend, &rate_hz, 1);
        Normal normal = {.count = 2};
        add_normal(work, course, 0, course->count, 1, &normal);
        // Where a wave is nearly a straight line over the note, little is left of it and it tells little.
        double information = (normal.a[0][0] + normal.a[1][1]) / trend.sum;
        Normal decomposed = normal;
        decomposed.a[0][0] += 0.02 * trend.sum;
        decomposed.a[1][1] += 0.02 * trend.sum;
        if (!decompose(&decomposed))
            continue;
        double x[2] = {normal.g[0], normal.g[1]};
        solve(&decomposed, x);
        double power = (x[0] * normal.g[0] + x[1] * normal.g[1]) / 2, tells = fmin(1, information / 0.5);
        sum += power;
        told += tells;
    }
    return told > 0 ? sum / told : NAN;
}

static void find_densities(Work *work, size_t lines)
{
    DwHeldFit *fit = work->fit;
    double *own = dw_memory_new(fit->count + 1, sizeof *own), *sorted = dw_memory_new(fit->count + 1, sizeof *sorted);
    size_t known = 0;
    for (size_t j = 0; j < fit->count; j++) {
        own[j] = own_density(work, &fit->courses[j], lines);
        if (isfinite(own[j]))
            sorted[known++] = own[j];
    }
    double usual = fmax(median(sorted, known), 1e-9);
    for (size_t j = 0; j < fit->count; j++)
        fit->courses[j].spread = isfinite(own[j]) ? (BESIDE * own[j] + PRIOR * usual) / (BESIDE + PRIOR) : 10 * usual;
    free(own);
    free(sorted);
}

// --- looking for a rate ----------------------------------------------------------

// How much of the rest, without the first LINES lines but for line BUT, a line at RATE_HZ takes, by the densities: χ²
// of two degrees.
static double taken_at(Work *work, double rate_hz, size_t lines, size_t but)
{
    Normal normal = {.count = 2};
    for (size_t j = 0; j < work->fit->count; j++) {
        const DwPartialCourse *course = &work->fit->courses[j];
        Trend trend = trend_of(course);
        load_rest(work, course, &trend, lines, but);
        load_waves(work, course, &trend, &rate_hz, 1);
        add_normal(work, course, 0, course->count, 1 / course->spread, &normal);
    }
    double x[2] = {normal.g[0], normal.g[1]};
    Normal decomposed = normal;
    if (!decompose(&decomposed))
        return 0;
    solve(&decomposed, x);
    return x[0] * normal.g[0] + x[1] * normal.g[1];
}

// Finds the rate of line INDEX within its range, the other ones of the first LINES in place.
static void find_rate(Work *work, size_t index, size_t lines)
{
    DwHeldLine *line = &work->fit->line[index];
    double span = line->high_hz - line->low_hz, length_s = fmax(work->fit->to_s - work->fit->from_s, 1);
    line->tried = span * length_s > 0.51 ? 1 + 2 * span * length_s : 1; // closer ones cannot be told apart
    if (span <= 0)
        return;
    size_t steps = (size_t)ceil(span * length_s / FINE);
    double best = -1, found = line->low_hz, step = span / (double)steps;
    for (size_t s = 0; s <= steps; s++) {
        double rate_hz = line->low_hz + (double)s * step, taken = taken_at(work, rate_hz, lines, index);
        if (taken > best) {
            best = taken;
            found = rate_hz;
        }
    }
    for (int halving = 0; halving < HALVINGS; halving++) {
        step /= 2;
        double down = taken_at(work, found - step, lines, index), up = taken_at(work, found + step, lines, index);
        if (fmax(down, up) > best) {
            best = fmax(down, up);
            found += up > down ? step : -step;
        }
    }
    line->rate_hz = fmin(fmax(found, line->low_hz), line->high_hz);
}

// --- all lines at once -----------------------------------------------------------

// The normal equations of all, of each note, and of each stretch of time.
typedef struct {
    Normal all, *note, *stretch;
    size_t notes, stretches;
} Equations;

static size_t stretch_at(const DwHeldFit *fit, const Equations *equations, double at_s)
{
    double turns = (at_s - fit->from_s) * fit->line[0].rate_hz / STRETCH_TURNS;
    size_t stretch = turns > 0 ? (size_t)turns : 0;
    return stretch < equations->stretches ? stretch : equations->stretches - 1;
}

static void add_course(Work *work, const DwPartialCourse *course, const double *rates, Equations *equations)
{
    const DwHeldFit *fit = work->fit;
    Trend trend = trend_of(course);
    load_rest(work, course, &trend, 0, NONE);
    load_waves(work, course, &trend, rates, fit->lines);
    double weight = 1 / course->spread;
    for (size_t from = 0, to; from < course->count; from = to) {
        size_t stretch = stretch_at(fit, equations, course->first_s + (double)from * course->step_s);
        for (to = from + 1; to < course->count; to++)
            if (stretch_at(fit, equations, course->first_s + (double)to * course->step_s) != stretch)
                break;
        Normal part = {.count = 2 * fit->lines};
        add_normal(work, course, from, to, weight, &part);
        for (size_t u = 0; u < part.count; u++)
            part.g[u] = -part.g[u];
        for (size_t u = 0; u < part.count; u++)
            for (size_t v = 0; v <= u; v++)
                part.a[u][v] = -part.a[u][v];
        take_away(&equations->all, &part);
        take_away(&equations->note[course->note], &part);
        take_away(&equations->stretch[stretch], &part);
    }
}

static Equations make_equations(Work *work)
{
    const DwHeldFit *fit = work->fit;
    double turns = (fit->to_s - fit->from_s) * fit->line[0].rate_hz;
    Equations equations = {.notes = fit->notes, .stretches = (size_t)(turns / STRETCH_TURNS) + 1};
    equations.note = dw_memory_new(equations.notes, sizeof *equations.note);
    equations.stretch = dw_memory_new(equations.stretches, sizeof *equations.stretch);
    equations.all.count = 2 * fit->lines;
    for (size_t i = 0; i < equations.notes; i++)
        equations.note[i].count = equations.all.count;
    for (size_t i = 0; i < equations.stretches; i++)
        equations.stretch[i].count = equations.all.count;
    double rates[DW_HELD_LINES_MOST];
    for (size_t l = 0; l < fit->lines; l++)
        rates[l] = fit->line[l].rate_hz;
    for (size_t j = 0; j < fit->count; j++)
        add_course(work, &fit->courses[j], rates, &equations);
    return equations;
}

// Covariance of each line's two parts: 0 cosine, 1 both, 2 sine.
typedef struct {
    double part[DW_HELD_LINES_MOST][3];
    double freedom;
} Spread;

// By leaving out each of COUNT parts of ALL in turn. The freedom is that of the parts that tell most.
static Spread leave_out(const Normal *all, const double *answer, const Normal *part, size_t count)
{
    Spread spread = {.freedom = 0};
    double sum = 0, squares = 0;
    for (size_t k = 0; k < count; k++) {
        double told = 0;
        for (size_t u = 0; u < part[k].count; u++)
            told += part[k].a[u][u] / fmax(all->a[u][u], 1e-30);
        sum += told;
        squares += told * told;
        Normal rest = *all;
        take_away(&rest, &part[k]);
        double x[UNKNOWNS];
        memcpy(x, rest.g, sizeof x);
        if (told <= 0 || !decompose(&rest))
            continue;
        solve(&rest, x);
        for (size_t l = 0; 2 * l < all->count; l++) {
            double c = x[2 * l] - answer[2 * l], s = x[2 * l + 1] - answer[2 * l + 1];
            spread.part[l][0] += c * c;
            spread.part[l][1] += c * s;
            spread.part[l][2] += s * s;
        }
    }
    double effective = squares > 0 ? sum * sum / squares : 1;
    spread.freedom = fmax(effective - 1, 0.5);
    for (size_t l = 0; l < DW_HELD_LINES_MOST; l++)
        for (size_t c = 0; c < 3; c++)
            spread.part[l][c] *= (effective - 1) / effective;
    return spread;
}

// The line's own 2 × 2 of the inverse of what was decomposed.
static void own_covariance(const Normal *decomposed, size_t line, double part[3])
{
    for (size_t c = 0; c < 2; c++) {
        double x[UNKNOWNS] = {0};
        x[2 * line + c] = 1;
        solve(decomposed, x);
        part[2 * c] = x[2 * line + c];
        if (c == 0)
            part[1] = x[2 * line + 1];
    }
}

static double trace(const double part[3])
{
    return part[0] + part[2];
}

// How much of what the densities say the rest holds at rates beside the lines, as the fit weighs it. More than 1: what
// partials of one note share. Less: steady partials, whose densities the usual one makes too large, tell most.
// *FREEDOM: of the value.
static double common_restlessness(Work *work, double *freedom)
{
    const DwHeldFit *fit = work->fit;
    double length_s = fmax(fit->to_s - fit->from_s, 1), turn_hz = fit->line[0].rate_hz, sum = 0;
    size_t independent = (size_t)fmax(1, (HIGH_BESIDE - LOW_BESIDE) * turn_hz * length_s), counted = 0;
    size_t rates = independent < RATES_BESIDE ? independent : (size_t)RATES_BESIDE;
    for (size_t k = 0; k < rates; k++) {
        double rate_hz = turn_hz * (LOW_BESIDE + (HIGH_BESIDE - LOW_BESIDE) * ((double)k + 0.5) / (double)rates);
        bool is_clear = true;
        for (size_t l = 0; l < fit->lines; l++)
            is_clear &= fabs(rate_hz - fit->line[l].rate_hz) * length_s > CLEAR;
        if (!is_clear)
            continue;
        sum += taken_at(work, rate_hz, fit->lines, NONE) / 2;
        counted++;
    }
    *freedom = 2 * (double)counted;
    return counted ? sum / (double)counted : 1;
}

// The chance that nothing but noise of covariance COV, known with FREEDOM, makes a vector as long, in whichever
// direction: F of two and twice FREEDOM degrees, in closed form.
static double chance_of(const DwHeldLine *line, const double cov[3], double freedom)
{
    double squared = line->vector.real * line->vector.real + line->vector.imaginary * line->vector.imaginary;
    return trace(cov) > 0 ? fmin(1, pow(1 + squared / trace(cov) / freedom, -freedom) * line->tried) : 1;
}

// DENSITY is known with FREEDOM[0], LEFT_OUT, the wider one of leaving out notes or stretches, with FREEDOM[1]; the
// larger freedom of both is FREEDOM[2]. The chance goes by that: what passes the wider spread with it passes the test
// that it belongs to as well. By the freedom of a few notes, of which one tells nearly all, no line would ever be
// found.
static void judge_line(DwHeldLine *line, const double density[3], const double left_out[3], const double freedom[3])
{
    double cov[3], share = freedom[1] / (freedom[1] + freedom[0]);
    for (size_t c = 0; c < 3; c++)
        cov[c] = share * left_out[c] + (1 - share) * density[c];
    double c = line->vector.real, s = line->vector.imaginary;
    line->amplitude = hypot(c, s);
    line->freedom = freedom[0] + freedom[1];
    double reach = dw_chance_student(0.975, fmax(line->freedom, LEAST_FREEDOM)),
           determinant = cov[0] * cov[2] - cov[1] * cov[1];
    double half = trace(cov) / 2, widest = half + sqrt(fmax(0, half * half - determinant));
    double along =
        line->amplitude > 0 ? (c * c * cov[0] + 2 * c * s * cov[1] + s * s * cov[2]) / (c * c + s * s) : widest;
    line->off = hypot(reach * sqrt(fmax(along, 0)), METHOD * line->amplitude);
    line->widest_off = hypot(reach * sqrt(widest), METHOD * line->amplitude);
    line->chance = fmax(chance_of(line, density, freedom[0]), chance_of(line, left_out, freedom[2]));
}

static void solve_all(Work *work, bool judge)
{
    DwHeldFit *fit = work->fit;
    Equations equations = make_equations(work);
    Normal decomposed = equations.all;
    double answer[UNKNOWNS];
    memcpy(answer, equations.all.g, sizeof answer);
    if (decompose(&decomposed)) {
        solve(&decomposed, answer);
        for (size_t l = 0; l < fit->lines; l++)
            fit->line[l].vector = (DwVector){answer[2 * l], answer[2 * l + 1]};
        if (judge) {
            Spread notes = leave_out(&equations.all, answer, equations.note, equations.notes);
            Spread times = leave_out(&equations.all, answer, equations.stretch, equations.stretches);
            double pooled, more = common_restlessness(work, &pooled);
            for (size_t l = 0; l < fit->lines; l++) {
                double density[3];
                own_covariance(&decomposed, l, density);
                for (size_t c = 0; c < 3; c++)
                    density[c] *= more;
                const Spread *wider = trace(notes.part[l]) > trace(times.part[l]) ? &notes : &times;
                judge_line(&fit->line[l], density, wider->part[l],
                           (double[]){pooled, wider->freedom, fmax(notes.freedom, times.freedom)});
            }
        }
    }
    free(equations.note);
    free(equations.stretch);
}

void dw_held_fit_run(DwHeldFit *fit, bool settled)
{
    if (fit->count == 0)
        return;
    Work work = begin_work(fit);
    fit->middle_s = (fit->from_s + fit->to_s) / 2;
    size_t lines = fit->lines;
    for (size_t l = 0; l < lines; l++)
        fit->line[l].rate_hz = (fit->line[l].low_hz + fit->line[l].high_hz) / 2;
    find_densities(&work, 0);
    int rounds = settled ? ROUNDS_SETTLED : ROUNDS, looking = settled ? rounds - 1 : 2;
    for (int round = 0; round < rounds; round++) {
        for (size_t l = 0; l < lines; l++) {
            DwHeldLine *line = &fit->line[l];
            fit->lines = l + 1;
            if (line->low_hz > 0 && round < looking)
                find_rate(&work, l, settled && round > 0 ? lines : l);
            else if (line->low_hz <= 0) {
                line->rate_hz = (double)(l + 1) * fit->line[0].rate_hz;
                line->tried = 1;
            }
            if (round < (settled ? 1 : 2))
                solve_all(&work, false);
        }
        find_densities(&work, lines);
        solve_all(&work, round == rounds - 1);
    }
    end_work(&work);
}
