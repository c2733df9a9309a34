// SPDX-License-Identifier: MIT
// The flutter of the last seconds by frequency, its strongest lines with the part that each is traced to,
// and where the parts of a described drive would show.
#ifndef DW_MEASURE_LIVE_SPECTRUM_H
#define DW_MEASURE_LIVE_SPECTRUM_H

#include "measure/speed/speed_analysis.h"

#include <stdint.h>

enum { DW_LIVE_BINS = 180, DW_LIVE_LINES = 6, DW_LIVE_MARKS = DW_RATES_MOST };

typedef struct {
    double hz, percent, order; // amplitude, peak; times the platter's rate
    char part[64];             // "motor", "belt or platter"; "" when the drive is not described or none fits
} DwLiveLine;

typedef struct {
    double hz;
    char part[48]; // "belt", "motor: cogging"
} DwLiveMark;

// Bin i goes from LOW·(HIGH/LOW)^(i/BINS) on and holds the highest amplitude in it [% peak]; NAN for none.
typedef struct {
    uint64_t made; // how often it was; 0: not yet
    double over_s;
    float percent[DW_LIVE_BINS];
    DwLiveLine line[DW_LIVE_LINES]; // the strongest first
    DwLiveMark mark[DW_LIVE_MARKS];
    size_t lines, marks;
} DwLiveSpectrum;

extern const double dw_live_spectrum_low_hz, dw_live_spectrum_high_hz;

// Takes all from ANALYSIS of RUN.
void dw_live_spectrum_take(DwLiveSpectrum *spectrum, const DwSpeedAnalysis *analysis, const DwToneRun *run,
                           const DwSpeedSettings *settings);
// It is not of now any more: the lines and amplitudes go, the marks stay.
void dw_live_spectrum_forget(DwLiveSpectrum *spectrum);

#endif
