// SPDX-License-Identifier: MIT
#include "measure/sweep/response_fit.h"

#include "base/memory.h"
#include "dsp/least_squares.h"
#include "measure/sweep/response_points.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double LOW_HZ = 200, HIGH_HZ = 10000; // that a line must hold
static const double FROM_HZ = 40;                  // below it the arm's own resonance is no longer its tail
static const double NOMINAL[DW_RESPONSE_TAUS] = {3180e-6, 318e-6, 75e-6};
static const double TAU_OFF = 0.05;          // of parts, rms beforehand (common practice, no source)
static const double LOSS_DB = 4, ARM_DB = 2; // rms beforehand, at 15 kHz and where the fit begins
// A curve is counted over its own level at 1 kHz, so all of it is off by what the cut is off there, as correlated with
// the rest as that is: as good as unknown.
static const double LEVEL_DB = 3;
static const double OFF_COUNTS = 0.05; // share of a time constant worth a word
static const double KNOWN = 0.5;       // share of a resonance that its ± may be

enum { LEVEL, RESONANCE, Q, LOSS, ARM, TAU, UNKNOWNS = TAU + DW_RESPONSE_TAUS };

static double low_pass_db(double hz, double resonance_hz, double q)
{
    double x = hz / resonance_hz;
    return -10 * log10(pow(1 - x * x, 2) + pow(x / q, 2));
}

// The replay curve with time constants TAU, not over 1 kHz.
static double replay_db(double hz, const double tau[DW_RESPONSE_TAUS])
{
    double w = 2 * M_PI * hz;
    return 10 * log10((1 + pow(w * tau[1], 2)) / (1 + pow(w * tau[0], 2)) / (1 + pow(w * tau[2], 2)));
}

// The same over 1 kHz for the nominal time constants, each LN_TAU off, over theirs as it should be.
static double replay_off_db(double hz, const double ln_tau[DW_RESPONSE_TAUS])
{
    double tau[DW_RESPONSE_TAUS];
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++)
        tau[i] = NOMINAL[i] * exp(ln_tau[i]);
    return replay_db(hz, tau) - replay_db(1000, tau) - replay_db(hz, NOMINAL) + replay_db(1000, NOMINAL);
}

// The tail of a resonance far below HZ that gives TAIL_DB where the fit begins, as far as its first power goes.
static double arm_db(double hz, double tail_db)
{
    double own = tail_db * M_LN10 / 20 * pow(FROM_HZ / hz, 2);
    return own < 1 ? -20 * log10(1 - own) : NAN;
}

static double law(const double *unknowns, double hz, const void *user)
{
    const bool *equalised = user;
    double resonance = exp(unknowns[RESONANCE]), q = exp(unknowns[Q]), worn = hz / 15000;
    return unknowns[LEVEL] + low_pass_db(hz, resonance, q) - low_pass_db(1000, resonance, q) -
           unknowns[LOSS] * worn * worn + arm_db(hz, unknowns[ARM]) +
           (*equalised ? replay_off_db(hz, &unknowns[TAU]) : 0);
}

// The half-width of a share whose reciprocal raised to POWER is what the points tell evenly: that of its logarithm as
// far as the farther end goes; infinite where that has no end.
static double farther(double ln_off, double power)
{
    return power * ln_off < 1 ? pow(1 - power * ln_off, -1 / power) - 1 : INFINITY;
}

