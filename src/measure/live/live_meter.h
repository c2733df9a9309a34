// SPDX-License-Identifier: MIT
// From live samples to the figures of the bench, every 50 ms: level, tone, speed,
// flutter, the revolution raster, separation, tilt, polarity and hum. Feed, then
// ask; block size changes nothing; memory is bounded, whatever the time. A
// figure that is not of now says so and why.
#ifndef DW_MEASURE_LIVE_METER_H
#define DW_MEASURE_LIVE_METER_H

#include "measure/live/live_hum.h"
#include "measure/live/live_level.h"
#include "measure/live/live_pictures.h"
#include "measure/speed/speed.h"
#include "measure/band/tone_band.h"
#include "measure/tone/tone_fit.h"

typedef struct {
    DwSpeedSettings speed; // rate, channels, tone, nominal speed, split, clock error, the tone's tolerance
    double mains_hz;
    double window_s;    // the longest stretch that flutter and mean speed look at
    double every_s;     // how often they and the hum are worked out
    bool settles_apart; // not within a push but by dw_live_meter_settle()
} DwLiveMeterSettings;

// What suits a live input of RATE_HZ and CHANNELS, nothing stated.
DwLiveMeterSettings dw_live_meter_settings(double rate_hz, unsigned channels);

// What keeps the figures from being of now, least bad first.
typedef enum {
    DW_LIVE_GOOD,
    DW_LIVE_FOREIGN,   // the tone is steady but none that is known: no speed
    DW_LIVE_LISTENING, // there is sound; a steady tone is being looked for
    DW_LIVE_WANDERED,  // the tone has left its place
    DW_LIVE_LOST,      // the tone has gone, sound goes on
    DW_LIVE_SILENT,    // nothing comes in
    DW_LIVE_BROKEN,    // samples are missing, or were no numbers
    DW_LIVE_WAITING,   // no frame is complete yet
} DwLiveTrouble;

// The figures. Those that a procedure measures too have the key of its reading.
typedef enum {
    DW_LIVE_SPEED_NOW,
    DW_LIVE_SPEED_TURN,
    DW_LIVE_SPEED_ERROR,
    DW_LIVE_SPEED_MEAN,
    DW_LIVE_DRIFT,
    DW_LIVE_WEIGHTED_TWO_SIGMA,
    DW_LIVE_WEIGHTED_QUASI_PEAK,
    DW_LIVE_WEIGHTED_RMS,
    DW_LIVE_UNWEIGHTED_TWO_SIGMA,
    DW_LIVE_UNWEIGHTED_QUASI_PEAK,
    DW_LIVE_UNWEIGHTED_RMS,
    DW_LIVE_WOW,
    DW_LIVE_FLUTTER,
    DW_LIVE_FLOOR,
    DW_LIVE_ONCE_A_TURN,
    DW_LIVE_BALANCE,
    DW_LIVE_SEPARATION_LEFT,
    DW_LIVE_SEPARATION_RIGHT,
    DW_LIVE_LEAK_PHASE_LEFT,
    DW_LIVE_LEAK_PHASE_RIGHT,
    DW_LIVE_ROTATION,
    DW_LIVE_POLARITY, // 1: in phase, −1: opposed
    DW_LIVE_HUM,      // all lines together, under the tone
    DW_LIVE_FIGURES
} DwLiveFigureName;

typedef struct {
    const char *key, *label, *unit;
    int digits;
} DwLiveFigureKind;

// The row of NAME.
const DwLiveFigureKind *dw_live_figure_kind(DwLiveFigureName name);

typedef struct {
    double value;       // NAN: never measured
    double uncertainty; // half-width of the 95 % interval; NAN when unknown
    double over_s;      // what it was measured over; NAN when that says nothing
    double age_s;       // since it was of now; NAN when it never was
    bool stale;
    char why[400]; // why it is stale, or what to bear in mind; "" for neither
} DwLiveFigure;

// Everything but the pictures, as of the last complete frame.
typedef struct {
    double heard_s;  // of samples taken, by nominal rate
    uint64_t frames; // complete, of 50 ms
    unsigned channels;
    double speed_rpm; // nominal
    DwLiveTrouble trouble;
    char why[400];      // the trouble in words; "" when good
    double tone_hz;     // as played, over the last turn or tenth of a second; NAN without one
    double engraved_hz; // what it was taken for; NAN for a foreign one
    DwToneFit fit;
    double steady_s, needed_s; // how long it has been steady, and must be for the settled figures
    bool sided;                // `band` tells which way the groove moves
    DwBandKind band;
    DwLiveLevel level[2];
    double tone_amplitude; // peak, of the stronger channel; NAN without a tone
    DwLiveHumLine hum[DW_LIVE_HUM_LINES];
    DwLiveFigure figure[DW_LIVE_FIGURES];
    size_t gaps;          // places where samples are missing
    uint64_t bad_samples; // that were no numbers
} DwLiveFigures;

typedef struct DwLiveMeter DwLiveMeter;

// Copies SETTINGS. The caller frees it with dw_live_meter_free().
DwLiveMeter *dw_live_meter_new(const DwLiveMeterSettings *settings);
void dw_live_meter_free(DwLiveMeter *meter);
// Takes FRAMES interleaved frames, full scale ±1. Returned: how many 50 ms frames
// they completed.
size_t dw_live_meter_push(DwLiveMeter *meter, const float *interleaved, size_t frames);
// With `settles_apart`: works out the slow figures if they are due, between a push
// and the next; they show with the next frame. It takes some tens of ms.
void dw_live_meter_settle(DwLiveMeter *meter);
// Samples are missing before what is pushed next.
void dw_live_meter_break(DwLiveMeter *meter);
// Valid until the next push.
const DwLiveFigures *dw_live_meter_figures(const DwLiveMeter *meter);
const DwLiveRaster *dw_live_meter_raster(const DwLiveMeter *meter);
const DwLiveHistory *dw_live_meter_history(const DwLiveMeter *meter);
const DwLiveSpectrum *dw_live_meter_spectrum(const DwLiveMeter *meter);

// Forgets the held peaks and clipped counts.
void dw_live_meter_reset_marks(DwLiveMeter *meter);
// Forgets what was held of each side: the pickup was turned or changed.
void dw_live_meter_forget_sides(DwLiveMeter *meter);

#endif
