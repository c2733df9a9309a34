// SPDX-License-Identifier: MIT
#include "measure/music/twin_ticks.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/statistics.h"
#include "physics/chance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { EVENTS_MOST = 60000, BLOCKS_MOST = 90000 };
enum { PIECE = 512, LANES = 8 }; // frames that are taken in at a time, a whole number of lanes

static const double BLOCK_S = 0.02, APART_S = 0.004;
static const double CERTAIN = 12, SEEN = 6; // times the floor
static const double LEAST_S = 20, STRETCH_S = 5;
static const double LEAST_FLOOR = 1e-7; // of full scale: digital silence

typedef struct {
    double at_s;
    float size;
} Event;

struct DwTwinTicks {
    double rate_hz;
    unsigned channels;
    float piece[2 * (PIECE + 2)]; // the last two frames, and those behind them that are taken in
    float bend[PIECE];
    size_t length;   // of a block
    float *block[2]; // being filled, and the one before, which is looked through when this one is full
    float *room;
    size_t filled;
    float *median; // of each block
    size_t blocks, blocks_room;
    Event *event;
    size_t events, events_room;
    bool has_too_many;
};

DwTwinTicks *dw_twin_ticks_new(double rate_hz, unsigned channels)
{
    DwTwinTicks *ticks = dw_memory_new(1, sizeof *ticks);
    ticks->rate_hz = rate_hz;
    ticks->channels = channels > 2 ? 2 : channels;
    ticks->length = (size_t)fmax(8, BLOCK_S * rate_hz);
    for (unsigned b = 0; b < 2; b++)
        ticks->block[b] = dw_memory_new(ticks->length, sizeof *ticks->block[b]);
    ticks->room = dw_memory_new(ticks->length, sizeof *ticks->room);
    return ticks;
}

void dw_twin_ticks_free(DwTwinTicks *ticks)
{
    if (!ticks)
        return;
    free(ticks->block[0]);
    free(ticks->block[1]);
    free(ticks->room);
    free(ticks->median);
    free(ticks->event);
    free(ticks);
}

// What ticks must stand over in BLOCK: a note that begins in the next one must not look like one.
static double floor_at(const DwTwinTicks *ticks, size_t block)
{
    double floor = LEAST_FLOOR;
    for (size_t b = block > 0 ? block - 1 : 0; b <= block + 1 && b < ticks->blocks; b++)
        floor = fmax(floor, ticks->median[b]);
    return floor;
}

static double floor_when(const DwTwinTicks *ticks, double at_s)
{
    double block = at_s * ticks->rate_hz / (double)ticks->length;
    return floor_at(ticks, block > 0 ? (size_t)block : 0);
}

// What comes within APART_S of the tick before is the same tick.
static void add_event(DwTwinTicks *ticks, double at_s, float size)
{
    Event *last = ticks->events ? &ticks->event[ticks->events - 1] : NULL;
    if (last && at_s - last->at_s < APART_S) {
        if (size > last->size)
            *last = (Event){at_s, size};
        return;
    }
    if (ticks->events == EVENTS_MOST) {
        ticks->has_too_many = true;
        return;
    }
    if (ticks->events == ticks->events_room) {
        ticks->events_room += 512;
        ticks->event = dw_memory_resize(ticks->event, ticks->events_room, sizeof *ticks->event);
    }
    ticks->event[ticks->events++] = (Event){at_s, size};
}

static void look_through_last(DwTwinTicks *ticks)
{
    size_t block = ticks->blocks - 2;
    double least = SEEN * floor_at(ticks, block);
    for (size_t n = 0; n < ticks->length; n++)
        if (ticks->block[1][n] > least)
            add_event(ticks, (double)(block * ticks->length + n) / ticks->rate_hz, ticks->block[1][n]);
}

