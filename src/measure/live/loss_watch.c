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

void dw_loss_watch_start(DwLossWatch *watch, double rate_hz)
{
    *watch = (DwLossWatch){.rate_hz = rate_hz, .bin = -1, .part = -1};
}

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

// What lateness is usual [s]: the least of the last four seconds, in which a clock that is 1000 ppm off moves 4 ms.
static double usual(const DwLossWatch *watch)
{
    double low = INFINITY;
    for (size_t i = 0; i < watch->bins && i < DW_LOSS_BINS; i++)
        low = fmin(low, watch->low_s[i]);
    return low;
}

static void begin_late(DwLossWatch *watch, double time_s, double late_s)
{
    watch->is_late = true;
    watch->since_s = time_s;
    watch->part = -1;
    watch->late_low_s[0] = INFINITY;
    watch->late_low_s[1] = late_s;
}

// Follows a lateness. Returned: whether it stays as it is.
static bool stays(DwLossWatch *watch, double time_s, double late_s)
{
    double over = time_s - watch->since_s;
    long part = (long)(over / PART_S) - 1;
    bool is_steady = false;
    if (part != watch->part) {
        is_steady = isfinite(watch->late_low_s[0]) && watch->late_low_s[0] - watch->late_low_s[1] < STEADY_S;
        watch->late_low_s[0] = watch->late_low_s[1];
        watch->late_low_s[1] = late_s;
        watch->part = part;
    }
    watch->late_low_s[1] = fmin(watch->late_low_s[1], late_s);
    return is_steady || over > DECIDED_S;
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
        return DW_LOSS_SETTLING;
    }
    watch->hole_told = watch->hole_told || hole;
    bool is_worth = late > usual(watch) + WORTH_S;
    if (!watch->is_late && !is_worth && !watch->hole_told) {
        note(watch, since, late);
        return DW_LOSS_NONE;
    }
    if (!watch->is_late)
        begin_late(watch, time_s, late);
    else if (!is_worth && !watch->hole_told) {
        watch->is_late = false;
        note(watch, since, late);
        return DW_LOSS_NONE;
    }
    if (!stays(watch, time_s, late))
        return DW_LOSS_LATE;
    double low = fmin(watch->late_low_s[0], watch->late_low_s[1]), lost = low - usual(watch);
    *lost_s = isfinite(lost) && lost > WORTH_S ? lost : 0;
    watch->is_late = watch->hole_told = false;
    forget(watch); // this lateness is the usual one from now on
    note(watch, since, low);
    return DW_LOSS_FOUND;
}
