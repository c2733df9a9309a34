// SPDX-License-Identifier: MIT
// From frames of a side to its stretches of tone, sweep and silence.
#ifndef DW_MEASURE_SIDE_SEGMENTS_H
#define DW_MEASURE_SIDE_SEGMENTS_H

#include "measure/side/side_finder.h"
#include "measure/side/side_frames.h"

// One frame judged: the tone that rules it, if any.
typedef struct {
    float hz; // NAN without one
    float power[2], common;
    float share; // of all power
    bool is_low; // seen in the low spectrum
} DwSideMoment;

typedef struct {
    const DwSideFrame *frames;
    DwSideView view; // whose power decides
    size_t count;
    double hop_s;
    DwSideMoment *moments;
    double loud; // power of the side's louder tenth
} DwSideCourse;

// Judges every frame, as VIEW shows them. The caller frees the moments with free().
DwSideCourse dw_side_course_of(const DwSideFrame *frames, DwSideView view, size_t count, double hop_s);
// The power that VIEW has of both channels' POWER.
double dw_side_view_power(DwSideView view, const float power[2]);

// A growing list of stretches, seconds counted from the first frame. Start it with {0}.
typedef struct {
    DwSideSegment *items;
    size_t count, room;
} DwSideSegments;

// What the channels have in common of a stretch, over the power of each, from frame to frame. Start it with {0}.
typedef struct {
    double mean[2], squares[2], count[2];
} DwSideShares;

// Takes a frame with these powers and mean product.
void dw_side_shares_push(DwSideShares *shares, const float power[2], double common);
// Sets what SEGMENT has in common; ALIKE: so many frames tell as much as one that shares nothing with the others.
void dw_side_shares_read(const DwSideShares *shares, double alike, DwSideSegment *segment);

// Appends SEGMENT, a copy.
void dw_side_segments_add(DwSideSegments *segments, DwSideSegment segment);
// Adds the tones and sweeps of COURSE.
void dw_side_segments_find_tones(const DwSideCourse *course, DwSideSegments *segments);
// Adds sweeps below hearing that something else overlies, and joins those found
// already to all of their extent.
void dw_side_segments_find_low_sweeps(const DwSideCourse *course, DwSideSegments *segments);
// Adds the steady quiet stretches between all those, then puts all in order of time.
void dw_side_segments_find_silence(const DwSideCourse *course, DwSideSegments *segments);

// The frames of what FINDER looks at, and the second at which they begin. Valid until FINDER is freed.
const DwSideCourse *dw_side_finder_course(const DwSideFinder *finder);
// The same, but of CHANNEL alone where that is left or right, fit to be heard, and the other alone is looked at.
const DwSideCourse *dw_side_finder_course_for(const DwSideFinder *finder, DwPlanChannel channel);
double dw_side_finder_start_s(const DwSideFinder *finder);

// The power above the split, a quarter of a second at a time.
extern const double DW_SIDE_BLOCK_S;

// The median power, so that a tick does not count, of block K of those that begin at FROM_S; INFINITY beyond the end.
double dw_side_block_power(const DwSideFinder *finder, double from_s, size_t k);
// The median of COUNT blocks from FROM_S on.
double dw_side_blocks_median(const DwSideFinder *finder, double from_s, size_t count);
// How much louder COUNT blocks from FROM_S on are than QUIET_COUNT from QUIET_S on, in standard deviations of the
// difference of their means (Welch's t); NAN where a stretch has fewer than four blocks.
double dw_side_blocks_louder(const DwSideFinder *finder, double from_s, size_t count, double quiet_s,
                             size_t quiet_count);

// The direction of a tone with these powers and mean product of its channels.
DwPlanChannel dw_side_direction(const double power[2], double common);
double dw_side_correlation(const double power[2], double common);

#endif
