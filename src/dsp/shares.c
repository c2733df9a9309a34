// SPDX-License-Identifier: MIT
#include "dsp/shares.h"

#include <assert.h>
#include <complex.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

static const double LEAST_APART = 20 * M_PI / 180; // of two angles times the harmonic
static const double COVERAGE = 1.959964;           // a 95 % interval in standard uncertainties
static const double TELLING = 9;                   // by this much a fit must be worse to be ruled out, in variances

static double complex complex_of(DwVector vector)
{
    return vector.real + I * vector.imaginary;
}

static DwVector vector_of(double complex value)
{
    return (DwVector){creal(value), cimag(value)};
}

static double complex turn(double angle)
{
    return cexp(I * angle);
}

static double distance_round(double a, double b)
{
    return fabs(remainder(a - b, 2 * M_PI));
}

// How many seats of BAND lie apart from each other, at most three.
static size_t places_apart(const DwSeat *seats, size_t count, size_t band, unsigned harmonic)
{
    double places[3];
    size_t kept = 0;
    for (size_t i = 0; i < count && kept < 3; i++) {
        bool apart = seats[i].band == band;
        for (size_t k = 0; k < kept; k++)
            apart = apart && distance_round(harmonic * seats[i].angle, places[k]) >= LEAST_APART;
        if (apart)
            places[kept++] = harmonic * seats[i].angle;
    }
    return kept;
}

// Half-width of the 95 % interval of |VECTOR|, from the covariance of its parts:
// what lies along it, and what lies across it to second order, which is all
// there is where the vector is next to nothing.
static double amplitude_off(double complex vector, double var_real, double var_imaginary, double covariance)
{
    double size = cabs(vector), c = size > 0 ? creal(vector) / size : 1, s = size > 0 ? cimag(vector) / size : 0;
    double along = c * c * var_real + 2 * c * s * covariance + s * s * var_imaginary;
    double across = s * s * var_real - 2 * c * s * covariance + c * c * var_imaginary;
    double second = across > 0 ? across / (2 * fmax(size, sqrt(across))) : 0;
    return COVERAGE * sqrt(along + second * second);
}

// --- with a mark ---------------------------------------------------------------

// V·e^(−in·turned) = D·e^(in·a) + R·e^(in·b).
typedef struct {
    double complex value[DW_SHARES_SEATS_MOST], deck[DW_SHARES_SEATS_MOST], record[DW_SHARES_SEATS_MOST];
    size_t count;
} Marked;

static Marked refer_to_mark(const DwSeat *seats, size_t count, unsigned harmonic, bool on_record)
{
    Marked marked = {.count = count};
    for (size_t i = 0; i < count; i++) {
        marked.value[i] = complex_of(seats[i].vector) * turn(-(double)harmonic * seats[i].turned);
        marked.deck[i] = on_record ? turn(-(double)harmonic * seats[i].angle) : 1;
        marked.record[i] = on_record ? 1 : turn(harmonic * seats[i].angle);
    }
    return marked;
}

static void set_row(gsl_matrix *rows, size_t row, double complex deck, double complex record)
{
    gsl_matrix_set(rows, row, 0, creal(deck));
    gsl_matrix_set(rows, row, 1, -cimag(deck));
    gsl_matrix_set(rows, row, 2, creal(record));
    gsl_matrix_set(rows, row, 3, -cimag(record));
    gsl_matrix_set(rows, row + 1, 0, cimag(deck));
    gsl_matrix_set(rows, row + 1, 1, creal(deck));
    gsl_matrix_set(rows, row + 1, 2, cimag(record));
    gsl_matrix_set(rows, row + 1, 3, creal(record));
}

// Solves for the parts of D and R. INVERSE becomes (AᵀA)⁻¹. Returned: false when they are not determined.
static bool solve(const Marked *marked, gsl_matrix *rows, gsl_matrix *inverse, double parts[4], double *squares)
{
    size_t count = 2 * marked->count;
    gsl_vector *values = gsl_vector_alloc(count), *weights = gsl_vector_alloc(count), *answer = gsl_vector_alloc(4);
    gsl_multifit_linear_workspace *workspace = gsl_multifit_linear_alloc(count, 4);
    gsl_vector_set_all(weights, 1);
    for (size_t i = 0; i < marked->count; i++) {
        set_row(rows, 2 * i, marked->deck[i], marked->record[i]);
        gsl_vector_set(values, 2 * i, creal(marked->value[i]));
        gsl_vector_set(values, 2 * i + 1, cimag(marked->value[i]));
    }
    int trouble = gsl_multifit_wlinear(rows, weights, values, answer, inverse, squares, workspace);
    for (size_t k = 0; k < 4; k++)
        parts[k] = gsl_vector_get(answer, k);
    gsl_multifit_linear_free(workspace);
    gsl_vector_free(answer);
    gsl_vector_free(weights);
    gsl_vector_free(values);
    return !trouble;
}

