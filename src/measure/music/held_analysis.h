// SPDX-License-Identifier: MIT
// What dw_held worked out, for its sheet. Within this room only.
#ifndef DW_MEASURE_HELD_ANALYSIS_H
#define DW_MEASURE_HELD_ANALYSIS_H

#include "measure/music/held.h"
#include "measure/music/held_fit.h"
#include "measure/music/music_take.h"

enum { DW_HELD_PARTS_MOST = DW_HELD_LINES_MOST - 5, DW_HELD_TURN_POINTS = 72 };

typedef struct {
    DwPart part; // DW_PART_UNKNOWN: a line that is not a described part's
} DwHeldPart;

// A stretch of music with held notes.
typedef struct {
    double from_s, to_s;
    size_t partials, notes;
    double share; // of what was learnt, 0 … 1
} DwHeldMoment;

typedef struct {
    double cents, off_cents; // pitch over the tuning, and its 95 % half-width
    double spread_cents;     // of the notes about it
    size_t notes;
} DwHeldTuning;

struct DwHeld {
    DwHeldSettings settings;
    DwMusicTake *take;
    DwHeldFit fit; // line 0: the turn; 1: twice; then the parts
    DwHeldPart part[DW_HELD_LINES_MOST];
    size_t parts;
    double length_s; // of the recording
    double held_s;   // with held notes
    double steady_s; // with partials that stand still but for what is common
    size_t steady;   // how many of them
    size_t vibrati;  // partials that shake
    double hum_hz;   // of the mains, which was left out; 0: none
    bool found;      // once a turn
    double limit;    // 95 % upper limit of what comes once a turn, % peak
    double flutter_limit;
    DwHeldMoment *moment;
    size_t moments;
    DwHeldTuning tuning;
    double turn_percent[DW_HELD_TURN_POINTS]; // common to all, by the platter's angle; NAN: not known
    double turn_seconds[DW_HELD_TURN_POINTS]; // of music behind each
};

// Whether LINE is more than chance.
bool dw_held_line_is_found(const DwHeldLine *line);
// Takes the hum of the mains out of the courses: lines at several multiples of 50 or 60 Hz that stand nearly all the
// time.
void dw_held_leave_out_hum(DwHeld *held);
// Whether nothing but one tone and its harmonics is heard, nearly all the time: a test record's.
bool dw_held_is_one_tone(const DwHeld *held);
// Fills what is left to be worked out once the lines are fitted: moments, flutter, tuning, the turn.
void dw_held_moments_find(DwHeld *held);
void dw_held_steady_find(DwHeld *held);
// The rate between LOW_HZ and HIGH_HZ at which most is left that is common to all, the lines so far taken out.
double dw_held_other_rate(DwHeld *held, double low_hz, double high_hz);
void dw_held_turn_find(DwHeld *held);
void dw_held_tuning_find(DwHeld *held);
void dw_held_sheet_fill(const DwHeld *held, DwSheet *sheet);

#endif
