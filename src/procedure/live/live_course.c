// SPDX-License-Identifier: MIT
#include "procedure/live/live_course.h"

#include <math.h>
#include <string.h>

static const double ASKED_EACH_S = 1.5; // a change of level shows so late at most

// Makes room: the two oldest neighbours become one, of both lengths. Where the device was away is never lost.
static void join_oldest(DwLiveCourse *course)
{
    size_t at = 0;
    while (at + 2 < course->gap_count && (course->gaps[at].is_apart || course->gaps[at + 1].is_apart))
        at++;
    DwLiveGap *one = &course->gaps[at], *two = one + 1;
    two->lost_s += one->lost_s;
    two->count += one->count;
    two->is_apart = two->is_apart || one->is_apart;
    memmove(one, two, (course->gap_count - at - 1) * sizeof *one);
    course->gap_count--;
}

void dw_live_course_note_gap(DwLiveCourse *course, uint64_t place, double lost_s, bool is_apart)
{
    if (course->gap_count == DW_LIVE_GAPS)
        join_oldest(course);
    course->gaps[course->gap_count++] = (DwLiveGap){place, lost_s, is_apart ? 0 : 1, is_apart};
}

void dw_live_course_note_level(DwLiveCourse *course, uint64_t place, const DwSourceOrigin *origin)
{
    const DwLiveLevelMark *last = course->level_count ? &course->levels[course->level_count - 1] : NULL;
    bool same = last && last->is_muted == origin->is_muted &&
                (last->gain_db == origin->gain_db || (isnan(last->gain_db) && isnan(origin->gain_db)));
    if (same)
        return;
    if (course->level_count == DW_LIVE_LEVEL_MARKS)
        memmove(course->levels, course->levels + 1, --course->level_count * sizeof *course->levels);
    course->levels[course->level_count++] = (DwLiveLevelMark){place, origin->gain_db, origin->is_muted};
}

void dw_live_course_cut(const DwLiveCourse *course, uint64_t *start, uint64_t end)
{
    for (size_t i = 0; i < course->gap_count; i++) {
        const DwLiveGap *gap = &course->gaps[i];
        if (gap->is_apart && gap->place > *start && gap->place < end)
            *start = gap->place;
    }
}

DwLiveBefell dw_live_course_befell(const DwLiveCourse *course, uint64_t start, uint64_t end, double rate_hz)
{
    DwLiveBefell befell = {.least_db = NAN, .most_db = NAN};
    for (size_t i = 0; i < course->gap_count; i++) {
        const DwLiveGap *gap = &course->gaps[i];
        bool within = !gap->is_apart && gap->place > start && gap->place < end;
        befell.holes += within ? gap->count : 0;
        befell.lost_s += within ? gap->lost_s : 0;
    }
    for (size_t i = 0; i < course->level_count; i++) {
        const DwLiveLevelMark *mark = &course->levels[i], *next = i + 1 < course->level_count ? mark + 1 : NULL;
        // It held from PLACE less the delay to the next one's.
        if ((next && next->place <= start) || (double)mark->place > (double)end + ASKED_EACH_S * rate_hz)
            continue;
        befell.least_db = fmin(befell.least_db, mark->gain_db);
        befell.most_db = fmax(befell.most_db, mark->gain_db);
        befell.was_muted = befell.was_muted || mark->is_muted;
    }
    return befell;
}

size_t dw_live_course_stretches(const DwLiveCourse *course, uint64_t held_from,
                                DwLiveStretch stretches[DW_LIVE_STRETCHES])
{
    size_t count = 0;
    for (size_t i = course->gap_count; i-- > 0 && count < DW_LIVE_STRETCHES;) {
        if (!course->gaps[i].is_apart || course->gaps[i].place <= held_from)
            continue;
        uint64_t from = held_from;
        dw_live_course_cut(course, &from, course->gaps[i].place);
        if (from < course->gaps[i].place)
            stretches[count++] = (DwLiveStretch){from, course->gaps[i].place};
    }
    return count;
}