// Adds to COVARIANCE what an error E of one recording's referred vector, of
// standard size one, does to the answer.
static void add_error(gsl_matrix *covariance, const gsl_matrix *inverse, const gsl_matrix *rows, size_t seat,
                      double complex error)
{
    double moved[4];
    for (size_t k = 0; k < 4; k++) {
        moved[k] = 0;
        for (size_t m = 0; m < 4; m++)
            moved[k] += gsl_matrix_get(inverse, k, m) * (gsl_matrix_get(rows, 2 * seat, m) * creal(error) +
                                                         gsl_matrix_get(rows, 2 * seat + 1, m) * cimag(error));
    }
    for (size_t k = 0; k < 4; k++)
        for (size_t m = 0; m < 4; m++)
            *gsl_matrix_ptr(covariance, k, m) += moved[k] * moved[m];
}

// The answer's covariance from the seats' stated uncertainties. Returned: the
// sum of squares that these uncertainties lead one to expect of the residual.
static double propagate(const DwSeat *seats, const Marked *marked, const DwShares *shares, const gsl_matrix *rows,
                        const gsl_matrix *inverse, gsl_matrix *covariance)
{
    double complex deck = complex_of(shares->deck), record = complex_of(shares->record[0]);
    double n = shares->harmonic, expected = 0;
    gsl_matrix_set_zero(covariance);
    for (size_t i = 0; i < marked->count; i++) {
        // Turning the record by a little more moves what does not stand still in the mark's frame.
        double complex moving = shares->on_record ? -deck * marked->deck[i] : record * marked->record[i];
        double complex errors[] = {seats[i].vector_off, I * seats[i].vector_off,
                                   I * n * marked->value[i] * seats[i].turned_off, I * n * moving * seats[i].angle_off};
        for (size_t k = 0; k < sizeof errors / sizeof *errors; k++) {
            add_error(covariance, inverse, rows, i, errors[k]);
            expected += creal(errors[k] * conj(errors[k]));
        }
    }
    return expected * (1 - 4 / (2 * (double)marked->count));
}

DwShares dw_shares_split(const DwSeat *seats, size_t count, unsigned harmonic, bool on_record)
{
    assert(count <= DW_SHARES_SEATS_MOST);
    DwShares shares = {.harmonic = harmonic, .on_record = on_record, .residual = NAN};
    if (places_apart(seats, count, 0, harmonic) < 2)
        return shares;
    Marked marked = refer_to_mark(seats, count, harmonic, on_record);
    gsl_matrix *rows = gsl_matrix_alloc(2 * count, 4), *inverse = gsl_matrix_alloc(4, 4);
    gsl_matrix *covariance = gsl_matrix_alloc(4, 4);
    double parts[4], squares = 0;
    shares.possible = solve(&marked, rows, inverse, parts, &squares);
    if (shares.possible) {
        double complex deck = parts[0] + I * parts[1], record = parts[2] + I * parts[3];
        shares.deck = vector_of(deck);
        shares.record[0] = vector_of(record);
        shares.deck_amplitude = cabs(deck);
        shares.record_amplitude = cabs(record);
        double expected = propagate(seats, &marked, &shares, rows, inverse, covariance), wider = 1;
        if (count > 2) {
            shares.residual = sqrt(squares / (double)count);
            wider = fmax(1, sqrt(squares / expected));
        }
        shares.deck_off = wider * amplitude_off(deck, gsl_matrix_get(covariance, 0, 0),
                                                gsl_matrix_get(covariance, 1, 1), gsl_matrix_get(covariance, 0, 1));
        shares.record_off = wider * amplitude_off(record, gsl_matrix_get(covariance, 2, 2),
                                                  gsl_matrix_get(covariance, 3, 3), gsl_matrix_get(covariance, 2, 3));
    }
    gsl_matrix_free(covariance);
    gsl_matrix_free(inverse);
    gsl_matrix_free(rows);
    return shares;
}

// --- by amplitudes ---------------------------------------------------------------

// What the amplitudes are fitted by: the deck's, the record's at the first
// radius, and the angle between them at θ = 0, for each band its own, since
// the stylus stands elsewhere on its arc there.
enum { DECK, RECORD, BETWEEN };

typedef struct {
    const DwSeat *seats;
    size_t count, bands;
    unsigned harmonic;
} Amplitudes;

static double complex modelled(const Amplitudes *amplitudes, const double *unknowns, size_t i)
{
    const DwSeat *seat = &amplitudes->seats[i];
    return unknowns[DECK] +
           unknowns[RECORD] * seat->scale * turn(amplitudes->harmonic * seat->angle + unknowns[BETWEEN + seat->band]);
}

