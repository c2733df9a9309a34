// SPDX-License-Identifier: MIT
#include "measure/live/loss_watch.h"

#include <math.h>
#include <stdlib.h>

// Lateness beyond that of a moment ago [s] that is looked into. Servers hand on sound in
// pieces of 10 ms; the least lateness of a quarter of a second scatters by 1 to 3 ms
// on an idle machine (measured).
static const double WORTH_S = 0.012;
static const double BIN_S = 0.25, KNOWN_AFTER_S = 1, SETTLED_S = 0.5;
// Lateness counts as one that stays when its least does not fall from one part to the next.
static const double PART_S = 0.25, STEADY_S = 0.005, DECIDED_S = 6;
// A device's counts are compared over so long; fewer say nothing.
static const double COUNTED_S = 2;
enum { COUNTS_LEAST = 6 };

void dw_loss_watch_start(DwLossWatch *watch, double rate_hz)
{
    *watch = (DwLossWatch){.rate_hz = rate_hz, .bin = -1};
}

// --- by what the device counts ------------------------------------------------------

void dw_loss_watch_count(DwLossWatch *watch, double time_s, double frames)
{
    watch->count[watch->counts++ % DW_LOSS_COUNTS] = (DwLossCount){time_s, time_s - frames / watch->rate_hz};
}

static int by_lateness(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;
    return left < right ? -1 : left > right;
}

// How late the device's sound was from FROM_S to TO_S: the lowest quarter ends there. Delays of
// the answer only ever add; a single answer that is too low counts for nothing. NAN for too few.
static double counted_late(const DwLossWatch *watch, double from_s, double to_s)
{
    double late[DW_LOSS_COUNTS];
    size_t kept = 0;
    for (size_t i = 0; i < watch->counts && i < DW_LOSS_COUNTS; i++) {
        const DwLossCount *count = &watch->count[i];
        if (count->time_s >= fmax(from_s, watch->counted_from_s) && count->time_s <= to_s)
            late[kept++] = count->late_s;
    }
    if (kept < COUNTS_LEAST)
        return NAN;
    qsort(late, kept, sizeof *late, by_lateness);
    return late[kept / 4];
}

static double counted_before(const DwLossWatch *watch)
{
    return counted_late(watch, watch->good_s - COUNTED_S, watch->good_s);
}

// The later half of the last second, or of all since the lateness began, begins there.
static double settled_half(const DwLossWatch *watch, double now_s)
{
    return (now_s + fmax(watch->since_s, now_s - COUNTED_S / 2)) / 2;
}

// What is missing by the device's count [s], once enough counts agree; else NAN.
static double counted_lost(const DwLossWatch *watch, double now_s)
{
    double half = settled_half(watch, now_s), from = 2 * half - now_s;
    double before = counted_before(watch), early = counted_late(watch, from, half);
    double late = counted_late(watch, half, now_s);
    if (!(fabs(early - late) < STEADY_S)) // NAN, too
        return NAN;
    return late - before;
}

// --- by when it arrives ---------------------------------------------------------------

static void note(DwLossWatch *watch, double since_s, double late_s)
{
    long bin = (long)(since_s / BIN_S);
    if (bin != watch->bin) {
        watch->bin = bin;
        watch->low_s[watch->bins++ % DW_LOSS_BINS] = late_s;
        return;
    }
    double *low = &watch->low_s[(watch->bins - 1) % DW_LOSS_BINS];
    *low = fmin(*low, late_s);
}

static void forget(DwLossWatch *watch)
{
    watch->bins = 0;
    watch->bin = -1;
}

static double least(const double *low, size_t from, size_t to)
{
    double found = INFINITY;
    for (size_t i = from; i < to; i++)
        found = fmin(found, low[i % DW_LOSS_BINS]);
    return found;
}

static size_t oldest(size_t count)
{
    return count > DW_LOSS_BINS ? count - DW_LOSS_BINS : 0;
}

// What lateness is usual [s]: the least of the last four seconds, in which a clock that is 1000 ppm off moves 4 ms.
static double usual(const DwLossWatch *watch)
{
    return least(watch->low_s, oldest(watch->bins), watch->bins);
}

// How many bins in a row it takes, whichever they are, until their least is the usual one.
static size_t bins_for_usual(const DwLossWatch *watch)
{
    size_t wanted = 1, dry = 0;
    double low = usual(watch);
    for (size_t i = oldest(watch->bins); i < watch->bins; i++) {
        dry = watch->low_s[i % DW_LOSS_BINS] > low + STEADY_S ? dry + 1 : 0;
        wanted = dry + 1 > wanted ? dry + 1 : wanted;
    }
    return wanted;
}

