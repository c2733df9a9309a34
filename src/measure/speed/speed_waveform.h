// SPDX-License-Identifier: MIT
// What a part of the drive does to the speed, all of its lines together.
#ifndef DW_MEASURE_SPEED_WAVEFORM_H
#define DW_MEASURE_SPEED_WAVEFORM_H

#include "measure/speed/speed_analysis.h"

enum { DW_WAVEFORM_LINES = 48 };

// Lines of one part: amplitudes in % peak, phases those in the middle of the recording.
typedef struct {
    double frequency_hz[DW_WAVEFORM_LINES], cosine[DW_WAVEFORM_LINES], sine[DW_WAVEFORM_LINES];
    size_t count;
} DwWaveform;

// Adds line LINE of ANALYSIS.
void dw_waveform_add(DwWaveform *waveform, const DwSpeedAnalysis *analysis, const DwFlutterLine *line);
// Adds the multiples of TURN_HZ above the joint fit that stand out of the noise and are no line yet: a short
// pulse spreads over very many. Returned: how many were added.
unsigned dw_waveform_complete(DwWaveform *waveform, const DwSpeedAnalysis *analysis, double turn_hz);
// Its value SECOND after the middle of the recording, %; behind the weighting where that is asked for.
double dw_waveform_at(const DwWaveform *waveform, double second, bool weighted);
// What is left of it behind the filter of the unweighted deviation, which turns and weakens slow lines.
DwWaveform dw_waveform_unweighted(const DwWaveform *waveform);
// Mean square, %².
double dw_waveform_power(const DwWaveform *waveform);
// What it alone would read, two-sigma behind the weighting, and its largest excursion, %.
double dw_waveform_weighted(const DwWaveform *waveform);
double dw_waveform_peak(const DwWaveform *waveform);

#endif
