// SPDX-License-Identifier: MIT
#include "sight/platter.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { UNKNOWNS = 3 + 2 * DW_PLATTER_HARMONICS, SCANNED_MOST = 4000, NEIGHBOURS = 64 };

static const double usual_95 = 1.96, least_steady_s = 1, speed_half_s = 0.12;
static const double end_s = 0.5;    // by which the angle at an end is found
static const double apart = 1.2;    // waves in the stretch: lines that are nearer are not told apart
static const double line_waves = 4; // of a line, in the stretch: fewer are drift
static const double line_least_hz = 0.15, line_most_hz = 14;
static const double line_power = 16; // of what is usual about it: for noise 1 in 10,000 by chance, all places together
static const double median_share = 0.6931; // of the mean, of the power of noise: a chi-square with two degrees

double *dw_platter_speeds(const DwPlatterCourse *course, double half_s)
{
    double *speeds = dw_memory_new(course->count, sizeof *speeds);
    for (size_t i = 0, from = 0, to = 0; i < course->count; i++) {
        double here = course->time_s[i], time = 0, turn = 0, along = 0, square = 0;
        while (course->time_s[from] < here - half_s)
            from++;
        while (to < course->count && course->time_s[to] <= here + half_s)
            to++;
        size_t first = from, last = to; // at an end, or after a gap, two neighbours
        if (last - first < 2 && last < course->count)
            last++;
        else if (last - first < 2 && first > 0)
            first--;
        for (size_t k = first; k < last; k++) {
            time += (course->time_s[k] - here) / (double)(last - first);
            turn += (course->turn[k] - course->turn[i]) / (double)(last - first);
        }
        for (size_t k = first; k < last; k++) {
            double off = course->time_s[k] - here - time;
            along += off * (course->turn[k] - course->turn[i] - turn);
            square += off * off;
        }
        speeds[i] = square > 0 ? along / square : 0;
    }
    return speeds;
}

// The commonest speed: the middle of those above half of the greatest.
static double usual_speed(const double *speeds, size_t count)
{
    double most = 0, *kept = dw_memory_new(count, sizeof *kept);
    size_t number = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, speeds[i]);
    for (size_t i = 0; i < count; i++)
        if (speeds[i] > most / 2)
            kept[number++] = speeds[i];
    double usual = number ? dw_statistics_middle(kept, number) : 0;
    free(kept);
    return usual;
}

// The longest run of SPEEDS within BAND of USUAL.
static void find_steady(const double *speeds, size_t count, double usual, double band, DwPlatterMotion *motion)
{
    size_t begun = 0;
    motion->first = motion->count = 0;
    for (size_t i = 0; i <= count; i++) {
        bool inside = i < count && fabs(speeds[i] / usual - 1) <= band;
        if (!inside) {
            if (i - begun > motion->count) {
                motion->first = begun;
                motion->count = i - begun;
            }
            begun = i + 1;
        }
    }
}

// Leaves out what still settles after a start: as long again as the platter took to come within the band, half of the
// stretch at most.
static void leave_settling_out(const DwPlatterCourse *course, const double *speeds, double usual,
                               DwPlatterMotion *motion)
{
    size_t moving = motion->first, most = motion->count / 2;
    motion->within_s = course->time_s[motion->first];
    while (moving > 0 && speeds[moving - 1] > usual / 50)
        moving--;
    if (moving == motion->first || moving == 0)
        return;
    double until = 2 * motion->within_s - course->time_s[moving];
    for (size_t left = 0; left < most && course->time_s[motion->first] < until; left++) {
        motion->first++;
        motion->count--;
    }
}

// What the fit of the steady stretch counts from.
typedef struct {
    const double *time, *turn;
    const double *weight; // of each frame: less towards the ends, so that a wander does not pass for a wave
    size_t count, unknowns;
    double centre, rate;
} Steady;

// Hann's window over the stretch. The caller frees it with free().
static double *weights_of(size_t count)
{
    double *weights = dw_memory_new(count, sizeof *weights);
    for (size_t i = 0; i < count; i++)
        weights[i] = pow(sin(M_PI * ((double)i + 0.5) / (double)count), 2);
    return weights;
}