static void begin_late(DwLossWatch *watch, double time_s)
{
    watch->is_late = true;
    watch->since_s = time_s;
    watch->parts = 0;
    size_t wanted = bins_for_usual(watch), most = DW_LOSS_BINS / 2 - 1; // two such spans are compared
    watch->parts_wanted = wanted < most ? wanted : most;
}

// Follows a lateness. Returned: whether it stays as it is; *LOW_S is its least of late.
static bool stays(DwLossWatch *watch, double time_s, double late_s, double *low_s)
{
    size_t part = (size_t)((time_s - watch->since_s) / PART_S) + 1;
    size_t whole = part - 1, wanted = watch->parts_wanted;
    while (watch->parts < part)
        watch->part_low_s[watch->parts++ % DW_LOSS_BINS] = INFINITY;
    bool is_steady = false;
    *low_s = least(watch->part_low_s, oldest(part), part);
    if (whole >= 2 * wanted) {
        double before = least(watch->part_low_s, whole - 2 * wanted, whole - wanted);
        *low_s = least(watch->part_low_s, whole - wanted, whole);
        is_steady = fabs(before - *low_s) < STEADY_S; // not while either is infinite
    }
    double *low = &watch->part_low_s[whole % DW_LOSS_BINS];
    *low = fmin(*low, late_s);
    *low_s = isfinite(*low_s) ? *low_s : late_s;
    return is_steady || time_s - watch->since_s > DECIDED_S;
}

// --- both -------------------------------------------------------------------------------

// Ends a lateness at TIME_S: it is the usual one from now on, with its scatter.
static void settle(DwLossWatch *watch, double time_s)
{
    watch->is_late = watch->hole_told = false;
    watch->counted_from_s = settled_half(watch, time_s);
    watch->good_s = time_s;
    watch->bins = 0;
    for (size_t i = watch->parts > watch->parts_wanted ? watch->parts - watch->parts_wanted - 1 : 0; i < watch->parts;
         i++)
        if (isfinite(watch->part_low_s[i % DW_LOSS_BINS]))
            watch->low_s[watch->bins++] = watch->part_low_s[i % DW_LOSS_BINS];
    watch->bin = (long)((time_s - watch->start_s) / BIN_S);
}

// Whether the lateness is a loss, as far as can be told at TIME_S.
static DwLossVerdict judge(DwLossWatch *watch, double time_s, double late_s, double *lost_s)
{
    double low = late_s;
    bool is_steady = stays(watch, time_s, late_s, &low), told = watch->hole_told;
    double counted = counted_lost(watch, time_s), over = time_s - watch->since_s;
    double lost = low - usual(watch);
    bool counts = isfinite(counted_before(watch)) && over < DECIDED_S; // it is waited for
    if (counts ? isnan(counted) || over < 2 * PART_S : !is_steady)
        return DW_LOSS_LATE;
    if (isfinite(counted))
        lost = counted;
    *lost_s = isfinite(lost) && lost > WORTH_S / 2 ? lost : 0;
    settle(watch, time_s);
    return *lost_s > 0 || told ? DW_LOSS_FOUND : DW_LOSS_NONE;
}

DwLossVerdict dw_loss_watch_push(DwLossWatch *watch, double time_s, double frames, bool hole, double *lost_s)
{
    *lost_s = 0;
    if (!watch->begun) {
        watch->begun = true;
        watch->start_s = time_s;
        watch->first_frames = frames;
    }
    double since = time_s - watch->start_s;
    double late = since - (frames - watch->first_frames) / watch->rate_hz;
    if (since <= KNOWN_AFTER_S) {
        if (since < SETTLED_S) // a server's first pieces come as they can
            forget(watch);
        note(watch, since, late);
        watch->good_s = time_s;
        watch->counted_from_s = watch->start_s + SETTLED_S;
        return DW_LOSS_SETTLING;
    }
    watch->hole_told = watch->hole_told || hole;
    bool is_worth = late > usual(watch) + WORTH_S;
    if (!is_worth && !watch->hole_told) {
        watch->is_late = false;
        watch->good_s = time_s;
        note(watch, since, late);
        return DW_LOSS_NONE;
    }
    if (!watch->is_late)
        begin_late(watch, time_s);
    return judge(watch, time_s, late, lost_s);
}
