// SPDX-License-Identifier: MIT
// The course of the speed: how far a deck's speed is off at each moment, and
// how much of the record has gone by. Both are closed formulas, so that the
// truth of a synthetic recording is known as well as arithmetic allows.
#ifndef DW_SYNTH_COURSE_H
#define DW_SYNTH_COURSE_H

#include <stddef.h>

// A sinusoidal deviation of speed: peak · sin(2π·frequency·t + phase), with t
// from the start of the tone.
typedef struct {
    const char *cause; // a word for it, static
    double frequency_hz;
    double peak_percent;
    double phase_rad; // from −π to π
    // What the peak is times the radius [% mm], of a line that grows towards the
    // label; 0 for one that is the same everywhere. peak_percent then holds for
    // one radius only and does not count.
    double radial_percent_mm;
} DwSpeedLine;

// Speed over nominal is g(t)·(1 − E(t)), with
//   g(t) = 1 + error + drift·t + Σ peak·sin(2π·frequency·t + phase)
//   E(t) = exp(−(t + lead)/run-up), 0 without a run-up.
// Approximation: a line keeps its frequency. The platter's angle, on which its
// own wow hangs, is advanced by the mean speed, not by the drifting, wavering
// or still rising one; the difference is of second order in the deviation, and
// the run-up's share lies in the first seconds only.
typedef struct {
    double error;       // ratio
    double drift_per_s; // ratio a second
    double lead_s;      // from the start of the recording to that of the tone
    double run_up_s;    // time constant, 0 for none
    DwSpeedLine *lines;
    size_t count, room;
    double radius_mm; // of the stylus, for lines that hang on it
    double origin;    // what the integral starts from, kept by dw_course_close
} DwCourse;

// Adds a sine to the course of the speed: its rate [Hz], peak [%] and phase at the start [rad].
void dw_course_add(DwCourse *course, const char *cause, double frequency_hz, double peak_percent, double phase_rad);
// The same for a line whose peak is RADIAL_PERCENT_MM over the course's radius.
void dw_course_add_radial(DwCourse *course, const char *cause, double frequency_hz, double radial_percent_mm,
                          double phase_rad);
// Call it once error, drift, lead, run-up and lines all stand.
void dw_course_close(DwCourse *course);
void dw_course_clear(DwCourse *course);

// The peak of LINE where the stylus is [ratio].
double dw_course_peak(const DwCourse *course, const DwSpeedLine *line);
// Given: seconds from the start of the tone (negative before it).
// Returned: the share of the speed the run-up has reached, 1 − E [ratio].
double dw_course_share(const DwCourse *course, double seconds);
// Given: seconds from the start of the tone.
// Returned: the deviation from the nominal speed [ratio].
double dw_course_deviation(const DwCourse *course, double seconds);
// Given: seconds from the start of the tone.
// Returned: how many seconds of the record have gone by since then beyond
//   (1 + error)·seconds: the integral of the deviation less the error.
// Accuracy: closed form; rounding only, about 1e-15 of the larger of 1 s and
//   the result.
double dw_course_gained(const DwCourse *course, double seconds);

#endif