// Solves for the unknowns of POINTS. Returned: false where no answer is found.
static bool solve(const DwResponsePoints *points, bool equalised, double answer[UNKNOWNS], double off[UNKNOWNS],
                  double covariance[UNKNOWNS * UNKNOWNS], double *rest)
{
    double deviation, *factor = dw_response_points_factor(points, &deviation);
    DwLeastSquares problem = {.law = law,
                              .user = &equalised,
                              .x = points->hz,
                              .y = points->db,
                              .count = points->count,
                              .deviation = deviation,
                              .factor = factor,
                              .unknowns = UNKNOWNS,
                              .expected = {[RESONANCE] = log(17000)},
                              .expected_deviation = {[LEVEL] = LEVEL_DB,
                                                     [RESONANCE] = 0.5,
                                                     [Q] = 0.7,
                                                     [LOSS] = LOSS_DB,
                                                     [ARM] = ARM_DB,
                                                     [TAU] = TAU_OFF,
                                                     [TAU + 1] = TAU_OFF,
                                                     [TAU + 2] = TAU_OFF},
                              .covariance = covariance};
    bool found = dw_least_squares(&problem, answer, off, rest);
    free(factor);
    return found;
}

// What the law with UNKNOWNS leaves of POINTS shows where they are disturbed.
static void disturb(DwResponsePoints *points, bool equalised, const double *unknowns)
{
    double rest_db[DW_RESPONSE_POINTS_MOST];
    for (size_t i = 0; i < points->count; i++)
        rest_db[i] = points->db[i] - law(unknowns, points->hz[i], &equalised);
    dw_response_points_disturb(points, rest_db);
}

bool dw_response_fit(const DwResponseLine *line, bool equalised, DwResponseFit *fit)
{
    DwResponsePoints points;
    dw_response_points_take(line, FROM_HZ, &points);
    if (line->spots || points.count < 60 || line->frequency_hz[0] > LOW_HZ ||
        line->frequency_hz[line->count - 1] < HIGH_HZ)
        return false;
    double answer[UNKNOWNS] = {[RESONANCE] = log(16000)}, off[UNKNOWNS], covariance[UNKNOWNS * UNKNOWNS], rest;
    if (!solve(&points, equalised, answer, off, covariance, &rest))
        return false;
    disturb(&points, equalised, answer);
    if (!solve(&points, equalised, answer, off, covariance, &rest))
        return false;
    *fit = (DwResponseFit){.resonance_hz = exp(answer[RESONANCE]), .q = exp(answer[Q]), .rest_db = rest};
    // The low-pass goes by 1/f⁴ of its resonance and by 1/Q²: beyond the sweep's end both are known better downwards.
    fit->resonance_off_hz = fit->resonance_hz * farther(off[RESONANCE], 4);
    fit->q_off = fit->q * farther(off[Q], 2);
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        fit->tau[i] = equalised ? exp(answer[TAU + i]) - 1 : NAN;
        fit->tau_off[i] = exp(answer[TAU + i]) * off[TAU + i];
        for (size_t k = 0; k < DW_RESPONSE_TAUS; k++)
            fit->tau_covariance[i][k] = covariance[(TAU + i) * UNKNOWNS + TAU + k];
    }
    return true;
}

// Inverts MATRIX, symmetric with all of its eigenvalues above nothing, in place.
static void invert(double matrix[DW_RESPONSE_TAUS][DW_RESPONSE_TAUS])
{
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        double pivot = matrix[i][i];
        matrix[i][i] = 1;
        for (size_t k = 0; k < DW_RESPONSE_TAUS; k++)
            matrix[i][k] /= pivot;
        for (size_t j = 0; j < DW_RESPONSE_TAUS; j++) {
            double share = matrix[j][i];
            if (j == i)
                continue;
            matrix[j][i] = 0;
            for (size_t k = 0; k < DW_RESPONSE_TAUS; k++)
                matrix[j][k] -= share * matrix[i][k];
        }
    }
}

