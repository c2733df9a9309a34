// SPDX-License-Identifier: MIT
// A whole side in short frames: what stands out of each, in which channels, above
// and below 150 Hz. Streaming; block size changes nothing.
#ifndef DW_MEASURE_SIDE_FRAMES_H
#define DW_MEASURE_SIDE_FRAMES_H

#include <stdbool.h>
#include <stddef.h>

// A tone in a frame. Powers are mean squares, full scale ±1.
typedef struct {
    float hz;       // NAN without a peak
    float power[2]; // of the tone in each channel
    float common;   // mean product of the channels
} DwSideTone;

// Frame n begins at n · hop seconds.
typedef struct {
    float power;      // above 120 Hz, of the channels looked at
    float low_power;  // below 170 Hz, so that what lies between counts in both
    DwSideTone main;  // the strongest above 120 Hz
    float second_hz;  // the strongest at four times that and above (of anything, where the low tone rules)
    float second;     // and its power, both channels
    DwSideTone low;   // the strongest below 200 Hz, seen through 0.7 s about the frame
    float low_around; // all that is seen there, as powers of the low tone
} DwSideFrame;

// Whose power decides what stands out. A channel that hums or comes and goes hides what the other holds.
typedef enum { DW_SIDE_BOTH_CHANNELS, DW_SIDE_LEFT_ALONE, DW_SIDE_RIGHT_ALONE, DW_SIDE_VIEWS } DwSideView;

typedef struct DwSideFrames DwSideFrames;

// EQUALISE: the recording has no replay equalisation, it is judged behind one.
DwSideFrames *dw_side_frames_new(double rate_hz, unsigned channels, bool equalise);
void dw_side_frames_free(DwSideFrames *frames);
// Takes FRAMES interleaved frames. After a sample that is not finite nothing more is taken.
void dw_side_frames_push(DwSideFrames *frames, const float *interleaved, size_t count);
// At the end of a recording: takes what does not fill a block.
void dw_side_frames_finish(DwSideFrames *frames);
bool dw_side_frames_met_bad_sample(const DwSideFrames *frames, double *second);
// All frames so far, those of the first two hours, as VIEW shows them; NULL for one channel of a recording that has
// one. Valid until the next push.
const DwSideFrame *dw_side_frames_all(const DwSideFrames *frames, DwSideView view, size_t *count);
double dw_side_frames_hop_s(const DwSideFrames *frames);
// Seconds taken so far.
double dw_side_frames_length_s(const DwSideFrames *frames);

#endif
