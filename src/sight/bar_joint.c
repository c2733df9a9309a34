// SPDX-License-Identifier: MIT
#include "sight/bar_pieces.h"

#include <gsl/gsl_linalg.h>
#include <math.h>

enum { JOINT_LEAST = 8, PAIRS_LEAST = 6 };

static const double chance = 1.6449, follows_most = 0.9;         // deviations that one of twenty is beyond, to one side
static const double expected_scatter = 0.3, least_scatter = 0.1; // of a piece [values]

double dw_bar_togetherness(double along, double pairs, double square, double count)
{
    double follows = pairs > 0 && square > 0 ? fmin(follows_most, along / pairs / (square / count)) : 0;
    return follows > chance / sqrt(count) ? sqrt((1 + follows) / (1 - follows)) : 1;
}

static double beside_joint(const DwBarPieces *pieces, const DwBarJoint *joint, int which, int piece)
{
    double side = which ? 1 : -1, share = dw_bar_piece_share(piece);
    const double *u = joint->shift;
    return pieces->edges[which][piece].off - u[0] - u[1] * share - side * (u[2] + u[3] * share);
}

// How pieces scatter [values]: the bar's middle, and half its width. What makes it look wider or thinner here and
// there, such as how its edges fall on the pixels, moves its middle not at all.
typedef struct {
    double middle, half;
} Scatter;

static Scatter scatter_of(const DwBarPieces *pieces, const DwBarJoint *joint)
{
    double middles = 0, halves = 0, along = 0, pairs = 0, n = 0, before = NAN;
    for (int i = 0; i < DW_BAR_PIECES; i++) {
        if (!pieces->counts[0][i] || !pieces->counts[1][i]) {
            before = NAN;
            continue;
        }
        double one = beside_joint(pieces, joint, 0, i), two = beside_joint(pieces, joint, 1, i), rest = (one + two) / 2;
        middles += rest * rest;
        halves += (two - one) * (two - one) / 4;
        n += 1;
        along += isnan(before) ? 0 : rest * before;
        pairs += !isnan(before);
        before = rest;
    }
    if (n < PAIRS_LEAST)
        return (Scatter){expected_scatter, expected_scatter};
    double wider = dw_bar_togetherness(along, pairs, middles, n);
    // Student's t of n - 2 degrees of freedom
    return (Scatter){fmax(least_scatter, sqrt(middles / (n - 4)) * wider), fmax(least_scatter, sqrt(halves / (n - 4)))};
}

// What one measured value says of the four numbers of a Joint.
static void add_value(const double row[4], double value, double variance, double *cells, double *right)
{
    for (int k = 0; k < 4; k++) {
        right[k] += row[k] * value / variance;
        for (int m = 0; m < 4; m++)
            cells[4 * k + m] += row[k] * row[m] / variance;
    }
}

static void add_piece(const DwBarPieces *pieces, int i, const Scatter *each, double *cells, double *right)
{
    double share = dw_bar_piece_share(i), off[] = {pieces->edges[0][i].off, pieces->edges[1][i].off};
    double middle = each->middle * each->middle, half = each->half * each->half;
    if (pieces->counts[0][i] && pieces->counts[1][i]) {
        add_value((double[]){1, share, 0, 0}, (off[0] + off[1]) / 2, middle, cells, right);
        add_value((double[]){0, 0, 1, share}, (off[1] - off[0]) / 2, half, cells, right);
        return;
    }
    for (int which = 0; which < 2; which++)
        if (pieces->counts[which][i]) {
            double side = which ? 1 : -1;
            add_value((double[]){1, share, side, side * share}, off[which], middle + half, cells, right);
        }
}

// The least squares for JOINT; the bar, which has grown by GROWN along it, may grow by GROWTH (a standard deviation).
static bool solve_joint(const DwBarPieces *pieces, const Scatter *each, double grown, double growth, DwBarJoint *joint)
{
    double cells[16] = {0}, right[4] = {0};
    cells[15] = 1 / (growth * growth);
    right[3] = -grown / (growth * growth);
    joint->kept = 0;
    for (int i = 0; i < DW_BAR_PIECES; i++) {
        add_piece(pieces, i, each, cells, right);
        joint->kept += pieces->counts[0][i] + pieces->counts[1][i];
    }
    gsl_matrix_view normal = gsl_matrix_view_array(cells, 4, 4);
    gsl_vector_view sums = gsl_vector_view_array(right, 4), shift = gsl_vector_view_array(joint->shift, 4);
    if (joint->kept < JOINT_LEAST || gsl_linalg_cholesky_decomp1(&normal.matrix) != 0 ||
        gsl_linalg_cholesky_solve(&normal.matrix, &sums.vector, &shift.vector) != 0 ||
        gsl_linalg_cholesky_invert(&normal.matrix) != 0)
        return false;
    joint->mean_doubt = sqrt(cells[0]);
    joint->tilt_doubt = sqrt(cells[5]);
    return true;
}

bool dw_bar_joint_fit(DwBarPieces *pieces, double grown, double growth, double stray_most, DwBarJoint *joint)
{
    Scatter each = {expected_scatter, expected_scatter};
    while (solve_joint(pieces, &each, grown, growth, joint)) {
        int stray = -1;
        double most = stray_most;
        for (int i = 0; i < 2 * DW_BAR_PIECES; i++) {
            double off = fabs(beside_joint(pieces, joint, i / DW_BAR_PIECES, i % DW_BAR_PIECES));
            if (pieces->counts[i / DW_BAR_PIECES][i % DW_BAR_PIECES] && off > most) {
                most = off;
                stray = i;
            }
        }
        if (stray < 0) {
            each = scatter_of(pieces, joint);
            return solve_joint(pieces, &each, grown, growth, joint);
        }
        pieces->counts[stray / DW_BAR_PIECES][stray % DW_BAR_PIECES] = false;
    }
    return false;
}
