// SPDX-License-Identifier: MIT
#include "measure/music/twin_course.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/music/twin_window.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static const double WIDE_S = 0.7, WIDE_REACH_S = 0.12, NARROW_S = 0.35, NARROW_REACH_S = 0.006, LAST_REACH_S = 0.0015;
static const double STEP_S = DW_TWIN_STEP_S;
static const double BEYOND_S = 1.3;   // that a piece is followed beyond its last place
static const double JUMP_S = 0.008;   // between two places a second apart, beyond what wow does
static const double STRAY_S = 0.0006; // from the middle of the neighbours
static const double QUALITY = 0.3, WIDE_QUALITY = 0.15;
static const double JUMP_PRICE = 4;                                       // in places that would have to be left out
static const double TRY_MOST = 0.03, TRY_BEYOND = 0.01, TRY_STEP = 0.002; // of the ratio
// Either way; places; the places before, between each of which and one the pace is taken.
enum { NEIGHBOURS = 3, LOOK_BACK = 60, PACE_BACK = 5 };
enum { TRIED = 24, PACE_APART = 30 }; // places that tell the ratio; how far apart

// --- second by second --------------------------------------------------------------

typedef struct {
    double at_s, other_s;
    bool good;
    unsigned piece;
} Anchor;

static void find_anchors(DwTwinWindow *window, const DwTwinPath *path, double ratio, Anchor *anchors)
{
    for (size_t p = 0; p < path->count; p++) {
        const DwTwinPlace *place = &path->place[p];
        DwTwinMatch match;
        DwTwinGuess guess = {place->at_s, place->other_s, ratio, 0};
        bool found = dw_twin_window_match(window, &guess, WIDE_REACH_S, &match);
        anchors[p] = (Anchor){.at_s = place->at_s, .other_s = place->other_s + (found ? match.late_s : 0)};
        anchors[p].good = found && match.quality > WIDE_QUALITY;
    }
}

// By how much the path's places go on between any two far apart: the median of it.
static double pace_of_path(const DwTwinPath *path)
{
    size_t apart = path->count / 2 < PACE_APART ? path->count / 2 : PACE_APART, found = 0;
    double *pace = dw_memory_new(path->count + 1, sizeof *pace);
    for (size_t p = apart; p < path->count; p++) {
        const DwTwinPlace *a = &path->place[p - apart], *b = &path->place[p];
        pace[found++] = (b->other_s - a->other_s) / (b->at_s - a->at_s);
    }
    double middle = dw_statistics_middle(pace, found);
    free(pace);
    return middle;
}

// How well the places of PATH agree at RATIO, at most TRIED of them.
static double agreement_at(DwTwinWindow *window, const DwTwinPath *path, double ratio)
{
    double sum = 0;
    size_t step = path->count / TRIED + 1;
    for (size_t p = 0; p < path->count; p += step) {
        DwTwinMatch match;
        DwTwinGuess guess = {path->place[p].at_s, path->place[p].other_s, ratio, 0};
        if (dw_twin_window_match(window, &guess, WIDE_REACH_S, &match))
            sum += match.quality * match.quality;
    }
    return sum;
}

// The ratio near that of the whole and that of the places at which wide windows agree best. Slow music, or little of
// it, lets either be 2 % off, and drawn out so wrongly no window agrees.
static double try_ratios(DwTwinWindow *window, const DwTwinPath *path)
{
    double place = fmin(fmax(pace_of_path(path), path->ratio - TRY_MOST), path->ratio + TRY_MOST);
    double best = 0, found = path->ratio;
    double low = fmin(place, path->ratio) - TRY_BEYOND, high = fmax(place, path->ratio) + TRY_BEYOND;
    size_t tries = (size_t)((high - low) / TRY_STEP) + 1;
    for (size_t n = 0; n < tries; n++) {
        double ratio = low + (double)n * TRY_STEP, agreed = agreement_at(window, path, ratio);
        if (agreed > best) {
            best = agreed;
            found = ratio;
        }
    }
    return found;
}

// The pace of the second against the first: the median of that between any two good anchors a few seconds apart, which
// a third of them mistaken, or some jumps, leave where it is. RATIO where there are none. The path's own is one of a
// coarse grid: half a per cent off draws a window's ends apart by several waves, and one wave is taken for another.
static double pace_of(const Anchor *anchors, size_t count, double ratio)
{
    double *pace = dw_memory_new(count * PACE_BACK + 1, sizeof *pace);
    size_t found = 0;
    for (size_t p = 0; p < count; p++)
        for (size_t k = p > PACE_BACK ? p - PACE_BACK : 0; k < p; k++)
            if (anchors[p].good && anchors[k].good)
                pace[found++] = (anchors[p].other_s - anchors[k].other_s) / (anchors[p].at_s - anchors[k].at_s);
    ratio = found ? dw_statistics_middle(pace, found) : ratio;
    free(pace);
    return ratio;
}

