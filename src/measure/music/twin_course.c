// SPDX-License-Identifier: MIT
#include "measure/music/twin_course.h"

#include "base/memory.h"
#include "measure/music/twin_window.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static const double WIDE_S = 0.7, WIDE_REACH_S = 0.12, NARROW_S = 0.35, NARROW_REACH_S = 0.006, LAST_REACH_S = 0.0015;
static const double STEP_S = 0.1;
static const double JUMP_S = 0.008;   // between two places a second apart, beyond what wow does
static const double STRAY_S = 0.0006; // from the middle of the neighbours
static const double QUALITY = 0.3, WIDE_QUALITY = 0.15;
static const double AROUND_S = 0.26;     // that a point is smoothed over, either way
static const double JUMP_PRICE = 4;      // in places that would have to be left out
enum { NEIGHBOURS = 3, LOOK_BACK = 60 }; // either way; places

// --- second by second --------------------------------------------------------------

typedef struct {
    double at_s, other_s;
    bool good;
    unsigned piece;
} Anchor;

static void find_anchors(DwTwinWindow *window, const DwTwinPath *path, Anchor *anchors)
{
    for (size_t p = 0; p < path->count; p++) {
        const DwTwinPlace *place = &path->place[p];
        DwTwinMatch match;
        DwTwinGuess guess = {place->at_s, place->other_s, path->ratio};
        bool found = dw_twin_window_match(window, &guess, WIDE_REACH_S, &match);
        anchors[p] = (Anchor){.at_s = place->at_s, .other_s = place->other_s + (found ? match.late_s : 0)};
        anchors[p].good = found && match.quality > WIDE_QUALITY;
    }
}

static bool agrees(const DwTwinPath *path, const Anchor *a, const Anchor *b)
{
    double apart_s = b->at_s - a->at_s, off = b->other_s - a->other_s - path->ratio * apart_s;
    return fabs(off) < JUMP_S * (1 + 0.25 * apart_s);
}

// Keeps the row of anchors that says most with the fewest jumps, and numbers its pieces.
static unsigned number_pieces(const DwTwinPath *path, Anchor *anchors)
{
    size_t count = path->count, last = SIZE_MAX;
    double *score = dw_memory_new(count, sizeof *score);
    size_t *from = dw_memory_new(count, sizeof *from);
    for (size_t p = 0; p < count; p++) {
        from[p] = SIZE_MAX;
        if (!anchors[p].good)
            continue;
        for (size_t k = p > LOOK_BACK ? p - LOOK_BACK : 0; k < p; k++) {
            double price = agrees(path, &anchors[k], &anchors[p]) ? 0 : JUMP_PRICE;
            if (anchors[k].good && score[k] - price > score[p]) {
                score[p] = score[k] - price;
                from[p] = k;
            }
        }
        score[p]++;
        last = last == SIZE_MAX || score[p] >= score[last] ? p : last;
    }
    for (size_t p = 0; p < count; p++)
        anchors[p].good = false;
    for (size_t p = last; p != SIZE_MAX; p = from[p])
        anchors[p].good = true;
    free(score);
    free(from);
    unsigned piece = 0;
    for (size_t p = 0, before = SIZE_MAX; p < count; p++) {
        if (anchors[p].good) {
            piece += before != SIZE_MAX && !agrees(path, &anchors[before], &anchors[p]);
            before = p;
        }
        anchors[p].piece = piece;
    }
    return piece + 1;
}

// --- the points -------------------------------------------------------------------

// Points between good anchors of one piece, and up to half a second beyond them.
static void lay_points(const DwTwinPath *path, const Anchor *anchors, DwTwinCourse *course)
{
    double from_s = path->place[0].at_s, to_s = path->place[path->count - 1].at_s;
    course->point = dw_memory_new((size_t)((to_s - from_s) / STEP_S) + 2, sizeof *course->point);
    size_t next = 0, before = SIZE_MAX;
    for (double at_s = from_s; at_s <= to_s; at_s += STEP_S) {
        for (; next < path->count && (anchors[next].at_s <= at_s || !anchors[next].good); next++)
            if (anchors[next].good)
                before = next;
        if (next >= path->count || before == SIZE_MAX || anchors[before].piece != anchors[next].piece)
            continue;
        const Anchor *a = &anchors[before], *b = &anchors[next];
        double share = (at_s - a->at_s) / (b->at_s - a->at_s);
        course->point[course->count++] =
            (DwTwinPoint){.at_s = at_s, .other_s = a->other_s + share * (b->other_s - a->other_s), .piece = a->piece};
    }
}

