// SPDX-License-Identifier: MIT
// Speed, wow and flutter of a live tone: at once over a short window and over
// the last turn, and once settled by the same analysis that measures files.
#ifndef DW_MEASURE_LIVE_SPEED_H
#define DW_MEASURE_LIVE_SPEED_H

#include "measure/live/live_pictures.h"
#include "measure/live/live_tone.h"
#include "measure/speed/speed_analysis.h"

// What is not known yet is NAN. Percent are fast of nominal unless said otherwise.
typedef struct {
    double now, now_off;   // over the last tenth of a second
    double turn, turn_off; // over the last turn
    double steady_s;       // for how long the present tone has been steady
    double needed_s;       // how long it takes for the settled figures
    bool torn;             // too much of the steady tone was left out to tell the settled figures
    bool settled;          // these belong to the present tone:
    double over_s;         // seconds that they were measured over
    double mean, mean_off;
    double drift, drift_off; // %/min
    DwFluctuation weighted, unweighted;
    double wow, flutter, floor;
    double once, once_off; // a revolution, % peak
    double amplitude;      // of the joined tone, peak
} DwLiveSpeedReading;

typedef struct DwLiveSpeed DwLiveSpeed;

// WINDOW_S is the longest stretch that the settled figures look at, EVERY_S how
// often they are worked out.
DwLiveSpeed *dw_live_speed_new(const DwSpeedSettings *settings, double window_s, double every_s);
void dw_live_speed_free(DwLiveSpeed *speed);
// Takes what came to TONE since the last call; STEP_S is the time since then.
// Returned: whether dw_live_speed_settle() is due.
bool dw_live_speed_take(DwLiveSpeed *speed, const DwLiveTone *tone, double step_s);
// Works out the settled figures, which takes longer than all the rest.
void dw_live_speed_settle(DwLiveSpeed *speed, const DwLiveTone *tone);
// Valid until the next call.
const DwLiveSpeedReading *dw_live_speed_reading(const DwLiveSpeed *speed);
const DwLiveRaster *dw_live_speed_raster(const DwLiveSpeed *speed);
const DwLiveSpectrum *dw_live_speed_spectrum(const DwLiveSpeed *speed);

// --- live_spectrum.c ---------------------------------------------------

// Takes all of SPECTRUM from ANALYSIS of RUN.
void dw_live_spectrum_take(DwLiveSpectrum *spectrum, const DwSpeedAnalysis *analysis, const DwToneRun *run,
                           const DwSpeedSettings *settings);

#endif