static bool agrees(double ratio, const Anchor *a, const Anchor *b)
{
    double apart_s = b->at_s - a->at_s, off = b->other_s - a->other_s - ratio * apart_s;
    return fabs(off) < JUMP_S * (1 + 0.25 * apart_s);
}

// Keeps the row of anchors that says most with the fewest jumps, and numbers its pieces.
static unsigned number_pieces(Anchor *anchors, size_t count, double ratio)
{
    size_t last = SIZE_MAX;
    double *score = dw_memory_new(count, sizeof *score);
    size_t *from = dw_memory_new(count, sizeof *from);
    for (size_t p = 0; p < count; p++) {
        from[p] = SIZE_MAX;
        if (!anchors[p].good)
            continue;
        for (size_t k = p > LOOK_BACK ? p - LOOK_BACK : 0; k < p; k++) {
            double price = agrees(ratio, &anchors[k], &anchors[p]) ? 0 : JUMP_PRICE;
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
            piece += before != SIZE_MAX && !agrees(ratio, &anchors[before], &anchors[p]);
            before = p;
        }
        anchors[p].piece = piece;
    }
    return piece + 1;
}

// --- the points -------------------------------------------------------------------

static void lay_span(DwTwinCourse *course, const Anchor *a, const Anchor *b, double from_s, double to_s)
{
    double pace = (b->other_s - a->other_s) / (b->at_s - a->at_s);
    for (double at_s = ceil(from_s / STEP_S - 1e-6) * STEP_S; at_s < to_s - 1e-6; at_s += STEP_S)
        course->point[course->count++] =
            (DwTwinPoint){.at_s = at_s, .other_s = a->other_s + pace * (at_s - a->at_s), .piece = a->piece};
}

// Points between good anchors of one piece, and a little beyond its first and last.
static void lay_points(const DwTwinPath *path, const Anchor *anchors, DwTwinCourse *course)
{
    double whole_s = path->place[path->count - 1].at_s - path->place[0].at_s;
    course->point = dw_memory_new((size_t)((whole_s + 2 * BEYOND_S) / STEP_S * 2) + 64, sizeof *course->point);
    const Anchor *before = NULL, *last = NULL;
    for (size_t p = 0; p < path->count; p++) {
        const Anchor *now = &anchors[p];
        if (!now->good)
            continue;
        bool joined = before && before->piece == now->piece;
        if (joined && (!last || last->piece != now->piece)) { // the first span of a piece
            double from_s = before->at_s - BEYOND_S;
            from_s = course->count ? fmax(from_s, course->point[course->count - 1].at_s + STEP_S) : fmax(from_s, 0);
            lay_span(course, before, now, from_s, before->at_s);
        }
        if (joined)
            lay_span(course, before, now, before->at_s, now->at_s);
        if (last && before && !joined && last->piece == before->piece) // the last of a piece
            lay_span(course, last, before, before->at_s, fmin(before->at_s + BEYOND_S, (before->at_s + now->at_s) / 2));
        last = joined ? before : last;
        before = now;
    }
    if (last && before && last->piece == before->piece)
        lay_span(course, last, before, before->at_s, before->at_s + BEYOND_S);
}

// Sums of weighted powers of time, and of those times the course, over the points around one.
typedef struct {
    double t[5], y[3];
    size_t count;
} Around;

static Around look_around(const DwTwinCourse *course, size_t index, double ratio)
{
    const DwTwinPoint *at = &course->point[index];
    Around around = {0};
    for (int side = -1; side <= 1; side += 2)
        for (size_t k = side < 0 ? index : index + 1; k < course->count; k += (size_t)side) {
            const DwTwinPoint *point = &course->point[k];
            double t = point->at_s - at->at_s, y = point->other_s - at->other_s - ratio * t, x = t / DW_TWIN_AROUND_S;
            if (fabs(x) >= 1)
                break;
            if (!point->used || point->piece != at->piece)
                continue;
            double power = (1 - x * x) * point->quality;
            for (size_t n = 0; n < 5; n++, power *= t) {
                around.t[n] += power;
                if (n < 3)
                    around.y[n] += power * y;
            }
            around.count++;
        }
    return around;
}

