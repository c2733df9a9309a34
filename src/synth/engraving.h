// SPDX-License-Identifier: MIT
// A planned test-record side as its groove holds it: what follows what, and how
// the two walls move at each moment of the groove.
#ifndef DW_SYNTH_ENGRAVING_H
#define DW_SYNTH_ENGRAVING_H

#include "base/plan/band_plan.h"

#include <stddef.h>

typedef enum {
    DW_ENGRAVED_QUIET,
    DW_ENGRAVED_VOICE,
    DW_ENGRAVED_BAND,
} DwEngravedKind;

// Seconds count at the nominal speed from where the groove begins.
typedef struct {
    DwEngravedKind kind;
    const DwBandPlanBand *band; // NULL but for a band
    double begin_s, end_s;
    double radius_mm; // at its middle, NAN where the plan does not tell
} DwEngravedPart;

// What is put before and between what the plan says.
typedef struct {
    double run_in_s;        // silent groove before everything
    double announcement_s;  // a voice before the plan's own lead-in
    double announcements_s; // a voice in each gap that has the room for it
    double radius_mm;       // of bands in a plan that has no radii; NAN: not known
} DwEngravingSettings;

typedef struct {
    DwEngravedPart *parts; // one after another without holes
    size_t count;
    double end_s;
} DwEngraving;

// PLAN is held on to: it must outlive the engraving, and no band of it be broken.
void dw_engraving_make(const DwBandPlan *plan, const DwEngravingSettings *settings, DwEngraving *engraving);
void dw_engraving_clear(DwEngraving *engraving);

// How far along the groove a stylus reads that stands at wrong angles, in
// seconds for each centimetre of its own swing: lateral for an error of
// tracking, vertical for one of the vertical angle.
typedef struct {
    double lateral_s_cm, vertical_s_cm;
} DwTracing;

// Those seconds for a band in CHANNEL, a centimetre of its own swing.
double dw_engraving_shift_s_cm(DwPlanChannel channel, const DwTracing *tracing);

// What the stylus is moved by.
// Given: a part, seconds from where the groove begins, the angles' doing.
// Returned: WALLS [cm/s at the nominal speed], left and right, as a point stylus
//   reads them that lags by q(s) = shift · X(s + q); zero in parts without a band.
// Accuracy: the implicit equation is solved to 1e-9 of a period. The swing of a
//   sweep is taken as its velocity over 2πf, off by its rate over 2πf².
// Reference: that of physics/tracking.h, of which this is the whole course.
void dw_engraving_walls(const DwEngravedPart *part, double at_s, const DwTracing *tracing, double walls[2]);

// How a band drives the walls: the share of its velocity in left and right.
void dw_engraving_direction(DwPlanChannel channel, double walls[2]);
// The velocity of a sweep at FREQUENCY_HZ [cm/s peak].
double dw_engraving_sweep_cm_s(const DwBandPlanBand *band, double frequency_hz);

#endif