static int leave(const gsl_vector *unknowns, void *user, gsl_vector *left)
{
    const Amplitudes *amplitudes = user;
    for (size_t i = 0; i < amplitudes->count; i++)
        gsl_vector_set(left, i,
                       cabs(modelled(amplitudes, gsl_vector_const_ptr(unknowns, 0), i)) -
                           cabs(complex_of(amplitudes->seats[i].vector)));
    return GSL_SUCCESS;
}

// |V|² of BAND as level + c·cos nθ + s·sin nθ, fitted. Returned: false where that is not determined.
static bool fit_squares(const Amplitudes *amplitudes, size_t band, double *level, double *c, double *s)
{
    size_t count = 0;
    for (size_t i = 0; i < amplitudes->count; i++)
        count += amplitudes->seats[i].band == band;
    if (places_apart(amplitudes->seats, amplitudes->count, band, amplitudes->harmonic) < 3)
        return false;
    gsl_matrix *rows = gsl_matrix_alloc(count, 3), *covariance = gsl_matrix_alloc(3, 3);
    gsl_vector *values = gsl_vector_alloc(count), *answer = gsl_vector_alloc(3);
    gsl_multifit_linear_workspace *workspace = gsl_multifit_linear_alloc(count, 3);
    for (size_t i = 0, row = 0; i < amplitudes->count; i++) {
        const DwSeat *seat = &amplitudes->seats[i];
        if (seat->band != band)
            continue;
        double size = cabs(complex_of(seat->vector));
        gsl_matrix_set(rows, row, 0, 1);
        gsl_matrix_set(rows, row, 1, cos(amplitudes->harmonic * seat->angle));
        gsl_matrix_set(rows, row, 2, sin(amplitudes->harmonic * seat->angle));
        gsl_vector_set(values, row++, size * size);
    }
    double squares = 0;
    int trouble = gsl_multifit_linear(rows, values, answer, covariance, &squares, workspace);
    *level = gsl_vector_get(answer, 0);
    *c = gsl_vector_get(answer, 1);
    *s = gsl_vector_get(answer, 2);
    gsl_multifit_linear_free(workspace);
    gsl_vector_free(answer);
    gsl_vector_free(values);
    gsl_matrix_free(covariance);
    gsl_matrix_free(rows);
    return !trouble;
}

// Where the fit begins, with the larger share the deck's or the record's.
static bool begin(const Amplitudes *amplitudes, bool larger_is_deck, double *unknowns)
{
    for (size_t band = 0; band < amplitudes->bands; band++) {
        double level, c, s;
        if (!fit_squares(amplitudes, band, &level, &c, &s))
            continue;
        double scale = 1;
        for (size_t i = 0; i < amplitudes->count; i++)
            if (amplitudes->seats[i].band == band)
                scale = amplitudes->seats[i].scale;
        double product = hypot(c, s), sum = sqrt(fmax(0, level + product)), difference = sqrt(fmax(0, level - product));
        double larger = (sum + difference) / 2, smaller = (sum - difference) / 2;
        unknowns[DECK] = larger_is_deck ? larger : smaller;
        unknowns[RECORD] = (larger_is_deck ? smaller : larger) / scale;
        for (size_t k = 0; k < amplitudes->bands; k++)
            unknowns[BETWEEN + k] = atan2(-s, c); // c·cos nθ + s·sin nθ = product·cos(nθ + α)
        return true;
    }
    return false;
}

// Fits from BEGIN on. VARIANCE becomes those of the deck's and the record's
// share. Returned: the sum of squares left.
static double fit_amplitudes(const Amplitudes *amplitudes, double *unknowns, double variance[2])
{
    size_t count = amplitudes->count, p = BETWEEN + amplitudes->bands;
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_workspace *workspace =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, count, p);
    Amplitudes copy = *amplitudes;
    gsl_multifit_nlinear_fdf system = {.f = leave, .n = count, .p = p, .params = &copy};
    gsl_vector_view start = gsl_vector_view_array(unknowns, p);
    gsl_matrix *inverse = gsl_matrix_calloc(p, p);
    int info = 0;
    gsl_multifit_nlinear_init(&start.vector, &system, workspace);
    gsl_multifit_nlinear_driver(200, 1e-12, 1e-12, 1e-12, NULL, NULL, &info, workspace);
    const gsl_matrix *slope = gsl_multifit_nlinear_jac(workspace);
    gsl_multifit_nlinear_covar(slope, 0, inverse);
    const gsl_vector *answer = gsl_multifit_nlinear_position(workspace),
                     *left = gsl_multifit_nlinear_residual(workspace);
    double squares = 0;
    gsl_blas_ddot(left, left, &squares);
    for (size_t k = 0; k < p; k++)
        unknowns[k] = gsl_vector_get(answer, k);
    variance[DECK] = variance[RECORD] = 0;
    for (size_t i = 0; i < count; i++) {
        double complex model = modelled(amplitudes, unknowns, i), record = model - unknowns[DECK];
        double size = fmax(cabs(model), 1e-12);
        double by_angle =
            amplitudes->harmonic * creal(conj(model) * I * record) / size * amplitudes->seats[i].angle_off;
        double error = hypot(amplitudes->seats[i].vector_off, by_angle);
        for (size_t which = DECK; which <= RECORD; which++) {
            double moved = 0;
            for (size_t k = 0; k < p; k++)
                moved += gsl_matrix_get(inverse, which, k) * gsl_matrix_get(slope, i, k);
            variance[which] += moved * moved * error * error;
        }
    }
    gsl_matrix_free(inverse);
    gsl_multifit_nlinear_free(workspace);
    return squares;
}