static void end_block(DwTwinTicks *ticks)
{
    if (ticks->blocks == ticks->blocks_room) {
        ticks->blocks_room += 1024;
        ticks->median = dw_memory_resize(ticks->median, ticks->blocks_room, sizeof *ticks->median);
    }
    memcpy(ticks->room, ticks->block[0], ticks->length * sizeof *ticks->room);
    ticks->median[ticks->blocks++] = (float)dw_statistics_quantile(ticks->room, ticks->length, 0.5);
    if (ticks->blocks >= 2)
        look_through_last(ticks);
    float *full = ticks->block[0];
    ticks->block[0] = ticks->block[1];
    ticks->block[1] = full;
    ticks->filled = 0;
}

// BEND[PIECE]: of each frame behind the first two the second difference, the larger of both CHANNELS'.
static inline __attribute__((always_inline)) void bend_by(const float *restrict piece, size_t channels,
                                                          float *restrict bend)
{
    for (size_t n = 0; n < PIECE; n += LANES)
        for (size_t i = 0; i < LANES; i++) {
            const float *now = piece + (n + i + 2) * channels, *last = now + channels - 1;
            double one = fabs((double)*now - 2 * (double)now[-(long)channels] + (double)now[-2 * (long)channels]);
            double two = fabs((double)*last - 2 * (double)last[-(long)channels] + (double)last[-2 * (long)channels]);
            bend[n + i] = (float)(one > two ? one : two);
        }
}

DW_WIDE static void bend_piece(const float *restrict piece, unsigned channels, float *restrict bend)
{
    if (channels == 2)
        bend_by(piece, 2, bend);
    else
        bend_by(piece, 1, bend);
}

static void push_piece(DwTwinTicks *ticks, const float *interleaved, size_t frames)
{
    size_t channels = ticks->channels;
    memcpy(ticks->piece + 2 * channels, interleaved, frames * channels * sizeof *ticks->piece);
    bend_piece(ticks->piece, ticks->channels, ticks->bend);
    memmove(ticks->piece, ticks->piece + frames * channels, 2 * channels * sizeof *ticks->piece);
    for (size_t n = 0; n < frames && ticks->blocks < BLOCKS_MOST;) {
        size_t count = ticks->length - ticks->filled < frames - n ? ticks->length - ticks->filled : frames - n;
        memcpy(ticks->block[0] + ticks->filled, ticks->bend + n, count * sizeof *ticks->bend);
        n += count;
        ticks->filled += count;
        if (ticks->filled == ticks->length)
            end_block(ticks);
    }
}

void dw_twin_ticks_push(DwTwinTicks *ticks, const float *interleaved, size_t frames)
{
    while (frames > 0) {
        size_t count = frames < PIECE ? frames : (size_t)PIECE;
        push_piece(ticks, interleaved, count);
        interleaved += count * ticks->channels;
        frames -= count;
    }
}

// --- comparing --------------------------------------------------------------------

// Whether the course goes on from POINT to the next.
static bool goes_on(const DwTwinCourse *course, size_t point)
{
    const DwTwinPoint *here = &course->point[point], *next = here + 1;
    return here->used && next->used && here->piece == next->piece && next->at_s - here->at_s < 1.5 * DW_TWIN_STEP_S &&
           next->other_s > here->other_s;
}