void dw_response_fit_join(const DwResponseFit *const fits[2], double tau[DW_RESPONSE_TAUS],
                          double off[DW_RESPONSE_TAUS])
{
    double known[DW_RESPONSE_TAUS][DW_RESPONSE_TAUS] = {{0}}, sum[DW_RESPONSE_TAUS] = {0};
    for (size_t c = 0; c < 2; c++) {
        double own[DW_RESPONSE_TAUS][DW_RESPONSE_TAUS];
        memcpy(own, fits[c]->tau_covariance, sizeof own);
        invert(own);
        for (size_t i = 0; i < DW_RESPONSE_TAUS; i++)
            for (size_t k = 0; k < DW_RESPONSE_TAUS; k++) {
                known[i][k] += own[i][k];
                sum[i] += own[i][k] * log1p(fits[c]->tau[k]);
            }
    }
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++)
        known[i][i] -= pow(TAU_OFF, -2); // of two, one counts
    invert(known);
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        double mean = 0;
        for (size_t k = 0; k < DW_RESPONSE_TAUS; k++)
            mean += known[i][k] * sum[k];
        tau[i] = expm1(mean);
        off[i] = exp(mean) * 1.96 * sqrt(known[i][i]);
    }
}

bool dw_response_load_of(double resonance_hz, double q, double inductance_h, double resistance_ohm,
                         double *capacitance_f, double *load_ohm)
{
    double w = 2 * M_PI * resonance_hz, leak = w / q - resistance_ohm / inductance_h; // 1/(R_L C)
    double inverse = inductance_h * w * w - resistance_ohm * leak;
    if (!(leak > 0) || !(inverse > 0))
        return false;
    *capacitance_f = 1 / inverse;
    *load_ohm = inverse / leak;
    return true;
}

// --- what is said of it -----------------------------------------------------------------

static void add_resonance(const DwResponseFit *fit, size_t channel, DwSheet *sheet)
{
    static const char *const keys[2][2] = {{"response.resonance_left", "response.q_left"},
                                           {"response.resonance_right", "response.q_right"}};
    static const char *const labels[2][2] = {{"Treble resonance, left", "Q of the treble resonance, left"},
                                             {"Treble resonance, right", "Q of the treble resonance, right"}};
    static const char method[] =
        "low-pass of second order through the response; the ± holds how evenly a record is cut";
    const double values[2] = {fit->resonance_hz / 1000, fit->q}, offs[2] = {fit->resonance_off_hz / 1000, fit->q_off};
    for (size_t i = 0; i < 2; i++)
        if (offs[0] > KNOWN * values[0] || offs[i] > KNOWN * values[i])
            dw_sheet_not_measured(sheet, keys[channel][i], "it lies beyond the end of the sweep, or is damped away.");
        else
            dw_sheet_add_estimate(sheet, keys[channel][i], labels[channel][i], values[i], i ? "" : "kHz", i ? 2 : 1,
                                  offs[i], method);
}

// The mean of the fits that are there, which one sweep gave both of: they are off alike.
static void mean_of(const DwResponseFit *const fits[2], double tau[DW_RESPONSE_TAUS], double off[DW_RESPONSE_TAUS])
{
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        double sum = 0, squares = 0, count = 0;
        for (size_t c = 0; c < 2; c++)
            if (fits[c]) {
                sum += fits[c]->tau[i];
                squares += pow(fits[c]->tau_off[i], 2);
                count++;
            }
        tau[i] = sum / count;
        off[i] = sqrt(squares / count);
    }
}

// The replay curve's time constants, which the cartridge has no part in.
static void add_equalisation(const DwResponseFit *const fits[2], bool apart, DwSheet *sheet)
{
    static const char *const columns[] = {"constant|Time constant|µs|0", "found|Found|µs|1", "uncertainty|±|µs|1",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "response.equalisation",
                                        "The preamplifier's time constants, by the response", columns);
    double tau[DW_RESPONSE_TAUS], offs[DW_RESPONSE_TAUS];
    if (apart)
        dw_response_fit_join(fits, tau, offs);
    else
        mean_of(fits, tau, offs);
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        double off = offs[i], share = tau[i];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, 1e6 * NOMINAL[i]);
        dw_table_set_number(table, row, 1, 1e6 * NOMINAL[i] * (1 + share));
        dw_table_set_number(table, row, 2, 1e6 * NOMINAL[i] * off);
        if (fabs(share) > fmax(OFF_COUNTS, off))
            dw_sheet_remark(
                sheet, "The replay curve's %.0f µs is %.0f ± %.0f µs: the preamplifier's parts, not the cartridge.",
                1e6 * NOMINAL[i], 1e6 * NOMINAL[i] * (1 + share), 1e6 * NOMINAL[i] * off);
    }
}

