// SPDX-License-Identifier: MIT
// Where in the groove the stylus is at each moment of a side: the course of the
// speed, with what hangs on the radius, and the grooves it skips.
#ifndef DW_SYNTH_TRAVEL_H
#define DW_SYNTH_TRAVEL_H

#include "synth/course.h"
#include "synth/engraving.h"

// A jump of the stylus, seconds of groove forward (or back) at a moment.
typedef struct {
    double at_s, by_s; // at_s not before the stylus is set down
} DwTravelJump;

typedef struct {
    double from_s, to_s; // of the groove: where the stylus is set down and where it is lifted at the latest
    const DwTravelJump *jumps;
    size_t jump_count;
} DwTravelSettings;

// A stretch within one part and between two jumps. Moments are seconds since
// the stylus was set down.
typedef struct {
    size_t part;
    double radius_mm; // NAN where it is not known
    double from_s;    // the moment it begins
    double groove_s;  // where in the groove it begins
    double gained_s;  // dw_course_gained then, at the part's radius
} DwTravelLeg;

typedef struct {
    DwTravelLeg *legs;
    size_t count, room;
    double end_s; // the moment the stylus is lifted
} DwTravel;

// Jumps are taken in the order of their
// moments; one that leads out of the groove goes to its end.
void dw_travel_make(const DwEngraving *engraving, const DwCourse *course, const DwTravelSettings *settings,
                    DwTravel *travel);
void dw_travel_clear(DwTravel *travel);

// COURSE as it is on LEG. It shares the lines of COURSE, and is not to be cleared.
DwCourse dw_travel_course(const DwTravelLeg *leg, const DwCourse *course);
// Where in the groove the stylus is at the moment SECONDS of LEG, by the course there.
double dw_travel_groove_s(const DwTravelLeg *leg, const DwCourse *there, double seconds);

#endif
