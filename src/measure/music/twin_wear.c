// SPDX-License-Identifier: MIT
#include "measure/music/twin_wear.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/music/twin_analysis.h"

#include <math.h>
#include <stdlib.h>

enum { PLACES_LEAST = 20, BANDS_LEAST = 3 };

static const double LOW_HZ = 1500, HIGH_HZ = 13000;
static const double SOFT = 0.1, LOUD = 0.5;    // of the places
static const double ALIKE = 3;                 // neighbours that tell the same
static const double MEDIAN_95 = 1.96 * 1.2533; // of a median's deviation, over that of one place's
static const double SAID_DB = 1;               // a difference that tone and codecs do not make

// --- hiss --------------------------------------------------------------------------

// Median of COUNT values; *OFF: its 95 %.
static double median_of(float *values, size_t count, double *off)
{
    double spread = (dw_statistics_quantile(values, count, 0.75) - dw_statistics_quantile(values, count, 0.25)) / 1.35;
    *off = MEDIAN_95 * spread / sqrt(fmax(1, (double)count / ALIKE));
    return dw_statistics_quantile(values, count, 0.5);
}

// The room of a band: of each place the mean power of both and the ratio, in decibels.
typedef struct {
    float *mean, *ratio, *some;
    size_t count;
} Places;

// The ratio at the soft places over that at the loud ones, in decibels; NAN where there are too few.
static double soft_over_loud(const Places *places, double *off)
{
    for (size_t p = 0; p < places->count; p++)
        places->some[p] = places->mean[p];
    double soft = dw_statistics_quantile(places->some, places->count, SOFT);
    double loud = dw_statistics_quantile(places->some, places->count, LOUD), offs[2] = {NAN, NAN};
    size_t kept = 0;
    for (size_t p = 0; p < places->count; p++)
        if ((double)places->mean[p] >= loud)
            places->some[kept++] = places->ratio[p];
    double usual = kept ? median_of(places->some, kept, &offs[0]) : NAN;
    kept = 0;
    for (size_t p = 0; p < places->count; p++)
        if ((double)places->mean[p] <= soft)
            places->some[kept++] = places->ratio[p];
    double there = kept ? median_of(places->some, kept, &offs[1]) : NAN;
    *off = hypot(offs[0], offs[1]);
    return there - usual;
}

bool dw_twin_hiss_compare(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path, DwTwinHiss *hiss)
{
    size_t room = path->count + 1;
    Places places = {dw_memory_new(room, sizeof(float)), dw_memory_new(room, sizeof(float)),
                     dw_memory_new(room, sizeof(float)), 0};
    double sum = 0, squares = 0, off_sum = 0;
    *hiss = (DwTwinHiss){.more_db = NAN, .off_db = NAN};
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        double hz = dw_twin_levels_third_hz(b), off = NAN;
        if (hz < LOW_HZ || hz > HIGH_HZ)
            continue;
        places.count = 0;
        for (size_t p = 0; p < path->count; p++) {
            double first = dw_twin_levels_power(one, path->place[p].at_s, 2, b);
            double second = dw_twin_levels_power(two, path->place[p].other_s, 2, b);
            if (!(first > 0) || !(second > 0))
                continue;
            places.mean[places.count] = (float)(5 * log10(first * second));
            places.ratio[places.count++] = (float)(10 * log10(second / first));
        }
        double more = places.count >= PLACES_LEAST ? soft_over_loud(&places, &off) : NAN;
        if (!isfinite(more))
            continue;
        sum += more;
        squares += more * more;
        off_sum += off;
        hiss->bands++;
    }
    free(places.mean);
    free(places.ratio);
    free(places.some);
    double n = (double)hiss->bands, mean = sum / n;
    if (hiss->bands < BANDS_LEAST)
        return false;
    hiss->more_db = mean;
    hiss->off_db = hypot(off_sum / n, 1.96 * sqrt(fmax(0, squares / n - mean * mean) / (n - 1)));
    return true;
}

// --- the sheet -----------------------------------------------------------------------

static const char *const recording[] = {"first", "second"};

static void add_hiss(const DwTwin *twin, DwSheet *sheet)
{
    DwTwinHiss hiss;
    if (!dw_twin_hiss_compare(twin->levels[0], twin->levels[1], &twin->path, &hiss)) {
        dw_sheet_not_measured(sheet, "twin.hiss", "too few moments are soft enough to hear surface noise in.");
        return;
    }
    dw_sheet_add_estimate(sheet, "twin.hiss", "Soft moments, second over first", hiss.more_db, "dB", 1, hiss.off_db,
                          "third octaves from 1.6 to 12.5 kHz, the softest tenth against the louder half");
    if (fabs(hiss.more_db) > SAID_DB + hiss.off_db)
        dw_sheet_remark(sheet,
                        "Where the music is soft the %s has %.1f dB (± %.1f) more noise than the %s: its surface, or "
                        "what it was recorded with. Music hides part of it, so it may be more.",
                        recording[hiss.more_db > 0], fabs(hiss.more_db), hiss.off_db, recording[hiss.more_db <= 0]);
    else
        dw_sheet_remark(sheet, "Which of the two has more surface noise cannot be told: what they differ by, the music "
                               "hides.");
}

static void add_ticks(const DwTwin *twin, DwSheet *sheet)
{
    DwTwinTicking ticking;
    if (!dw_twin_ticks_compare(twin->ticks[0], twin->ticks[1], &twin->course, &ticking)) {
        dw_sheet_not_measured(sheet, "twin.ticks", "too little of the two goes on without a break to count ticks in.");
        return;
    }
    dw_sheet_add_estimate(sheet, "twin.ticks", "Ticks, second more than first", ticking.more, "1/min", 1,
                          ticking.more_off, "ticks that stand out of the music of both and are in one of them alone");
    if (fabs(ticking.more) > ticking.more_off)
        dw_sheet_remark(sheet,
                        "The %s ticks more often than the %s: by %.1f a minute (± %.1f), as far as ticks stand out of "
                        "the music. Dust does the same as wear: clean the record before it is called worn.",
                        recording[ticking.more > 0], recording[ticking.more <= 0], fabs(ticking.more),
                        ticking.more_off);
    else
        dw_sheet_remark(sheet,
                        "Which of the two ticks more often cannot be told: %zu ticks are in the first alone, "
                        "%zu in the second alone.",
                        ticking.alone[0], ticking.alone[1]);
}

void dw_twin_wear_fill(const DwTwin *twin, DwSheet *sheet)
{
    add_hiss(twin, sheet);
    add_ticks(twin, sheet);
}