static void terms_of(const Steady *steady, size_t i, double *terms)
{
    double t = steady->time[i] - steady->centre;
    terms[0] = 1;
    terms[1] = t;
    terms[2] = t * t / 2;
    for (size_t k = 0; 3 + 2 * k < steady->unknowns; k++) {
        terms[3 + 2 * k] = cos((double)(k + 1) * steady->turn[i]);
        terms[4 + 2 * k] = sin((double)(k + 1) * steady->turn[i]);
    }
}

// Fits VALUES by the terms of STEADY; INVERSE gets what undoes the normal equations.
static bool fit(const Steady *steady, const double *values, double *answer, double *inverse)
{
    double terms[UNKNOWNS], right[UNKNOWNS] = {0};
    size_t n = steady->unknowns;
    memset(inverse, 0, n * n * sizeof *inverse);
    gsl_matrix_view normal = gsl_matrix_view_array(inverse, n, n);
    for (size_t i = 0; i < steady->count; i++) {
        terms_of(steady, i, terms);
        double weight = steady->weight ? steady->weight[i] : 1;
        for (size_t k = 0; k < n; k++) {
            right[k] += weight * terms[k] * values[i];
            for (size_t m = 0; m < n; m++)
                inverse[k * n + m] += weight * terms[k] * terms[m];
        }
    }
    gsl_vector_view sums = gsl_vector_view_array(right, n), at = gsl_vector_view_array(answer, n);
    return gsl_linalg_cholesky_decomp1(&normal.matrix) == 0 &&
           gsl_linalg_cholesky_solve(&normal.matrix, &sums.vector, &at.vector) == 0 &&
           gsl_linalg_cholesky_invert(&normal.matrix) == 0;
}

static void take_fit_out(const Steady *steady, const double *answer, double *values)
{
    double terms[UNKNOWNS];
    for (size_t i = 0; i < steady->count; i++) {
        terms_of(steady, i, terms);
        for (size_t k = 0; k < steady->unknowns; k++)
            values[i] -= answer[k] * terms[k];
    }
}

// Fits what is left in VALUES, takes it out and adds it to ANSWER.
static void fit_on(const Steady *steady, double *values, double *answer)
{
    double more[UNKNOWNS], inverse[UNKNOWNS * UNKNOWNS];
    if (!fit(steady, values, more, inverse))
        return;
    take_fit_out(steady, more, values);
    for (size_t i = 0; i < steady->unknowns; i++)
        answer[i] += more[i];
}

// The cosine and sine of VALUES at HZ. Returned: their power.
static double wave_at(const Steady *steady, const double *values, size_t count, double hz, double *cosine, double *sine)
{
    double c = 0, s = 0, cc = 0, ss = 0, cs = 0;
    for (size_t i = 0; i < count; i++) {
        double angle = 2 * M_PI * hz * (steady->time[i] - steady->centre), x = cos(angle), y = sin(angle);
        double weight = steady->weight ? steady->weight[i] : 1;
        c += weight * x * values[i];
        s += weight * y * values[i];
        cc += weight * x * x;
        ss += weight * y * y;
        cs += weight * x * y;
    }
    double whole = cc * ss - cs * cs;
    *cosine = (c * ss - s * cs) / whole;
    *sine = (s * cc - c * cs) / whole;
    return (*cosine * c + *sine * s) / 2;
}

// The frequency near HZ, within STEP, where the wave is strongest.
static double strongest_near(const Steady *steady, const double *values, size_t count, double hz, double step)
{
    double c, s;
    for (; step > 1e-4; step /= 2) {
        double here = wave_at(steady, values, count, hz, &c, &s);
        double below = wave_at(steady, values, count, hz - step, &c, &s);
        double above = wave_at(steady, values, count, hz + step, &c, &s);
        if (below > here && below > above)
            hz -= step;
        else if (above > here)
            hz += step;
    }
    return hz;
}

// Where the spectrum stands out most of its own neighbourhood. Returned: by how much; the place in *AT.
static double most_outstanding(const double *powers, size_t places, size_t *at)
{
    double most = 0, near[3 * NEIGHBOURS];
    for (size_t from = 0; from < places; from += NEIGHBOURS) {
        size_t first = from > NEIGHBOURS ? from - NEIGHBOURS : 0;
        size_t last = from + 2 * NEIGHBOURS < places ? from + 2 * NEIGHBOURS : places;
        memcpy(near, powers + first, (last - first) * sizeof *near);
        double usual = dw_statistics_middle(near, last - first) / median_share;
        for (size_t i = from; i < from + NEIGHBOURS && i < places; i++)
            if (powers[i] > most * usual) {
                most = powers[i] / usual;
                *at = i;
            }
    }
    return most;
}