// Amplitudes are not negative: the sign goes into the angle between.
static void set_signs(double *unknowns, size_t bands)
{
    bool turned = (unknowns[DECK] < 0) != (unknowns[RECORD] < 0);
    unknowns[DECK] = fabs(unknowns[DECK]);
    unknowns[RECORD] = fabs(unknowns[RECORD]);
    for (size_t k = 0; turned && k < bands; k++)
        unknowns[BETWEEN + k] += M_PI;
}

// Whether some second radius, heard at two places apart, can tell the two shares.
static bool has_second_band(const Amplitudes *amplitudes)
{
    size_t told = 0;
    for (size_t band = 0; band < amplitudes->bands; band++)
        told += places_apart(amplitudes->seats, amplitudes->count, band, amplitudes->harmonic) >= 2;
    return told >= 2 && amplitudes->count >= BETWEEN + amplitudes->bands;
}

static double mean_variance(const DwSeat *seats, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += seats[i].vector_off * seats[i].vector_off;
    return sum / (double)count;
}

DwShares dw_shares_split_amplitudes(const DwSeat *seats, size_t count, unsigned harmonic)
{
    assert(count <= DW_SHARES_SEATS_MOST);
    DwShares shares = {.harmonic = harmonic, .by_amplitudes = true, .open = true, .residual = NAN};
    Amplitudes amplitudes = {seats, count, 0, harmonic};
    for (size_t i = 0; i < count; i++)
        amplitudes.bands = seats[i].band + 1 > amplitudes.bands ? seats[i].band + 1 : amplitudes.bands;
    assert(amplitudes.bands <= DW_SHARES_BANDS_MOST);
    double unknowns[2][BETWEEN + DW_SHARES_BANDS_MOST], variance[2][2], squares[2];
    if (count < BETWEEN + amplitudes.bands)
        return shares;
    for (size_t way = 0; way < 2; way++) {
        if (!begin(&amplitudes, way == 0, unknowns[way]))
            return shares;
        squares[way] = fit_amplitudes(&amplitudes, unknowns[way], variance[way]);
        set_signs(unknowns[way], amplitudes.bands);
    }
    size_t best = squares[1] < squares[0];
    // Both ways may end in one answer: then the other one is no solution at all.
    double worse = squares[1 - best] - squares[best], apart = fabs(unknowns[0][DECK] - unknowns[1][DECK]);
    bool told = apart < 1e-3 * unknowns[best][DECK] || worse >= TELLING * mean_variance(seats, count);
    shares.open = !has_second_band(&amplitudes) || !told;
    shares.possible = true;
    shares.deck_amplitude = unknowns[best][DECK];
    shares.record_amplitude = unknowns[best][RECORD];
    shares.deck_off = COVERAGE * sqrt(variance[best][DECK]);
    shares.record_off = COVERAGE * sqrt(variance[best][RECORD]);
    shares.deck = (DwVector){shares.deck_amplitude, 0};
    for (size_t k = 0; k < amplitudes.bands; k++)
        shares.record[k] = vector_of(shares.record_amplitude * turn(unknowns[best][BETWEEN + k]));
    if (count > BETWEEN + amplitudes.bands)
        shares.residual = sqrt(squares[best] / (double)count);
    return shares;
}

DwVector dw_shares_record_in(const DwShares *shares, const DwSeat *seat)
{
    double n = shares->harmonic;
    double complex record = complex_of(shares->record[seat->band]) * seat->scale;
    if (!shares->by_amplitudes) // in the mark's frame, then to the recording's
        return vector_of(record * turn(n * seat->turned + (shares->on_record ? 0 : n * seat->angle)));
    record *= turn(n * seat->angle);
    double complex model = complex_of(shares->deck) + record, seen = complex_of(seat->vector);
    double complex aligned = cabs(model) > 0 ? record * (conj(model) / cabs(model)) : record;
    return vector_of(aligned * (cabs(seen) > 0 ? seen / cabs(seen) : 1));
}
