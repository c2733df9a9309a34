// SPDX-License-Identifier: MIT
#include "measure/sweep/response_fit.h"

#include "dsp/least_squares.h"

#include <math.h>
#include <stdio.h>

static const double UNEVEN_DB = 0.1;               // rms of a cut, alike within an octave
static const double PER_OCTAVE = 24;               // points of a line, which tell as one
static const double LOW_HZ = 200, HIGH_HZ = 10000; // that a line must hold
static const double FROM_HZ = 40;                  // below it the arm's own resonance is no longer its tail
static const double NOMINAL[DW_RESPONSE_TAUS] = {3180e-6, 318e-6, 75e-6};
static const double TAU_OFF = 0.05;          // of parts, rms beforehand (common practice, no source)
static const double SENSE = 0.01;            // of ln τ, for the slope
static const double LOSS_DB = 4, ARM_DB = 2; // rms beforehand, at 15 kHz and where the fit begins
static const double OFF_COUNTS = 0.05;       // share of a time constant worth a word
static const double KNOWN = 0.5;             // share of a resonance that its ± may be

enum { LEVEL, RESONANCE, Q, LOSS, ARM, TAU, UNKNOWNS = TAU + DW_RESPONSE_TAUS };

double dw_response_cut_off_db(double frequency_hz)
{
    double octaves = fmin(1, fabs(log2(frequency_hz / 1000)));
    double alike = 1 - octaves * octaves * (3 - octaves) / 2; // smooth at 1 kHz, nothing an octave away
    return 1.96 * UNEVEN_DB * sqrt(2 * (1 - alike));          // there and at 1 kHz
}

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

// What a share of time constant INDEX does at HZ, over 1 kHz, for each unit of ln τ.
static double slope_db(double hz, size_t index)
{
    double more[DW_RESPONSE_TAUS], less[DW_RESPONSE_TAUS];
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        more[i] = NOMINAL[i] * (i == index ? 1 + SENSE : 1);
        less[i] = NOMINAL[i] * (i == index ? 1 - SENSE : 1);
    }
    return (replay_db(hz, more) - replay_db(hz, less) - replay_db(1000, more) + replay_db(1000, less)) / (2 * SENSE);
}

static double law(const double *unknowns, double hz, const void *user)
{
    const bool *equalised = user;
    double resonance = exp(unknowns[RESONANCE]), q = exp(unknowns[Q]), worn = hz / 15000, arm = FROM_HZ / hz;
    double sum = unknowns[LEVEL] + low_pass_db(hz, resonance, q) - low_pass_db(1000, resonance, q) -
                 unknowns[LOSS] * worn * worn + unknowns[ARM] * arm * arm;
    for (size_t i = 0; i < DW_RESPONSE_TAUS && *equalised; i++)
        sum += unknowns[TAU + i] * slope_db(hz, i);
    return sum;
}

bool dw_response_fit(const DwResponseLine *line, bool equalised, DwResponseFit *fit)
{
    double hz[DW_RESPONSE_POINTS_MOST], db[DW_RESPONSE_POINTS_MOST], off[DW_LEAST_SQUARES_MOST], rest;
    size_t count = 0;
    for (size_t i = 0; i < line->count; i++)
        if (line->frequency_hz[i] >= FROM_HZ) {
            hz[count] = line->frequency_hz[i];
            db[count++] = line->level_db[i];
        }
    if (line->spots || count < 60 || hz[0] > LOW_HZ || hz[count - 1] < HIGH_HZ)
        return false;
    DwLeastSquares problem = {.law = law,
                              .user = &equalised,
                              .x = hz,
                              .y = db,
                              .count = count,
                              .deviation = UNEVEN_DB * sqrt(PER_OCTAVE),
                              .unknowns = UNKNOWNS,
                              .expected = {[RESONANCE] = log(17000)},
                              .expected_deviation = {[LEVEL] = UNEVEN_DB,
                                                     [RESONANCE] = 0.5,
                                                     [Q] = 0.7,
                                                     [LOSS] = LOSS_DB,
                                                     [ARM] = ARM_DB,
                                                     [TAU] = TAU_OFF,
                                                     [TAU + 1] = TAU_OFF,
                                                     [TAU + 2] = TAU_OFF}};
    double answer[DW_LEAST_SQUARES_MOST] = {[RESONANCE] = log(16000)};
    if (!dw_least_squares(&problem, answer, off, &rest))
        return false;
    *fit = (DwResponseFit){.resonance_hz = exp(answer[RESONANCE]), .q = exp(answer[Q]), .rest_db = rest};
    fit->resonance_off_hz = fit->resonance_hz * off[RESONANCE];
    fit->q_off = fit->q * off[Q];
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        fit->tau[i] = equalised ? answer[TAU + i] : NAN;
        fit->tau_off[i] = off[TAU + i];
    }
    return true;
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
    if (fit->resonance_off_hz > KNOWN * fit->resonance_hz) {
        for (size_t i = 0; i < 2; i++)
            dw_sheet_not_measured(sheet, keys[channel][i], "it lies beyond the end of the sweep, or is damped away.");
        return;
    }
    dw_sheet_add_estimate(sheet, keys[channel][0], labels[channel][0], fit->resonance_hz / 1000, "kHz", 1,
                          fit->resonance_off_hz / 1000, method);
    dw_sheet_add_estimate(sheet, keys[channel][1], labels[channel][1], fit->q, "", 2, fit->q_off, method);
}

// What the fits that are there say together of time constant INDEX. Sweeps that are APART are cut unevenly each by its
// own, so that two tell more than one; what was expected beforehand counts once.
static double join(const DwResponseFit *fits[2], bool apart, size_t index, double *off)
{
    double sum = 0, weight = 0, squares = 0, channels = 0, beforehand = pow(1.96 * TAU_OFF, -2);
    for (size_t c = 0; c < 2; c++)
        if (fits[c]) {
            double known = fmax(pow(fits[c]->tau_off[index], -2), beforehand);
            channels++;
            sum += (apart ? known : 1) * fits[c]->tau[index];
            weight += known;
            squares += pow(fits[c]->tau_off[index], 2);
        }
    if (!apart) {
        *off = sqrt(squares / channels);
        return sum / channels;
    }
    weight -= (channels - 1) * beforehand;
    *off = 1 / sqrt(weight);
    return sum / weight;
}

// The replay curve's time constants, which the cartridge has no part in.
static void add_equalisation(const DwResponseFit *fits[2], bool apart, DwSheet *sheet)
{
    static const char *const columns[] = {"constant|Time constant|µs|0", "found|Found|µs|1", "uncertainty|±|µs|1",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "response.equalisation",
                                        "The preamplifier's time constants, by the response", columns);
    for (size_t i = 0; i < DW_RESPONSE_TAUS; i++) {
        double off, share = join(fits, apart, i, &off);
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