// The load that would make the treble what it is, by how resonance and Q move it.
static void add_load(const DwResponse *response, const DwResponseFit *fit, const char *name, DwSheet *sheet)
{
    const DwLoading *loading = response->settings.loading;
    double farad, ohm, moved_f, moved_ohm, off_f = 0, off_ohm = 0;
    if (!loading || fit->resonance_off_hz > KNOWN * fit->resonance_hz)
        return;
    if (!dw_response_load_of(fit->resonance_hz, fit->q, loading->inductance_h, loading->resistance_ohm, &farad, &ohm)) {
        dw_sheet_remark(sheet, "No load makes this coil's %s treble what it is: the stylus's own resonance does.",
                        name);
        return;
    }
    const double steps[3][3] = {{fit->resonance_off_hz, 0, 0},
                                {0, fit->q_off, 0},
                                {0, 0, response->settings.inductance_off * loading->inductance_h}};
    for (size_t i = 0; i < 3; i++) {
        bool there =
            dw_response_load_of(fit->resonance_hz + steps[i][0], fit->q + steps[i][1],
                                loading->inductance_h + steps[i][2], loading->resistance_ohm, &moved_f, &moved_ohm);
        off_f = there ? hypot(off_f, moved_f - farad) : INFINITY;
        off_ohm = there ? hypot(off_ohm, moved_ohm - ohm) : INFINITY;
    }
    bool is_left = name[0] == 'l';
    DwReading *reading =
        dw_sheet_add_estimate(sheet, is_left ? "response.capacitance_left" : "response.capacitance_right",
                              is_left ? "Load capacitance that the treble asks for, left"
                                      : "Load capacitance that the treble asks for, right",
                              1e12 * farad, "pF", 0, isfinite(off_f) ? 1e12 * off_f : NAN,
                              "resonance and Q as if all of it were coil and load");
    reading->flags |= DW_FLAG_APPROXIMATE;
    reading = dw_sheet_add_estimate(sheet, is_left ? "response.load_left" : "response.load_right",
                                    is_left ? "Load resistance that the treble asks for, left"
                                            : "Load resistance that the treble asks for, right",
                                    ohm / 1000, "kohm", 1, isfinite(off_ohm) ? off_ohm / 1000 : NAN,
                                    "resonance and Q as if all of it were coil and load");
    reading->flags |= DW_FLAG_APPROXIMATE;
    bool as_stated =
        fabs(loading->load_capacitance_f - farad) <= off_f && fabs(loading->load_resistance_ohm - ohm) <= off_ohm;
    dw_sheet_remark(sheet,
                    as_stated ? "The %s treble is what the stated load of %.0f pF and %.1f kohm gives."
                              : "The %s treble is not what the stated load of %.0f pF and %.1f kohm gives: the load is "
                                "other than stated, or the stylus's own resonance has a part in it.",
                    name, 1e12 * loading->load_capacitance_f, loading->load_resistance_ohm / 1000);
}

void dw_response_say_fit(const DwResponse *response, const DwResponseLine *left, const DwResponseLine *right,
                         DwSheet *sheet)
{
    const DwResponseLine *lines[2] = {left, right};
    DwResponseFit fits[2];
    const DwResponseFit *there[2] = {NULL, NULL};
    for (size_t c = 0; c < 2; c++)
        if (lines[c] && dw_response_fit(lines[c], response->settings.equalised, &fits[c])) {
            there[c] = &fits[c];
            add_resonance(&fits[c], c, sheet);
            add_load(response, &fits[c], c ? "right" : "left", sheet);
        }
    if ((there[0] || there[1]) && response->settings.equalised)
        add_equalisation(there, there[0] && there[1] && !(left->both && right->both), sheet);
}
