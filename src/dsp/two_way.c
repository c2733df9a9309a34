// SPDX-License-Identifier: MIT
#include "dsp/two_way.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_multifit.h>
#include <math.h>

static const double TOLERANCE = 1e-9; // of singular values
static const double UPPER = 0.975;

// What ROW of the design has at PLACE of the FIRST.. block for one of SIZE levels: the last is less all others.
static double coded(size_t level, size_t place, size_t size)
{
    return level == place ? 1 : level == size - 1 ? -1 : 0;
}

static void fill_design(gsl_matrix *design, const size_t *row, const size_t *column, size_t count, size_t rows,
                        size_t columns)
{
    for (size_t n = 0; n < count; n++) {
        gsl_matrix_set(design, n, 0, 1);
        for (size_t k = 0; k + 1 < rows; k++)
            gsl_matrix_set(design, n, 1 + k, coded(row[n], k, rows));
        for (size_t k = 0; k + 1 < columns; k++)
            gsl_matrix_set(design, n, rows + k, coded(column[n], k, columns));
    }
}

// The shares of SIZE levels whose unknowns begin at FIRST; SPREAD: of one reading, 95 %.
static void take_shares(const gsl_vector *answer, const gsl_matrix *covariance, size_t first, size_t size,
                        double spread, DwTwoWayShare *shares)
{
    double sum = 0, variance = 0;
    for (size_t k = 0; k + 1 < size; k++) {
        double value = gsl_vector_get(answer, first + k);
        shares[k] = (DwTwoWayShare){value, spread * sqrt(gsl_matrix_get(covariance, first + k, first + k))};
        sum += value;
        for (size_t i = 0; i + 1 < size; i++)
            variance += gsl_matrix_get(covariance, first + k, first + i);
    }
    shares[size - 1] = (DwTwoWayShare){-sum, size > 1 ? spread * sqrt(variance) : 0};
}

// How well the mean of SIZE levels stands for more of their kind; 0 for one.
static double off_of_mean(const DwTwoWayShare *shares, size_t size)
{
    double squares = 0;
    for (size_t k = 0; k < size; k++)
        squares += shares[k].value * shares[k].value;
    if (size < 2)
        return 0;
    double freedom = (double)(size - 1);
    return gsl_cdf_tdist_Pinv(UPPER, freedom) * sqrt(squares / freedom / (double)size);
}

bool dw_two_way(const double *reading, const size_t *row, const size_t *column, size_t count, size_t rows,
                size_t columns, DwTwoWay *parted)
{
    size_t unknowns = rows + columns - 1, rank = 0;
    if (count < unknowns || count > DW_TWO_WAY_MOST || rows > DW_TWO_WAY_MOST || columns > DW_TWO_WAY_MOST)
        return false;
    gsl_matrix *design = gsl_matrix_calloc(count, unknowns), *covariance = gsl_matrix_alloc(unknowns, unknowns);
    gsl_vector *answer = gsl_vector_alloc(unknowns);
    gsl_multifit_linear_workspace *workspace = gsl_multifit_linear_alloc(count, unknowns);
    gsl_vector_const_view values = gsl_vector_const_view_array(reading, count);
    double squares = 0;
    fill_design(design, row, column, count, rows, columns);
    gsl_multifit_linear_tsvd(design, &values.vector, TOLERANCE, answer, covariance, &squares, &rank, workspace);
    if (rank == unknowns) {
        *parted = (DwTwoWay){.freedom = count - unknowns, .rest = NAN};
        double spread = NAN; // the covariance holds the readings' own variance, squares/freedom
        if (parted->freedom) {
            parted->rest = sqrt(squares / (double)parted->freedom);
            spread = gsl_cdf_tdist_Pinv(UPPER, (double)parted->freedom);
        }
        take_shares(answer, covariance, 1, rows, spread, parted->row);
        take_shares(answer, covariance, rows, columns, spread, parted->column);
        double off = hypot(off_of_mean(parted->row, rows), off_of_mean(parted->column, columns));
        parted->common = (DwTwoWayShare){gsl_vector_get(answer, 0), rows > 1 || columns > 1 ? off : NAN};
    }
    gsl_multifit_linear_free(workspace);
    gsl_vector_free(answer);
    gsl_matrix_free(covariance);
    gsl_matrix_free(design);
    return rank == unknowns;
}
