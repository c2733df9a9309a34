// SPDX-License-Identifier: MIT
// What a line that may hide beside a fitted one leaves of that one: how likely it is, and what the fitted one then is.
#ifndef DW_DSP_HIDDEN_LINE_H
#define DW_DSP_HIDDEN_LINE_H

#include "dsp/line_fit.h"

// Of the fitted line: cosine and sine of its first and second harmonic, its rate in Hz.
enum { DW_HIDDEN_LINE_OF = 5 };

typedef struct {
    double ratio; // of the hidden line's rate over the fitted one's
    double
        deviation[2]; // standard, of cosine and of sine of its first and second harmonic beforehand; 0: there is none
    // Answered:
    double evidence;                // log of how likely the samples are with it; all share a constant
    double line[DW_HIDDEN_LINE_OF]; // what the fitted line then is likeliest to be
    double factor[DW_HIDDEN_LINE_OF][DW_HIDDEN_LINE_OF]; // lower triangle of Cholesky's of its covariance
} DwHiddenLine;

// Answers COUNT guesses TRIED of a line beside line 0 of FIT, which is the least-squares fit of SAMPLES and has two
// harmonics, for noise of VARIANCE a sample. The other lines stay as they are; trend and line 0 move along.
//
// Returned: false when the samples do not determine it.
// Accuracy: Laplace's approximation about the likeliest values, found by Gauss-Newton from two beginnings.
// Reference: C. M. Bishop, "Pattern Recognition and Machine Learning" (2006), 4.4 – from memory.
bool dw_hidden_line_try(const DwLineFit *fit, const DwLineSamples *samples, double variance, DwHiddenLine *tried,
                        size_t count);

#endif
