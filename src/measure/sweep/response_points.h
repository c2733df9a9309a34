// SPDX-License-Identifier: MIT
// The points of a curve that a law is fitted to, and what they are off: how unevenly a record is cut, which goes
// together within an octave or two, and what hum, rumble and noise make of a stretch.
#ifndef DW_MEASURE_RESPONSE_POINTS_H
#define DW_MEASURE_RESPONSE_POINTS_H

#include "measure/sweep/response_analysis.h"

typedef struct {
    size_t count;
    double hz[DW_RESPONSE_POINTS_MOST], db[DW_RESPONSE_POINTS_MOST];
    double read_db[DW_RESPONSE_POINTS_MOST];      // rms of what each is off by its own
    double disturbed_db[DW_RESPONSE_POINTS_MOST]; // and of what it is off together with its neighbours
} DwResponsePoints;

// The points of LINE from FROM_HZ up, between the ends of its sweep: where the level bends there, what goes straight on
// lies beside it.
void dw_response_points_take(const DwResponseLine *line, double from_hz, DwResponsePoints *points);

// 95 % half-width of a level at FREQUENCY_HZ over that at 1 kHz by how even a sweep is cut: 0.1 dB rms, alike for what
// lies near and of its own an octave away (common practice, no source).
double dw_response_cut_off_db(double frequency_hz);

// Reads read_db and disturbed_db, which are 0.02 dB and nothing before, from REST_DB, what a law leaves of each point:
// a cut is off smoothly, so what bends from point to point, or within a third of an octave, is noise, hum or rumble.
// Fewer than nine points tell nothing.
void dw_response_points_disturb(DwResponsePoints *points, const double *rest_db);

// Cholesky's factor of the covariance of what the points are off, over that of how one is cut [count × count, row by
// row, lower triangle]; the caller frees it with free(). *DEVIATION_DB: how one is cut, rms.
double *dw_response_points_factor(const DwResponsePoints *points, double *deviation_db);

#endif
