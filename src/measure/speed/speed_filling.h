// SPDX-License-Identifier: MIT
// What the parts of a tone's sheet are made from. Each part stands in its own file.
#ifndef DW_MEASURE_SPEED_FILLING_H
#define DW_MEASURE_SPEED_FILLING_H

#include "measure/speed/speed_judge.h"

typedef struct {
    const DwSpeedAnalysis *analysis;
    const DwToneRun *run;
    const DwSpeedSettings *settings;
    DwSheet *sheet;
    double length_s;
    double engraved_hz; // the tone it is taken for
    DwSpeedJudgement judged;
    double error; // % fast; NAN where the tone may be one of several
    double turn_hz;
    unsigned flags;   // that every reading of the tone shares
    bool is_unjudged; // the deck changed its speed in mid-take: no reading is judged
} DwSpeedFilling;

// From here on a take is long enough to tell drift from wow.
extern const double dw_speed_good_length_s;
// Of the tone left out: beyond it flutter is withheld.
extern const double dw_speed_most_gaps;

// Level that swings with the speed, rms: beyond it a room makes too much of the flutter, which is withheld.
extern const double dw_speed_most_swing;
// Whether sound beside the tone makes so much of F that it is withheld.
bool dw_speed_is_spoilt(const DwSpeedAnalysis *analysis, const DwFluctuation *f);

// The flags that every reading shares, and whether any is judged.
void dw_speed_stretches_judge(DwSpeedFilling *filling);
// Lists the stretches of the tone; says afterwards which was measured and what the others may be.
void dw_speed_stretches_list(const DwSpeedFilling *filling);
void dw_speed_stretches_remark(const DwSpeedFilling *filling);
// How the speed holds over the take: warm-up, and turns that leave it and come back.
void dw_speed_hold_add(const DwSpeedFilling *filling);
// What to look at where a speed was lost and regained, by what holds it.
const char *dw_speed_lost_advice(const DwSpeedSettings *settings);
// What is in no line: a reading, and its spectrum beside the recording's noise.
void dw_speed_remainder_add(const DwSpeedFilling *filling);
// Curves and raster.
void dw_speed_pictures_add(const DwSpeedFilling *filling);
// Remarks, and what was not measured.
void dw_speed_remarks_add(const DwSpeedFilling *filling);

#endif
