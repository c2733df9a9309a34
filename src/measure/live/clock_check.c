// SPDX-License-Identifier: MIT
#include "measure/live/clock_check.h"

#include <math.h>

static const double FIRST_BIN_S = 1, LEAST_S = 20;
static const double STUDENT = 2.1; // 95 % from some 18 points on; value from memory

void dw_clock_check_start(DwClockCheck *check, double rate_hz)
{
    *check = (DwClockCheck){.rate_hz = rate_hz, .bin_s = FIRST_BIN_S};
}

// Makes room: of each two neighbours the less delayed one stays.
static void merge(DwClockCheck *check)
{
    size_t kept = 0;
    for (size_t i = 0; i + 1 < check->count; i += 2) {
        const DwClockPoint *a = &check->point[i], *b = a + 1;
        check->point[kept++] = a->late_s <= b->late_s ? *a : *b;
    }
    check->count = kept;
    check->bin_s *= 2;
}

void dw_clock_check_push(DwClockCheck *check, double time_s, double frames)
{
    if (!check->begun) {
        check->begun = true;
        check->start_s = time_s;
        check->first_frames = frames;
    }
    double since = time_s - check->start_s;
    DwClockPoint point = {since, since - (frames - check->first_frames) / check->rate_hz};
    size_t bin = (size_t)(since / check->bin_s);
    if (bin >= DW_CLOCK_BINS) {
        merge(check);
        bin = (size_t)(since / check->bin_s);
    }
    if (bin >= check->count) { // a stretch without a block is left out
        bin = check->count++;
        check->point[bin] = point;
    } else if (point.late_s < check->point[bin].late_s)
        check->point[bin] = point;
}

bool dw_clock_check_read(const DwClockCheck *check, DwClockReading *reading)
{
    if (check->count < 4)
        return false;
    size_t count = check->count - 1; // the last stretch is not over
    double span = check->point[count - 1].time_s - check->point[0].time_s, mean_time = 0, mean_late = 0;
    if (span < LEAST_S)
        return false;
    for (size_t i = 0; i < count; i++) {
        mean_time += check->point[i].time_s / (double)count;
        mean_late += check->point[i].late_s / (double)count;
    }
    double square = 0, product = 0, rest = 0;
    for (size_t i = 0; i < count; i++) {
        double t = check->point[i].time_s - mean_time;
        square += t * t;
        product += t * (check->point[i].late_s - mean_late);
    }
    double slope = product / square;
    for (size_t i = 0; i < count; i++) {
        double off = check->point[i].late_s - mean_late - slope * (check->point[i].time_s - mean_time);
        rest += off * off;
    }
    reading->error_ppm = -slope * 1e6;
    reading->off_ppm = STUDENT * sqrt(rest / (double)(count - 2) / square) * 1e6;
    reading->over_s = span;
    return true;
}
