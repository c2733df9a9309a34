// SPDX-License-Identifier: MIT
// What speed.c works out of a demodulated tone before it becomes readings.
#ifndef DW_MEASURE_SPEED_ANALYSIS_H
#define DW_MEASURE_SPEED_ANALYSIS_H

#include "dsp/fit.h"
#include "dsp/line_fit.h"
#include "dsp/spectrum.h"
#include "measure/tone/carrier.h"
#include "measure/speed/speed.h"
#include "measure/speed/steadiness.h"

// The four ways in which the standards read a fluctuation, in percent, with
// half-widths of the 95 % interval from the spread between stretches (NAN
// where the recording holds fewer than three).
typedef struct {
    double two_sigma, quasi_peak, rms, average;
    double two_sigma_off, quasi_peak_off, rms_off, average_off;
} DwFluctuation;

typedef struct {
    double frequency_hz, amplitude; // % peak
    double off_hz;                  // standard uncertainty of the frequency
    double off;                     // and of the amplitude
    double cosine, sine;            // from start_s on, of a line above what the joint fit holds; else 0
    double start[2];                // cosine and sine from start_s on, of every line
} DwFlutterLine;

// How fit the recording is for measuring flutter.
typedef struct {
    double added, added_weighted;   // mean square of what is sound beside the tone, %²
    double swayed, swayed_weighted; // likewise of what the level's swing would read, were it the phase that swings so
    double unrest;                  // rms of that swing, relative
    double level_swing;             // rms of what the level follows the speed by; 0: no room is heard
    bool may_be_warp;               // nothing faster than the turn tells a room's swing from a warp's
    double spread_s;                // by which its echo spreads the sound; NAN without one
    bool is_locked;                 // one closed groove was played all along
    bool is_drowned;                // the noise is too near to the tone for its phase to be followed
} DwSpeedFitness;

enum { DW_FLUTTER_LINES_MOST = 16 };

typedef struct {
    // Where it comes from.
    DwSteadiness steadiness;      // of the run, of which a stretch is measured; empty for a live window
    DwToneRun whole;              // that run
    const unsigned char *marked;  // what dw_speed_mark found in the stretch already; NULL: not looked yet
    const DwTonePassage *passage; // every tone heard
    size_t passages;
    // The tone.
    double rate_hz; // of the series
    double start_s; // time of its first value in the recording
    size_t count;
    double amplitude;     // joined, peak
    double noise_density; // one-sided, over the tone's amplitude squared, 1/Hz
    double mean_hz, mean_off_hz;
    double drift, drift_off; // %/min
    double excluded;         // share of the values masked
    // The joint fit: trend and slow lines in % of the mean, line 0 the platter's.
    DwLineFit joint;
    double line_variance[DW_LINE_FIT_LINES][DW_LINE_FIT_HARMONICS]; // of the noise about each, for the line's units
    double slow_start[2];                                           // what its clocks read at start_s
    double turn_hz, turn_off_hz;                                    // the platter's own rate, by its lines
    bool turn_shows;                                                // whether there are any
    double
        hidden_hz; // how far from the platter's a line may lie that the take does not part from it; NAN: there is none
    bool belt_hides;                   // whether a belt may have more than a tenth of what comes once a turn
    double turn_phase, turn_phase_off; // of a cosine at the recording's start, radians
    double turn_off[2];                // of the once- and twice-per-revolution amplitudes, %
    double *rest_power; // what the fit leaves: Hann bins, a sine's amplitude squared, %²; NULL: there is no fit
    size_t rest_bins;
    double rest_step_hz;
    DwHarmonicFit fit; // the platter's lines and the drift against time, right at its centre
    // The series: deviation from the mean in %, low-passed at 200 Hz.
    double *deviation;
    unsigned char *used; // 0 where masked
    // Behind the filters.
    double *work; // scratch of `count`; after dw_speed_analyse the unweighted deviation
    DwFluctuation weighted, unweighted;
    double wow, flutter; // two-sigma below and above the split, %
    double floor;        // weighted two-sigma that the noise alone would read, %
    double noise;        // unweighted two-sigma likewise
    DwSpectrum spectrum; // of the deviation, noise and all
    DwFlutterLine lines[DW_FLUTTER_LINES_MOST];
    size_t line_count;
    DwSpeedFitness fitness;
} DwSpeedAnalysis;

