// SPDX-License-Identifier: MIT
// Finds the bands of a plan among the stretches of a side: which stretch is
// which band, how fast the side was played and how the channels are wired.
#ifndef DW_MEASURE_SIDE_ALIGN_H
#define DW_MEASURE_SIDE_ALIGN_H

#include "measure/side/side_finder.h"

typedef enum {
    DW_SIDE_FOUND,
    DW_SIDE_SHORT,        // a good part of its length is missing
    DW_SIDE_LONG,         // it lasts longer than it should: a groove repeats
    DW_SIDE_OUT_OF_ORDER, // it stands elsewhere than the plan says
    DW_SIDE_OTHER_CHANNEL,
    DW_SIDE_MISSING,
    DW_SIDE_UNUSABLE, // the plan does not say enough of it
} DwSideVerdict;

// How the channels of the whole side come out.
typedef enum {
    DW_SIDE_AS_CUT,
    DW_SIDE_SWAPPED,
    DW_SIDE_REVERSED, // lateral comes out as vertical
    DW_SIDE_SWAPPED_REVERSED,
    DW_SIDE_LEFT_ONLY,  // the right channel is dead
    DW_SIDE_RIGHT_ONLY, // the left channel is dead
    DW_SIDE_JOINED,     // both carry the same
    DW_SIDE_OPEN,       // both carry left less right, in opposite phase: their common return is open
    DW_SIDE_WIRINGS
} DwSideWiring;

typedef struct {
    DwSideVerdict verdict;
    double start_s, end_s; // NAN when missing
    size_t first, count;   // the stretches that it is made of; silence: the one that it lies in
    size_t alike; // the group of bands, some of them missing, of which nothing tells which were played; 0: none
} DwSideBand;

typedef struct {
    DwSideBand *bands; // one for each of the plan
    size_t count;
    double speed_ratio; // played over nominal; NAN when no tone tells
    DwSideWiring wiring;
    double gain_db;  // right over left, as they come out, where one is far weaker; else 0
    double level_db; // of the recording over what the plan makes its tones, where the channels do not tell; else NAN
    bool *used;      // which stretches are some band
    size_t segment_count;
    size_t found, missing;
    double score;    // of the order found: about 1 for each band that fits in every respect
    DwSideView view; // whose stretches they are, set by dw_side_find
} DwSideAlignment;

// Aligns COUNT stretches with PLAN. MONO: the recording has one channel, so that
// channels tell nothing. The caller clears *ALIGNMENT.
//
// Method: for each likely speed ratio (from the tones' frequencies, within 6 % of
// nominal, of 45 for 33⅓ or of 33⅓ for 45), each place of the start and each wiring, the best order-keeping
// assignment of stretches to bands by dynamic programming, bands and stretches
// left out at no cost; of all, the one with the highest score. What is left over
// is then compared with the bands still missing, in any order.
// Reference: the alignment of two sequences, S. B. Needleman and C. D. Wunsch, J.
// Molecular Biology 48 (1970) 443–453 (from memory).
void dw_side_align(const DwSideSegment *segments, size_t count, const DwBandPlan *plan, bool mono,
                   DwSideAlignment *alignment);
void dw_side_alignment_clear(DwSideAlignment *alignment);
// Whether a band of which SHARE of its planned length was played is cut short.
bool dw_side_is_short(double share);

// "found", "cut short" …; "as cut", "swapped" …: as tables say it.
const char *dw_side_verdict_word(DwSideVerdict verdict);
const char *dw_side_wiring_word(DwSideWiring wiring);
// Whether the record's left comes out of the right.
bool dw_side_wiring_is_swapped(DwSideWiring wiring);
// The channel that a band cut for CHANNEL comes out of.
DwPlanChannel dw_side_wired(DwSideWiring wiring, DwPlanChannel channel);

// Once the order of a side is known: where its sweeps and silent bands begin and end.

// Puts the bands of ALIGNMENT right by the course of what FINDER looks at.
//
// Method: a sweep that goes through its octaves evenly shows in every frame when it must have begun; where
// enough frames agree on one moment, it begins there, whatever noise, hum or ticks hide of it. Other sweeps stay
// where they were found. A silent band whose neighbours stand as far apart as the plan has them lies where the
// plan puts it, if it is quiet there, whatever ticks and rumble stand in it.
void dw_side_settle(const DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment);

// Tells a sweep that is heard where one channel alone is from one that is lost by the wiring and leaks: 12 dB under
// what the plan's levels make it, by most of the tones, is a leak.
void dw_side_tell_leaks(const DwSideFinder *finder, const DwBandPlan *plan, DwSideAlignment *alignment);

// Whether a sweep at LEVEL_DB in the sound channel is none of the band at INDEX but a leak of one alike that the wiring
// loses.
bool dw_side_is_leak(const DwBandPlan *plan, size_t index, const DwSideAlignment *alignment, double level_db);

#endif