// Whether HZ is too near to one of the turn's harmonics, which are fitted, to be told from it.
static bool is_beside_turn(const Steady *steady, double hz, double length_s)
{
    double turn_hz = steady->rate / (2 * M_PI), nearest = round(hz / turn_hz);
    return nearest >= 1 && nearest <= DW_PLATTER_HARMONICS && fabs(hz - nearest * turn_hz) < apart / length_s;
}

// The power of what is left of the angle beside HZ: what there would be at HZ by chance.
static double power_beside(const Steady *steady, const double *rest, double hz)
{
    double step = 1 / (steady->time[steady->count - 1] - steady->time[0]), sum = 0, count = 0, c, s;
    int nearest = steady->weight ? 5 : 3; // half a wave in the stretch each: nearer, what was taken out is missing
    for (int k = nearest; k < nearest + 6; k++)
        for (int way = -1; way <= 1; way += 2) {
            double at = hz + way * 0.5 * k * step;
            if (at < step)
                continue;
            wave_at(steady, rest, steady->count, at, &c, &s);
            sum += c * c + s * s;
            count++;
        }
    return sum / count;
}

// 95 % of what the cosine or the sine of a wave at HZ may be off by chance.
static double wave_off(const Steady *steady, const double *rest, double hz)
{
    return usual_95 * sqrt(power_beside(steady, rest, hz) / 2);
}

// Whether the wave at HZ is a line: not only above the noise, but alone. A speed that wanders has many waves side by
// side, which are its drift, too.
static bool stands_alone(const Steady *steady, const double *values, double hz)
{
    double c, s;
    wave_at(steady, values, steady->count, hz, &c, &s);
    return c * c + s * s > line_power * power_beside(steady, values, hz);
}

// Where in VALUES a wave stands out of the noise, and alone, most of all; 0 for nowhere.
static double find_line(const Steady *steady, double least_hz, const double *values)
{
    enum { TRIES = 12, BESIDE = 2 };
    size_t count = steady->count < SCANNED_MOST ? steady->count : SCANNED_MOST, best = 0;
    double length = steady->time[count - 1] - steady->time[0], step = 1 / (2.5 * length), c, s, found = 0;
    double highest = fmin(line_most_hz, 0.45 * (double)count / length);
    size_t places = highest > least_hz ? (size_t)((highest - least_hz) / step) : 0;
    double *powers = dw_memory_new(places + 1, sizeof *powers);
    for (size_t i = 0; i < places; i++) {
        double hz = least_hz + step * (double)i;
        powers[i] = is_beside_turn(steady, hz, length) ? 0 : wave_at(steady, values, count, hz, &c, &s);
    }
    for (int i = 0; i < TRIES && found == 0; i++) {
        if (places <= 10 || most_outstanding(powers, places, &best) <= line_power)
            break;
        double at = strongest_near(steady, values, count, least_hz + step * (double)best, step);
        if (at >= least_hz && !is_beside_turn(steady, at, length) && stands_alone(steady, values, at))
            found = at;
        for (size_t k = best > BESIDE ? best - BESIDE : 0; k <= best + BESIDE && k < places; k++)
            powers[k] = 0; // a drift's, or what the turn's harmonics leave: the next one
    }
    free(powers);
    return found;
}

// Takes the wave that stands out most out of VALUES. Returned: false where none does. It is looked for where all of the
// stretch counts alike, which parts neighbours best.
static bool take_line(const Steady *steady, double least_hz, double *values, DwPlatterLine *line)
{
    Steady plain = *steady;
    plain.weight = NULL;
    double c, s, at = find_line(&plain, least_hz, values);
    if (at == 0)
        return false;
    at = strongest_near(steady, values, steady->count, at, 0.2 / (steady->time[steady->count - 1] - steady->time[0]));
    wave_at(steady, values, steady->count, at, &c, &s);
    for (size_t i = 0; i < steady->count; i++) {
        double angle = 2 * M_PI * at * (steady->time[i] - steady->centre);
        values[i] -= c * cos(angle) + s * sin(angle);
    }
    *line = (DwPlatterLine){at, 100 * hypot(c, s) * 2 * M_PI * at / steady->rate, 0};
    return true;
}