// Finds the tone that SPEED took in and works out everything from it; dw_speed_read
// is this and a sheet. RUN is valid until the next push; the caller clears
// ANALYSIS with dw_speed_analysis_clear(). Status: as dw_speed_read.
DwStatus dw_speed_work_out(const DwSpeed *speed, DwToneRun *run, DwSpeedAnalysis *analysis, DwMessage *message);

// Works out everything from RUN, which DEMODULATOR gave. Returned: false when too little of the tone is usable.
bool dw_speed_analyse(const DwDemodulator *demodulator, const DwToneRun *run, const DwSpeedSettings *settings,
                      DwSpeedAnalysis *analysis);
void dw_speed_analysis_clear(DwSpeedAnalysis *analysis);
// Platter revolutions a second as the tone tells them.
double dw_speed_expected_turn_hz(const DwSpeedAnalysis *analysis, const DwToneRun *run,
                                 const DwSpeedSettings *settings);
// Platter revolutions a second by its own lines where they show, else by the tone.
double dw_speed_analysis_turn_hz(const DwSpeedAnalysis *analysis, const DwToneRun *run,
                                 const DwSpeedSettings *settings);

// Parts of it, each in its own file.
// Marks what a tick, dropout or edge spoils and bridges it; fills deviation (Hz
// off the centre) and used. Returned: false when nothing usable is left.
bool dw_speed_mask(const DwDemodulator *demodulator, const DwToneRun *run, DwSpeedAnalysis *analysis);
// The first half of it: USED[run->count] is 0 where a tick or dropout spoils the value.
void dw_speed_mark(const DwDemodulator *demodulator, const DwToneRun *run, unsigned char *used);
// Whether RUN, some tenths of a second, is cut into so many pieces that its ticks hide one another: nothing of it
// tells.
bool dw_speed_is_torn(const DwToneRun *run);
// How many times in a row something is left out.
size_t dw_speed_gaps(const DwSpeedAnalysis *analysis);
// Fits trend and slow lines at once; deviation stays in Hz off the run's centre. Returned:
// false when there is too little.
bool dw_speed_joint(DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings);
// Reads the fluctuation of the unweighted and the weighted deviation.
void dw_speed_fluctuation(const DwSpeedSettings *settings, DwSpeedAnalysis *analysis);
// What the filter of the unweighted deviation makes of a line at FREQUENCY_HZ: GAIN, real and imaginary.
// Reference: S. Butterworth, "On the theory of filter amplifiers" (1930).
void dw_speed_unweighted_gain(double frequency_hz, double gain[2]);
// What of the deviation is in no line, less the recording's noise, %²; NAN: there is no fit.
double dw_speed_remainder_power(const DwSpeedAnalysis *analysis);
// Takes the spectrum of the deviation and finds its lines.
void dw_speed_lines(DwSpeedAnalysis *analysis);
// Standard uncertainty of the amplitude of a line at FREQUENCY_HZ, by what is around it; %.
double dw_speed_line_off(const DwSpeedAnalysis *analysis, double frequency_hz);
// Bridges what is left out of the deviation anew, now that its lines are known: a straight line
// across a period of flutter would read as a slow swing.
void dw_speed_bridge_by_lines(DwSpeedAnalysis *analysis);
// Adds the table of lines, and where SETTINGS describe the drive, which parts
// they are traced to, with remarks. TURN_HZ: of the platter by its lines where they show;
// TONE_TURN_HZ: by the tone, NAN where what was stated of that is wrong.
void dw_speed_trace(const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings, double turn_hz,
                    double tone_turn_hz, DwSheet *sheet);
// The half-width of the mean speed's 95 % interval, %: how the mean strays, the
// sampling clock and the record's tone together.
double dw_speed_off_percent(const DwSpeedSettings *settings, double stray_percent);
// The half-width that the sampling clock leaves, %.
double dw_speed_clock_percent(const DwSpeedSettings *settings);
// Adds everything to the sheet.
void dw_speed_fill_sheet(const DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings,
                         double recording_rate_hz, DwSheet *sheet);

#endif
