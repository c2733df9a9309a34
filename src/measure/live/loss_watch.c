// SPDX-License-Identifier: MIT
#include "measure/live/loss_watch.h"

#include <math.h>

// Lateness beyond that of a moment ago [s] that is looked into. Servers hand on sound in
// pieces of 10 ms; the least lateness of a quarter of a second scatters by 1 to 3 ms
// on an idle machine (measured).
static const double WORTH_S = 0.012;
static const double BIN_S = 0.25, KNOWN_AFTER_S = 1, SETTLED_S = 0.5;
// Lateness counts as one that stays when its least does not fall from one part to the next.
static const double PART_S = 0.25, STEADY_S = 0.005, DECIDED_S = 6;
// A device's clock may lose so much against this computer's: what it counted a while ago tells so much less of now.
static const double DRIFT = 5e-4;
// How often a device's counts are as late as can be is looked up over so long; fewer than that many say nothing.
static const double LOOKED_OVER_S = 4;
// Where most of them lie so close, and servers that are well tell it to 0.3 ms (measured), less is looked into: a
// server that comes too late leaves out 5 ms at a time.
static const double SHARP_S = 5e-4, SHARP_WORTH_S = 4e-3;
enum { COUNTS_LEAST = 6, CLOSE_LEAST = 6, COUNTS_ENOUGH = 60 };

void dw_loss_watch_start(DwLossWatch *watch, double rate_hz)
{
    *watch = (DwLossWatch){.rate_hz = rate_hz, .bin = -1};
}

// --- by what the device counts ------------------------------------------------------

void dw_loss_watch_count(DwLossWatch *watch, double time_s, double frames)
{
    watch->count[watch->counts++ % DW_LOSS_COUNTS] = (DwLossCount){time_s, time_s - frames / watch->rate_hz};
}

static uint64_t oldest_count(const DwLossWatch *watch)
{
    return watch->counts > DW_LOSS_COUNTS ? watch->counts - DW_LOSS_COUNTS : 0;
}

static const DwLossCount *count_at(const DwLossWatch *watch, uint64_t place)
{
    return &watch->count[place % DW_LOSS_COUNTS];
}

// The first count that is after TIME_S.
static uint64_t first_after(const DwLossWatch *watch, double time_s)
{
    uint64_t place = watch->counts;
    while (place > oldest_count(watch) && count_at(watch, place - 1)->time_s > time_s)
        place--;
    return place;
}

// How late the device's sound was by the counts from FROM up to TO: the second lowest. What delays an
// answer only ever adds, and most of them may be delayed; a single one that is too low counts for nothing.
// NAN for too few.
static double counted_late(const DwLossWatch *watch, uint64_t from, uint64_t to)
{
    double low = INFINITY, second = INFINITY;
    if (to < from + COUNTS_LEAST)
        return NAN;
    double now_s = count_at(watch, to - 1)->time_s;
    for (uint64_t i = from; i < to; i++) {
        double late = count_at(watch, i)->late_s + DRIFT * (now_s - count_at(watch, i)->time_s);
        second = fmin(second, fmax(low, late));
        low = fmin(low, late);
    }
    return second;
}

// What the counts told while all was well.
typedef struct {
    double late_s;   // NAN for too few
    uint64_t wanted; // how many it takes at most until two of them are not delayed
    double worth_s;  // lateness beyond that is looked into
    double steady_s; // what is within that is the same
} Before;

static Before before_of(const DwLossWatch *watch)
{
    uint64_t end = first_after(watch, watch->good_s), from = oldest_count(watch), sharp = 0;
    Before before = {counted_late(watch, from, end), COUNTS_LEAST, WORTH_S, STEADY_S};
    while (from < end && count_at(watch, from)->time_s < watch->good_s - LOOKED_OVER_S)
        from++;
    double recent = counted_late(watch, from, end);
    for (uint64_t i = from; i < end; i++)
        sharp += fabs(count_at(watch, i)->late_s - recent) < SHARP_S; // not with NAN
    if (2 * sharp > end - from) {
        before.worth_s = SHARP_WORTH_S;
        before.steady_s = 2 * SHARP_S;
    }
    uint64_t last = from, last_but_one = from;
    for (uint64_t i = from; i < end; i++) {
        before.wanted = i - last_but_one + 1 > before.wanted ? i - last_but_one + 1 : before.wanted;
        if (count_at(watch, i)->late_s > before.late_s + before.steady_s)
            continue;
        last_but_one = last;
        last = i + 1;
    }
    return before;
}

