// SPDX-License-Identifier: MIT
#include "measure/music/twin_wear.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/music/twin_analysis.h"
#include "physics/chance.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

enum { PLACES_LEAST = 20, BANDS_LEAST = 3 };
enum { DRAWS = 100, TOGETHER = 3 }; // of places anew; places drawn in a row, for neighbours tell the same

static const double LOW_HZ = 1500, HIGH_HZ = 13000;
static const double SOFT = 0.1, LOUD = 0.5; // of the places
static const double SAID_DB = 1;            // a difference that tone and codecs do not make

// --- hiss --------------------------------------------------------------------------

// What both tell of a band, place by place: their mean power and their ratio, in decibels; NAN where one has none.
typedef struct {
    float *mean, *ratio;
} Band;

typedef struct {
    Band band[DW_TWIN_THIRDS];
    size_t bands, count; // COUNT: places
    size_t *drawn;       // COUNT places, some of them several times
    Band some;           // room
} Places;

static Places read_places(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path)
{
    Places places = {.count = path->count, .drawn = dw_memory_new(path->count + 1, sizeof(size_t))};
    places.some = (Band){dw_memory_new(path->count + 1, sizeof(float)), dw_memory_new(path->count + 1, sizeof(float))};
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        double hz = dw_twin_levels_third_hz(b);
        if (hz < LOW_HZ || hz > HIGH_HZ)
            continue;
        Band *band = &places.band[places.bands];
        *band = (Band){dw_memory_new(path->count + 1, sizeof(float)), dw_memory_new(path->count + 1, sizeof(float))};
        size_t heard = 0;
        for (size_t p = 0; p < path->count; p++) {
            double first = dw_twin_levels_power(one, path->place[p].at_s, 2, b);
            double second = dw_twin_levels_power(two, path->place[p].other_s, 2, b);
            bool is_there = first > 0 && second > 0;
            band->mean[p] = is_there ? (float)(5 * log10(first * second)) : NAN;
            band->ratio[p] = is_there ? (float)(10 * log10(second / first)) : NAN;
            heard += is_there;
        }
        if (heard >= PLACES_LEAST) {
            places.bands++;
            continue;
        }
        free(band->mean);
        free(band->ratio);
    }
    return places;
}

static void free_places(Places *places)
{
    for (size_t b = 0; b < places->bands; b++) {
        free(places->band[b].mean);
        free(places->band[b].ratio);
    }
    free(places->some.mean);
    free(places->some.ratio);
    free(places->drawn);
}

// The median ratio of the drawn places of BAND whose mean lies between LEAST and MOST.
static double usual_ratio(const Places *places, const Band *band, double least, double most)
{
    size_t kept = 0;
    for (size_t p = 0; p < places->count; p++) {
        size_t place = places->drawn[p];
        if ((double)band->mean[place] >= least && (double)band->mean[place] <= most)
            places->some.ratio[kept++] = band->ratio[place];
    }
    return dw_statistics_quantile(places->some.ratio, kept, 0.5);
}

// The ratio at the soft ones of the drawn places over that at the loud ones, in decibels: the mean of the bands.
static double soft_over_loud(const Places *places)
{
    double sum = 0;
    for (size_t b = 0; b < places->bands; b++) {
        const Band *band = &places->band[b];
        size_t kept = 0;
        for (size_t p = 0; p < places->count; p++)
            if (!isnan(band->mean[places->drawn[p]]))
                places->some.mean[kept++] = band->mean[places->drawn[p]];
        double soft = dw_statistics_quantile(places->some.mean, kept, SOFT);
        double loud = dw_statistics_quantile(places->some.mean, kept, LOUD);
        sum += usual_ratio(places, band, -INFINITY, soft) - usual_ratio(places, band, loud, INFINITY);
    }
    return sum / (double)places->bands;
}

// As many places as there are, in rows of TOGETHER, by chance; the same for the same STATE (D. E. Knuth's linear
// congruential generator for 64 bits, of which the upper ones are used; from memory).
static void draw_places(Places *places, uint64_t *state)
{
    for (size_t p = 0; p < places->count; p += TOGETHER) {
        *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        size_t from = (size_t)((*state >> 33) * places->count >> 31);
        for (size_t k = 0; k < TOGETHER && p + k < places->count; k++)
            places->drawn[p + k] = (from + k) % places->count;
    }
}

bool dw_twin_hiss_compare(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path, DwTwinHiss *hiss)
{
    *hiss = (DwTwinHiss){.more_db = NAN, .off_db = NAN};
    Places places = read_places(one, two, path);
    hiss->bands = places.bands;
    if (places.bands >= BANDS_LEAST) {
        for (size_t p = 0; p < places.count; p++)
            places.drawn[p] = p;
        hiss->more_db = soft_over_loud(&places);
        double values[DRAWS];
        uint64_t state = 1;
        for (size_t d = 0; d < DRAWS; d++) {
            draw_places(&places, &state);
            values[d] = soft_over_loud(&places);
        }
        // As many places as are soft tell how far they lie apart.
        hiss->off_db = dw_chance_student(0.975, SOFT * (double)places.count) * dw_statistics_deviation(values, DRAWS);
    }
    free_places(&places);
    return isfinite(hiss->more_db) && isfinite(hiss->off_db);
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
