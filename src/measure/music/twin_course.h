// SPDX-License-Identifier: MIT
// By how much one recording of a groove runs ahead of the other, ten times a second, to microseconds.
#ifndef DW_MEASURE_TWIN_COURSE_H
#define DW_MEASURE_TWIN_COURSE_H

#include "measure/music/twin_path.h"

// From point to point; and what is taken in around one, either way, to lay the windows along.
#define DW_TWIN_STEP_S 0.1
#define DW_TWIN_AROUND_S 0.46

typedef struct {
    double at_s;    // in the first recording
    double other_s; // where the same groove stands in the second
    float quality;  // 0 … 1: how much of the two is one and the same
    bool used;
    unsigned piece; // between two jumps or breaks: pieces have numbers from 0
} DwTwinPoint;

typedef struct {
    DwTwinPoint *point;
    size_t count;
    unsigned pieces;
    double window_s;          // that each point was read over
    double share;             // of the points that are used
    bool reversed;            // the second has the other polarity
    double ratio;             // of the seconds that pass in the second recording to those in the first, to some 0.01 %
    double before_s, after_s; // what both hold before the first point that is used, and after the last
    double gaps_s;            // and between pieces: the root of the sum of squares
} DwTwinCourse;

// Refines PATH from ONE to TWO. dw_twin_course_clear() frees what it holds.
//
// Method: cross-spectra of Hann windows, half whitened (Knapp and Carter's generalised correlation, IEEE Trans. ASSP 24
// (1976) 320, from memory), the second's drawn out along what is known so far: first 0.7 s wide, then 0.35 s, three
// times over, the last with the phase that all windows show in common taken out, which is tone controls, not time.
DwTwinCourse dw_twin_course_find(const DwTwinSound *one, const DwTwinSound *two, const DwTwinPath *path);
void dw_twin_course_clear(DwTwinCourse *course);

#endif
