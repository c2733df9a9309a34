// SPDX-License-Identifier: MIT
#include "measure/music/twin_wiring.h"

#include <math.h>

static const size_t LOWEST = 7, HIGHEST = 22; // bands, 200 Hz to 6.3 kHz
static const double SURE = 0.3;               // of the correlation of one recording's places with the other's
static const double SILENT_DB = 30;
static const double LIKE = 0.2; // places that are less alike do not count

// Sums of a correlation, over all places and bands.
typedef struct {
    double along, first, second;
} Sums;

static double correlation_of(const Sums *sums)
{
    return sums->first > 0 && sums->second > 0 ? sums->along / sqrt(sums->first * sums->second) : 0;
}

// Right over left [dB]; NAN where one of them is empty.
static double leaning(const DwTwinLevels *levels, double at_s, size_t band)
{
    double left = dw_twin_levels_power(levels, at_s, 0, band), right = dw_twin_levels_power(levels, at_s, 1, band);
    return left > 0 && right > 0 ? 10 * log10(right / left) : NAN;
}

static void add_common(const DwTwinLevels *const two[2], const DwTwinPath *path, size_t band, Sums *sums)
{
    for (size_t p = 0; p < path->count; p++) {
        double a = dw_twin_levels_common(two[0], path->place[p].at_s, band);
        double b = dw_twin_levels_common(two[1], path->place[p].other_s, band);
        if (path->place[p].likeness < LIKE)
            continue;
        sums->along += a * b;
        sums->first += a * a;
        sums->second += b * b;
    }
}

// About its mean in BAND: what balance and tone controls make is left out.
static void add_leaning(const DwTwinLevels *const two[2], const DwTwinPath *path, size_t band, Sums *sums)
{
    double a = 0, b = 0, aa = 0, bb = 0, ab = 0, count = 0;
    for (size_t p = 0; p < path->count; p++) {
        double x = leaning(two[0], path->place[p].at_s, band), y = leaning(two[1], path->place[p].other_s, band);
        if (isnan(x) || isnan(y) || path->place[p].likeness < LIKE)
            continue;
        a += x;
        b += y;
        aa += x * x;
        bb += y * y;
        ab += x * y;
        count++;
    }
    if (count < 2)
        return;
    sums->along += ab - a * b / count;
    sums->first += aa - a * a / count;
    sums->second += bb - b * b / count;
}

// The channel of LEVELS that lies far below the other wherever PATH goes, or −1; OTHER: in the second recording.
static int silent_of(const DwTwinLevels *levels, const DwTwinPath *path, bool other, double *below_db)
{
    double power[2] = {0, 0};
    for (size_t p = 0; p < path->count; p++)
        for (unsigned c = 0; c < 2; c++)
            for (size_t b = LOWEST; b <= HIGHEST; b++)
                power[c] +=
                    dw_twin_levels_power(levels, other ? path->place[p].other_s : path->place[p].at_s, c, b) + 1e-20;
    *below_db = 10 * log10(fmax(power[0], power[1]) / fmin(power[0], power[1]));
    if (path->count == 0 || *below_db < SILENT_DB)
        return -1;
    return power[0] < power[1] ? 0 : 1;
}

DwTwinWiring dw_twin_wiring_find(const DwTwinLevels *one, const DwTwinLevels *two, const DwTwinPath *path)
{
    const DwTwinLevels *const both[2] = {one, two};
    DwTwinWiring wiring = {.silent = {-1, -1}};
    if (dw_twin_levels_channels(one) < 2 || dw_twin_levels_channels(two) < 2)
        return wiring;
    for (unsigned i = 0; i < 2; i++)
        wiring.silent[i] = silent_of(both[i], path, i == 1, &wiring.silent_db[i]);
    if (wiring.silent[0] >= 0 || wiring.silent[1] >= 0)
        return wiring;
    Sums common = {0}, leant = {0};
    for (size_t b = LOWEST; b <= HIGHEST; b++) {
        add_common(both, path, b, &common);
        add_leaning(both, path, b, &leant);
    }
    double alike = correlation_of(&common);
    wiring.polarity = alike > SURE ? 1 : alike < -SURE ? -1 : 0;
    wiring.exchanged = correlation_of(&leant) < -SURE;
    return wiring;
}
