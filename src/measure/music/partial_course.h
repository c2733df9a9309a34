// SPDX-License-Identifier: MIT
// How the pitch of one held partial moves.
#ifndef DW_MEASURE_PARTIAL_COURSE_H
#define DW_MEASURE_PARTIAL_COURSE_H

#include "measure/music/partials.h"

#include <stdbool.h>

// Twenty values a second.
typedef struct {
    double first_s, step_s; // of the values, in what was kept of the recording
    size_t count;
    double mean_hz;
    float level;
    float *percent;         // deviation from the mean, 100 ln of the ratio
    float *weight;          // 0 … 1: how much each tells
    double vibrato_hz;      // 0: none
    double vibrato_percent; // peak
    size_t note;            // partials of one note have one number
    double spread;          // what the fit takes for this partial's own restlessness (power density)
} DwPartialCourse;

// Follows PARTIAL of PARTIALS in SAMPLES[COUNT] at RATE_HZ [Hz]. The caller ends it with dw_partial_course_clear().
//
// Method: mixed down along its smoothed path, a Hann window of 0.16 s, the phase from eightieth to eightieth of a
// second weighted by energy, which beats and decay leave without jumps; the path is added again.
DwPartialCourse dw_partial_course_follow(const DwPartials *partials, const DwPartial *partial, const float *samples,
                                         size_t count, double rate_hz);
// What a course keeps of wow at RATE_HZ [Hz, below 6], 0 … 1: its values are averages over a step, and what its path
// lacks the window sees in part.
//
// Method: the path's own course as a fixed point of mixing down along it, averages as sinc, Hann's window by its
// transform. Accuracy: 0.1 % up to twice a turn at 78 rpm.
double dw_partial_course_gain(const DwPartialCourse *course, double rate_hz);
void dw_partial_course_clear(DwPartialCourse *course);

// Gives the COUNT courses that sound together in whole-number ratios one note's number. Returned: how many notes.
size_t dw_partial_course_name_notes(DwPartialCourse *courses, size_t count);

// Whether no other of the COUNT courses sounds beside the INDEXth that it is a partial of.
bool dw_partial_course_is_root(const DwPartialCourse *courses, size_t count, size_t index);

#endif