// The first event at AT_S or later.
static size_t first_at(const DwTwinTicks *ticks, double at_s)
{
    size_t low = 0, high = ticks->events;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (ticks->event[middle].at_s < at_s)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static bool has_one_about(const DwTwinTicks *ticks, double at_s)
{
    size_t event = first_at(ticks, at_s - APART_S);
    return event < ticks->events && ticks->event[event].at_s <= at_s + APART_S;
}

// The treble of the second over the first's, as a ratio: of the louder half of their floors.
static double gain_of(const DwTwinTicks *const two[2], const DwTwinCourse *course)
{
    float *room = dw_memory_new(course->count + 1, sizeof *room);
    for (size_t p = 0; p < course->count; p++)
        room[p] = (float)(floor_when(two[0], course->point[p].at_s) * floor_when(two[1], course->point[p].other_s));
    double loud = dw_statistics_quantile(room, course->count, 0.5);
    size_t kept = 0;
    for (size_t p = 0; p < course->count; p++) {
        double first = floor_when(two[0], course->point[p].at_s), second = floor_when(two[1], course->point[p].other_s);
        if (course->point[p].used && (float)(first * second) >= (float)loud)
            room[kept++] = (float)(second / first);
    }
    double gain = kept ? dw_statistics_quantile(room, kept, 0.5) : 1;
    free(room);
    return gain;
}

// A stretch of the one between two points of the course, and where it is in the other.
typedef struct {
    double from_s[2], length_s[2];
} Span;

// Counts the ticks of recording OWN in SPAN that would stand out in the other too, as ALONE or as in BOTH.
static void count_span(const DwTwinTicks *const two[2], const Span *span, unsigned own, double gain, size_t *alone,
                       size_t *both)
{
    const DwTwinTicks *ticks = two[own], *other = two[1 - own];
    double end_s = span->from_s[own] + span->length_s[own];
    for (size_t e = first_at(ticks, span->from_s[own]); e < ticks->events && ticks->event[e].at_s < end_s; e++) {
        const Event *event = &ticks->event[e];
        double share = (event->at_s - span->from_s[own]) / span->length_s[own];
        double there_s = span->from_s[1 - own] + share * span->length_s[1 - own];
        double floor = fmax(floor_when(ticks, event->at_s), floor_when(other, there_s) * (own ? gain : 1 / gain));
        if (event->size < CERTAIN * floor)
            continue;
        if (has_one_about(other, there_s))
            ++*both;
        else
            ++*alone;
    }
}

// The half-width for DIFFERENCE, of COUNT stretches, whose ticks are ALL together.
static double off_of(const double *difference, size_t count, double all)
{
    double sum = 0, squares = 0, freedom = (double)count - 1;
    for (size_t k = 0; k < count; k++)
        sum += difference[k];
    for (size_t k = 0; k < count; k++)
        squares += pow(difference[k] - sum / (double)count, 2);
    double poisson = fmax(all, 1), told = freedom > 2 ? squares * (double)count / freedom : poisson;
    // Ticks of one scratch come turn after turn: more apart than chance has them.
    if (freedom > 2 && told > poisson * (1 + 2 * sqrt(2 / freedom)))
        return dw_chance_student(0.975, freedom) * sqrt(told);
    return 1.96 * sqrt(poisson);
}

bool dw_twin_ticks_compare(const DwTwinTicks *one, const DwTwinTicks *two, const DwTwinCourse *course,
                           DwTwinTicking *ticking)
{
    const DwTwinTicks *const both[2] = {one, two};
    *ticking = (DwTwinTicking){.more = NAN, .more_off = NAN};
    if (course->count < 2 || one->has_too_many || two->has_too_many)
        return false;
    double gain = gain_of(both, course), seconds = 0, in_other = 0;
    double *difference =
        dw_memory_new((size_t)((double)course->count * DW_TWIN_STEP_S / STRETCH_S) + 2, sizeof *difference);
    size_t of_second = 0;
    for (size_t p = 0; p + 1 < course->count; p++) {
        const DwTwinPoint *here = &course->point[p], *next = here + 1;
        if (!goes_on(course, p))
            continue;
        Span span = {{here->at_s, here->other_s}, {next->at_s - here->at_s, next->other_s - here->other_s}};
        size_t alone[2] = {0, 0}, stretch = (size_t)(seconds / STRETCH_S);
        count_span(both, &span, 0, gain, &alone[0], &ticking->both);
        count_span(both, &span, 1, gain, &alone[1], &of_second);
        difference[stretch] += (double)alone[1] - (double)alone[0];
        ticking->alone[0] += alone[0];
        ticking->alone[1] += alone[1];
        seconds += span.length_s[0];
        in_other += span.length_s[1];
    }
    ticking->minutes = (seconds + in_other) / 2 / 60;
    bool is_enough = seconds >= LEAST_S;
    if (is_enough) {
        double first = (double)ticking->alone[0], second = (double)ticking->alone[1];
        size_t stretches = (size_t)(seconds / STRETCH_S); // the last, which is short, left out
        ticking->more = (second - first) / ticking->minutes;
        ticking->more_off = off_of(difference, stretches, first + second) / ticking->minutes;
    }
    free(difference);
    return is_enough;
}