// Whether the newest counts are late: one where most are sharp, else so many that it is no longer delay.
static bool counts_are_late(const DwLossWatch *watch)
{
    Before before = before_of(watch);
    uint64_t high = 0, wanted = before.worth_s < WORTH_S ? 1 : before.wanted;
    while (high < wanted && oldest_count(watch) + high < watch->counts &&
           count_at(watch, watch->counts - high - 1)->late_s > before.late_s + before.worth_s) // not with NAN
        high++;
    return high == wanted;
}

// Whether so many counts from FROM on lie within STEADY_S above their lowest that it is the device and no delay, which
// scatters.
static bool has_floor(const DwLossWatch *watch, uint64_t from, double steady_s)
{
    double low = INFINITY;
    size_t close = 0;
    for (uint64_t i = from; i < watch->counts; i++)
        low = fmin(low, count_at(watch, i)->late_s);
    for (uint64_t i = from; i < watch->counts; i++)
        close += count_at(watch, i)->late_s < low + steady_s;
    return close >= CLOSE_LEAST;
}

// What is missing by the device's count [s], once the counts since the lateness began agree; else NAN. When that
// IS_OVERDUE, all there are must do.
static double counted_lost(const DwLossWatch *watch, const Before *before, bool is_overdue)
{
    uint64_t since = first_after(watch, watch->since_s), half = (since + watch->counts) / 2;
    if (is_overdue)
        return counted_late(watch, (2 * since + watch->counts) / 3, watch->counts) - before->late_s;
    if (watch->counts < since + 2 * before->wanted || !has_floor(watch, since, before->steady_s))
        return NAN;
    double early = counted_late(watch, since, half), late = counted_late(watch, half, watch->counts);
    return fabs(early - late) < before->steady_s ? late - before->late_s : (double)NAN;
}

// Whether a lateness of OVER_S cannot be waited for any longer: there are so many counts of it that the lowest must be
// right.
static bool is_overdue(const DwLossWatch *watch, double over_s)
{
    uint64_t since = watch->counts - first_after(watch, watch->since_s);
    return over_s > (since >= COUNTS_ENOUGH ? DECIDED_S : 2 * DECIDED_S);
}

// Whether the device has told since the lateness began that all is there: what came late was only delayed.
static bool counts_are_well(const DwLossWatch *watch, const Before *before)
{
    const DwLossCount *last = count_at(watch, watch->counts + DW_LOSS_COUNTS - 1);
    return last->time_s > watch->since_s && last->late_s < before->late_s + before->worth_s; // not with NAN
}

// From now on the device is late by LOST_S more; what was counted in between is of no use.
static void move_counts(DwLossWatch *watch, double before_s, double lost_s)
{
    for (uint64_t i = oldest_count(watch); i < watch->counts; i++) {
        DwLossCount *count = &watch->count[i % DW_LOSS_COUNTS];
        count->late_s = fmax(count->late_s, before_s + lost_s); // not with NAN
    }
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
    Before before = before_of(watch);
    if (!told && counts_are_well(watch, &before) && time_s - watch->begun_late_s < DECIDED_S) {
        begin_late(watch, time_s);
        watch->good_s = time_s;
        return DW_LOSS_NONE;
    }
    double over = time_s - watch->since_s, lost = low - usual(watch), worth = WORTH_S;
    double counted = counted_lost(watch, &before, is_overdue(watch, over));
    bool counts = isfinite(before.late_s) && !is_overdue(watch, over); // it is waited for
    if (counts ? isnan(counted) || over < 2 * PART_S : !is_steady)
        return DW_LOSS_LATE;
    if (isfinite(counted)) {
        lost = counted;
        worth = before.worth_s;
    }
    *lost_s = isfinite(lost) && lost > worth / 2 ? lost : 0;
    move_counts(watch, before.late_s, *lost_s);
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
        watch->counts = since < SETTLED_S ? 0 : watch->counts;
        return DW_LOSS_SETTLING;
    }
    watch->hole_told = watch->hole_told || hole;
    // A computer that was busy for long takes late arrivals for usual ones: the counts tell.
    bool is_worth = late > usual(watch) + WORTH_S || counts_are_late(watch);
    if (!is_worth && !watch->hole_told) {
        watch->is_late = false;
        watch->good_s = time_s;
        note(watch, since, late);
        return DW_LOSS_NONE;
    }
    if (!watch->is_late) {
        begin_late(watch, time_s);
        watch->begun_late_s = time_s;
    }
    return judge(watch, time_s, late, lost_s);
}
