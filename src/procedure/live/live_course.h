// SPDX-License-Identifier: MIT
// What befell a take while it ran: sound that is missing, the device that was away, and what
// the sound server did to its level. A value: copied as it stands. Of live_session and live_keep only.
#ifndef DW_PROCEDURE_LIVE_COURSE_H
#define DW_PROCEDURE_LIVE_COURSE_H

#include "procedure/live/live_session.h"

enum { DW_LIVE_GAPS = 256, DW_LIVE_LEVEL_MARKS = 64 };

// A place of the take before which sound is missing.
typedef struct {
    uint64_t place; // frames from the start of the take
    double lost_s;  // how much, and held by silence in the take; 0: less than can be told
    size_t count;   // of holes: several where they lie too thick to be held apart
    bool is_apart;  // the device was away: what follows is another stretch
} DwLiveGap;

// From PLACE on, or up to 1.5 s before it, the server's level is this.
typedef struct {
    uint64_t place;
    double gain_db;
    bool is_muted;
} DwLiveLevelMark;

typedef struct {
    DwLiveGap gaps[DW_LIVE_GAPS];
    size_t gap_count;
    DwLiveLevelMark levels[DW_LIVE_LEVEL_MARKS];
    size_t level_count;
} DwLiveCourse;

// What befell the frames between two places.
typedef struct {
    double lost_s;
    size_t holes;
    double least_db, most_db; // the server's level; NAN when not told
    bool was_muted;
} DwLiveBefell;

void dw_live_course_note_gap(DwLiveCourse *course, uint64_t place, double lost_s, bool is_apart);
void dw_live_course_note_level(DwLiveCourse *course, uint64_t place, const DwSourceOrigin *origin);
// Moves *START behind the last place before END at which the device was away.
void dw_live_course_cut(const DwLiveCourse *course, uint64_t *start, uint64_t end);
DwLiveBefell dw_live_course_befell(const DwLiveCourse *course, uint64_t start, uint64_t end, double rate_hz);
// The earlier stretches of which the take, whose oldest frame is HELD_FROM, still holds some.
size_t dw_live_course_stretches(const DwLiveCourse *course, uint64_t held_from,
                                DwLiveStretch stretches[DW_LIVE_STRETCHES]);

#endif
