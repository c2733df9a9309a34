// SPDX-License-Identifier: MIT
// What the files that read and examine a band plan share.
#ifndef DW_BASE_BAND_PLAN_PRIVATE_H
#define DW_BASE_BAND_PLAN_PRIVATE_H

#include "base/plan/band_plan.h"
#include "base/keyfile.h"

// Adds a trouble; BAND 0: of the record or the whole.
void dw_plan_trouble_add(DwPlanTroubles *troubles, unsigned line, unsigned band, bool doubtful, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
// The same of words that are there: TEXT in English, SAID in the language of the program's user. Takes ownership of
// both.
void dw_plan_trouble_put(DwPlanTroubles *troubles, unsigned line, unsigned band, bool doubtful, char *text, char *said);

// A plan while it is read.
typedef struct {
    const DwKeyfile *file;
    DwBandPlan *plan;
    DwPlanTroubles *troubles;
} DwPlanReading;

// Reads the lines of the group called NAME into BAND, whose number, line and
// default gap are set. Everything that is wrong is told to the troubles.
void dw_band_plan_read_band(DwPlanReading *reading, const char *name, DwBandPlanBand *band);

// Adds what is wrong with PLAN as a whole: numbers, radii, lengths, levels.
void dw_band_plan_check(const DwBandPlan *plan, DwPlanTroubles *troubles);

// Where a sweep's velocity is counted: 1 kHz, or its start when it does not pass 1 kHz.
double dw_band_plan_sweep_level_hz(double from_hz, double to_hz);

#endif
