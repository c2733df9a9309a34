// SPDX-License-Identifier: MIT
// Parts the recording of a whole side into what it holds: tones, sweeps, stretches
// of silent groove, each with its channels and seconds. Feed, then ask.
#ifndef DW_MEASURE_SIDE_FINDER_H
#define DW_MEASURE_SIDE_FINDER_H

#include "base/plan/band_plan.h"
#include "measure/side/side_frames.h"

// A stretch of one kind. Kinds are tone, sweep, silence and two-tone; steps come
// as tones one after another, or as one tone whose level rises.
typedef struct {
    DwPlanKind kind;
    DwPlanChannel channel; // as it comes out; lateral where a recording has one channel
    double start_s, end_s;
    double frequency_hz;   // tone; two-tone: the higher; else NAN
    double from_hz, to_hz; // ends of a sweep; two-tone: from_hz is the lower; else NAN
    double level_db[2];    // of each channel, a full-scale sine is 0; of silence: above 150 Hz
    double correlation;    // of the channels: 1 in phase, −1 opposed
    double high_db;        // two-tone: the higher over the lower, as recorded
    double rise_db;        // tone: its end over its beginning
    double purity;         // the tone's share of all power, median
    double under_db;       // tone: under the loudest steady one of its frequency on the side
    double shared[2];      // tone: what the channels have in common over each one's power; NAN where that is nothing
    double shared_off[2];  // its standard deviation
    DwPlanChannel told[2]; // how it was cut if left (right) alone is heard; DW_PLAN_CHANNELS: nothing tells
} DwSideSegment;

typedef struct DwSideFinder DwSideFinder;

// EQUALISE: the recording has no replay equalisation. START_S: the time of the first sample.
DwSideFinder *dw_side_finder_new(double rate_hz, unsigned channels, bool equalise, double start_s);
void dw_side_finder_free(DwSideFinder *finder);
// Takes COUNT interleaved frames. After a sample that is not finite nothing more is taken.
void dw_side_finder_push(DwSideFinder *finder, const float *interleaved, size_t count);
// At the end of a recording: parts it.
void dw_side_finder_finish(DwSideFinder *finder);
// A sample that was not a number is DW_BAD_INPUT with one line.
DwStatus dw_side_finder_check(const DwSideFinder *finder, DwMessage *message);

// Looks at both channels together, as it does at first, or at one ALONE: its stretches, and between them the other
// channel's. Where the other does nothing but hum, its stretches are left out and all is taken for this one's.
// Nothing happens where the recording has one channel.
void dw_side_finder_look(DwSideFinder *finder, DwSideView view);

// Whether CHANNEL (0 left) is far louder than the other where neither holds a band.
bool dw_side_finder_is_loud(const DwSideFinder *finder, size_t channel);

// What CHANNEL is heard as between the bands: the strongest line of the mains makes a fifth of it and more, less than a
// hundredth, or something between.
typedef enum { DW_SIDE_SOUND_HUM, DW_SIDE_SOUND_HISS, DW_SIDE_SOUND_EITHER } DwSideSound;
DwSideSound dw_side_finder_sound(const DwSideFinder *finder, size_t channel);

// Whether CHANNEL (0 left) comes and goes: falls by 12 dB and returns, three times or more on the whole side, while the
// other plays on within 1.5 dB.
bool dw_side_finder_breaks(const DwSideFinder *finder, size_t channel);
// The second from which on a tone of HZ is heard in CHANNEL alone up to FROM_S, however faint: what a contact that
// comes and goes lets through while it is gone. No earlier than LEAST_S; FROM_S itself where nothing is heard before
// it.
double dw_side_finder_heard_from(const DwSideFinder *finder, size_t channel, double hz, double from_s, double least_s);

// The stretches in order of time. Valid until the next look and until FINDER is freed.
//
// Accuracy: starts and ends of tones within 20 ms where they stand 20 dB out of
// the groove's noise, of low sweeps within 0.1 s; frequencies within 0.05 %.
const DwSideSegment *dw_side_finder_segments(const DwSideFinder *finder, size_t *count);
double dw_side_finder_end_s(const DwSideFinder *finder);

// The lowest and highest tone heard between two seconds; false when there is none.
bool dw_side_finder_range(const DwSideFinder *finder, double from_s, double to_s, double *low_hz, double *high_hz);

// The levels of a tone between two seconds that rises or falls in steps, at most MOST of
// them. Returned: how many were told apart, each with its second.
size_t dw_side_finder_steps(const DwSideFinder *finder, double from_s, double to_s, double *level_db, double *start_s,
                            size_t most);

#endif
