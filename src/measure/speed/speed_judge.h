// SPDX-License-Identifier: MIT
// What the tone and the platter's own lines say of the speed, joined: how fast the deck
// turns, how far the record's tone is off, and whether what was stated can be right.
#ifndef DW_MEASURE_SPEED_JUDGE_H
#define DW_MEASURE_SPEED_JUDGE_H

#include "measure/speed/speed_analysis.h"

typedef enum {
    DW_SPEED_BY_TONE,    // against the engraved frequency, taken as exact
    DW_SPEED_BY_BOTH,    // the tone within its tolerance, and the platter's lines
    DW_SPEED_BY_PLATTER, // the platter's lines alone: what was stated contradicts them
    DW_SPEED_UNKNOWN     // several tones may be engraved
} DwSpeedBy;

// Half-widths are those of 95 % intervals.
typedef struct {
    DwSpeedBy by;
    bool is_doubtful;        // tone and platter contradict each other, and the take is too short to tell which is right
    double true_hz;          // of the tone, the clock's known error taken out
    double ratio, ratio_off; // of the speed to the nominal one; NAN when unknown
    double tone_error;       // %, of the record's own tone; NAN where no line of the platter shows
    double tone_error_off;
    double platter_rpm;        // by its own lines; NAN where none shows
    double tone_hz, speed_rpm; // what would fit, where what was stated does not; NAN where nothing usual does
    double rival_hz;           // the other tone that it may be; NAN
} DwSpeedJudgement;

// Given: an ANALYSIS of the tone taken for ENGRAVED_HZ.
// Method: a record's tone is off within its tolerance, any value as likely as another;
// the rate of the platter's lines against the tone tells by how much, normally.
DwSpeedJudgement dw_speed_judge(const DwSpeedAnalysis *analysis, double engraved_hz, const DwSpeedSettings *settings);
// The rate at which the platter would turn, were it the tone TONE_HZ at SPEED_RPM that is heard.
double dw_speed_judge_turn_hz(double mean_hz, double tone_hz, double speed_rpm);

#endif
