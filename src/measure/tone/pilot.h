// SPDX-License-Identifier: MIT
// The arm's resonance by what it does to a steady pilot tone: the headshell
// swings on its compliance, and that modulates the tone's frequency.
#ifndef DW_MEASURE_PILOT_H
#define DW_MEASURE_PILOT_H

#include "base/sheet.h"

typedef struct DwPilot DwPilot;

// For a recording of RATE_HZ [Hz]. The caller frees it with dw_pilot_free().
DwPilot *dw_pilot_new(double rate_hz, unsigned channels);
void dw_pilot_free(DwPilot *pilot);
// Takes FRAMES interleaved frames.
void dw_pilot_push(DwPilot *pilot, const float *interleaved, size_t frames);
// At the end of a recording.
void dw_pilot_finish(DwPilot *pilot);
// Adds resonance, Q and spectrum, or says why they were not measured.
void dw_pilot_read(const DwPilot *pilot, DwSheet *sheet);

#endif
