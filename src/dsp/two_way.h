// SPDX-License-Identifier: MIT
// Readings made with several of one thing on several of another, parted into what all share and what each adds.
#ifndef DW_DSP_TWO_WAY_H
#define DW_DSP_TWO_WAY_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_TWO_WAY_MOST = 12 }; // of rows, of columns, of readings

typedef struct {
    double value, off; // OFF: 95 % half-width; NAN where nothing tells it
} DwTwoWayShare;

typedef struct {
    DwTwoWayShare common; // its ± is how the rows, and the columns, differ, where there are two or more
    DwTwoWayShare row[DW_TWO_WAY_MOST], column[DW_TWO_WAY_MOST]; // each over the mean of all rows, of all columns
    double rest;                                                 // standard deviation of a reading about them
    size_t freedom;                                              // readings beyond what is parted
} DwTwoWay;

// Given: COUNT readings (to DW_TWO_WAY_MOST), the ROW and COLUMN of each, counted from 0.
// Returned: false where rows and columns change together, so that nothing parts them; else *PARTED by least squares
// of common + row + column, rows and columns summing to nothing each.
// Reference: R. A. Fisher, Statistical Methods for Research Workers, 1925, the analysis of variance; GSL's
// gsl_multifit_linear_tsvd. Student's t for the ±.
bool dw_two_way(const double *reading, const size_t *row, const size_t *column, size_t count, size_t rows,
                size_t columns, DwTwoWay *parted);

#endif