// The points around INDEX by a parabola: where the second stands there, how fast it goes and how that bends.
static DwTwinGuess smooth_at(const DwTwinCourse *course, size_t index, double ratio)
{
    DwTwinGuess guess = {course->point[index].at_s, course->point[index].other_s, ratio, 0};
    Around a = look_around(course, index, ratio);
    if (a.count < 5)
        return guess;
    double m[3][4];
    for (size_t r = 0; r < 3; r++)
        for (size_t c = 0; c < 4; c++)
            m[r][c] = c < 3 ? a.t[r + c] : a.y[r];
    for (size_t r = 0; r < 3; r++) {
        if (m[r][r] < 1e-9)
            return guess;
        for (size_t below = r + 1; below < 3; below++)
            for (size_t c = 4; c-- > r;)
                m[below][c] -= m[below][r] / m[r][r] * m[r][c];
    }
    double bend = m[2][3] / m[2][2], slope = (m[1][3] - m[1][2] * bend) / m[1][1];
    guess.other_s += (m[0][3] - m[0][1] * slope - m[0][2] * bend) / m[0][0];
    guess.ratio += slope;
    guess.bend = bend;
    return guess;
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
        double middle = dw_statistics_middle(near, count);
        // Wow of 1 % moves a neighbour by 1 ms in a tenth of a second; its middle much less.
        at->used = count >= 3 && at->quality > QUALITY && fabs(middle) < STRAY_S;
    }
}

// Matches all points anew along what is known.
static void match_points(DwTwinWindow *window, DwTwinCourse *course, double ratio, double reach_s, bool is_smooth,
                         bool learn)
{
    DwTwinGuess *guess = dw_memory_new(course->count + 1, sizeof *guess);
    for (size_t i = 0; i < course->count; i++) {
        const DwTwinPoint *point = &course->point[i];
        guess[i] = is_smooth ? smooth_at(course, i, ratio) : (DwTwinGuess){point->at_s, point->other_s, ratio, 0};
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

static double length_of(const DwTwinSound *sound)
{
    return (double)sound->count / sound->rate_hz;
}

// What of the groove both hold without its being heard. Where the groove was skipped, or cut, one of the two holds
// less.
static void find_unheard(const DwTwinSound *one, const DwTwinSound *two, DwTwinCourse *course)
{
    const DwTwinPoint *last = NULL;
    double squares = 0;
    for (size_t i = 0; i < course->count; i++) {
        const DwTwinPoint *point = &course->point[i];
        if (!point->used)
            continue;
        if (!last)
            course->before_s = fmax(0, fmin(point->at_s, point->other_s / course->ratio));
        else if (point->piece != last->piece)
            squares +=
                pow(fmax(0, fmin(point->at_s - last->at_s, (point->other_s - last->other_s) / course->ratio)), 2);
        last = point;
    }
    if (last)
        course->after_s = fmax(0, fmin(length_of(one) - last->at_s, (length_of(two) - last->other_s) / course->ratio));
    course->gaps_s = sqrt(squares);
}

DwTwinCourse dw_twin_course_find(const DwTwinSound *one, const DwTwinSound *two, const DwTwinPath *path)
{
    DwTwinCourse course = {.ratio = path->ratio};
    if (path->count < 4)
        return course;
    Anchor *anchors = dw_memory_new(path->count, sizeof *anchors);
    DwTwinWindow *window = dw_twin_window_new(one, two, WIDE_S, WIDE_REACH_S);
    course.ratio = try_ratios(window, path);
    find_anchors(window, path, course.ratio, anchors);
    course.ratio = pace_of(anchors, path->count, course.ratio);
    find_anchors(window, path, course.ratio, anchors);
    dw_twin_window_free(window);
    course.pieces = number_pieces(anchors, path->count, course.ratio);
    lay_points(path, anchors, &course);
    free(anchors);
    window = dw_twin_window_new(one, two, NARROW_S, NARROW_REACH_S);
    course.window_s = dw_twin_window_length_s(window);
    match_points(window, &course, course.ratio, NARROW_REACH_S, false, false);
    match_points(window, &course, course.ratio, LAST_REACH_S, true, true);
    dw_twin_window_settle(window);
    match_points(window, &course, course.ratio, LAST_REACH_S, true, false);
    dw_twin_window_free(window);
    find_unheard(one, two, &course);
    return course;
}

void dw_twin_course_clear(DwTwinCourse *course)
{
    free(course->point);
    *course = (DwTwinCourse){0};
}