// The variance of what single frames stray by, by how each lies against its two neighbours.
static double stray_of(const double *rest, size_t count)
{
    static const double median_square = 0.4549; // of a normal variate
    double *squares = dw_memory_new(count, sizeof *squares);
    for (size_t i = 1; i + 1 < count; i++)
        squares[i - 1] = pow(rest[i - 1] - 2 * rest[i] + rest[i + 1], 2) / 6;
    double stray = dw_statistics_middle(squares, count - 2) / median_square;
    free(squares);
    return stray;
}

// The value that REST runs into at one end of the stretch, by a straight line through the half second there, and its
// standard deviation, where frames STRAY by that variance or more.
static double end_of(const Steady *steady, const double *rest, double stray, bool at_last, double *deviation)
{
    double end = steady->time[at_last ? steady->count - 1 : 0], t = 0, v = 0, tt = 0, tv = 0, vv = 0, n = 0;
    for (size_t i = 0; i < steady->count; i++) {
        double off = steady->time[i] - end;
        if (fabs(off) > end_s)
            continue;
        t += off;
        v += rest[i];
        tt += off * off;
        tv += off * rest[i];
        vv += rest[i] * rest[i];
        n++;
    }
    double whole = n * tt - t * t, slope = whole > 0 ? (n * tv - t * v) / whole : 0, value = (v - slope * t) / n;
    double left = fmax(stray, (vv - value * v - slope * tv) / fmax(1, n - 2));
    *deviation = whole > 0 ? sqrt(left * tt / whole) : 0;
    return value;
}

// What the ends of REST add to what was fitted: to the mean speed, which is all the turning by all the time, and to the
// slope of the straight line through the speed. A platter that wanders bends in more ways than the fit. By parts: the
// integral of t · speed needs the angle alone.
typedef struct {
    double rate, rate_deviation, slope, slope_deviation;
} Ends;

static Ends read_ends(const Steady *steady, const double *rest)
{
    double off[2], stray = stray_of(rest, steady->count);
    double first = end_of(steady, rest, stray, false, &off[0]), last = end_of(steady, rest, stray, true, &off[1]);
    double length = steady->time[steady->count - 1] - steady->time[0], area = 0, both = hypot(off[0], off[1]);
    for (size_t i = 1; i < steady->count; i++)
        area += (rest[i] + rest[i - 1]) / 2 * (steady->time[i] - steady->time[i - 1]);
    return (Ends){(last - first) / length, both / length,
                  12 / (length * length * length) * (length / 2 * (first + last) - area), 6 * both / (length * length)};
}

// Takes the lines that stand out from REST, as far as they are no drift.
static void take_lines(const Steady *steady, double *rest, DwPlatterMotion *motion)
{
    double least_hz = fmax(line_least_hz, line_waves / (motion->to_s - motion->from_s));
    while (motion->line_count < DW_PLATTER_LINES_MOST &&
           take_line(steady, least_hz, rest, &motion->lines[motion->line_count]))
        motion->line_count++;
}

// What a wave in the speed at HZ, of amplitude 1, adds to the slope of the straight line through it at most: its part
// that is odd about the middle of the stretch.
static double leak_of(const Steady *steady, double hz)
{
    double length = steady->time[steady->count - 1] - steady->time[0], along = 2 * M_PI * hz, half = along * length / 2;
    return 12 / (length * length * along) * fabs(cos(half) - sin(half) / half);
}