// The points around INDEX by a straight line: where the second stands there, and how fast it goes.
static DwTwinGuess smooth_at(const DwTwinCourse *course, size_t index, double ratio)
{
    const DwTwinPoint *at = &course->point[index];
    double w = 0, wt = 0, wtt = 0, wy = 0, wty = 0;
    for (int side = -1; side <= 1; side += 2)
        for (size_t k = side < 0 ? index : index + 1; k < course->count; k += (size_t)side) {
            const DwTwinPoint *point = &course->point[k];
            double t = point->at_s - at->at_s, y = point->other_s - at->other_s - ratio * t, x = t / AROUND_S;
            if (fabs(x) >= 1)
                break;
            if (!point->used || point->piece != at->piece)
                continue;
            double weight = (1 - x * x) * point->quality;
            w += weight;
            wt += weight * t;
            wtt += weight * t * t;
            wy += weight * y;
            wty += weight * t * y;
        }
    DwTwinGuess guess = {at->at_s, at->other_s, ratio};
    double spread = w > 0 ? wtt - wt * wt / w : 0;
    if (spread <= 1e-3)
        return guess;
    double slope = (wty - wt * wy / w) / spread;
    guess.other_s += (wy - slope * wt) / w;
    guess.ratio += slope;
    return guess;
}

static int by_size(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

// Uses the points of good quality that go with their neighbours.
static void choose_points(DwTwinCourse *course, double ratio)
{
    for (size_t i = 0; i < course->count; i++) {
        DwTwinPoint *at = &course->point[i];
        double near[2 * NEIGHBOURS + 1];
        size_t count = 0;
        for (size_t k = i > NEIGHBOURS ? i - NEIGHBOURS : 0; k <= i + NEIGHBOURS && k < course->count; k++) {
            const DwTwinPoint *point = &course->point[k];
            if (point->piece == at->piece && point->quality > QUALITY && fabs(point->at_s - at->at_s) < 0.5)
                near[count++] = point->other_s - at->other_s - ratio * (point->at_s - at->at_s);
        }
        qsort(near, count, sizeof *near, by_size);
        // Wow of 1 % moves a neighbour by 1 ms in a tenth of a second; its middle much less.
        at->used = count >= 3 && at->quality > QUALITY && fabs(near[count / 2]) < STRAY_S;
    }
}

// Matches all points anew along what is known.
static void match_points(DwTwinWindow *window, DwTwinCourse *course, double ratio, double reach_s, bool is_smooth,
                         bool learn)
{
    DwTwinGuess *guess = dw_memory_new(course->count + 1, sizeof *guess);
    for (size_t i = 0; i < course->count; i++) {
        const DwTwinPoint *point = &course->point[i];
        guess[i] = is_smooth ? smooth_at(course, i, ratio) : (DwTwinGuess){point->at_s, point->other_s, ratio};
    }
    size_t heard = 0, signs = 0;
    for (size_t i = 0; i < course->count; i++) {
        DwTwinPoint *point = &course->point[i];
        DwTwinMatch match;
        point->quality = 0;
        point->other_s = guess[i].other_s;
        if (!dw_twin_window_match(window, &guess[i], reach_s, &match))
            continue;
        point->other_s += match.late_s;
        point->quality = (float)match.quality;
        heard++;
        signs += match.sign < 0 && match.quality > QUALITY;
        if (learn && point->used)
            dw_twin_window_learn(window, &match);
    }
    free(guess);
    choose_points(course, ratio);
    size_t used = 0;
    for (size_t i = 0; i < course->count; i++)
        used += course->point[i].used;
    course->share = heard ? (double)used / (double)heard : 0;
    course->reversed = signs > used / 2;
}

DwTwinCourse dw_twin_course_find(const DwTwinSound *one, const DwTwinSound *two, const DwTwinPath *path)
{
    DwTwinCourse course = {0};
    if (path->count < 4)
        return course;
    Anchor *anchors = dw_memory_new(path->count, sizeof *anchors);
    DwTwinWindow *window = dw_twin_window_new(one, two, WIDE_S);
    find_anchors(window, path, anchors);
    dw_twin_window_free(window);
    course.pieces = number_pieces(path, anchors);
    lay_points(path, anchors, &course);
    free(anchors);
    window = dw_twin_window_new(one, two, NARROW_S);
    course.window_s = dw_twin_window_length_s(window);
    match_points(window, &course, path->ratio, NARROW_REACH_S, false, false);
    match_points(window, &course, path->ratio, LAST_REACH_S, true, true);
    dw_twin_window_settle(window);
    match_points(window, &course, path->ratio, LAST_REACH_S, true, false);
    dw_twin_window_free(window);
    return course;
}

void dw_twin_course_clear(DwTwinCourse *course)
{
    free(course->point);
    *course = (DwTwinCourse){0};
}
