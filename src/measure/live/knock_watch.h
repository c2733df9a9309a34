// SPDX-License-Identifier: MIT
// Whether an input was knocked just now: a fingertip on the arm or the needle tells which of
// two equal devices it hangs on. From the peaks of short pieces, one after the other.
#ifndef DW_MEASURE_KNOCK_WATCH_H
#define DW_MEASURE_KNOCK_WATCH_H

#include <stddef.h>

enum { DW_KNOCK_PEAKS = 100 }; // four seconds of them

typedef struct {
    float peaks[DW_KNOCK_PEAKS];
    size_t count; // in all
} DwKnockWatch;

// Takes COUNT further peaks, full scale 1, 25 a second.
void dw_knock_watch_push(DwKnockWatch *watch, const float *peaks, size_t count);
// The highest peak of the last 0.4 s [dB of full scale]; −INFINITY for silence, NAN when nothing came yet.
double dw_knock_watch_level_db(const DwKnockWatch *watch);
// How far the highest peak of the last 2 s stands over what was usual in the last 4 s, their
// median [dB]. 0 when it is no knock: less than 12 dB, under −50 dB of full scale, or heard
// too short a time to tell.
double dw_knock_watch_height_db(const DwKnockWatch *watch);
// Of COUNT heights the one that moved: the highest, when no other comes within 6 dB of it.
// Returned: COUNT when there is none.
size_t dw_knock_watch_which(const double *heights_db, size_t count);

#endif