// 95 % of what the drift, a share in a second, may be off because a wander bends the waves that are taken out of it; a
// wave that hardly stands out of the wander may be of it.
static double drift_off_by_waves(const Steady *steady, const double *rest, const DwPlatterMotion *motion)
{
    static const double clear = 4;
    double squares = 0, turn_hz = steady->rate / (2 * M_PI);
    for (int k = 1; k <= DW_PLATTER_HARMONICS && motion->has_harmonics; k++) {
        double off = wave_off(steady, rest, k * turn_hz) * k;
        squares += pow(off * leak_of(steady, k * turn_hz), 2);
    }
    for (size_t i = 0; i < motion->line_count; i++) {
        double hz = motion->lines[i].hz, amplitude = motion->lines[i].percent / 100;
        double off = wave_off(steady, rest, hz) * 2 * M_PI * hz / steady->rate;
        squares += pow((amplitude < clear * off ? amplitude : off) * leak_of(steady, hz), 2);
    }
    return sqrt(squares);
}

static void read_motion(const Steady *steady, const double *answer, const double *rest, DwPlatterMotion *motion)
{
    double square = 0, n = (double)steady->count;
    for (size_t i = 0; i < steady->count; i++)
        square += rest[i] * rest[i];
    double spread = square / fmax(1, n - (double)steady->unknowns - 2 * (double)motion->line_count);
    size_t u = steady->unknowns;
    motion->rest_rad = sqrt(square / n);
    Ends ends = read_ends(steady, rest);
    motion->rate = answer[1] + ends.rate;
    motion->rate_doubt = usual_95 * ends.rate_deviation / answer[1];
    motion->drift_per_min = 60 * (answer[2] + ends.slope) / answer[1];
    motion->has_harmonics = u == UNKNOWNS;
    motion->drift_doubt =
        60 * hypot(usual_95 * ends.slope_deviation / answer[1], drift_off_by_waves(steady, rest, motion));
    for (int k = 0; k < DW_PLATTER_HARMONICS && motion->has_harmonics; k++) {
        double c = answer[3 + 2 * k], s = answer[4 + 2 * k];
        motion->harmonic[k] = (k + 1) * hypot(c, s);
        motion->harmonic_phase[k] = atan2(s, c);
    }
    motion->harmonic_doubt = wave_off(steady, rest, answer[1] / (2 * M_PI));
    for (size_t i = 0; i < motion->line_count; i++)
        motion->lines[i].doubt_percent =
            usual_95 * 100 * sqrt(2 * spread / n) * 2 * M_PI * motion->lines[i].hz / answer[1];
}

bool dw_platter_motion(const DwPlatterCourse *course, double band, DwPlatterMotion *motion)
{
    if (course->count < 20)
        return false;
    double *speeds = dw_platter_speeds(course, speed_half_s), usual = usual_speed(speeds, course->count);
    DwPlatterMotion made = {0};
    if (usual > 0)
        find_steady(speeds, course->count, usual, band, &made);
    if (made.count > 0)
        leave_settling_out(course, speeds, usual, &made);
    free(speeds);
    if (made.count < 20)
        return false;
    Steady steady = {course->time_s + made.first, course->turn + made.first, NULL, made.count, 3, 0, usual};
    made.from_s = steady.time[0];
    made.to_s = steady.time[made.count - 1];
    made.turns = (steady.turn[made.count - 1] - steady.turn[0]) / (2 * M_PI);
    if (made.to_s - made.from_s < least_steady_s)
        return false;
    steady.centre = (made.from_s + made.to_s) / 2;
    steady.unknowns = made.turns >= DW_PLATTER_TURNS_LEAST ? UNKNOWNS : 3;
    double answer[UNKNOWNS], inverse[UNKNOWNS * UNKNOWNS];
    double *rest = dw_memory_new(made.count, sizeof *rest), *weights = weights_of(made.count);
    memcpy(rest, steady.turn, made.count * sizeof *rest);
    steady.weight = steady.unknowns == UNKNOWNS ? weights : NULL;
    bool found = fit(&steady, rest, answer, inverse);
    if (found) {
        take_fit_out(&steady, answer, rest);
        if (steady.unknowns == UNKNOWNS) // else what comes once a turn would be taken for lines
            take_lines(&steady, rest, &made);
        if (steady.unknowns == UNKNOWNS) // what the lines had bent in the fit comes out of it now
            fit_on(&steady, rest, answer);
        Steady plain = steady; // without the waves all of the stretch counts alike
        plain.weight = NULL;
        plain.unknowns = 3;
        fit_on(&plain, rest, answer);
        read_motion(&steady, answer, rest, &made);
        *motion = made;
    }
    free(rest);
    free(weights);
    return found;
}
