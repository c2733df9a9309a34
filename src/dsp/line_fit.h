// SPDX-License-Identifier: MIT
// Least-squares fit of a slow trend and of several lines at once, their rates with
// them: what a window's width would smear together is parted as soon as the samples
// hold enough to part it.
#ifndef DW_DSP_LINE_FIT_H
#define DW_DSP_LINE_FIT_H

#include <stdbool.h>
#include <stddef.h>

enum {
    DW_LINE_FIT_TREND = 4,     // Legendre polynomials over the whole span, P0 to P3
    DW_LINE_FIT_HARMONICS = 3, // of one line at most
    DW_LINE_FIT_LINES = 16
};

// Σ cosine[k]·cos(2π(k+1)·rate·c) + sine[k]·sin(…), c the line's clock counted from the middle.
typedef struct {
    size_t clock; // which of the two
    size_t harmonics;
    double rate_hz;
    double prior_hz, prior_off_hz; // what is known of the rate, standard; NAN: nothing
    double cosine[DW_LINE_FIT_HARMONICS], sine[DW_LINE_FIT_HARMONICS];
    // Covariance of cosine, sine and rate for samples whose noise is white with variance 1.
    double unit[DW_LINE_FIT_HARMONICS][3][3];
} DwLine;

typedef struct {
    double middle[2];                                               // of each clock
    double span;                                                    // of the first clock, seconds
    double trend[DW_LINE_FIT_TREND], trend_unit[DW_LINE_FIT_TREND]; // and variances for white noise
    DwLine line[DW_LINE_FIT_LINES];
    size_t count;
    double variance; // of what is left, a sample of weight 1
} DwLineFit;

// The samples: VALUE[COUNT] with WEIGHT, at even steps of CLOCK[0]; CLOCK[1] is a second
// clock that runs nearly as fast (CLOCK[0] again where there is none).
typedef struct {
    const double *clock[2], *value, *weight;
    size_t count;
} DwLineSamples;

// Sets middle and span for SAMPLES; no lines yet.
void dw_line_fit_init(DwLineFit *fit, const DwLineSamples *samples);
// Fits everything, at most PASSES times, from the rates as they stand.
//
// Returned: false when the samples do not determine it; FIT is then as it was.
// Accuracy: Gauss-Newton on the rates, at most 0.3/span a pass.
// Reference: C. F. Gauss's normal equations; D. C. Rife and R. R. Boorstyn, "Multiple
// tone parameter estimation from discrete-time observations", Bell Syst. Tech. J. 55
// (1976) 1389–1410, for the bound it reaches (from memory).
bool dw_line_fit_run(DwLineFit *fit, const DwLineSamples *samples, unsigned passes);
// The fitted lines, or the trend, at CLOCK (both clocks' reading).
double dw_line_fit_lines_at(const DwLineFit *fit, const double clock[2]);
double dw_line_fit_trend_at(const DwLineFit *fit, double clock);
// What the trend is made of at X, the place in the span from −1 to 1: Legendre's polynomials of degree 0 to 3.
void dw_line_fit_trend_parts(double x, double values[DW_LINE_FIT_TREND]);
// One line's part.
double dw_line_fit_line_at(const DwLineFit *fit, const DwLine *line, const double clock[2]);
// What the fit leaves of each sample.
void dw_line_fit_rest(const DwLineFit *fit, const DwLineSamples *samples, double *rest);
// Standard uncertainty of a harmonic's amplitude, of its rate, and of its phase (radians) at
// READING of its clock, for noise of VARIANCE a sample.
double dw_line_amplitude(const DwLine *line, size_t harmonic);
double dw_line_amplitude_off(const DwLine *line, size_t harmonic, double variance);
double dw_line_rate_off(const DwLine *line, double variance);
double dw_line_phase_off(const DwLineFit *fit, const DwLine *line, double reading, double variance);
// The phase of a cosine at READING of its clock, radians.
double dw_line_phase(const DwLineFit *fit, const DwLine *line, double reading);

#endif
