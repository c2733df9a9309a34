// SPDX-License-Identifier: MIT
// Follows a tone that glides: up from next to nothing as a platter runs up, or
// down as it runs out. Streaming, in bounded memory; block size changes nothing.
#ifndef DW_MEASURE_SWEEP_TRACKER_H
#define DW_MEASURE_SWEEP_TRACKER_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double rate_hz;    // 6000 or more
    unsigned channels; // 1 or 2
    double keep_s;     // what lies further than this into the recording is not looked at
} DwSweepTrackerSettings;

// The tone's frequency, COUNT values in ascending time. The caller clears it.
typedef struct {
    double *seconds; // from the first sample pushed
    double *frequency_hz;
    size_t count;
    // Where it stays within 3 % the longest, else swings about one value within 15 %; equal without either.
    size_t steady_from, steady_to;
    bool swings;      // it is the second
    double lowest_hz; // below this no tone is followed
} DwSpeedCourse;

typedef struct DwSweepTracker DwSweepTracker;

// The caller frees it with dw_sweep_tracker_free().
DwSweepTracker *dw_sweep_tracker_new(DwSweepTrackerSettings settings);
void dw_sweep_tracker_free(DwSweepTracker *tracker);
// Takes FRAMES interleaved frames. After a sample that is not finite nothing more is taken.
void dw_sweep_tracker_push(DwSweepTracker *tracker, const float *interleaved, size_t frames);
// At the end of a recording: takes what does not fill a block.
void dw_sweep_tracker_finish(DwSweepTracker *tracker);
bool dw_sweep_tracker_met_bad_sample(const DwSweepTracker *tracker);
double dw_sweep_tracker_length_s(const DwSweepTracker *tracker);

// What is low in a channel, at some 1250 Hz, from the first sample pushed on. Valid until the next push.
typedef struct {
    const float *samples;
    size_t count; // 0: there is no such channel
    double first_s, step_s;
} DwSweepLow;
DwSweepLow dw_sweep_tracker_low(const DwSweepTracker *tracker, unsigned channel);

// The tone followed back to where it begins and on to where it ends, from the
// steady stretch; where there is none, from the recording's first second on.
//
// Returned: false when no tone is there to follow.
// Accuracy: about 0.01 % on a steady tone at 40 dB; on a glide of 5 kHz/s about
// 10 Hz. Values of one frame (about 20 ms) share samples.
// Reference: the phase advance between short spectra, J. L. Flanagan and R. M.
// Golden, "Phase Vocoder", Bell System Technical Journal 45 (1966) 1493–1509.
bool dw_sweep_tracker_course(const DwSweepTracker *tracker, DwSpeedCourse *speed_course);
void dw_sweep_tracker_course_clear(DwSpeedCourse *speed_course);

#endif
